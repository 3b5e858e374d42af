package reading

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// What a panel or a spreadsheet fills up to ten digits with zeros is the number that the site file has without them,
// which most numbers of 32 bits don't need: they have ten digits. Serials are any numbers of 32 bits (ISO/IEC 14443-3).
func TestColumnFilledUpWithZeros(t *testing.T) {
	rnd := rand.New(rand.NewPCG(10, 32))
	for _, form := range []string{"number", "uid-decimal", "decimal"} {
		var texts []string
		for range 150 {
			texts = append(texts, fmt.Sprintf("%010d", rnd.Uint32()))
		}
		p := settledOn(t, []formats.Population{kind("32-0-32", form)}, texts, Options{})
		for _, text := range texts {
			var s Seen
			if assert.NoError(t, p.Read([]byte(text), &s), form) {
				n, _ := s.Number()
				assert.Equal(t, text, fmt.Sprintf("%010d", n))
			}
		}
	}
}

// A zero before a number of a column that has none is what is left of a longer number, 1097 without its 1, or of
// another one: 970 with two digits swapped. Where a column is filled up, it is the number.
func TestZeroBeforeOneNumber(t *testing.T) {
	var texts, filled []string
	for n := range 60 {
		texts, filled = append(texts, fmt.Sprint(1001+n)), append(filled, fmt.Sprintf("%04d", 1+29*n))
	}
	open := kind("37-0-35", "number")
	bought := open
	bought.Numbers = []formats.Range{{First: 1, Last: 100}, {First: 1001, Last: 1090}}
	tests := []struct {
		name  string
		cards formats.Population
		texts []string
		text  string
		want  uint64
	}{
		{"lost digit", open, texts, "097", 0},
		{"lost digit of a small column", open, texts[:8], "097", 0},
		{"a block has both", bought, texts, "059", 0},
		{"a block has one", bought, texts, "097", 0},
		{"a column filled up", open, filled, "0097", 97},
	}
	for _, tt := range tests {
		p := settledOn(t, []formats.Population{tt.cards}, append([]string{tt.text}, tt.texts...), Options{})
		var s Seen
		err := p.Read([]byte(tt.text), &s)
		if tt.want == 0 {
			assert.ErrorContains(t, err, tt.text, tt.name)
		} else if assert.NoError(t, err, tt.name) {
			n, _ := s.Number()
			assert.Equal(t, tt.want, n, tt.name)
		}
	}
}

// Of a column that has kept its zeros a number far from all others that has lost them may be anything: 45021 is a day
// of 2023 where a spreadsheet shows a date as a number (days since the end of 1899: common practice, no source). One
// among the others was typed without them.
func TestNumberWithoutZerosFarFromOthers(t *testing.T) {
	texts := []string{"45021", "1017"}
	for n := range 80 {
		texts = append(texts, fmt.Sprintf("%010d", 1001+3*n))
	}
	p := settledOn(t, []formats.Population{kind("26-0-24", "decimal10")}, texts, Options{})
	var s Seen
	assert.ErrorContains(t, p.Read([]byte("45021"), &s), "too few digits")
	assert.NoError(t, p.Read([]byte("1017"), &s))
}

// A number with a sign between thousands is none of the two halves of a serial, which have five digits each.
func TestThousandsAreNotWords(t *testing.T) {
	p, err := Settle(formats.Builtin(), []formats.Population{kind("34-0-32", "words")},
		func(yield func(string) bool) { yield("48962,17405") }, Options{})
	assert.NoError(t, err)
	for text, want := range map[string]Outcome{"1 018": NoCard, "1,018": NoCard, "00829,46561": IsCard} {
		assert.Equal(t, want, p.Read(text).Outcome, text)
	}
}

// What tells two readings apart is what is asked for, and the form of a door is called so. A serial's bytes are in
// either order (ISO/IEC 14443-3 sends the first one first; the other order is common practice, no source).
func TestDoubtAsksForWhatSettlesIt(t *testing.T) {
	rnd := rand.New(rand.NewPCG(4, 1))
	var texts []string
	for range 30 {
		b := rnd.Uint32()
		texts = append(texts, fmt.Sprintf("%02X:%02X:%02X:%02X", b>>24, b>>16&255, b>>8&255, b&255))
	}
	p := settledOn(t, []formats.Population{kind("32-0-32", "uid-reversed")}, texts, Options{Second: []string{"uid"}})
	var s Seen
	err := p.Read([]byte(texts[0]), &s)
	if assert.ErrorContains(t, err, "as a door takes it") {
		assert.Equal(t, []string{"Forms"}, err.(*Error).Settles)
	}
}

// Where nothing can be read in the forms that a plan has, another one is named that fits its cards; none where all of
// them are read, or nothing fits. 121·65536 + 43 = 7929899.
func TestOtherForm(t *testing.T) {
	p, err := New(formats.Builtin(), site.Site{Cards: []formats.Population{kind("26-8-16", "pair", 121)}}, Options{})
	require.NoError(t, err)
	assert.Equal(t, "number", p.OtherForm([]string{"43", " 44", "x"}))
	assert.Equal(t, "decimal", p.OtherForm([]string{"7929899", "7929900"}))
	assert.Empty(t, p.OtherForm([]string{"121,00043"}))
	assert.Empty(t, p.OtherForm([]string{"Ann", "Bo"}))
}
