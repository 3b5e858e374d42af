package wiegand

import (
	"bytes"
	"fmt"
	"math/big"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// agree compares the real code with the twin on one read. note says how to come back to it.
func agree(t *testing.T, l *Layout, read, note string) {
	t.Helper()
	spec := l.Spec()
	b := MustParseBits("bits:" + read)
	r, err := l.Decode(b)
	require.NoError(t, err, note)
	require.Equal(t, r.OK(), l.Holds(b), note)
	agreeOnNumbers(t, &r, note)
	fields, checks := slowDecode(spec, read)
	require.Len(t, l.Checks(), len(checks), note)
	onlyDigits := true // whether no check fails that encoding can set right
	for i, c := range checks {
		info := l.Checks()[i]
		same := info.Kind == c.kind && info.Bit == c.bit && slices.Equal(slowBits(info.Bits), c.bits)
		if r.Failed().Has(i) == c.ok || !same {
			require.Failf(t, "check differs", "%s\nread %s\ncheck %d %+v failed %t\nwant %+v", note, read, i, info,
				r.Failed().Has(i), c)
		}
		onlyDigits = onlyDigits && (c.ok || c.kind == Digit)
	}
	for i, text := range fields {
		require.Equal(t, text, r.Text(i), "%s\nread %s field %d", note, read, i)
		agreeOnValue(t, &r, i, text, note)
	}
	require.Equal(t, slowEncode(spec, read), r.Encode().String(), "%s\nread %s", note, read)
	if onlyDigits {
		require.Equal(t, b, r.Encode(), "%s\nencode(decode(x)) is x where the checks of x hold", note)
	}
	again, err := l.Decode(r.Encode())
	require.NoError(t, err, note)
	require.Equal(t, again.Bits(), again.Encode(), note)
	for i, f := range spec.Fields {
		if f.Name == FieldUnknown && f.Constant == "" {
			require.Equal(t, r.Text(i), again.Text(i), "%s\nunknown bits are kept", note)
		}
	}
}

// agreeOnNumbers checks that taking all numbers at once gives what taking one after the other does.
func agreeOnNumbers(t *testing.T, r *Record, note string) {
	t.Helper()
	fields := r.Layout().Spec().Fields
	want, numbers := make([]uint64, len(fields)), make([]uint64, len(fields))
	possible := true
	for i, f := range fields {
		n := slowWidth(f)
		possible = possible && f.Coding != Signs5 && (f.Coding != Binary || n <= 64) &&
			(f.Coding == Binary || n/f.Coding.charBits() <= 19)
		if v, ok := r.Uint64(i); ok {
			want[i] = v
		}
	}
	failed, err := r.Layout().Uint64s(numbers, new(r.Bits()))
	require.Equal(t, possible, err == nil, "%s: %v", note, err)
	if possible {
		require.Equal(t, r.Failed(), failed, note)
		require.Equal(t, want, numbers, note)
	} else {
		require.ErrorIs(t, err, ErrRange, note)
		require.Zero(t, failed, note)
	}
	for n := range len(fields) + 2 {
		if failed, err := r.Layout().Uint64s(make([]uint64, n), new(r.Bits())); n != len(fields) {
			require.ErrorIs(t, err, ErrLength, "%s: %d places", note, n)
			require.Zero(t, failed, note)
		}
	}
}

// agreeOnValue checks the other ways of taking a field out, and of putting it back.
func agreeOnValue(t *testing.T, r *Record, i int, text, note string) {
	t.Helper()
	f := r.Layout().Spec().Fields[i]
	want, isNumber := new(big.Int).SetString(text, 10)
	v, ok := r.Uint64(i)
	fits := isNumber && want.IsUint64()
	if f.Coding == Binary {
		fits = slowWidth(f) <= 64
	} else if len(text) > 19 {
		fits = false // 10^19-1 is under 2^64, 10^20-1 is not
	}
	require.Equal(t, fits, ok, "%s\nfield %d", note, i)
	if ok {
		require.Equal(t, want.Uint64(), v, "%s\nfield %d", note, i)
	}
	if f.Coding != Binary {
		bits := ""
		for _, c := range text {
			bits += fmt.Sprintf("%04b", c-'0')
		}
		require.Equal(t, bits, r.Value(i).String(), "%s\nfield %d", note, i)
	} else {
		require.Zero(t, want.Cmp(value(r.Value(i).String())), "%s\nfield %d", note, i)
		require.Equal(t, slowWidth(f), r.Value(i).Len(), "%s\nfield %d", note, i)
	}
	if f.Constant != "" && text != f.Constant {
		return // can't be put back
	}
	back, err := r.WithValue(i, r.Value(i))
	require.NoError(t, err, note)
	require.Equal(t, r.Encode(), back.Bits(), note)
	if isNumber || f.Coding == Signs5 {
		back, err = r.Layout().Blank().WithText(i, text)
		require.NoError(t, err, note)
		require.Equal(t, text, back.Text(i), note)
	}
	if ok && f.Coding != Signs5 {
		back, err = r.Layout().Blank().WithUint64(i, v)
		require.NoError(t, err, note)
		require.Equal(t, text, back.Text(i), note)
	}
}

func slowWidth(f Field) int { return len(slowBits(f.Bits)) }

// All 2^26 reads of the 26-bit format. The twin here is written for that format alone, straight from the description of
// SIA AC-01-1996.10 in public drivers: an even parity bit over the first twelve data bits, eight bits of facility,
// sixteen of card number, an odd parity bit over the last twelve.
func TestEveryReadOf26Bits(t *testing.T) {
	if testing.Short() {
		t.Skip("67 million reads")
	}
	l := MustCompile(spec26)
	read := bytes.Repeat([]byte{'0'}, 26)
	var r Record
	var text []byte
	good := 0
	for n := range uint32(1 << 26) {
		if n > 0 { // count up in characters
			i := bytes.LastIndexByte(read, '0')
			read[i] = '1'
			for i++; i < 26; i++ {
				read[i] = '0'
			}
		}
		even := bytes.Count(read[0:13], []byte("1"))%2 == 0
		odd := bytes.Count(read[13:26], []byte("1"))%2 == 1
		facility, _ := strconv.ParseUint(string(read[1:9]), 2, 8)
		number, _ := strconv.ParseUint(string(read[9:25]), 2, 16)

		b, _ := BitsFromUint(uint64(n), 26)
		text, _ = b.AppendText(text[:0])
		err := l.DecodeInto(&r, &b)
		f, ok1 := r.Uint64(0)
		c, ok2 := r.Uint64(1)
		if !bytes.Equal(text, read) || err != nil || !ok1 || !ok2 || f != facility || c != number ||
			r.Failed().Has(0) == even || r.Failed().Has(1) == odd || r.Failed() > 3 || r.OK() != (even && odd) ||
			l.Holds(b) != r.OK() {
			t.Fatalf("read %s: %s, facility %d, number %d, failed %s", read, text, f, c, r.Failed())
		}
		// The read as it should be: the same, each parity bit changed where it is wrong.
		want := n
		if !even {
			want ^= 1 << 25
		}
		if !odd {
			want ^= 1
		}
		if v, _ := r.Encode().Uint64(); v != uint64(want) {
			t.Fatalf("read %s encodes as %026b, not %026b", read, v, want)
		}
		if !even || !odd {
			continue
		}
		good++
		if again, err := l.Encode(facility, number); err != nil || again != b {
			t.Fatalf("facility %d, number %d encode as %s, not %s: %v", facility, number, again, read, err)
		}
	}
	assert.Equal(t, 1<<24, good, "one read in four passes both parities")
}

// seedOfReads makes the random reads and layouts; a failure prints what it was made of as well.
const seedOfReads = 26

func randomRead(r *rand.Rand, n int) string {
	b := make([]byte, n)
	for i := range b {
		b[i] = '0' + byte(r.UintN(2))
	}
	return string(b)
}

// withDigits returns the read with fields of digits set to values from 0 to 9, which a random read has seldom.
func withDigits(r *rand.Rand, spec Spec, read string) string {
	g := specMaker{Rand: r}
	for _, f := range spec.Fields {
		if f.Coding == BCD || f.Coding == Digits5 {
			read = slowSet(f, read, g.value(f))
		}
	}
	return read
}

func times(short, long int) int {
	if testing.Short() {
		return short
	}
	return long
}

func TestTwinOnTheLayoutsOfTheTests(t *testing.T) {
	for _, c := range testSpecs {
		t.Run(c.name, func(t *testing.T) {
			random := rand.New(rand.NewPCG(seedOfReads, 0))
			l := MustCompile(c.spec)
			for range times(50, 500) {
				read := randomRead(random, c.spec.Length)
				agree(t, l, read, c.name)
				agree(t, l, slowEncode(c.spec, read), c.name)
			}
			good := slowEncode(c.spec, withDigits(random, c.spec, randomRead(random, c.spec.Length)))
			for i := range good { // a good read, with each bit wrong in turn, so that one check fails and the rest hold
				near := []byte(good)
				near[i] ^= 1
				agree(t, l, string(near), c.name)
			}
		})
	}
}

// A digit at every place of a read, with every value: the twin checks what a digit over 9 is where it lies across two
// words.
func TestTwinOnDigitsEverywhere(t *testing.T) {
	for coding := BCD; coding <= Signs5; coding++ {
		n := coding.charBits()
		for order := MSBFirst; order <= LSBFirst && (n == 4 || order == MSBFirst); order++ {
			for at := 2; at+n <= MaxBits; at++ {
				if testing.Short() && (at+5)%64 > 7 {
					continue // only about where a word ends
				}
				spec := Spec{Length: MaxBits, Fields: []Field{
					{Name: "digit", Bits: Spans{{From: at, To: at + n - 1}}, Coding: coding, Order: order},
					{Name: FieldUnknown, Bits: Spans{{From: 1, To: at - 1}, {From: at + n, To: MaxBits}}},
				}}
				l := MustCompile(spec)
				for v := range 1 << n {
					for _, rest := range []string{"0", "1"} { // what lies beside it must not count
						read := []byte(strings.Repeat(rest, MaxBits))
						copy(read[at-1:], fmt.Sprintf("%0*b", n, v))
						r := must(l.Decode(MustParseBits("bits:" + string(read))))
						fields, checks := slowDecode(spec, string(read))
						failed := false
						for i, c := range checks {
							require.Equal(t, !c.ok, r.Failed().Has(i), "%s %s at %d: %0*b", coding, order, at, n, v)
							failed = failed || !c.ok
						}
						require.Equal(t, failed, !r.OK())
						require.Equal(t, r.OK(), l.Holds(r.Bits()))
						require.Equal(t, fields[0], r.Text(0))
					}
				}
			}
		}
	}
}

// Layouts about the lengths at which the fast ways of checking end: one word, and copies of one parity as wide as a
// word.
func TestTwinWhereWordsEnd(t *testing.T) {
	random := rand.New(rand.NewPCG(seedOfReads, 4))
	for n := 60; n <= 68; n++ {
		last := Spec{
			Length: n, Fields: []Field{{Name: "number", Bits: Spans{{From: 2, To: n}}}},
			Checks: []Check{{Kind: Odd, Bit: 1, Over: Spans{{From: 2, To: n}}}},
		}
		copies := Spec{ // bits 1 to 5 are parities, each with one bit n-1 places behind
			Length: n + 4, Fields: []Field{{Name: "number", Bits: Spans{{From: 6, To: n + 4}}}},
			Checks: []Check{{Kind: Even, Bit: 1, Over: Spans{{From: n, To: n}}, Repeat: 5, Step: 1}},
		}
		for _, spec := range []Spec{last, copies} {
			l := MustCompile(spec)
			for range 40 {
				read := randomRead(random, spec.Length)
				agree(t, l, read, fmt.Sprint(spec))
				agree(t, l, slowEncode(spec, read), fmt.Sprint(spec))
			}
		}
	}
}

// Fields of one to as many characters as fit, from several places: no character is split between words.
func TestTwinOnLongFields(t *testing.T) {
	random := rand.New(rand.NewPCG(seedOfReads, 2))
	for coding := Binary; coding <= Signs5; coding++ {
		n := max(1, coding.charBits())
		for width := n; width < MaxBits-8; width += n {
			for _, at := range []int{2, 3 + random.IntN(5)} {
				spec := Spec{Length: MaxBits, Fields: []Field{
					{Name: "long", Bits: Spans{{From: at, To: at + width - 1}}, Coding: coding},
					{Name: FieldUnknown, Bits: Spans{{From: 1, To: at - 1}, {From: at + width, To: MaxBits}}},
				}}
				l := MustCompile(spec)
				agree(t, l, randomRead(random, MaxBits), fmt.Sprint(coding, width, at))
				agree(t, l, slowEncode(spec, withDigits(random, spec, randomRead(random, MaxBits))), fmt.Sprint(coding, width, at))
			}
		}
	}
}

func TestTwinOnRandomLayouts(t *testing.T) {
	for i := range times(150, 5000) {
		seed := uint64(i)
		random := rand.New(rand.NewPCG(seedOfReads, seed))
		spec := randomSpec(random)
		note := fmt.Sprintf("layout %d of seed %d: %+v", seed, seedOfReads, spec)
		l, err := Compile(spec)
		require.NoError(t, err, note)
		for range 4 {
			read := randomRead(random, spec.Length)
			agree(t, l, read, note)
			near := []byte(slowEncode(spec, withDigits(random, spec, read)))
			agree(t, l, string(near), note)
			bit := random.IntN(len(near))
			agreeOnTouching(t, l, string(near), bit, note)
			near[bit] ^= 1
			agree(t, l, string(near), note)
		}
	}
}

// agreeOnTouching changes one bit of a read whose checks hold, but for digits over 9.
func agreeOnTouching(t *testing.T, l *Layout, read string, bit int, note string) {
	t.Helper()
	b := MustParseBits("bits:" + read)
	before := must(l.Decode(b))
	after := must(l.Decode(b.WithBit(bit, 1-b.Bit(bit))))
	touching := l.Touching(bit)
	changed := before.Failed() ^ after.Failed()
	require.Zero(t, changed&^touching, "%s\nread %s bit %d: a check changed that does not depend on it", note, read, bit+1)
	for i, c := range l.Checks() {
		if c.Kind != Digit && touching.Has(i) {
			require.True(t, after.Failed().Has(i), "%s\nread %s bit %d: check %d still holds", note, read, bit+1, i)
		}
	}
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
