package list

import "sync"

// chunkRows and chunkBytes are how much is handed over at once: enough that handing over costs nothing, little enough
// that it stays in the processor's own memory.
const (
	chunkRows  = 1024
	chunkBytes = 128 << 10
)

// chunk is rows with what stands in them.
type chunk struct {
	rows  []rowMark
	raw   []byte // the rows' bytes with their line ends, one row after the other
	cells []cell
	xml   []*xmlRow // of rows that have one
	err   error     // what came after the last row
}

// rowMark is a row of a chunk: how much of what stands there is its own.
type rowMark struct {
	line, raw, end, cells int
	kind                  Kind
	xml, safe             bool
}

// add copies a row into the chunk.
func (c *chunk) add(r *Row) {
	c.raw = append(append(c.raw, r.raw...), r.end...)
	c.cells = append(c.cells, r.cells...)
	c.rows = append(c.rows, rowMark{
		line: r.Line, raw: len(r.raw), end: len(r.end), cells: len(r.cells), kind: r.Kind, xml: r.xml != nil, safe: r.plain(),
	})
	if r.xml != nil {
		c.xml = append(c.xml, r.xml.clone())
	}
}

// ahead reads rows while others are worked on.
type ahead struct {
	full  chan *chunk
	empty chan *chunk
	quit  chan struct{}
	done  sync.WaitGroup
	now   *chunk
	at    chunkPlace
	row   Row
}

// chunkPlace is how much of a chunk was given.
type chunkPlace struct{ rows, raw, cells, xml int }

// Ahead lets a goroutine read the rows that follow while the caller works on those it has: the same rows in the same
// order, and the same errors after them. Nothing else may be asked of the reader until the last row; [Reader.Close]
// ends it early.
func (r *Reader) Ahead() {
	r.lineEnd() // which is the goroutine's from now on
	const chunks = 3
	a := &ahead{full: make(chan *chunk, chunks), empty: make(chan *chunk, chunks), quit: make(chan struct{})}
	for range chunks {
		a.empty <- &chunk{}
	}
	switch rows := r.rows.(type) {
	case *csvReader:
		a.row.slash, a.row.decode = rows.dialect.Escape, rows.decode
	default:
		a.row.sheet = true
	}
	r.ahead = a
	a.done.Add(1)
	go a.run(r)
}

func (a *ahead) run(r *Reader) {
	defer a.done.Done()
	for {
		var c *chunk
		select {
		case c = <-a.empty:
		case <-a.quit:
			return
		}
		c.rows, c.raw, c.cells, c.xml = c.rows[:0], c.raw[:0], c.cells[:0], c.xml[:0]
		for len(c.rows) < chunkRows && len(c.raw) < chunkBytes && c.err == nil {
			var row *Row
			if row, c.err = r.read(); c.err == nil {
				c.add(row)
			}
		}
		a.full <- c // there is room for all chunks
		if c.err != nil {
			return
		}
	}
}

// next returns the next row.
func (a *ahead) next() (*Row, error) {
	for a.now == nil || a.at.rows == len(a.now.rows) {
		if a.now != nil {
			if a.now.err != nil {
				return nil, a.now.err
			}
			a.empty <- a.now
		}
		a.now, a.at = <-a.full, chunkPlace{}
	}
	c, r, at := a.now, &a.row, &a.at
	m := &c.rows[at.rows]
	end := at.raw + m.raw
	r.Line, r.Kind, r.safe = m.line, m.kind, m.safe
	r.raw, r.end, r.cells = c.raw[at.raw:end:end], c.raw[end:end+m.end],
		c.cells[at.cells:at.cells+m.cells:at.cells+m.cells]
	at.rows, at.raw, at.cells = at.rows+1, end+m.end, at.cells+m.cells
	if r.xml = nil; m.xml {
		r.xml = c.xml[at.xml]
		at.xml++
	}
	return r, nil
}

// stop ends the goroutine.
func (a *ahead) stop() {
	if a == nil {
		return
	}
	close(a.quit)
	a.done.Wait()
}
