package osdp

import "bytes"

// verdict is what to do with bytes that may be a packet.
type verdict uint8

const (
	refuse verdict = iota
	accept
	wait // for more bytes
)

// The weights of what speaks for a packet, in pieces of evidence: a CRC is sixteen bits, a checksum eight; a code of
// the standard with the data that goes with it, and another packet or nothing right behind it, are worth about as much
// as half a checksum each, and bits that mean nothing speak as much against it (own judgement).
const (
	ofCRC      = 4
	ofChecksum = 2
	ofOther    = 1
	enough     = ofChecksum + ofOther
)

// weight returns how much speaks for a packet whose check is right.
func (p Packet) weight() int {
	w := ofChecksum
	if p.CRC {
		w = ofCRC
	}
	if p.fits() {
		w += ofOther
	}
	if p.Unknown != 0 {
		w -= ofOther
	}
	return w
}

// judge tells what to do with a packet of n bytes at s.pos whose check is right. Chance makes a checksum right one time
// in 256; then the bytes may hold the beginning of a packet for which more speaks.
func (s *Scanner) judge(p Packet, n int) verdict {
	i := s.nextStart(s.pos, s.pos+n)
	if p.CRC || i == 0 {
		return accept
	}
	w := p.weight() + s.followed(s.pos+n)
	for ; i > 0; i = s.nextStart(i, s.pos+n) {
		switch q, m, err := Parse(s.buf[i:s.end]); {
		case err == nil && q.weight()+s.followed(i+m) > w:
			return refuse
		case err != nil && s.err == nil && !s.quiet && s.promises(i):
			return wait
		}
	}
	return accept
}

// nextStart returns where, behind buf[i] and before buf[end], the next byte is that may begin a packet; 0 where there
// is none.
func (s *Scanner) nextStart(i, end int) int {
	if i+1 < end {
		if next := bytes.IndexByte(s.buf[i+1:end], start); next >= 0 {
			return i + 1 + next
		}
	}
	return 0
}

// followed returns what speaks for a packet that ends before buf[i]: that what follows is a packet, a mark, or nothing.
func (s *Scanner) followed(i int) int {
	if i == s.end || s.buf[i] == start || s.buf[i] == marking {
		return ofOther
	}
	return 0
}

// promises tells whether the bytes from buf[i] on may become a packet for which more speaks than a checksum: they end
// too early, say that a CRC will come, and have a code that is in the standard.
func (s *Scanner) promises(i int) bool {
	b := s.buf[i:s.end]
	if len(b) <= headerLen || b[4]&ctrlCRC == 0 || b[4]&(ctrlUnknown|ctrlSecurity) != 0 {
		return false
	}
	n := int(b[2]) | int(b[3])<<8
	_, known := names[b[1]>>7][b[headerLen]]
	return known && n > len(b) && n <= MaxPacket
}

// outdone tells whether the bytes from s.pos on, which begin like a packet and end too early, have a whole packet
// behind their beginning. A packet on its way holds no other one; where the source has gone quiet in its middle, any
// will do.
func (s *Scanner) outdone() bool {
	for i := s.nextStart(s.pos, s.end); i > 0; i = s.nextStart(i, s.end) {
		if q, _, err := Parse(s.buf[i:s.end]); err == nil && (q.weight() >= enough || s.quiet) {
			return true
		}
	}
	return false
}
