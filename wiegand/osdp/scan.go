package osdp

import (
	"bytes"
	"errors"
	"io"
	"time"
)

// Piece is some bytes of the bus, in order.
type Piece struct {
	Bytes []byte        // good until the next piece is asked for
	At    time.Duration // when they came, since any fixed moment
	Timed bool          // At is known
}

// Source gives the bytes of a bus piece by piece, then io.EOF. A piece may begin and end anywhere in a packet.
type Source interface {
	Next() (Piece, error)
}

// Found is a packet and where it was found.
type Found struct {
	Packet
	Offset int64         // of its first byte, in the bytes of the bus
	At     time.Duration // when the piece came that holds its first byte
	Timed  bool          // At is known
	// Resent tells that the device has sent the same reply just before, with the same sequence number: the controller
	// missed it and asked again, so it is no second read.
	Resent bool
}

// Counts is what a [Scanner] has seen so far.
type Counts struct {
	Bytes     int64 // of the bus
	Packets   int   // whole ones
	Replies   int   // of those, from devices
	BadChecks int   // what looked like a packet but for its CRC or checksum
	Skipped   int64 // bytes that belong to no packet, without marking bytes
}

// Scanner finds packets. NewScanner makes one. Where bytes are no packet, or one whose check is wrong, it goes on one
// byte later, so that no intact packet is lost behind a damaged one. What only looks like the beginning of a packet
// holds back none that is whole behind it, and a checksum of 8 bits, which one byte in 256 fits, does not swallow a
// packet that has more to show. It must not be used by several goroutines at once.
type Scanner struct {
	src      Source
	buf      [2 * MaxPacket]byte
	pos, end int
	base     int64  // of buf[0], in the bytes of the bus
	piece    Piece  // what of the last piece is not in buf yet
	marks    []mark // when the bytes in buf came, in order
	err      error
	counts   Counts
	last     [Broadcast + 1]fingerprint // the last reply of each address
	quiet    bool                       // the source had nothing to give
}

// mark says when the bytes from offset on came.
type mark struct {
	offset int64
	at     time.Duration
	timed  bool
}

// fingerprint is enough of a reply to know it again.
type fingerprint struct {
	sequence, code byte
	length         int
	crc            uint16
}

// NewScanner returns a scanner of the bytes of src.
func NewScanner(src Source) *Scanner { return &Scanner{src: src} }

// Counts returns what has been seen so far.
func (s *Scanner) Counts() Counts { return s.counts }

// Next returns the next packet, whose slices are good until Next is called again; io.EOF after the last one, or the
// error of the source, once all that came before it has been searched. After an error whose Timeout method returns
// true, Next may be called again.
func (s *Scanner) Next() (Found, error) {
	for {
		s.seek()
		p, n, err := Parse(s.buf[s.pos:s.end])
		var does verdict
		switch {
		case err == nil:
			does = s.judge(p, n)
		case errors.Is(err, ErrShort) && s.err == nil && !s.outdone():
			does = wait
		}
		switch {
		case does == accept:
			return s.found(p, n), nil
		case does == wait:
			err := s.fill()
			s.quiet = err != nil
			if err != nil {
				return Found{}, err
			}
			continue
		case s.pos == s.end:
			return Found{}, s.err
		case errors.Is(err, ErrCheck):
			s.counts.BadChecks++
		}
		s.pos++
		s.counts.Skipped++
	}
}

// seek goes on to the next byte that may begin a packet.
func (s *Scanner) seek() {
	rest := s.buf[s.pos:s.end]
	n := bytes.IndexByte(rest, start)
	if n < 0 {
		n = len(rest)
	}
	s.counts.Skipped += int64(n - bytes.Count(rest[:n], []byte{marking}))
	s.pos += n
}

// found counts a packet of n bytes and uses it up.
func (s *Scanner) found(p Packet, n int) Found {
	f := Found{Packet: p, Offset: s.base + int64(s.pos)}
	m := s.markOf(f.Offset)
	f.At, f.Timed = m.at, m.timed
	s.counts.Packets++
	if p.Reply {
		s.counts.Replies++
		now := fingerprint{p.Sequence, p.Code, n, CRC(s.buf[s.pos : s.pos+n])}
		// Sequence 0 begins a connection and is never asked for again.
		f.Resent = p.Sequence != 0 && now == s.last[p.Address]
		s.last[p.Address] = now
	}
	s.pos += n
	return f
}

// markOf returns when the byte at an offset came, and forgets all before.
func (s *Scanner) markOf(offset int64) mark {
	i := 0
	for i+1 < len(s.marks) && s.marks[i+1].offset <= offset {
		i++
	}
	if i > 0 {
		s.marks = append(s.marks[:0], s.marks[i:]...)
	}
	if len(s.marks) == 0 {
		return mark{}
	}
	return s.marks[0]
}

// fill moves what is left to the front and reads more. A timeout is passed on; any other error is kept until the bytes
// are used up.
func (s *Scanner) fill() error {
	copy(s.buf[:], s.buf[s.pos:s.end])
	s.base += int64(s.pos)
	s.end -= s.pos
	s.pos = 0
	s.markOf(s.base)
	for len(s.piece.Bytes) == 0 {
		piece, err := s.src.Next()
		if err != nil {
			var t interface{ Timeout() bool }
			if errors.As(err, &t) && t.Timeout() {
				return err
			}
			s.err = err
			return nil
		}
		s.piece = piece
	}
	n := copy(s.buf[s.end:], s.piece.Bytes)
	m := mark{s.base + int64(s.end), s.piece.At, s.piece.Timed}
	if k := len(s.marks); k == 0 || s.marks[k-1].at != m.at || s.marks[k-1].timed != m.timed {
		s.marks = append(s.marks, m)
	}
	s.end += n
	s.counts.Bytes += int64(n)
	s.piece.Bytes = s.piece.Bytes[n:]
	return nil
}

// binary is a [Source] of plain bytes.
type binary struct {
	r   io.Reader
	buf [4096]byte
}

// NewBinary returns a source of bytes as they were on the bus, without times.
func NewBinary(r io.Reader) Source { return &binary{r: r} }

func (b *binary) Next() (Piece, error) {
	for range 100 {
		n, err := b.r.Read(b.buf[:])
		if n > 0 {
			return Piece{Bytes: b.buf[:min(n, len(b.buf))]}, nil
		}
		if err != nil {
			return Piece{}, err
		}
	}
	return Piece{}, io.ErrNoProgress
}
