package reading

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// settledOn is a plan of a site with a sample of its list, and the damaged rows that the list has besides.
func settledOn(t *testing.T, cards []formats.Population, sample []string, opt Options) *Plan {
	t.Helper()
	p, err := New(formats.Builtin(), site.Site{Cards: cards}, opt)
	require.NoError(t, err)
	return p.Settled(sample)
}

// A number whose last digit was cut off is no other card: where the numbers of a column have a fixed length it is in
// doubt, with both readings, whether or not it is known which numbers are in use. The cards are made here by the
// published rule: 26 and 34 bits are facility · 65536 + number (SIA AC-01-1996.10; for 34 bits common practice, no
// source).
func TestANumberCutOffIsInDoubt(t *testing.T) {
	rnd := rand.New(rand.NewPCG(8, 9))
	joined := make([]string, 60)
	tens := make([]string, 60)
	serials := make([]string, 60)
	for i := range joined {
		n := 41_000 + rnd.IntN(300)
		joined[i] = fmt.Sprintf("121%05d", n)
		tens[i] = fmt.Sprintf("%010d", uint64(57_385)<<16+uint64(n))
		serials[i] = fmt.Sprintf("%010d", rnd.Uint32())
	}
	block := []formats.Range{{First: 41_000, Last: 41_300}}
	open := func(format, printed string, facility ...uint64) formats.Population {
		return formats.Population{Format: format, Printed: printed, Facilities: facility}
	}
	known := open("34-16-16", "decimal10", 57_385)
	known.Numbers = block
	tests := map[string]struct {
		cards  []formats.Population
		sample []string
		text   string
		says   string
	}{
		"one kind, open numbers": {[]formats.Population{open("26-8-16", "joined")}, joined, "1214111",
			"12,14111 of format 26-8-16"},
		"one kind, serials": {[]formats.Population{open("34-0-32", "number10")}, serials, "376078411",
			"376078411 of format 34-0-32"},
		"two kinds, one with blocks": {[]formats.Population{known, open("37-0-35", "number10")}, tens,
			tens[7][:9], "of format 34-16-16, written as decimal10"},
		"any length": {[]formats.Population{known, open("37-0-35", "number")}, tens, tens[7][:9],
			"of format 34-16-16, written as decimal10"},
	}
	for name, tt := range tests {
		p := settledOn(t, tt.cards, tt.sample, Options{})
		var s Seen
		var e *Error
		require.ErrorAs(t, p.Read([]byte(tt.text), &s), &e, name)
		assert.Equal(t, Damaged, e.Kind, name)
		assert.Contains(t, e.Reason, tt.says, name)
		assert.Contains(t, e.Reason, "what is left of one such as", name)
		for _, text := range tt.sample {
			assert.NoError(t, p.Read([]byte(text), &s), "%s: %s", name, text)
		}
	}
}

// A number of any length that lies by itself, and is one slip from where all others lie, may be one of those. It is
// taken where the others are spread over the field, or where it is no slip away. 26 bits have numbers to 65535 (SIA
// AC-01-1996.10).
func TestANumberByItselfMayBeTypedWrong(t *testing.T) {
	rnd := rand.New(rand.NewPCG(10, 11))
	box, spread := make([]string, 100), make([]string, 100)
	for i := range box {
		box[i] = fmt.Sprint(41_000 + rnd.IntN(300))
		spread[i] = fmt.Sprint(rnd.IntN(65_536))
	}
	tests := map[string]struct {
		sample   []string
		in, like string
	}{
		"the last digit lost":     {box, "4117", "41[0-2]17|411[0-9]7|4117[0-9]"},
		"the first digit lost":    {box, "1170", "41170"},
		"among five others":       {box[:5], "4117", "41[0-2]17|411[0-9]7|4117[0-9]"},
		"two swapped":             {box, "14170", "41170"},
		"one wrong":               {box, "21170", "41170"},
		"no slip":                 {box, "23", ""},
		"no slip, of full length": {box, "36555", ""},
		"others anywhere":         {spread, "4117", ""},
	}
	site := []formats.Population{{Format: "26-8-16", Printed: "number", Facilities: []uint64{121}}}
	for name, tt := range tests {
		p := settledOn(t, site, append(slices.Clone(tt.sample), tt.in), Options{})
		var s Seen
		err := p.Read([]byte(tt.in), &s)
		if tt.like == "" {
			assert.NoError(t, err, name)
			continue
		}
		var e *Error
		require.ErrorAs(t, err, &e, name)
		assert.Equal(t, Damaged, e.Kind, name)
		assert.Regexp(t, "one such as (card )?121,("+tt.like+") .*typed wrong", e.Reason, name)
		for _, text := range tt.sample {
			assert.NoError(t, p.Read([]byte(text), &s), "%s: %s", name, text)
		}
	}
}

// A column that a spreadsheet took for numbers has lost the zeros before them, and nothing else: they are put back.
func TestAColumnThatLostItsZeros(t *testing.T) {
	rnd := rand.New(rand.NewPCG(10, 11))
	var sample []string
	for range 300 {
		sample = append(sample, fmt.Sprint(rnd.Uint32()))
	}
	p := settledOn(t, []formats.Population{{Format: "34-0-32", Printed: "number10"}}, sample, Options{})
	var s Seen
	for _, text := range append(sample, "376078411") {
		require.NoError(t, p.Read([]byte(text), &s), text)
		n, _ := s.Number()
		assert.Equal(t, text, fmt.Sprint(n))
	}
	ten := Shape{Decimal: true, Width: 10}
	assert.True(t, ten.LosesZeros(sample))
	assert.False(t, Shape{}.LosesZeros([]string{""}), "of numbers of any width, none")
	assert.False(t, ten.LosesZeros([]string{"3570401405", "3570401406", "357040141", "3570401407", "3570401408"}))
	assert.False(t, ten.LosesZeros([]string{"0000000012", "13", "0000000014", "0000000015", "0000000016"}))
}

