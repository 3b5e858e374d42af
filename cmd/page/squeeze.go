package main

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"errors"
	"math"
	"slices"
	"strings"
)

// A program for the browser is packed in three steps, which unpack.js takes back. The memory that it begins with is put
// together to one piece, without what nothing needs. Its instructions are sorted into streams: the codes in one, and what follows a code in others,
// by that code and the one before, which gzip then packs by a third better. What comes of it is written in signs of
// ASCII that no mail, server or editor changes. The numbers are those of the core specification of WebAssembly.

// How an instruction goes on behind its code.
const (
	alone    = iota
	number   // a LEB128 number: of a local, a function, a constant
	memory   // the alignment, which follows from the code, and a number
	block    // a type of one byte, and a block begins
	end      // a block ends, or the function
	table    // a list of numbers, and one more
	two      // two numbers
	bytes4   // a constant
	bytes8   // a constant
	extended // a second code, and as many zeros as it has
)

// kinds says it for every code.
var kinds = func() (all [256]byte) {
	for code := 0x28; code <= 0x3e; code++ {
		all[code] = memory
	}
	for _, code := range []byte{0x0c, 0x0d, 0x10, 0x20, 0x21, 0x22, 0x23, 0x24, 0x3f, 0x40, 0x41, 0x42} {
		all[code] = number
	}
	all[0x02], all[0x03], all[0x04], all[0x0b], all[0x0e], all[0x11] = block, block, block, end, table, two
	all[0x43], all[0x44], all[0xfc] = bytes4, bytes8, extended
	return all
}()

// alignments are those of loads and stores from code 0x28 on, each by its width.
const alignments = "23230011001122232301012"

// zeros is how many zeros follow a second code: memory.copy and memory.fill.
var zeros = map[int]int{10: 2, 11: 1}

var errModule = errors.New("the program is no module that can be packed")

// module is read from its beginning to its end; bad is that there was something else than there should be.
type module struct {
	text []byte
	at   int
	bad  bool
}

func (m *module) byte() byte {
	if m.at >= len(m.text) {
		m.bad = true
		return 0x0b // ends whatever is being read
	}
	m.at++
	return m.text[m.at-1]
}

func (m *module) number() (n int) {
	for shift := 0; shift < 64; shift += 7 {
		c := m.byte()
		n |= int(c&0x7f) << shift
		if c < 0x80 {
			break
		}
	}
	return n
}

func (m *module) take(n int) []byte {
	if n < 0 || n > len(m.text)-m.at {
		m.bad, n = true, 0
	}
	m.at += n
	return m.text[m.at-n : m.at]
}

// Places of streams: the codes, the locals of functions, and from there on three for each code and the one before it,
// for the first byte, the second, and those after.
const codes, locals, behind = 0, 1, 2

type streams map[int][]byte

func (s streams) add(stream int, b ...byte) { s[stream] = append(s[stream], b...) }

// sorted returns a module in streams, and what stands before and behind its functions.
func sorted(text []byte) (all streams, before, after []byte, size, functions int, err error) {
	m, all := &module{text: text, at: 8}, streams{}
	out := slices.Clone(text[:min(8, len(text))])
	for m.at < len(text) && !m.bad {
		id := m.byte()
		part := &module{text: m.take(m.number())}
		switch id {
		case 10:
			size, before, out = len(part.text), out, nil
			functions = part.number()
			for range functions {
				f := &module{text: part.take(part.number())}
				all.function(f)
				m.bad = m.bad || part.bad || f.bad || f.at != len(f.text)
			}
		case 11:
			out = section(out, id, part.onePiece())
		default:
			out = section(out, id, part.text)
		}
		m.bad = m.bad || part.bad
	}
	if m.bad || before == nil {
		err = errModule
	}
	return all, before, out, size, functions, err
}

func section(out []byte, id byte, text []byte) []byte {
	return append(binary.AppendUvarint(append(out, id), uint64(len(text))), text...)
}

// mostMemory is more than a program begins with, in bytes.
const mostMemory = 1 << 26

