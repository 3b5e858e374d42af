//go:build !js

// Package progress shows people how far a long file has been read.
package progress

import (
	"io"
	"os"

	"github.com/vbauerster/mpb/v8"
	"github.com/vbauerster/mpb/v8/decor"
	"golang.org/x/term"
)

// Bar is shown while a file is read that is long enough for it. It is nil where nobody watches.
type Bar struct {
	bars *mpb.Progress
	bar  *mpb.Bar
	out  io.Writer
}

// barFrom is the size from which a file is long enough, in bytes: some tenths of a second.
const barFrom = 16 << 20

// On returns a bar on a terminal, nil where out is none.
func On(out io.Writer) *Bar {
	if f, ok := out.(*os.File); !ok || !term.IsTerminal(int(f.Fd())) {
		return nil
	}
	return &Bar{out: out}
}

// Add is told of every block that was read: n bytes of all.
func (p *Bar) Add(n, all int64) {
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

// Stop takes the bar away, finished or not.
func (p *Bar) Stop() {
	if p == nil || p.bars == nil {
		return
	}
	p.bar.Abort(true)
	p.bars.Wait()
	p.bars = nil
}
