package reading

import (
	"fmt"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// Rows of a kind that the site file does not have are in doubt where they are not as its own are, and its own are read.
// The numbers are made here: a card of 26 bits as one decimal is facility · 65536 + number (SIA AC-01-1996.10), a pair
// of 37 bits has 5 and 6 digits (common practice, no source), and a serial is any number of 32 bits (ISO/IEC 14443-3).
func TestStrangersAreInDoubt(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 22))
	texts := func(n int, one func(i int) string) (all []string) {
		for i := range n {
			all = append(all, one(i))
		}
		return all
	}
	serials := texts(60, func(int) string { return fmt.Sprintf("%010d", rnd.Uint32()) })
	pairs := texts(60, func(int) string { return fmt.Sprintf("121,%05d", 1+rnd.IntN(400)) })
	counted := texts(60, func(i int) string { return fmt.Sprintf("%010d", 2_000+3*i) })
	tests := map[string]struct {
		cards         []formats.Population
		own, stranger []string
	}{
		"numbers alone beside ten digits": {[]formats.Population{kind("34-0-32", "number10")}, serials,
			texts(20, func(int) string { return fmt.Sprint(100 + rnd.IntN(400)) })},
		"pairs of more digits": {[]formats.Population{kind("26-8-16", "pair")}, pairs,
			texts(20, func(int) string { return fmt.Sprintf("00246,%06d", 1+rnd.IntN(400)) })},
		"26 bits as one decimal": {[]formats.Population{kind("37-0-35", "number10")}, counted,
			texts(20, func(int) string { return fmt.Sprintf("%010d", 18<<16|rnd.IntN(400)) })},
	}
	for name, tt := range tests {
		p := settledOn(t, tt.cards, append(tt.stranger, tt.own...), Options{})
		id := tt.cards[0].Format
		for _, text := range tt.stranger {
			assert.NotContains(t, outcomes(p, text)[0], id, "%s: %s", name, text)
		}
		for _, text := range tt.own {
			assert.Contains(t, outcomes(p, text)[0], id, "%s: %s", name, text)
		}
	}
}

// Numbers that are the site's by its file are not doubted because they could be another kind's as well.
func TestNoStrangersWhereNoneAre(t *testing.T) {
	rnd := rand.New(rand.NewPCG(23, 24))
	for name, one := range map[string]struct {
		cards formats.Population
		text  func() string
	}{
		"numbers in a wide field": {kind("34-0-32", "number"), func() string {
			return fmt.Sprint(43_800 + rnd.IntN(130))
		}},
		"two facilities": {kind("26-8-16", "pair"), func() string {
			return fmt.Sprintf("%03d,%05d", 77+rnd.IntN(2), rnd.IntN(900))
		}},
		"serials": {kind("34-0-32", "hex"), func() string { return fmt.Sprintf("%08X", rnd.Uint32()) }},
		"serials of a chip": {kind("56-0-56", "uid"), func() string {
			return fmt.Sprintf("04%012X", rnd.Uint64N(1<<48))
		}},
		"zeros lost": {kind("34-16-16", "number10", 57), func() string { return fmt.Sprint(1 + rnd.IntN(900)) }},
		"one decimal": {kind("24-8-16", "decimal10", 9), func() string {
			return fmt.Sprintf("%010d", 9<<16|rnd.IntN(5_000))
		}},
	} {
		var sample []string
		for range 60 {
			sample = append(sample, one.text())
		}
		p := settledOn(t, []formats.Population{one.cards}, sample, Options{})
		for _, text := range sample {
			assert.Contains(t, outcomes(p, text)[0], one.cards.Format, "%s: %s", name, text)
		}
	}
}

// One text of bytes with colons between them is no reason to take a column for chip serials, where the site's cards are
// written with just those digits: 3E8006BC is 1000 · 2^20 + 1724, and that card.
func TestOneTextWithColons(t *testing.T) {
	sample := []string{"3E:80:06:BC"}
	for i := range 40 {
		sample = append(sample, fmt.Sprintf("%08X", 1000<<20|1720+i+i/4))
	}
	p := settledOn(t, []formats.Population{{Format: "32-10-20", Facilities: []uint64{1000}, Printed: "hex"}}, sample, Options{})
	assert.Equal(t, []string{"32-10-20 1000,0001724", "32-10-20 1000,0001720"}, outcomes(p, sample[:2]...))
}