// A pair of which a part has fewer digits than others is a card of another kind at the site, of a facility that it does
// not have, or has lost digits: it is not converted as one with a small facility.
func TestAPairWithTooFewDigits(t *testing.T) {
	var sample []string
	for i := range 60 {
		sample = append(sample, fmt.Sprintf("00273,%05d", 45_550+i), fmt.Sprintf("203,%05d", 58_600+3*i))
	}
	p := settledOn(t, []formats.Population{{Format: "26-8-16", Facilities: []uint64{203}, Printed: "pair"},
		{Format: "34-16-16", Printed: "pair"}}, sample, Options{})
	var s Seen
	for _, text := range []string{"004,58705", "203,5870", "27,45552"} {
		assert.Error(t, p.Read([]byte(text), &s), text)
	}
	for _, text := range sample {
		assert.NoError(t, p.Read([]byte(text), &s), text)
	}
}

// A spreadsheet that takes pairs for fractions drops their last zeros: what is one of the site's numbers with its first
// zeros put back, and another with its last, is neither surely. Numbers without their first zeros throughout are those.
func TestZerosLostBehind(t *testing.T) {
	site := []formats.Population{{Format: "26-8-16", Facilities: []uint64{66}, Printed: "pair",
		Numbers: []formats.Range{{First: 4_988, Last: 5_487}, {First: 50_327, Last: 50_826}}}}
	var sample, plain []string
	for i := range 50 {
		sample = append(sample, fmt.Sprintf("066,%05d", 4_991+7*i), fmt.Sprintf("066,%d", 50_331+7*i))
		plain = append(plain, fmt.Sprintf("066,%d", 4_991+7*i), fmt.Sprintf("066,%d", 50_331+7*i))
	}
	assert.Equal(t, []string{"damaged", "26-8-16 066,05044", "26-8-16 066,50440"},
		outcomes(settledOn(t, site, sample, Options{}), "066,5044", "066,05044", "066,50440"))
	assert.Equal(t, []string{"26-8-16 066,05044"}, outcomes(settledOn(t, site, plain, Options{}), "066,5044"))
	// the facility's zeros are lost in some rows, which says nothing of the numbers' zeros
	some := slices.Clone(sample)
	for i := 1; i < len(some); i += 4 {
		some[i] = some[i][1:]
	}
	assert.Equal(t, []string{"damaged"}, outcomes(settledOn(t, site, some, Options{}), "066,5044"))
	site[0].Numbers = nil
	assert.Equal(t, []string{"damaged"}, outcomes(settledOn(t, site, sample, Options{}), "066,51"))
	far := []string{"066,10963"}
	for i := range 60 {
		far = append(far, fmt.Sprintf("%05d,%d", 964, 107_858+33*i), fmt.Sprintf("%d,%d", 964, 107_858+33*i+7))
	}
	site[0] = formats.Population{Format: "37-16-19", Printed: "pair"}
	assert.Equal(t, []string{"damaged"}, outcomes(settledOn(t, site, far, Options{}), "00964,10963"))
}

// A card of another facility than the site's is not converted as one of another kind with the same bits.
func TestAStrangerIsNoOtherKind(t *testing.T) {
	var sample []string
	for i := range 40 {
		sample = append(sample, fmt.Sprintf("39807,%05d", 19_900+i), fmt.Sprintf("048,%05d", 47_600+3*i))
	}
	p := settledOn(t, []formats.Population{
		{Format: "34-16-16", Facilities: []uint64{39_807}, Numbers: []formats.Range{{First: 19_700, Last: 20_199}},
			Printed: "pair"}, {Format: "26-8-16", Printed: "pair"}}, sample, Options{})
	v, err := NewConverter(p, form(t, "decimal10"))
	require.NoError(t, err)
	_, err = v.Convert(nil, []byte("00008,20103"))
	assert.ErrorContains(t, err, "not one of this site's cards")
	out, err := v.Convert(nil, []byte("048,47603"))
	require.NoError(t, err)
	assert.Equal(t, "0003193331", string(out), "48·65536+47603")
}

// What a library says about an option is said by the name of its field, and not by that of a command.
func TestErrorsNameFields(t *testing.T) {
	p := planOf(t, "34-0-32", Options{Forms: []string{"decimal"}})
	var s Seen
	var e *Error
	require.ErrorAs(t, p.Read([]byte("12345678901234500"), &s), &e)
	assert.Equal(t, []string{"AsIs"}, e.Settles)
	assert.NotContains(t, e.Reason, "--")
	p = planOf(t, "26-8-16", Options{Forms: []string{"pair"}, Facility: "5"})
	require.ErrorAs(t, p.Read([]byte("121,43"), &s), &e)
	assert.Equal(t, []string{"Facility"}, e.Settles)
	assert.NotContains(t, e.Reason, "--")
}
