package wiegand

import (
	"math"
	"math/big"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDecodeRefusesOtherLengths(t *testing.T) {
	l := MustCompile(spec26)
	var r Record
	require.NoError(t, l.DecodeInto(&r, new(MustParseBits("26:32D687E"))))
	before := r
	err := l.DecodeInto(&r, new(MustParseBits("27:32D687E")))
	assert.ErrorIs(t, err, ErrLength)
	assert.EqualError(t, err, `decode "27:32D687E": 27 bits where the layout has 26`)
	assert.Equal(t, before, r, "the record is left as it was")
	assert.True(t, l.Holds(MustParseBits("26:32D687E")))
	assert.False(t, l.Holds(MustParseBits("27:32D687E")))
	assert.False(t, l.Holds(MustParseBits("bits:"+MustParseBits("26:32D687E").String()+"0")))
	_, err = l.Decode(Bits{})
	assert.EqualError(t, err, `decode "0:0": 0 bits where the layout has 26`)
}

// A value is never cut to fit: the message gives the range.
func TestSettingFields(t *testing.T) {
	mixed := MustCompile(specMixed)
	field := mixed.Field
	for _, c := range []struct {
		name, value string
		kind        error
		message     string
	}{
		{"number", "16777216", ErrRange, `number "16777216": does not fit 24 bits: 0 to 16777215`},
		{"number", "1" + strings.Repeat("0", 99), ErrRange,
			`number "1` + strings.Repeat("0", 47) + `…": does not fit 24 bits: 0 to 16777215`},
		{"number", "", ErrSyntax, `number: no digits`},
		{"number", "-1", ErrSyntax, `number "-1": '-' is no digit; write digits`},
		{"number", "4614x", ErrSyntax, `number "4614x": 'x' is no digit; write digits`},
		{"facility", "122", ErrRange, `facility: is always 121 in this layout`},
		{"bcd", "12345", ErrRange, `bcd "12345": does not fit 4 digits: 0 to 9999`},
		{"bcd", "12:4", ErrSyntax, `bcd "12:4": ':' is no digit; write digits`},
		{"signs", "1234", ErrRange, `signs "1234": 4 signs where there are 3`},
		{"signs", "12", ErrRange, `signs "12": 2 signs where there are 3`},
		{"signs", "12A", ErrSyntax, `signs "12A": 'A' is no digit; write digits`},
		{"wide", "1237940039285380274899124224", ErrRange, // 2^90
			`wide "1237940039285380274899124224": does not fit 90 bits: 0 to 1237940039285380274899124223`},
	} {
		blank := mixed.Blank()
		got, err := blank.WithText(field(c.name), c.value)
		assert.Equal(t, blank, got, "the record is left as it was")
		assert.ErrorIs(t, err, c.kind)
		assert.EqualError(t, err, c.message)
		if v, e := strconv.ParseUint(c.value, 10, 64); e == nil && c.name != "signs" {
			_, err = blank.WithUint64(field(c.name), v)
			assert.ErrorIs(t, err, c.kind)
			assert.EqualError(t, err, c.message)
		}
	}

	_, err := mixed.Blank().WithValue(field("bcd"), MustParseBits("15:0"))
	assert.EqualError(t, err, `bcd "15:0000": 15 bits where the field has 16`)
	assert.ErrorIs(t, err, ErrLength)
	for _, i := range []int{-1, 8, 99} {
		_, err = mixed.Blank().WithText(i, "1")
		assert.EqualError(t, err, "field: the layout has no field "+strconv.Itoa(i))
		_, err = mixed.Blank().WithUint64(i, 1)
		assert.ErrorIs(t, err, ErrRange)
		_, err = mixed.Blank().WithValue(i, Bits{})
		assert.ErrorIs(t, err, ErrRange)
	}

	// What may be written shorter, and what is set although the field is wide.
	for name, text := range map[string]string{
		"number": "007", "bcd": "01204", "bcd-lsb": "7", "wide": "1237940039285380274899124223", "facility": "0121",
	} {
		r, err := mixed.Blank().WithText(field(name), text)
		require.NoError(t, err)
		assert.Equal(t, strings.TrimLeft(text, "0"), strings.TrimLeft(r.Text(field(name)), "0"))
		assert.True(t, r.OK())
	}
	r, err := mixed.Blank().WithUint64(field("wide"), math.MaxUint64)
	require.NoError(t, err)
	assert.Equal(t, "18446744073709551615", r.Text(field("wide")))
	v, ok := r.Uint64(field("wide"))
	assert.False(t, ok, "its values can pass 64 bits")
	assert.Zero(t, v)
}

// The widest field takes the largest number there is, of 78 digits, and no larger one; that of one digit stops at 9.
func TestSettingTheWidestAndTheNarrowest(t *testing.T) {
	largest := new(big.Int).Sub(new(big.Int).Lsh(big.NewInt(1), MaxBits), big.NewInt(1)).String()
	l := MustCompile(Spec{Length: MaxBits, Fields: []Field{{Name: "number", Bits: spans("1-256")}}})
	r, err := l.Blank().WithText(0, "0"+largest)
	require.NoError(t, err)
	assert.Equal(t, MaxBits, r.Value(0).OnesCount())
	assert.Equal(t, largest, r.Text(0))
	_, err = l.Blank().WithText(0, strings.Replace(largest, "5", "6", 1))
	assert.ErrorIs(t, err, ErrRange)

	for coding, bits := range map[Coding]string{BCD: "1-4", Digits5: "1-5"} {
		s := spans(bits)
		l = MustCompile(Spec{Length: s.Len(), Fields: []Field{{Name: "digit", Bits: s, Coding: coding}}})
		const message = `digit "12": does not fit 1 digits: 0 to 9`
		_, err = l.Blank().WithUint64(0, 12)
		assert.EqualError(t, err, message)
		_, err = l.Blank().WithText(0, "12")
		assert.EqualError(t, err, message)
		_, err = l.Encode(12)
		assert.EqualError(t, err, message)
		r, err = l.Blank().WithText(0, "9")
		require.NoError(t, err)
		assert.Equal(t, "1001", r.Value(0).String(), "4 bits for each digit")
		assert.True(t, r.OK())
	}
}

// A field that has a value already takes another one: nothing of the old one is left, and the checks are those of the
// new read.
func TestSettingAgain(t *testing.T) {
	random := rand.New(rand.NewPCG(seedOfReads, 3))
	for _, c := range testSpecs {
		l := MustCompile(c.spec)
		for range 20 {
			r := must(l.Decode(MustParseBits("bits:" + randomRead(random, c.spec.Length))))
			for i, f := range c.spec.Fields {
				if f.Constant != "" {
					continue
				}
				for _, text := range []string{slowText(f, strings.Repeat("1", c.spec.Length)), "0", "1"} {
					if f.Coding == BCD || f.Coding == Digits5 {
						text = strings.NewReplacer(":", "9", "?", "9").Replace(text)
					}
					if f.Coding == Signs5 {
						text = strings.Repeat(text[:1], slowWidth(f)/5)
					}
					got, err := r.WithText(i, text)
					require.NoError(t, err, "%s %s", c.name, f.Name)
					want := slowEncode(c.spec, slowSet(f, r.Bits().String(), text))
					require.Equal(t, want, got.Bits().String(), "%s: %s = %s in %s", c.name, f.Name, text, r.Bits())
					require.Equal(t, must(l.Decode(got.Bits())), got, "%s: %s = %s in %s", c.name, f.Name, text, r.Bits())
				}
			}
		}
	}
}

func TestNoSuchField(t *testing.T) {
	for _, r := range []Record{{}, MustCompile(spec26).Blank()} {
		for _, i := range []int{-1, 2, 99} {
			v, ok := r.Uint64(i)
			assert.False(t, ok)
			assert.Zero(t, v)
			assert.Zero(t, r.Value(i))
			assert.Empty(t, r.Text(i))
			assert.Equal(t, "x", string(r.AppendField([]byte("x"), i)))
		}
	}
}

func TestZeroRecord(t *testing.T) {
	var r Record
	assert.Nil(t, r.Layout())
	assert.Equal(t, -1, r.Layout().Field(FieldNumber))
	assert.Zero(t, r.Bits())
	assert.Zero(t, r.Encode())
	assert.Zero(t, r.Failed())
	assert.True(t, r.OK())
	_, err := r.WithText(0, "1")
	assert.EqualError(t, err, "field: the layout has no field 0")
	assert.Equal(t, r, Record{}, "records are comparable")
}

// Encoding values gives what the twin makes of them, for any layout.
func TestEncodeValues(t *testing.T) {
	for i := range times(200, 5000) {
		seed := uint64(i)
		random := rand.New(rand.NewPCG(seedOfReads, seed))
		spec := randomSpec(random)
		l := MustCompile(spec)
		var values []uint64
		want := strings.Repeat("0", spec.Length)
		usable := true
		for _, f := range spec.Fields {
			v := randomValue(random, f)
			values = append(values, v)
			text := strconv.FormatUint(v, 10)
			same := strings.TrimLeft(f.Constant, "0") == strings.TrimLeft(text, "0")
			usable = usable && f.Coding != Signs5 && (f.Constant == "" || same)
			if usable {
				want = slowSet(f, want, text)
			}
		}
		got, err := l.Encode(values...)
		if !usable { // a constant that can't be given as 64 bits, or signs, which are set as text
			continue
		}
		require.NoError(t, err, "layout %d of seed %d", seed, seedOfReads)
		require.Equal(t, slowEncode(spec, want), got.String(), "layout %d of seed %d: %v", seed, seedOfReads, values)
	}
}

// randomValue returns a value that fits a field, its constant where it has one.
func randomValue(r *rand.Rand, f Field) uint64 {
	if f.Constant != "" {
		v, _ := strconv.ParseUint(f.Constant, 10, 64)
		return v
	}
	if n := f.Coding.charBits(); n > 0 {
		digits := min(slowWidth(f)/n, maxDigits64)
		v, _ := strconv.ParseUint(strings.Repeat("9", digits), 10, 64)
		return r.Uint64N(v)
	}
	return r.Uint64() >> (64 - min(64, slowWidth(f)))
}

func TestEncodeErrors(t *testing.T) {
	l := MustCompile(spec26)
	_, err := l.Encode(150)
	assert.ErrorIs(t, err, ErrLength)
	assert.EqualError(t, err, "encode: 1 values for 2 fields")
	_, err = l.Encode(256, 1)
	assert.ErrorIs(t, err, ErrRange)
	assert.EqualError(t, err, `facility "256": does not fit 8 bits: 0 to 255`)
	_, err = l.Encode(255, 65536)
	assert.EqualError(t, err, `number "65536": does not fit 16 bits: 0 to 65535`)
	_, err = MustCompile(specMixed).Encode(0, 0, 0, 0, 0, 0, 0, 0)
	assert.EqualError(t, err, `facility: is always 121 in this layout`)
}

// Published examples of the layouts of this package's tests. The same reads are in testdata/vectors, walked by package
// formats; here they hold the core to account without the catalogue.
func TestPublishedReads(t *testing.T) {
	fields := func(l *Layout, b Bits) string {
		r := must(l.Decode(b))
		require.True(t, r.OK(), r.Failed())
		require.Equal(t, b, r.Encode())
		var all []string
		for i := range l.Spec().Fields {
			all = append(all, r.Text(i))
		}
		return strings.Join(all, " ")
	}
	// Data D4 1B 81 between the two parities of SIA AC-01-1996.10: common practice, no source; the arithmetic is right.
	assert.Equal(t, "212 7041", fields(MustCompile(spec26), MustParseBits("26:3A83702")))
	// TIG SCEPACS v2.2, figure 7.
	assert.Equal(t, "0032 0001 092446 0 1 1112223333 1 1223 2", fields(MustCompile(specFASCN), MustParseBits(fascnTIG)))
	// The 64-bit frame of a 125 kHz tag as printed in two public notes.
	assert.Equal(t, "6 1202659", fields(MustCompile(specTag), MustParseBits("64:FF818000CAA974C8")))
	// 37 bits, parity as in the Linux kernel's Wiegand bus driver; own arithmetic.
	assert.Equal(t, "12345 123456", fields(MustCompile(spec37), MustParseBits("0001100000011100100111100010010000001")))
	// 35 bits, parity rule from memory; own arithmetic.
	assert.Equal(t, "1234 56789", fields(MustCompile(spec35), MustParseBits("01010011010010000011011101110101010")))
}

// What parity can see of wrong wiring follows from whether its groups are of odd or even length (own arithmetic).
func TestWiringThatParityCanSee(t *testing.T) {
	spec := func(n, half int) Spec { // an even parity first, an odd one last, over halves
		return Spec{
			Length: n, Fields: []Field{{Name: "number", Bits: Spans{{From: 2, To: n - 1}}}},
			Checks: []Check{
				{Kind: Even, Bit: 1, Over: Spans{{From: 2, To: half}}},
				{Kind: Odd, Bit: n, Over: Spans{{From: n + 1 - half, To: n - 1}}},
			},
		}
	}
	random := rand.New(rand.NewPCG(seedOfReads, 1))
	for _, c := range []struct {
		bits, half              int
		swapped, reversed, both CheckSet // which checks fail
	}{
		{26, 13, 3, 3, 0}, {30, 15, 3, 3, 0}, {34, 17, 3, 3, 0}, {37, 19, 3, 3, 0}, // groups of odd length
		{32, 16, 0, 3, 3}, {36, 18, 0, 3, 3}, // of even length
	} {
		l := MustCompile(spec(c.bits, c.half))
		for range 500 {
			b := must(l.Encode(random.Uint64() >> (64 - (c.bits - 2))))
			for _, wiring := range []struct {
				name string
				read Bits
				want CheckSet
			}{
				{"as sent", b, 0},
				{"swapped", b.Invert(), c.swapped},
				{"reversed", b.Reverse(), c.reversed},
				{"both", b.Invert().Reverse(), c.both},
			} {
				r := must(l.Decode(wiring.read))
				require.Equal(t, wiring.want, r.Failed(), "%d bits %s: %s", c.bits, wiring.name, wiring.read)
			}
		}
	}
}
