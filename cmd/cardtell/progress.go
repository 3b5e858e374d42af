//go:build !js

package main

import (
	"io"
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// progressBar shows people how far a long file has been read. It is nil where nobody watches.
type progressBar struct {
	bars *mpb.Progress
	bar  *mpb.Bar
	out  io.Writer
}

// barFrom is the size from which a file is long enough for a bar, in bytes: some tenths of a second.
const barFrom = 16 << 20

func (a *app) progress() *progressBar {
	f, ok := a.err.(*os.File)
	if !ok || a.quiet || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return &progressBar{out: f}
}

// add is told of every block that was read.
func (p *progressBar) add(n, all int64) {
	if p == nil || all < barFrom {
		return
	}
	if p.bars == nil {
		p.bars = mpb.New(mpb.WithOutput(p.out), mpb.WithWidth(60))
		p.bar = p.bars.AddBar(all, mpb.BarRemoveOnComplete(), mpb.PrependDecorators(decor.Name("reading ")),
			mpb.AppendDecorators(decor.Percentage()))
	}
	p.bar.IncrInt64(n)
}

// stop takes the bar away, finished or not.
func (p *progressBar) stop() {
	if p == nil || p.bars == nil {
		return
	}
	p.bar.Abort(true)
	p.bars.Wait()
	p.bars = nil
}
