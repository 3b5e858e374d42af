package main

import (
	"bytes"
	"cmp"
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/agnivade/levenshtein"

	"github.com/cardtell/cardtell/wiegand/line"
)

// forms are what a recording may be.
var forms = []string{"vcd", "csv", "hex", "binary", "json-lines"}

// sniffLen is how much of a recording is looked at to see what it is.
const sniffLen = 4096

// formOf tells what a recording is, from its beginning unless it is said. It returns a reader that begins at the
// beginning. Of a live recording no more is waited for than its first line.
func formOf(in io.Reader, said string, live bool) (string, io.Reader, error) {
	if said != "" {
		if slices.Contains(forms, said) {
			return said, in, nil
		}
		return "", nil, fmt.Errorf("--as %q: no such form; there are %s", said, strings.Join(forms, ", "))
	}
	head := make([]byte, 0, sniffLen)
	for len(head) < sniffLen && !(live && bytes.IndexByte(bytes.TrimLeft(head, " \t\r\n"), '\n') >= 0) {
		n, err := in.Read(head[len(head):sniffLen])
		head = head[:len(head)+n]
		if errors.Is(err, io.EOF) {
			break
		}
		if err != nil && !errors.Is(err, os.ErrDeadlineExceeded) {
			return "", nil, err
		}
	}
	if len(bytes.TrimSpace(head)) == 0 {
		return "", nil, errors.New("the recording is empty; is it the right one?")
	}
	return sniff(head), io.MultiReader(bytes.NewReader(head), in), nil
}

// sniff tells a form from the beginning of a recording.
func sniff(head []byte) string {
	text := bytes.TrimLeft(bytes.TrimPrefix(head, []byte("\xef\xbb\xbf")), " \t\r\n")
	switch {
	case bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")):
		return "csv" // text in UTF-16; the reader says what to do
	case len(text) > 0 && text[0] == '$':
		return "vcd"
	case len(text) > 0 && text[0] == '{':
		return "json-lines"
	case !isText(head):
		return "binary"
	case isHex(text):
		return "hex"
	}
	return "csv"
}

// isText tells whether bytes are text: no control characters, and UTF-8 but for a character cut at the end.
func isText(b []byte) bool {
	for len(b) > 0 {
		r, n := utf8.DecodeRune(b)
		if r == utf8.RuneError && n == 1 && utf8.FullRune(b) || r < ' ' && r != '\t' && r != '\r' && r != '\n' {
			return false
		}
		b = b[n:]
	}
	return true
}

// isHex tells whether the first line that is no remark is bytes in hex, with a packet's first byte, 53, among them.
func isHex(text []byte) bool {
	for t := range bytes.Lines(text) {
		if i := bytes.IndexByte(t, '#'); i >= 0 {
			t = t[:i]
		}
		words := bytes.FieldsFunc(bytes.ToLower(t), func(r rune) bool { return strings.ContainsRune(" \t\r\n,:-;", r) })
		found := false
		for _, w := range words {
			w = bytes.TrimPrefix(w, []byte("0x"))
			if len(w)%2 != 0 || len(bytes.Trim(w, "0123456789abcdef")) > 0 || len(w) > 2 && len(words) > 1 {
				return false
			}
			for i := 0; i < len(w); i += 2 {
				found = found || string(w[i:i+2]) == "53"
			}
		}
		if len(words) > 0 {
			return found
		}
	}
	return false
}

// notTimeout tries again for as long as a live recording has only not begun yet.
func notTimeout[T any](open func() (T, error)) (T, error) {
	for {
		v, err := open()
		if !errors.Is(err, os.ErrDeadlineExceeded) {
			return v, err
		}
	}
}

// follow returns a reader of a live recording. Where nothing has come for as long as quiet, and what came last was a
// whole line, it returns os.ErrDeadlineExceeded once, so that a read can be closed though no edge comes after it. When
// ctx is done, the recording ends.
func follow(ctx context.Context, in io.Reader, quiet time.Duration) io.Reader {
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

// maxNames is how many signals an error names.
const maxNames = 12

// withNames adds to an error about a signal the names that there are, nearest first.
func withNames(err error) error {
	var e *line.Error
	if !errors.As(err, &e) || len(e.Names) == 0 {
		return err
	}
	distance := func(name string) int {
		last := name[strings.LastIndexByte(name, '.')+1:]
		wanted := strings.ToLower(e.Input)
		return min(levenshtein.ComputeDistance(wanted, strings.ToLower(name)),
			levenshtein.ComputeDistance(wanted, strings.ToLower(last)))
	}
	names := slices.Clone(e.Names)
	if e.Input != "" {
		slices.SortStableFunc(names, func(a, b string) int { return cmp.Compare(distance(a), distance(b)) })
	}
	more := ""
	if len(names) > maxNames {
		more = fmt.Sprintf(" and %d more", len(names)-maxNames)
		names = names[:maxNames]
	}
	return fmt.Errorf("%w; there are: %s%s; name two with --d0 and --d1, or --clock and --data", err,
		strings.Join(names, ", "), more)
}

// sameFile tells whether a name is of a file that is already open.
func sameFile(f *os.File, name string) bool {
	a, errA := f.Stat()
	b, errB := os.Stat(name)
	return errA == nil && errB == nil && os.SameFile(a, b)
}
