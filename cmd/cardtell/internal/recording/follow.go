package recording

import (
	"bytes"
	"context"
	"io"
	"os"
	"time"
)

// Follow returns a reader of a live recording. Where nothing has come for as long as quiet, and what came last was a
// whole line, it returns os.ErrDeadlineExceeded once, so that a read can be closed though no edge comes after it. When
// ctx is done, the recording ends.
func Follow(ctx context.Context, in io.Reader, quiet time.Duration) io.Reader {
	f := &follower{ctx: ctx, quiet: quiet, chunks: make(chan chunk)}
	go func() {
		for {
			b := make([]byte, 32<<10)
			n, err := in.Read(b)
			select {
			case f.chunks <- chunk{b[:n], err}:
			case <-ctx.Done():
				return
			}
			if err != nil {
				return
			}
		}
	}()
	return f
}

type chunk struct {
	bytes []byte
	err   error
}

type follower struct {
	ctx    context.Context
	chunks chan chunk
	quiet  time.Duration
	rest   []byte
	err    error
	armed  bool // a whole line came, and no silence since
}

func (f *follower) Read(p []byte) (int, error) {
	for len(f.rest) == 0 {
		if f.err != nil {
			return 0, f.err
		}
		var silence <-chan time.Time
		if f.armed {
			t := time.NewTimer(f.quiet)
			defer t.Stop()
			silence = t.C
		}
		select {
		case c := <-f.chunks:
			f.rest, f.err = c.bytes, c.err
			f.armed = bytes.HasSuffix(c.bytes, []byte("\n"))
		case <-silence:
			f.armed = false
			return 0, os.ErrDeadlineExceeded
		case <-f.ctx.Done():
			f.err = io.EOF
		}
	}
	n := copy(p, f.rest)
	f.rest = f.rest[n:]
	return n, nil
}
