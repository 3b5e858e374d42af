package reading

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// A number far from all others that is a slip away from them is in doubt, in whatever form a column is, and where an
// option says the format as well as where a site file does. Numbers in hex are written by fmt.
func TestSlipsInEveryForm(t *testing.T) {
	tests := []struct {
		name, format, form, make, slip string
		start                          uint64
	}{
		{"a digit lost of a number", "26-8-16", "number", "%d", "5603", 56_001}, // 56031
		{"a digit wrong of eleven", "37-0-35", "number", "%d", "20414797450", 20_414_747_403},
		{"the same as ten digits", "37-0-35", "number10", "%d", "20414797450", 20_414_747_403},
		{"bytes swapped", "34-0-32", "uid", "%08X", "5B499DA4", 0x5B949D83},
		{"hex with an E", "34-0-32", "hex", "%08x", "1799476e", 0x19794741},
		{"hex without zeros before it", "34-0-32", "hex", "%x", "e0c26", 0xe0a1},                // e0c2
		{"eight digits, as a door has hex", "34-0-32", "number", "%d", "21970879", 219_708_750}, // 219708790
		{"a read with its length", "32-0-32", "bits-hex", "32:%08X", "32:5A68F846", 0x5A86F802},
		{"behind a space", "26-8-16", "pair", "239 %05d", "239 61302", 16_273},    // 16302
		{"cut off twice, not filled up", "26-8-16", "pair", "75,%d", "75,5", 501}, // 75,501 to 75,579
		{"of a pair that is not filled up", "35-12-20", "pair", "3181,%d", "3181,31534", 315_301},
	}
	for _, tt := range tests {
		var texts []string
		for n := range uint64(40) {
			texts = append(texts, fmt.Sprintf(tt.make, tt.start+2*n))
		}
		p, err := New(formats.Builtin(), site.Site{}, Options{Format: tt.format, Forms: []string{tt.form},
			Second: []string{"hex"}})
		assert.NoError(t, err, tt.name)
		p = p.Settled(append(texts, tt.slip))
		var s Seen
		assert.ErrorContains(t, p.Read([]byte(tt.slip), &s), "can be two cards", tt.name)
		for _, text := range texts {
			assert.NoError(t, p.Read([]byte(text), &s), tt.name)
		}
	}
}

// Numbers of another kind that are filled up to five digits do not make ten of a serial's nine, nor does one number of
// two digits and a zero make a column filled up of one that is not.
func TestSlipsBesideNumbersFilledUp(t *testing.T) {
	own := kind("34-16-16", "number", 4826)
	own.Numbers = []formats.Range{{First: 2307, Last: 2607}}
	texts := []string{"343507871"} // 3443507871
	for n := range uint64(24) {
		texts = append(texts, fmt.Sprintf("%05d", 2320+11*n), fmt.Sprint(3_443_506_949+53*n))
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "number"), own}, texts, Options{})
	assert.Equal(t, []string{"damaged"}, outcomes(p, texts[0]))
	pairs := []string{"97/018", "97/17", "90/16", "90/87", "97/210", "97/133", "90/284", "90/255"} // 97/108
	p = settledOn(t, []formats.Population{kind("26-8-16", "pair", 90, 97)}, pairs, Options{})
	assert.Equal(t, []string{"damaged", "26-8-16 097,00017"}, outcomes(p, pairs[:2]...))
}

// A card or two of a facility that is a slip away from that of the list are typed wrong, in decimal or in hex: 78 and
// 87 are 120 and 135. Of a facility that is none the card is one.
func TestFacilityThatIsASlip(t *testing.T) {
	assert.Equal(t, []uint64{112}, OddFacilities(map[uint64]int{121: 9, 112: 1}))
	assert.Equal(t, []uint64{120}, OddFacilities(map[uint64]int{135: 9, 120: 1}))
	assert.Empty(t, OddFacilities(map[uint64]int{121: 9, 87: 1}))
	assert.Empty(t, OddFacilities(map[uint64]int{121: 9, 122: 3}), "more than a card or two")
	assert.Empty(t, OddFacilities(map[uint64]int{121: 4, 122: 1}), "too few to say")
}

// A plan that takes any card reads those of the site as one does that takes no others: a number of one kind's block is
// no card of another kind, and one of no block is whatever it can be. A few in no block make no strangers of the rest.
func TestAnyCardBesideTheSites(t *testing.T) {
	low, high := kind("26-8-16", "number", 66), kind("37-16-19", "number", 64_568)
	low.Numbers = []formats.Range{{First: 1, Last: 60}}
	high.Numbers = []formats.Range{{First: 338_098, Last: 338_148}}
	tens := kind("34-0-32", "number10")
	tens.Numbers = []formats.Range{{First: 15_514, Last: 15_814}}
	var texts, filled []string
	for n := range 20 {
		texts = append(texts, fmt.Sprint(2+3*n), fmt.Sprint(338_100+2*n))
		filled = append(filled, fmt.Sprintf("%010d", 15_520+9*n))
	}
	filled = append(filled, "0008015546", "0000105519")
	for _, tt := range []struct {
		cards []formats.Population
		texts []string
	}{{[]formats.Population{low, high}, texts}, {[]formats.Population{tens}, filled}} {
		strict := settledOn(t, tt.cards, tt.texts, Options{})
		loose := settledOn(t, tt.cards, tt.texts, Options{Any: true})
		sure := slices.DeleteFunc(slices.Clone(tt.texts), func(text string) bool {
			return slices.Contains(filled[20:], text)
		})
		assert.Equal(t, outcomes(strict, sure...), outcomes(loose, sure...))
		assert.NotContains(t, outcomes(loose, sure...), "ambiguous")
	}
}

// Four numbers of a list are enough to see that one of them lies by itself, and would be among the others with a digit
// that it may have lost.
func TestASlipOfFourNumbers(t *testing.T) {
	p := settledOn(t, []formats.Population{kind("34-16-16", "pair", 58802)},
		[]string{"58802,9085", "58802,9088", "58802,9092", "58802,955"}, Options{})
	assert.Equal(t, []string{"damaged", "34-16-16 58802,09085"}, outcomes(p, "58802,955", "58802,9085"))
}
