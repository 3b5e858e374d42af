package wiegand

import (
	"fmt"
	"math/bits"
	"slices"
	"strconv"
	"strings"
)

// Layout is a checked and compiled [Spec]. It is immutable; share it freely. The zero Layout, and a nil one, is of no
// bits and no fields, and takes nothing apart but the empty read.
type Layout struct {
	core // first, so that what the usual read needs lies together

	spec   Spec
	fields []field
	infos  []CheckInfo

	facility, number int // positions of those fields, counted from 1; 0 where there is none

	fixed     []fixed  // the same, check by check
	single    []parity // parity relations evaluated one by one
	shapes    []shape  // parity relations evaluated many at a time
	digitsMSB words    // the bits of value 8 of all digits whose bits of value 4 and 2 follow
	digitsLSB words    // the same where they come before
	digits    []digitSet
	order     []parity // every parity relation, in the order of computing
	touch     [MaxBits]CheckSet

	blank       words // a read of which nothing is known, and its checks that fail
	blankFailed CheckSet
}

// core is all that decoding needs of the usual layout: a few lines of the processor's memory, and no pointer to follow.
type core struct {
	length uint16
	quick  uint16 // the length where short, otherwise more bits than there can be
	short  bool   // the masks and the first word of the fixed bits are all there is to check
	few    uint8  // how many of the masks there are
	simple uint8  // how many fields, where short and all of them are pieces; otherwise more than there can be

	masks           [4]mask // those that are not there are 0, and always hold
	fixedMask, base words   // all fixed bits and constant fields together, and what they are
	pieces          [MaxFields]piece
}

// mask is a parity relation within the first word.
type mask struct {
	bits  uint64
	want  uint64
	fails CheckSet // the check that fails with it
}

// piece says where the value of a field is that is one run within a word, most significant bit first: shifted down and
// masked it is alone. mask is 0 where the field is not so.
type piece struct {
	mask       uint64
	down, word uint8
}

// CheckInfo describes one check of a layout: its kind, and all the bits it speaks of in rising order.
type CheckInfo struct {
	Kind CheckKind `json:"kind"`          // which rule
	Bit  int       `json:"bit,omitempty"` // Even, Odd: the bit that is computed, numbered from 1; otherwise 0
	Bits Spans     `json:"bits"`          // all bits, Bit among them
}

// parity is one relation over GF(2): the ones under mask are odd in number (want 1) or even (want 0). In encoding,
// target is the bit that makes it so.
type parity struct {
	mask   words
	want   uint64
	target uint8
	check  uint8
}

// shape is a set of parity relations that are shifted copies of one another, such as the forty character parities of a
// FASC-N. All are evaluated at once: shift the whole read by each offset, xor, and look at the bits under at.
type shape struct {
	offsets []uint8
	at      words
	want    words
	checks  [MaxBits]uint8 // by the position of the first bit
}

type fixed struct {
	mask, value words
	check       uint8
}

// digitSet is the bits of value 8 of the digits that one digit check is about. A digit is over 9 where that bit is set
// together with the one of value 4 or 2.
type digitSet struct {
	eights words
	check  uint8
}

// MustCompile is [Compile] for specs known to be right; it panics where they are not.
func MustCompile(spec Spec) *Layout {
	l, err := Compile(spec)
	if err != nil {
		panic(err)
	}
	return l
}

// orZero returns l, or a zero Layout for nil.
func (l *Layout) orZero() *Layout {
	if l == nil {
		return &Layout{}
	}
	return l
}

// Spec returns what the layout was made of. The slices are the layout's own: do not change them.
func (l *Layout) Spec() Spec { return l.orZero().spec }

// Len returns the number of bits of a read.
func (l *Layout) Len() int { return int(l.orZero().length) }

// Checks returns the checks, those included that codings and constants imply. The slice is the layout's own: do not
// change it. Index i is bit i of a [CheckSet].
func (l *Layout) Checks() []CheckInfo { return l.orZero().infos }

// Field returns the index of the field of that name, -1 where there is none. Of several unknown fields it is the first.
func (l *Layout) Field(name string) int {
	switch {
	case l == nil:
		return -1
	case name == FieldFacility:
		return l.facility - 1
	case name == FieldNumber:
		return l.number - 1
	}
	return l.find(name)
}

func (l *Layout) find(name string) int {
	return slices.IndexFunc(l.spec.Fields, func(f Field) bool { return f.Name == name })
}

// Touching returns the checks that a misread of the bit at index i alone, counted from 0, can make fail. In a read
// whose checks hold it does, but for digits, which may still be 9 or less. A check may speak of bits that it does not
// depend on: a longitudinal check leaves out the parity bits of the characters. Empty where there is no such bit.
func (l *Layout) Touching(i int) CheckSet {
	if i < 0 || i >= l.Len() {
		return 0
	}
	return l.touch[i]
}

// CheckSet is a set of checks of one layout: bit i stands for check i.
type CheckSet uint64

// Has reports whether check i is in the set. None is at an i that is not 0 to 63: a shift so far leaves nothing.
func (s CheckSet) Has(i int) bool { return s>>uint(i)&1 == 1 }

// Len returns how many checks are in the set.
func (s CheckSet) Len() int { return bits.OnesCount64(uint64(s)) }

// String lists the checks by index, such as {0 2}.
func (s CheckSet) String() string {
	var all []int
	for i := range MaxChecks {
		if s.Has(i) {
			all = append(all, i)
		}
	}
	return "{" + strings.Trim(fmt.Sprint(all), "[]") + "}"
}

// MarshalText returns what [CheckSet.String] returns.
func (s CheckSet) MarshalText() ([]byte, error) { return []byte(s.String()), nil }

// UnmarshalText reads what [CheckSet.String] returns. The error is ErrSyntax where the text is not of that form,
// ErrRange where an index is over 63.
func (s *CheckSet) UnmarshalText(text []byte) error {
	const op = "checks"
	inner, open := strings.CutPrefix(string(text), "{")
	inner, closed := strings.CutSuffix(inner, "}")
	if !open || !closed {
		return fail(op, string(text), "write indices between braces, such as {0 2}", ErrSyntax)
	}
	var r CheckSet
	for _, part := range strings.Fields(inner) {
		i, err := strconv.ParseUint(part, 10, 16)
		switch {
		case err != nil:
			return fail(op, string(text), "write indices between braces, such as {0 2}", ErrSyntax)
		case i >= MaxChecks:
			return fail(op, string(text), fmt.Sprintf("%d; indices are 0 to %d", i, MaxChecks-1), ErrRange)
		}
		r |= 1 << i
	}
	*s = r
	return nil
}
