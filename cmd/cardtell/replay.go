package main

import "io"

// replay is a stream that can be read from its beginning again, until that is no longer wanted. What was read is kept
// until then.
type replay struct {
	src  io.Reader
	kept []byte
	once bool // nothing is kept any more
}

// reader returns a reader that begins at the beginning; where that is gone, at what was not read yet.
func (r *replay) reader() io.Reader { return &replayed{from: r} }

// replayed reads a replay.
type replayed struct {
	from *replay
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
