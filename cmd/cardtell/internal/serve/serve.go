// Package serve is how another program asks this one: requests, a JSON object each, a line each, and their answers in
// the same order. What is asked is answered elsewhere.
package serve

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/inorder"
)

// MaxLine is how long a request may be, in bytes.
const MaxLine = 1 << 16

// maxBatch is how many requests a worker takes at a time; fewer where no more are waiting.
const maxBatch = 64

// batch are some lines on their way.
type batch struct {
	text  []byte // all lines, one behind the other
	ends  []int  // where each ends in text; -1-end for a line that was too long to keep, whose id alone is there
	first int    // number of the first line, from 1
	out   bytes.Buffer
}

// Run answers until the input ends, on all processors, in the order of requests. An answer goes out as soon as no other
// is about to follow it, so that a program may ask one at a time or many at once. answerer is called once for each
// processor; what it returns answers one request after another, whose verb and keys go together. The error is that of
// reading or writing.
func Run(in io.Reader, out *bufio.Writer, answerer func() func(*Request) (any, error)) error {
	return inorder.Run(func(take func() *batch, send func(*batch) bool) error {
		return read(in, take, send)
	}, func() func(*batch) {
		answer := answerer()
		return func(b *batch) { b.answer(answer) }
	}, func(b *batch, last bool) error {
		_, err := out.Write(b.out.Bytes())
		if err == nil && last {
			err = out.Flush()
		}
		return err
	})
}

// read sends lines in batches: as many as are there already, up to the bounds.
func read(in io.Reader, take func() *batch, send func(*batch) bool) error {
	r := bufio.NewReaderSize(in, MaxLine)
	line := 1
	b := take().emptied(line)
	for {
		text, err := r.ReadSlice('\n')
		long := errors.Is(err, bufio.ErrBufferFull)
		if long {
			text, err = idOfLong(r, text)
		}
		text = bytes.TrimSpace(text)
		if len(text) > 0 || long || err == nil {
			b.add(text, long)
			line++
		}
		if len(b.ends) > 0 && (err != nil || r.Buffered() == 0 || len(b.ends) == maxBatch || len(b.text) >= MaxLine) {
			if !send(b) {
				return nil
			}
			b = take().emptied(line)
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
	}
}

// emptied is a batch for the lines from a number on, in the memory that it has.
func (b *batch) emptied(line int) *batch {
	if b.out.Cap() > 4*MaxLine { // one great answer is no reason to keep so much for ever
		b.out = bytes.Buffer{}
	}
	b.out.Reset()
	b.text, b.ends, b.first = b.text[:0], b.ends[:0], line
	return b
}

func (b *batch) add(text []byte, long bool) {
	b.text = append(b.text, text...)
	end := len(b.text)
	if long {
		end = -1 - end
	}
	b.ends = append(b.ends, end)
}

// answered is one answer: the result or an error.
type answered struct {
	ID     json.RawMessage `json:"id"`
	Result any             `json:"result,omitempty"`
	Error  *Error          `json:"error,omitempty"`
}

// answer answers every line but the blank ones.
func (b *batch) answer(do func(*Request) (any, error)) {
	enc := json.NewEncoder(&b.out)
	enc.SetEscapeHTML(false)
	from := 0
	for i, end := range b.ends {
		var a answered
		switch {
		case end < 0:
			if end = -1 - end; end > from {
				a.ID = b.text[from:end]
			}
			a.Error = &Error{Kind: "request",
				Message: fmt.Sprintf("the line is longer than %d bytes; ask for fewer cards at a time", MaxLine)}
		case from == end:
			continue
		default:
			a = answerLine(b.text[from:end], do)
		}
		from = end
		if a.Error != nil {
			a.Error.Line = b.first + i
		}
		_ = enc.Encode(a) // into memory, and of plain types: it can't fail
	}
}

func answerLine(line []byte, do func(*Request) (any, error)) answered {
	q, err := parse(line)
	a := answered{ID: q.ID}
	if err == nil {
		a.Result, err = do(&q)
	}
	if err != nil {
		e := ErrorOf(err)
		a.Error, a.Result = &e, nil
	}
	return a
}

// idOfLong reads the rest of a line that is too long, and returns its id, so that the error finds its way: where it is
// among the keys that begin the line, or the last one of all.
func idOfLong(r *bufio.Reader, begins []byte) (id []byte, err error) {
	for k := range keysOf(begins) {
		if k.depth == 1 && strings.EqualFold(k.name, "id") {
			id = idIn(idFirst, k.rest)
			break
		}
	}
	const kept = 512 // of each piece, for an id that goes over the border of two
	var ends []byte
	for err = bufio.ErrBufferFull; errors.Is(err, bufio.ErrBufferFull); {
		ends = append(ends[:0], begins[max(0, len(begins)-kept):]...)
		begins, err = r.ReadSlice('\n')
		ends = append(ends, begins[max(0, len(begins)-kept):]...)
	}
	if id == nil {
		id = idIn(idLast, ends)
	}
	return id, err
}

const idValue = `\s*("(?:[^"\\]|\\.)*"|-?[0-9][0-9.eE+-]*)\s*`

// An id with more behind it, and one that is the last key of a line.
var (
	idFirst = regexp.MustCompile(`^` + idValue + `[,}]`)
	idLast  = regexp.MustCompile(`,\s*"(?i:id)"\s*:` + idValue + `\}\s*$`)
)

func idIn(pattern *regexp.Regexp, text []byte) []byte {
	if m := pattern.FindSubmatch(text); m != nil && json.Valid(m[1]) {
		return bytes.Clone(m[1])
	}
	return nil
}
