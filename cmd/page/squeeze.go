package main

import (
	"bytes"
	"encoding/binary"
	"errors"
	"maps"
	"math"
	"math/bits"
	"slices"

	"github.com/klauspost/compress/gzip"
)

// A program for the browser is packed in four steps, which unpack.js takes back. The memory that it begins with is
// put together to one piece, without what nothing needs, and tables in it are sorted by columns. Its instructions are
// sorted into streams: the codes in one, and what follows a code in others, by that code and the ones before and
// behind it. Codes that often stand together are written as one. Then gzip packs all of it. What comes of it is
// written in signs of UTF-16. The numbers are those of the core specification of WebAssembly.

// How an instruction goes on behind its code.
const (
	alone    = iota
	number   // a LEB128 number: of a local, a function, a constant
	memory   // the alignment, which follows from the code, and a number
	branch   // a number of blocks to leave: kept is that of the blocks that stay, which is often the same
	spot     // a code of our own: a constant, kept is its distance from the last one of its function
	block    // a type of one byte, and a block begins
	end      // a block ends, or the function
	table    // a list of numbers, and one more, each kept as the distance from the one before
	two      // two numbers
	bytes4   // a constant
	bytes8   // a constant
	extended // a second code, and as many zeros as it has
)

// Go writes where a function goes on, as a constant: after a call, with the number of the function above 16 bits, and
// before a jump. These codes of our own stand for i64.const and i32.const there, and entry for the distances in a
// table.
const (
	entry  = 0xfd
	jump   = 0xfe
	goesOn = 0xff
)

// firstFunction is the number that Go gives the first function of a module.
const firstFunction = 0x1000

