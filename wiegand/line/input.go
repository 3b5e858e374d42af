package line

import (
	"bytes"
	"errors"
	"fmt"
	"io"
)

// maxToken is how long a word of a VCD file, or a line of a CSV file, may be. It bounds the memory of a reader.
const maxToken = 64 << 10

// input reads words or lines out of a stream, and knows where it is. Where the stream gives an error, what has been
// read of a word or line so far is kept, so that the same call can be made again after a timeout.
type input struct {
	r        io.Reader
	op       string // for errors
	buf      []byte
	pos, end int   // what has been read and not used
	base     int64 // bytes of the stream before buf
	line     int   // lines before pos
	at       int64 // offset of the word or line given last
	atLine   int   // its line, from 1
	eof      bool
	ending   byte // of each line; 0 until the first one has come
}

func newInput(r io.Reader, op string) *input {
	return &input{r: r, op: op, buf: make([]byte, maxToken)}
}

// fill reads more behind what is there, moving it to the front first where the room is used up.
func (in *input) fill() error {
	if in.eof {
		return io.EOF
	}
	if in.end == len(in.buf) {
		if in.pos == 0 {
			return in.fail(ErrSyntax, in.buf, fmt.Sprintf("longer than %d characters; this is no recording of a line", maxToken))
		}
		copy(in.buf, in.buf[in.pos:in.end])
		in.base += int64(in.pos)
		in.end -= in.pos
		in.pos = 0
	}
	for range 100 {
		n, err := in.r.Read(in.buf[in.end:])
		in.end += max(0, min(n, len(in.buf)-in.end))
		if n > 0 {
			return nil // an error that came with the bytes comes again
		}
		if errors.Is(err, io.EOF) {
			in.eof = true
		}
		if err != nil {
			return err
		}
	}
	return io.ErrNoProgress
}

// word returns the next word, good until the next call; io.EOF where there is none.
func (in *input) word() ([]byte, error) {
	buf, i, end := in.buf, in.pos, in.end
	for {
		for ; i < end && buf[i] <= ' '; i++ {
			if buf[i] == '\n' {
				in.line++
			}
		}
		in.pos = i
		if i < end {
			break
		}
		if err := in.fill(); err != nil {
			return nil, err
		}
		i, end = in.pos, in.end
	}
	in.at, in.atLine = in.base+int64(i), in.line+1
	for {
		for ; i < end && buf[i] > ' '; i++ {
		}
		if i < end {
			break
		}
		seen := i - in.pos
		if err := in.fill(); errors.Is(err, io.EOF) {
			break
		} else if err != nil {
			return nil, err
		}
		i, end = in.pos+seen, in.end
	}
	w := buf[in.pos:i]
	in.pos = i
	return w, nil
}

// text returns the next line without its end, good until the next call; io.EOF where there is none.
func (in *input) text() ([]byte, error) {
	seen := 0
	for {
		if in.ending == 0 {
			in.ending, seen = lineEnding(in.buf[in.pos:in.end]), 0
		}
		if i := bytes.IndexByte(in.buf[in.pos+seen:in.end], in.ending); i >= 0 && in.ending > 0 {
			return in.take(seen+i, 1), nil
		}
		if seen = in.end - in.pos; seen > 0 { // else an error is about the line before
			in.at, in.atLine = in.base+int64(in.pos), in.line+1
		}
		err := in.fill()
		if errors.Is(err, io.EOF) && seen > 0 {
			return in.take(seen, 0), nil
		}
		if err != nil {
			return nil, err
		}
	}
}

// lineEnding returns the sign that ends the first line: a carriage return where there is something else behind it; 0
// where that is not to be seen yet.
func lineEnding(text []byte) byte {
	switch i := bytes.IndexAny(text, "\r\n"); {
	case i >= 0 && text[i] == '\n':
		return '\n'
	case i < 0 || i+1 == len(text):
		return 0
	case text[i+1] == '\r' || text[i+1] == '\n':
		return '\n'
	}
	return '\r'
}

// take uses up n bytes and the end of the line behind them.
func (in *input) take(n, newline int) []byte {
	in.at, in.atLine = in.base+int64(in.pos), in.line+1
	t := in.buf[in.pos : in.pos+n]
	in.pos += n + newline
	in.line += newline
	return bytes.TrimSuffix(t, []byte("\r"))
}

// fail makes an [*Error] about the word or line given last.
func (in *input) fail(kind error, quoted []byte, reason string) error {
	return &Error{Op: in.op, Line: in.atLine, Offset: in.at, Input: cutShort(quoted), Reason: reason, Err: kind}
}