// onePiece puts the pieces of memory together, with zeros between them as there are in memory.
func (m *module) onePiece() []byte {
	type piece struct {
		at   int
		text []byte
	}
	var pieces []piece
	from, to := math.MaxInt, 0
	for range m.number() {
		if m.byte() != 0 || m.byte() != 0x41 { // of the one memory there is, at a constant place
			m.bad = true
			return nil
		}
		p := piece{at: m.number()}
		m.bad = m.bad || m.byte() != 0x0b
		p.text = m.take(m.number())
		pieces, from, to = append(pieces, p), min(from, p.at), max(to, p.at+len(p.text))
	}
	if m.bad || to < from || to-from > mostMemory {
		m.bad = true
		return nil
	}
	memory := make([]byte, to-from)
	for _, p := range pieces {
		copy(memory[p.at-from:], p.text)
	}
	forget(memory)
	place := []byte{1, 0, 0x41} // a signed number
	for at := from; ; at >>= 7 {
		if at < 0x40 {
			place = append(place, byte(at), 0x0b)
			break
		}
		place = append(place, byte(at&0x7f|0x80))
	}
	return append(binary.AppendUvarint(place, uint64(len(memory))), memory...)
}

// function sorts the instructions of a function.
func (s streams) function(f *module) {
	n := f.number()
	for range n {
		f.number()
		f.byte()
	}
	s.add(locals, f.text[:f.at]...)
	last := byte(0)
	for depth := 0; depth >= 0 && !f.bad; {
		code := f.byte()
		s.add(codes, code)
		to := behind + 3*(int(code)<<8|int(last))
		switch kinds[code] {
		case number:
			s.number(to, f)
		case memory:
			f.bad = f.bad || f.byte() != alignments[code-0x28]-'0'
			s.number(to, f)
		case block:
			depth++
			s.add(to, f.byte())
		case end:
			depth--
		case table:
			for range s.number(to, f) + 1 {
				s.number(to, f)
			}
		case two:
			s.number(to, f)
			s.number(to, f)
		case bytes4:
			s.add(to, f.take(4)...)
		case bytes8:
			s.add(to, f.take(8)...)
		case extended:
			f.take(zeros[s.number(to, f)])
		}
		last = code
	}
}

func (s streams) number(to int, f *module) int {
	from := f.at
	n := f.number()
	for i, c := range f.text[from:f.at] {
		s.add(to+min(i, 2), c)
	}
	return n
}

// squeeze packs a module: the lengths of what follows and of its streams with their places, all in four bytes each, and
// then all of them.
func squeeze(text []byte) ([]byte, error) {
	all, before, after, size, functions, err := sorted(text)
	if err != nil {
		return nil, err
	}
	var places []int
	for place := range all {
		places = append(places, place)
	}
	slices.Sort(places)
	head := []int{size, functions, len(before), len(after), len(places)}
	for _, place := range places {
		head = append(head, place, len(all[place]))
	}
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	for _, n := range head {
		err = errors.Join(err, binary.Write(z, binary.LittleEndian, uint32(n)))
	}
	parts := [][]byte{before, after}
	for _, place := range places {
		parts = append(parts, all[place])
	}
	for _, part := range parts {
		_, more := z.Write(part)
		err = errors.Join(err, more)
	}
	err = errors.Join(err, z.Close())
	return b.Bytes(), err
}

// signs are what packed bytes are written with, 13 bits in 2 of them: none that HTML, mail or a shell takes for
// something else.
var signs = func() string {
	var b strings.Builder
	for c := byte('!'); c <= '~'; c++ {
		if !strings.ContainsRune(`<>&`, rune(c)) {
			b.WriteByte(c)
		}
	}
	return b.String()
}()

// lineLength is that of lines of signs: mail has fewer than 1,000 (RFC 5322, section 2.1.1).
const lineLength = 960

// written writes bytes in signs, and before them how many they are, in four bytes.
func written(b []byte) string {
	var out strings.Builder
	bits, n, line := 0, 0, 0
	put := func() {
		out.WriteByte(signs[bits>>(max(n, 13)-13)&0x1fff/len(signs)])
		out.WriteByte(signs[bits>>(max(n, 13)-13)&0x1fff%len(signs)])
		if line += 2; line%lineLength == 0 {
			out.WriteByte('\n')
		}
	}
	for _, c := range append(binary.LittleEndian.AppendUint32(nil, uint32(len(b))), b...) {
		bits, n = bits<<8&0x1fffff|int(c), n+8
		if n >= 13 {
			put()
			n -= 13
		}
	}
	if n > 0 {
		bits, n = bits<<(13-n), 13
		put()
	}
	return out.String()
}