// kinds says it for every code.
var kinds = func() (all [256]byte) {
	for code := 0x28; code <= 0x3e; code++ {
		all[code] = memory
	}
	for _, code := range []byte{0x10, 0x20, 0x21, 0x22, 0x23, 0x24, 0x3f, 0x40, 0x41, 0x42} {
		all[code] = number
	}
	all[0x0c], all[0x0d], all[jump], all[goesOn] = branch, branch, spot, spot
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

// streams are by their places: those of the codes and of the locals of functions, and three for each code between two
// others, for the first byte, the second, and those after.
type streams map[int][]byte

const codes, locals = 0, 1

func place(code, before, behind byte) int {
	return 3 * (int(code&0x7f)<<14 | int(before&0x7f)<<7 | int(behind&0x7f))
}

func (s streams) add(to int, b ...byte) { s[to] = append(s[to], b...) }

// bytes adds those of a number.
func (s streams) bytes(to int, b []byte) {
	for i, c := range b {
		s.add(to+min(i, 2), c)
	}
}

func (s streams) number(to, n int) { s.bytes(to, binary.AppendUvarint(nil, uint64(n))) }

// signed adds a number that can be below zero: its sign in its last bit.
func (s streams) signed(to, n int) { s.number(to, n<<1^n>>(bits.UintSize-1)) }

// parts are those of a module: its functions in streams, how many bytes and functions these are, what stands before and
// behind them, and tables in the memory.
type parts struct {
	streams
	before, after   []byte
	size, functions int
	listed          int // the number of the first function, if before goes on with those of all functions
	memory          int // where in after the memory is
	rows, buckets   span
}

func sorted(text []byte) (parts, error) {
	m, p := &module{text: text, at: 8}, parts{streams: streams{}}
	out := slices.Clone(text[:min(8, len(text))])
	for m.at < len(text) && !m.bad {
		id := m.byte()
		part := &module{text: m.take(m.number())}
		switch id {
		case 2:
			p.listed = part.number() // functions of the browser have the first numbers
			out = section(out, id, part.text)
		case 10:
			p.size, p.functions = len(part.text), part.number()
			p.before, out = p.unlisted(out), nil
			for i := range p.functions {
				f := &module{text: part.take(part.number())}
				p.function(f, firstFunction+i)
				m.bad = m.bad || part.bad || f.bad || f.at != len(f.text)
			}
		case 11:
			head, memory := part.onePiece()
			p.rows = columns(memory, forget(memory))
			p.buckets = buckets(memory)
			out = section(out, id, append(head, memory...))
			p.memory = len(out) - len(memory)
		default:
			out = section(out, id, part.text)
		}
		m.bad = m.bad || part.bad
	}
	p.after = out
	if m.bad || p.before == nil {
		return p, errModule
	}
	return p, nil
}

// unlisted cuts the list of all functions, which a table of Go's is, from the end of what is before them.
func (p *parts) unlisted(before []byte) []byte {
	var list []byte
	for i := range p.functions {
		list = binary.AppendUvarint(list, uint64(p.listed+i))
	}
	short, found := bytes.CutSuffix(before, list)
	if !found {
		p.listed = 0
	}
	return short
}

func section(out []byte, id byte, text []byte) []byte {
	return append(binary.AppendUvarint(append(out, id), uint64(len(text))), text...)
}

// mostMemory is more than a program begins with, in bytes.
const mostMemory = 1 << 26

// onePiece puts the pieces of memory together, with zeros between them as there are in memory, and returns it with what
// stands before it.
func (m *module) onePiece() (head, memory []byte) {
	type piece struct {
		at   int
		text []byte
	}
	var pieces []piece
	from, to := math.MaxInt, 0
	for range m.number() {
		if m.byte() != 0 || m.byte() != 0x41 { // of the one memory there is, at a constant place
			m.bad = true
			return nil, nil
		}
		p := piece{at: m.number()}
		m.bad = m.bad || m.byte() != 0x0b
		p.text = m.take(m.number())
		pieces, from, to = append(pieces, p), min(from, p.at), max(to, p.at+len(p.text))
	}
	if m.bad || to < from || to-from > mostMemory {
		m.bad = true
		return nil, nil
	}
	memory = make([]byte, to-from)
	for _, p := range pieces {
		copy(memory[p.at-from:], p.text)
	}
	head = append(constant([]byte{1, 0, 0x41}, from), 0x0b)
	return binary.AppendUvarint(head, uint64(len(memory))), memory
}

// constant appends a number from 0 on as WebAssembly writes signed ones.
func constant(b []byte, n int) []byte {
	for ; n >= 0x40; n >>= 7 {
		b = append(b, byte(n&0x7f|0x80))
	}
	return append(b, byte(n))
}

// instruction is a code and what stands behind it: the bytes, and the numbers in them.
type instruction struct {
	code    byte
	rest    []byte
	numbers []int
}

func (m *module) instruction() instruction {
	x := instruction{code: m.byte()}
	from := m.at
	more := func() int {
		x.numbers = append(x.numbers, m.number())
		return x.numbers[len(x.numbers)-1]
	}
	switch kinds[x.code] {
	case number, branch:
		more()
	case memory:
		m.bad = m.bad || m.byte() != alignments[x.code-0x28]-'0'
		from++
		more()
	case block:
		m.byte()
	case table:
		for range more() + 1 {
			more()
		}
	case two:
		more()
		more()
	case bytes4:
		m.take(4)
	case bytes8:
		m.take(8)
	case extended:
		n := m.number()
		x.rest = m.text[from:m.at]
		m.take(zeros[n])
		return x
	}
	x.rest = m.text[from:m.at]
	return x
}

// deeper is how many blocks more an instruction is followed by.
func (x instruction) deeper() int {
	switch kinds[x.code] {
	case block:
		return 1
	case end:
		return -1
	}
	return 0
}

// function sorts the instructions of a function, of which the number is known.
func (s streams) function(f *module, is int) {
	n := f.number()
	for range n {
		f.number()
		f.byte()
	}
	s.add(locals, f.text[:f.at]...)
	var all []instruction
	for depth := 0; depth >= 0 && !f.bad; {
		x := f.instruction()
		depth += x.deeper()
		all = append(all, x)
	}
	ours(all, is)
	last, depth, at := byte(0), 0, 0
	for i, x := range all {
		s.add(codes, x.code)
		to := place(x.code, last, all[min(i+1, len(all)-1)].code)
		last = x.code
		switch kinds[x.code] {
		case number, memory:
			s.bytes(to, x.rest)
		case branch:
			s.number(to, depth-x.numbers[0])
		case spot:
			s.signed(to, x.numbers[0]-at)
			if x.code == goesOn {
				at = x.numbers[0]
			}
		case table:
			s.number(to, x.numbers[0])
			for k, n := range x.numbers[1:] {
				s.signed(place(entry, 0, 0), n-x.numbers[k]*min(k, 1))
			}
		default:
			s.add(to, x.rest...)
		}
		depth += x.deeper()
	}
}

// ours changes the codes of constants that are places in a function to those of our own.
func ours(all []instruction, is int) {
	for i := range all[:max(0, len(all)-1)] {
		x, next := &all[i], all[i+1]
		switch {
		case x.code == 0x42 && x.numbers[0]>>16 == is && bytes.Equal(x.rest, constant(nil, x.numbers[0])):
			x.code, x.numbers[0] = goesOn, x.numbers[0]&0xffff
		case x.code == 0x41 && next.code == 0x21 && next.numbers[0] == 0 && bytes.Equal(x.rest, constant(nil, x.numbers[0])):
			x.code = jump
		}
	}
}

// pairs writes two codes that often stand together as one that no code has, as often as there is one, and returns what
// each of those stands for: Gage, "A new algorithm for data compression", 1994.
func pairs(text []byte) (short, pairs []byte) {
	var used [256]bool
	for _, c := range text {
		used[c] = true
	}
	for c := range used {
		if used[c] {
			continue
		}
		count, best := make([]int, 1<<16), 0
		for i, k := 1, -1; i < len(text); i++ {
			if now := int(text[i-1])<<8 | int(text[i]); now != k { // of three alike two are a pair
				k = now
				if count[k]++; count[k] > count[best] {
					best = k
				}
			} else {
				k = -1
			}
		}
		two := []byte{byte(best >> 8), byte(best)}
		pairs = append(append(pairs, byte(c)), two...)
		text = bytes.ReplaceAll(text, two, []byte{byte(c)})
	}
	return text, pairs
}

// squeeze packs a module: the lengths of what follows, the places of streams, each as the distance from the one before,
// their lengths, and then all of them.
func squeeze(text []byte) ([]byte, error) {
	p, err := sorted(text)
	if err != nil {
		return nil, err
	}
	places := slices.Sorted(maps.Keys(p.streams))
	instructions := len(p.streams[codes])
	short, pairs := pairs(p.streams[codes])
	p.streams[codes] = short
	head := []int{p.size, p.functions, p.listed, instructions, len(pairs), len(p.before), len(p.after), p.memory}
	head = append(head, p.rows.at, p.rows.n, p.buckets.at, p.buckets.n, len(places))
	last := 0
	for _, place := range places {
		head, last = append(head, place-last), place
	}
	for _, place := range places {
		head = append(head, len(p.streams[place]))
	}
	var numbers []byte
	for _, n := range head {
		numbers = binary.AppendUvarint(numbers, uint64(n))
	}
	parts := [][]byte{numbers, pairs, p.before, p.after}
	for _, place := range places {
		parts = append(parts, p.streams[place])
	}
	return zip(parts...)
}

// gzip learns anew how often each byte is there where that makes the next freshAhead bytes smaller than going on does
// with up to freshBehind before them: at multiples of freshStep, but not within leastFresh bytes.
const leastFresh, freshStep, freshAhead, freshBehind = 1_000, 2_000, 5_000, 40_000

func zip(parts ...[]byte) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	fresh := 0
	for _, part := range parts {
		for _, piece := range pieces(part) {
			_, more := z.Write(piece)
			err = errors.Join(err, more)
			if fresh += len(piece); fresh > leastFresh {
				err, fresh = errors.Join(err, z.Flush()), 0
			}
		}
	}
	err = errors.Join(err, z.Close())
	return b.Bytes(), err
}

// pieces parts data where gzip should learn anew.
func pieces(part []byte) (all [][]byte) {
	from := 0
	for at := freshStep; at < len(part); at += freshStep {
		before, next := part[max(from, at-freshBehind):at], part[at:min(at+freshAhead, len(part))]
		if zipped(before, next) < zipped(slices.Concat(before, next)) {
			all, from = append(all, part[from:at]), at
		}
	}
	return append(all, part[from:])
}

// zipped is how long a faster level of gzip makes data that it learns anew for each piece.
func zipped(pieces ...[]byte) int {
	var b bytes.Buffer
	z, _ := gzip.NewWriterLevel(&b, fasterLevel)
	for _, piece := range pieces {
		_, _ = z.Write(piece)
		_ = z.Flush()
	}
	_ = z.Close()
	return b.Len()
}

// fasterLevel tells which is smaller as the best one does, in half the time.
const fasterLevel = 6
