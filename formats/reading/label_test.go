package reading

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// What all numbers of a column have before them is a label; where it may be a digit in hex it is none, unless so many
// numbers have no other letter that hex has none by chance once in a million (10 digits of 16 are none: arithmetic).
func TestLabel(t *testing.T) {
	make := func(form string, n int) (texts []string) {
		for i := range n {
			texts = append(texts, fmt.Sprintf(form, 144+3*i))
		}
		return texts
	}
	tests := []struct {
		form     string
		rows     int
		hex, may bool
		want     string
	}{
		{"N-%05d", 5, true, true, "N-"},
		{"Badge 121-%05d", 5, false, false, "Badge "},
		{"K%d/00017", 5, false, false, "K"},
		{"W%d-144", 5, false, false, ""}, // as a read of so many bits
		{"N-%05X", 40, true, true, "N-"},
		{"#%08X", 40, true, true, "#"},
		{"A%d", 5, false, false, "A"}, // too short for hex
		{"A%d", 5, false, true, ""},
		{"A%d", 40, true, true, ""},
		{"A%07d", 20, false, false, ""},
		{"A%07d", 40, false, true, "A"},
		{"A12,%05d", 5, true, true, "A"},  // no hex has such a sign
		{"121,N-%d", 5, true, true, "N-"}, // of two columns
		{"121,E%d", 5, true, true, "E"},
		{"%05d", 40, false, false, ""},
		{"2026-%05d", 40, false, false, ""},
		{"May %d", 5, false, false, "May "},
	}
	for _, tt := range tests {
		assert.Equal(t, tt.want, LabelOf(make(tt.form, tt.rows), tt.hex, tt.may), tt.form)
	}
	assert.Empty(t, LabelOf(append(make("N-%d", 20), make("K-%d", 20)...), false, false), "two labels")
	assert.Equal(t, "N-", LabelOf(append(make("N-%d", 40), "lost", "K-144", "12-May", "150"), false, false))
}

// A label is passed over for the whole column: what has another one is no card, and what has none is one. Where its
// letter may be a digit in hex no zeros are put back before it.
func TestColumnWithLabel(t *testing.T) {
	var labelled, hex []string
	for n := range 40 {
		labelled, hex = append(labelled, fmt.Sprintf("N-%05d", 100+3*n)), append(hex, fmt.Sprintf("A%d", 100+3*n))
	}
	p := settledOn(t, []formats.Population{kind("26-8-16", "number", 121)}, labelled, Options{})
	assert.Equal(t, "N-", p.Label())
	assert.Equal(t, []string{"26-8-16 121,00103", "26-8-16 121,00103", "unreadable"},
		outcomes(p, "N-00103", "00103", "K-00103"))
	var columns []string
	for n := range 40 {
		columns = append(columns, fmt.Sprintf("121,#%d", 100+3*n))
	}
	p = settledOn(t, []formats.Population{kind("26-8-16", "pair", 121)}, columns, Options{})
	assert.Equal(t, []string{"26-8-16 121,00103", "26-8-16 121,00103", "unreadable"}, outcomes(p, "121,#103", "121,103", "121,K103"))
	p = settledOn(t, []formats.Population{kind("34-0-32", "hex")}, hex, Options{})
	assert.Equal(t, []string{"unreadable", "34-0-32 41219"}, outcomes(p, "A103", "0000A103")) // 0xA103
	cards := Shown(formats.Builtin(), []formats.Population{{Format: "26-8-16", Facilities: []uint64{121}}}, labelled,
		Options{})
	assert.Equal(t, "number", cards[0].Printed)
}

// An office writes a label before the cards of one kind alone: those are read without it. Before cards of a kind that
// the site file does not have, which those without it are as well, it is none.
func TestLabelOfOneKind(t *testing.T) {
	var texts, both []string
	for n := range 40 {
		texts = append(texts, fmt.Sprintf("121,%05d", 2000+3*n), fmt.Sprintf("S/N %d", 1<<31+uint32(n)*2654435769>>1))
		both = append(both, fmt.Sprint(2000+3*n), fmt.Sprintf("K%d", 30000+3*n))
	}
	cards := []formats.Population{kind("26-8-16", "pair", 121), kind("34-0-32", "number")}
	p := settledOn(t, cards, texts, Options{})
	assert.Equal(t, "S/N ", p.Label())
	assert.Equal(t, []string{"26-8-16 121,02003", "34-0-32 2147483648"}, outcomes(p, "121,02003", texts[1]))
	for i := range texts {
		if i%2 == 1 {
			texts[i] = fmt.Sprintf("S/N 2040,%07d", 30000+2654435769*uint64(i)%1000000)
		}
	}
	shown := Shown(formats.Builtin(), []formats.Population{cards[0], {Format: "35-12-20"}}, texts, Options{})
	assert.Equal(t, "pair", shown[1].Printed)
	cards = []formats.Population{kind("26-8-16", "number", 121), kind("34-0-32", "hex")}
	p = settledOn(t, cards, both, Options{})
	assert.Empty(t, p.Label())
	assert.Equal(t, []string{"26-8-16 121,02003", "unreadable"}, outcomes(p, "2003", "K30003"))
}
