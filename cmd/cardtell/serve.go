package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"io"
	"regexp"
	"runtime"
	"strings"

	"github.com/spf13/cobra"
)

const serveHelp = `Answers requests of another program: one JSON object a line in, one a line out.

  {"id":1,"do":"identify","cards":["26:32D687E=46143"],"top":1}
  {"id":2,"do":"convert","values":["150,46143"],"from":"pair","to":"decimal"}
  {"id":3,"do":"decode","format":"26-8-16","read":"26:32D687E"}
  {"id":4,"do":"encode","format":"26-8-16","fields":{"number":"46143",…}}
  {"id":5,"do":"relate","pairs":["0009876543=150,46143"]}

learn, check and match are asked in the same way; the page for scripts lists
the keys of each.

Answers come in the order of requests: {"id":1,"result":{…}}, or, for a request
that cannot be answered, {"id":1,"error":{"kind":"…","message":"…"}}. A line
that is no request gets an error too, and the next is read, until the input
ends.`

// Bounds of serve, so that it needs the same memory whatever it is sent.
const (
	maxRequest  = 1 << 16 // bytes of a line
	maxBatch    = 64      // requests that a worker takes at a time; fewer where no more are waiting
	maxInFlight = 4       // batches for each worker, answered and not yet written
)

func (a *app) serveCommand() *cobra.Command {
	stdio := false
	c := &cobra.Command{
		Use:   "serve --stdio",
		Short: "Answers requests of another program, as JSON lines",
		Long:  serveHelp,
		Example: `  cardtell serve --stdio < testdata/demo/requests.jsonl
  cardtell serve --stdio --quiet < testdata/demo/requests.jsonl`,
		Args: noSuchCommand,
		RunE: func(*cobra.Command, []string) error {
			if !stdio {
				return errors.New("serve: it speaks on standard input and output only; say so with --stdio")
			}
			return a.serve()
		},
	}
	c.Flags().BoolVar(&stdio, "stdio", false, "requests on standard input, answers on standard output")
	return c
}

// requests are some lines on their way through serve.
type requests struct {
	text  []byte // all lines, one behind the other
	ends  []int  // where each ends in text; -1-end for a line that was too long to keep, whose id alone is there
	first int    // number of the first line, from 1
	out   bytes.Buffer
	done  chan struct{}
}

// serve answers until the input ends, on all processors, in the order of requests. An answer goes out as soon as no
// other is about to follow it, so that a program may ask one at a time or many at once.
func (a *app) serve() error {
	k, err := a.knowledge()
	if err != nil {
		return err
	}
	workers := runtime.GOMAXPROCS(0)
	work, order := make(chan *requests, workers), make(chan *requests, maxInFlight*workers)
	for range workers {
		go func() {
			s := newServer(a, k)
			for r := range work {
				s.answerAll(r)
				close(r.done)
			}
		}()
	}
	spare := make(chan *requests, cap(order)+workers)
	stop := make(chan struct{})
	var readErr error
	go func() {
		readErr = readRequests(a.in, spare, func(r *requests) bool {
			select {
			case order <- r:
				work <- r
				return true
			case <-stop:
				return false
			}
		})
		close(work)
		close(order)
	}()
	if err := a.writeAnswers(order, spare); err != nil {
		close(stop)
		return err
	}
	return readErr
}

// writeAnswers writes what is answered, in order, and gives the memory back.
func (a *app) writeAnswers(order <-chan *requests, spare chan<- *requests) error {
	for r := range order {
		<-r.done
		if _, err := a.out.Write(r.out.Bytes()); err != nil {
			return err
		}
		if len(order) == 0 {
			if err := a.out.Flush(); err != nil {
				return err
			}
		}
		if r.out.Cap() <= 4*maxRequest { // one great answer is no reason to keep so much for ever
			select {
			case spare <- r:
			default:
			}
		}
	}
	return nil
}

// readRequests hands over lines in batches: as many as are there already, up to the bounds.
func readRequests(in io.Reader, spare <-chan *requests, use func(*requests) bool) error {
	b := bufio.NewReaderSize(in, maxRequest)
	line := 1
	r := newRequests(spare, line)
	for {
		text, err := b.ReadSlice('\n')
		long := errors.Is(err, bufio.ErrBufferFull)
		if long {
			text, err = idOfLong(b, text)
		}
		text = bytes.TrimSpace(text)
		if len(text) > 0 || long || err == nil {
			r.add(text, long)
			line++
		}
		if len(r.ends) > 0 && (err != nil || b.Buffered() == 0 || len(r.ends) == maxBatch || len(r.text) >= maxRequest) {
			if !use(r) {
				return nil
			}
			r = newRequests(spare, line)
		}
		switch {
		case errors.Is(err, io.EOF):
			return nil
		case err != nil:
			return err
		}
	}
}

// idOfLong reads the rest of a line that is too long, and returns its id, so that the error finds its way: where it is
// among the keys that begin the line, or the last one of all.
func idOfLong(b *bufio.Reader, begins []byte) (id []byte, err error) {
	id = idAtStart(begins)
	const kept = 512 // of each piece, for an id that goes over the border of two
	var ends []byte
	for err = bufio.ErrBufferFull; errors.Is(err, bufio.ErrBufferFull); {
		ends = append(ends[:0], begins[max(0, len(begins)-kept):]...)
		begins, err = b.ReadSlice('\n')
		ends = append(ends, begins[max(0, len(begins)-kept):]...)
	}
	if m := idAtEnd.FindSubmatch(ends); id == nil && m != nil && json.Valid(m[1]) {
		id = m[1]
	}
	return id, err
}

// idAtEnd is an id that is the last key of a line.
var idAtEnd = regexp.MustCompile(`,\s*"(?i:id)"\s*:\s*("(?:[^"\\]|\\.)*"|-?[0-9][0-9.eE+-]*)\s*\}\s*$`)

// idAtStart returns the id where only keys with whole values come before it.
func idAtStart(line []byte) []byte {
	dec := json.NewDecoder(bytes.NewReader(line))
	if open, err := dec.Token(); err != nil || open != json.Delim('{') {
		return nil
	}
	for {
		key, err := dec.Token()
		name, ok := key.(string)
		var value json.RawMessage
		if err != nil || !ok || dec.Decode(&value) != nil {
			return nil
		}
		if strings.EqualFold(name, "id") && (value[0] == '"' || value[0] == '-' || '0' <= value[0] && value[0] <= '9') {
			return value
		}
	}
}

// newRequests returns an empty batch, in memory that has served before where there is some.
func newRequests(spare <-chan *requests, line int) *requests {
	var r *requests
	select {
	case r = <-spare:
		r.out.Reset()
	default:
		r = new(requests)
	}
	r.text, r.ends, r.first, r.done = r.text[:0], r.ends[:0], line, make(chan struct{})
	return r
}

func (r *requests) add(text []byte, long bool) {
	r.text = append(r.text, text...)
	end := len(r.text)
	if long {
		end = -1 - end
	}
	r.ends = append(r.ends, end)
}
