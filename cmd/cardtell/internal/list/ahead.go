package list

import "sync"

// chunkRows and chunkBytes are how much is handed over at once: enough that handing over costs nothing, little enough that it stays in
// the processor's own memory.
const (
	chunkRows  = 1024
	chunkBytes = 128 << 10
)

// chunk is rows with what stands in them.
type chunk struct {
	rows  []Row
	raw   []byte // the rows' bytes with their line ends, one row after the other
	cells []cell
	xml   []xmlRow
	err   error // what came after the last row
}

// add copies a row into the chunk. Its slices are set when the chunk is complete, since the chunk's memory may move until then.
func (c *chunk) add(r *Row) {
	c.raw = append(append(c.raw, r.raw...), r.end...)
	c.cells = append(c.cells, r.cells...)
	row := Row{
		Line: r.Line, Kind: r.Kind, Blank: r.Blank, slash: r.slash, sheet: r.sheet, decode: r.decode,
		raw: r.raw, end: r.end, cells: r.cells, scrape: nil,
	}
	if n := len(c.rows); n < cap(c.rows) {
		row.scrape = c.rows[:n+1][n].scrape
	}
	if row.xml = r.xml; r.xml != nil {
		c.xml = append(c.xml, *r.xml.clone())
	}
	c.rows = append(c.rows, row)
}

// settle makes the rows' slices those of the chunk.
func (c *chunk) settle() {
	at, cells, xml := 0, 0, 0
	for i := range c.rows {
		r := &c.rows[i]
		n, e, k := len(r.raw), len(r.end), len(r.cells)
		r.raw, r.end = c.raw[at:at+n:at+n], c.raw[at+n:at+n+e:at+n+e]
		r.cells = c.cells[cells : cells+k : cells+k]
		at, cells = at+n+e, cells+k
		if r.xml != nil {
			r.xml = &c.xml[xml]
			xml++
		}
	}
}

// ahead reads rows while others are worked on.
type ahead struct {
	full  chan *chunk
	empty chan *chunk
	quit  chan struct{}
	done  sync.WaitGroup
	now   *chunk
	at    int
}

// Ahead lets a goroutine read the rows that follow while the caller works on those it has: the same rows in the same order, and the same
// errors after them. Nothing else may be asked of the reader until the last row; [Reader.Close] ends it early.
func (r *Reader) Ahead() {
	r.lineEnd() // which is the goroutine's from now on
	const chunks = 3
	a := &ahead{full: make(chan *chunk, chunks), empty: make(chan *chunk, chunks), quit: make(chan struct{})}
	for range chunks {
		a.empty <- &chunk{}
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
		c.settle()
		a.full <- c // there is room for all chunks
		if c.err != nil {
			return
		}
	}
}

// next returns the next row.
func (a *ahead) next() (*Row, error) {
	for a.now == nil || a.at == len(a.now.rows) {
		if a.now != nil {
			if a.now.err != nil {
				return nil, a.now.err
			}
			a.empty <- a.now
		}
		a.now, a.at = <-a.full, 0
	}
	a.at++
	return &a.now.rows[a.at-1], nil
}

// stop ends the goroutine.
func (a *ahead) stop() {
	if a == nil {
		return
	}
	close(a.quit)
	a.done.Wait()
}
