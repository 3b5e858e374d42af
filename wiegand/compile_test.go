package wiegand

import (
	"fmt"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every refusal of Compile, with its message. Each row changes one thing of a layout that holds together.
func TestCompileRefuses(t *testing.T) {
	eight := func() Spec { // a field of 6 bits between two parities
		return Spec{
			Length: 8,
			Fields: []Field{{Name: "number", Bits: spans("2-7")}},
			Checks: []Check{{Kind: Even, Bit: 1, Over: spans("2-4")}, {Kind: Odd, Bit: 8, Over: spans("5-7")}},
		}
	}
	_, err := Compile(eight())
	require.NoError(t, err)
	once := eight()
	once.Checks[0].Repeat = 1
	_, err = Compile(once)
	require.NoError(t, err, "what comes once needs no step")

	for _, c := range []struct {
		change  func(s *Spec)
		message string
	}{
		{func(s *Spec) { s.Length = 0 }, `layout: a length of 0; 1 to 256 are possible`},
		{func(s *Spec) { s.Length = -8 }, `layout: a length of -8; 1 to 256 are possible`},
		{func(s *Spec) { s.Length = 257 }, `layout: a length of 257; 1 to 256 are possible`},
		{func(s *Spec) { s.Length = 10 },
			`layout: bits 9-10 are claimed by nothing; give them to a field or a check, or to a field named unknown`},
		{func(s *Spec) { s.Length = 7 }, `check 2 "odd": bits 8: the read has 7 bits`},
		{func(s *Spec) { s.Fields = make([]Field, 17) }, `layout: 17 fields; 16 are possible`},

		{func(s *Spec) { s.Fields[0].Name = "" }, `field 1: a name is lower-case letters, digits and dashes`},
		{func(s *Spec) { s.Fields[0].Name = "Number" }, `field 1 "Number": a name is lower-case letters, digits and dashes`},
		{func(s *Spec) { s.Fields[0].Name = "a b" }, `field 1 "a b": a name is lower-case letters, digits and dashes`},
		{func(s *Spec) { s.Fields = append(s.Fields, s.Fields[0]) }, `field 2 "number": the name is used twice`},
		{func(s *Spec) { s.Fields[0].Coding = 9 }, `field 1 "number": no such coding or order`},
		{func(s *Spec) { s.Fields[0].Order = 9 }, `field 1 "number": no such coding or order`},
		{func(s *Spec) { s.Fields[0].Bits = nil }, `field 1 "number": has no bits`},
		{func(s *Spec) { s.Fields[0].Bits = Spans{{From: 0, To: 7}} },
			`field 1 "number": bits 0-7: bits are numbered from 1`},
		{func(s *Spec) { s.Fields[0].Bits = spans("2-9") }, `field 1 "number": bits 2-9: the read has 8 bits`},
		{func(s *Spec) { s.Fields[0].Bits = spans("2-5, 4-7") }, `field 1 "number": bit 4 is claimed twice`},
		{func(s *Spec) { s.Fields[0].Bits = Spans{{From: 2, To: 7, Step: 257}} },
			`field 1 "number": bits 2-7/257: a step is 1 to 256`},
		{func(s *Spec) { s.Fields[0].Coding = BCD }, `field 1 "number": 6 bits are not whole characters of 4`},
		{func(s *Spec) { s.Fields[0].Coding, s.Fields[0].Bits = BCD, spans("2-4, 6") },
			`field 1 "number": the bits of the character at bit 2 do not follow one another`},
		{func(s *Spec) { s.Fields[0].Coding, s.Fields[0].Bits = Digits5, spans("2-5, 7") },
			`field 1 "number": the bits of the character at bit 2 do not follow one another`},
		{func(s *Spec) { s.Fields[0] = Field{Name: "a", Bits: spans("2-6"), Coding: Signs5, Order: LSBFirst} },
			`field 1 "a": 5-bit characters are least significant bit first by their standard; leave the order out`},
		{func(s *Spec) { s.Fields[0].Coding, s.Fields[0].Bits = BCD, spans("2, 4-6") },
			`field 1 "number": the bits of the character at bit 2 do not follow one another`},
		{func(s *Spec) { s.Fields[0].Coding = Signs5 + 1 }, `field 1 "number": no such coding or order`},
		{func(s *Spec) { s.Fields[0].Order = LSBFirst + 1 }, `field 1 "number": no such coding or order`},
		{func(s *Spec) { s.Fields[0].Constant = "64" }, `field 1 "number": number "64": does not fit 6 bits: 0 to 63`},
		{func(s *Spec) { s.Fields[0].Constant = "x" }, `field 1 "number": number "x": 'x' is no digit; write digits`},

		{func(s *Spec) { s.Checks[0].Bit = 0 }, `check 1 "even": bits 0: bits are numbered from 1`},
		{func(s *Spec) { s.Checks[0].Bit = 2 }, `check 1 "even": bit 2 is claimed twice`},
		{func(s *Spec) { s.Checks[0].Over = nil }, `check 1 "even": covers no bits`},
		{func(s *Spec) { s.Checks[0].Over = spans("1-4") }, `check 1 "even": covers its own bit 1`},
		{func(s *Spec) { s.Checks[0].Over = spans("2-4, 3") }, `check 1 "even": covers bit 3 twice`},
		{func(s *Spec) { s.Checks[0].Over = spans("2-9") }, `check 1 "even": over 2-9: the read has 8 bits`},
		{func(s *Spec) { s.Checks[0].Over = Spans{{From: 4, To: 2}} },
			`check 1 "even": over 4-2: ends before it begins; write 2-4; which end counts most is the field's order`},
		{func(s *Spec) { s.Checks[0].Over = spans("2-8") },
			`check 1 "even": covers bit 8, which is computed later or claimed by nothing; put the check that computes it first`},
		{func(s *Spec) { s.Checks[0].Repeat = -1 }, `check 1 "even": repeats -1 times; 64 are possible`},
		{func(s *Spec) { s.Checks[0].Repeat = 65 }, `check 1 "even": repeats 65 times; 64 are possible`},
		{func(s *Spec) { s.Checks[0].Repeat = 2 }, `check 1 "even": repeats every 0 bits; a step is 1 or more`},
		{func(s *Spec) { s.Checks[0].Repeat, s.Checks[0].Step = 2, math.MaxInt },
			`check 1 "even": bits ` + fmt.Sprint(math.MinInt) + `: bits are numbered from 1`},
		{func(s *Spec) { s.Checks[0].Kind = Digit },
			`check 1 "digit": is implied by a field's coding and not written as a check`},
		{func(s *Spec) { s.Checks[0].Kind = 77 }, `check 1 "CheckKind(77)": is no kind of check`},

		{func(s *Spec) { s.Checks[0] = Check{Kind: Fixed} }, `check 1 "fixed": has no bits`},
		{func(s *Spec) { s.Checks[0] = Check{Kind: Fixed, Bits: spans("1"), Value: MustParseBits("10")} },
			`check 1 "fixed": 1 bits have a value of 2 bits`},
		{func(s *Spec) { s.Checks[0] = Check{Kind: Fixed, Bits: spans("1-2"), Value: MustParseBits("10")} },
			`check 1 "fixed": bit 2 is claimed twice`},

		{func(s *Spec) { s.Checks[0] = Check{Kind: LRC, Bits: spans("1"), Over: spans("2-6")} },
			`check 1 "lrc": 1 bits over 5; it is one character of 5 bits over whole characters`},
		{func(s *Spec) {
			s.Length, s.Checks[0] = 13, Check{Kind: LRC, Bits: spans("1, 9-12"), Over: spans("2-7")}
		},
			`check 1 "lrc": 5 bits over 6; it is one character of 5 bits over whole characters`},
		{func(s *Spec) { s.Length, s.Checks[0] = 13, Check{Kind: LRC, Bits: spans("9-13")} },
			`check 1 "lrc": covers no bits`},
		{func(s *Spec) {
			s.Length, s.Checks[0] = 13, Check{Kind: LRC, Bits: spans("9-13"), Over: spans("2-5, 9")}
		},
			`check 1 "lrc": covers bit 9, which is computed later or claimed by nothing; put the check that computes it first`},
		{func(s *Spec) { s.Checks[0] = Check{Kind: LRC, Over: spans("2-6")} }, `check 1 "lrc": has no bits`},
	} {
		s := eight()
		c.change(&s)
		l, err := Compile(s)
		assert.Nil(t, l)
		assert.ErrorIs(t, err, ErrLayout)
		assert.EqualError(t, err, c.message)
		assert.Panics(t, func() { MustCompile(s) })
	}
}

// Characters bring checks with them, and all count.
func TestCompileRefusesTooManyChecks(t *testing.T) {
	s := Spec{Length: 130, Fields: []Field{{Name: "number", Bits: spans("1-65")}}}
	s.Checks = []Check{{Kind: Even, Bit: 66, Over: spans("1"), Repeat: 64, Step: 1},
		{Kind: Odd, Bit: 130, Over: spans("1-9")}}
	_, err := Compile(s)
	assert.EqualError(t, err, `layout: 65 checks; 64 are possible`)

	s = Spec{Length: 256, Fields: []Field{{Name: "a", Bits: spans("1")}}}
	for bit := 2; bit <= 256; bit++ {
		s.Checks = append(s.Checks, Check{Kind: Odd, Bit: bit, Over: spans("1")})
	}
	_, err = Compile(s)
	assert.EqualError(t, err, `layout: 255 checks; 64 are possible`)

	s = Spec{Length: 255, Fields: []Field{{Name: "signs", Bits: spans("1-255"), Coding: Signs5}}}
	l, err := Compile(s)
	require.NoError(t, err)
	assert.Len(t, l.Checks(), 51)
}

// The limits themselves are possible.
func TestCompileAtItsLimits(t *testing.T) {
	s := Spec{Length: 80}
	for i := range MaxFields {
		s.Fields = append(s.Fields, Field{Name: fmt.Sprintf("f%d", i), Bits: Spans{{From: i + 1, To: i + 1}}})
	}
	s.Checks = []Check{{Kind: Even, Bit: 17, Over: spans("1-16"), Repeat: MaxChecks}}
	s.Checks[0].Over, s.Checks[0].Step = spans("16"), 1
	l, err := Compile(s)
	require.NoError(t, err)
	assert.Len(t, l.Checks(), MaxChecks)
	assert.Equal(t, CheckSet(1)<<63, l.Touching(79))
	assert.True(t, CheckSet(1<<63).Has(63))
}

// What a digit check depends on: the bits of values 8, 4 and 2. That of value 1 takes no digit over 9.
func TestTouchingDigits(t *testing.T) {
	l := MustCompile(Spec{Length: 8, Fields: []Field{
		{Name: "a", Bits: spans("1-4"), Coding: BCD}, {Name: "b", Bits: spans("5-8"), Coding: BCD, Order: LSBFirst},
	}})
	for i, want := range []CheckSet{1, 1, 1, 0, 0, 2, 2, 2} {
		assert.Equal(t, want, l.Touching(i), "bit %d", i+1)
	}
	assert.Zero(t, MustCompile(Spec{Length: MaxBits,
		Fields: []Field{{Name: "a", Bits: spans("1-256")}}}).Touching(MaxBits))
}

// A layout is its own: what a caller does to the spec afterwards changes nothing.
func TestLayoutKeepsItsSpec(t *testing.T) {
	s := Spec{Length: 5, Fields: []Field{{Name: "number", Bits: spans("1-3")}}, Checks: []Check{
		{Bit: 4, Over: spans("1-3")}, {Kind: Fixed, Bits: spans("5"), Value: MustParseBits("1")},
	}}
	l := MustCompile(s)
	s.Fields[0].Bits[0].To, s.Fields[0].Name, s.Checks[0].Over[0].To, s.Checks[1].Bits[0].To = 99, "x", 99, 99
	assert.Equal(t, "number", l.Spec().Fields[0].Name)
	assert.Equal(t, "1-3", l.Spec().Fields[0].Bits.String())
	assert.Equal(t, "1-3", l.Spec().Checks[0].Over.String())
	assert.Equal(t, "5", l.Spec().Checks[1].Bits.String())
}

func TestLayoutQuestions(t *testing.T) {
	l := MustCompile(spec26)
	assert.Equal(t, 26, l.Len())
	assert.Equal(t, 1, l.Field(FieldNumber))
	assert.Equal(t, -1, l.Field("agency"))
	assert.Equal(t, []CheckInfo{{Even, 1, spans("1-13")}, {Odd, 26, spans("14-26")}}, l.Checks())
	assert.Equal(t, CheckSet(1), l.Touching(0))
	assert.Equal(t, CheckSet(2), l.Touching(13))
	assert.Zero(t, l.Touching(-1))
	assert.Zero(t, l.Touching(26))
	assert.Equal(t, CheckSet(3), MustCompile(spec37).Touching(18), "bit 19 is in both")

	s := l.Touching(0) | 1<<63
	assert.True(t, s.Has(63))
	assert.False(t, s.Has(1) || s.Has(-1) || s.Has(64))
	assert.Equal(t, 2, s.Len())
	assert.Equal(t, "{0 63}", s.String())
}

// Names in definition files: what String returns is read back, and nothing else.
func TestNames(t *testing.T) {
	for c := Binary; c <= Signs5; c++ {
		var got Coding
		assert.NoError(t, got.UnmarshalText([]byte(c.String())))
		assert.Equal(t, c, got)
	}
	for k := Even; k <= Digit; k++ {
		var got CheckKind
		assert.NoError(t, got.UnmarshalText([]byte(k.String())))
		assert.Equal(t, k, got)
	}
	var o Order
	assert.NoError(t, o.UnmarshalText([]byte("lsb")))
	assert.Equal(t, LSBFirst, o)
	assert.Equal(t, "lsb", o.String())
	assert.EqualError(t, o.UnmarshalText([]byte("MSB")), `order "MSB": is none of msb, lsb`)
	var c Coding
	assert.EqualError(t, c.UnmarshalText([]byte(strings.Repeat("x", 99))),
		`coding "`+strings.Repeat("x", 48)+`…": is none of binary, bcd, digits5, signs5`)
	var k CheckKind
	assert.EqualError(t, k.UnmarshalText([]byte("Digit")), `kind "Digit": is none of even, odd, lrc, fixed`)
	assert.Equal(t, "CheckKind(99) CheckKind(5) Order(2) Coding(4)", fmt.Sprint(CheckKind(99), Digit+1, LSBFirst+1,
		Signs5+1))
}
