package list

import "io"

// Replay is a stream that can be read from its beginning again, until that is no longer wanted. What was read is kept
// until then.
type Replay struct {
	src  io.Reader
	kept []byte
	once bool // nothing is kept any more
}

// NewReplay returns a Replay of a stream.
func NewReplay(src io.Reader) *Replay { return &Replay{src: src} }

// Once says that nothing more is to be kept: readers that are there already get all of the stream.
func (r *Replay) Once() {
	if r != nil {
		r.once = true
	}
}

// Reader returns a reader that begins at the beginning; where that is gone, at what was not read yet.
func (r *Replay) Reader() io.Reader { return &replayed{from: r} }

// replayed reads a Replay.
type replayed struct {
	from *Replay
	at   int
}

// Read implements [io.Reader]. Only one reader may read what is new.
func (r *replayed) Read(p []byte) (int, error) {
	if r.at < len(r.from.kept) {
		n := copy(p, r.from.kept[r.at:])
		if r.at += n; r.at == len(r.from.kept) && r.from.once {
			r.from.kept, r.at = nil, 0
		}
		return n, nil
	}
	n, err := r.from.src.Read(p)
	if !r.from.once {
		r.from.kept = append(r.from.kept, p[:n]...)
		r.at += n
	}
	return n, err
}
