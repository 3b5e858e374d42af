package reading

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// Damage that makes a well-formed text of another kind is no card of that kind: 0002425848 with a space typed into it,
// 01593,41862 with a digit too many, a digit lost behind a zero, a point typed into a number, a sign moved or lost. The
// numbers are written by fmt; two halves of a serial have five digits each, 16 bits (arithmetic).
func TestDamageThatIsWellFormedOtherwise(t *testing.T) {
	rnd := rand.New(rand.NewPCG(1, 34))
	var serials, words, pairs, spaced, joined []string
	for i := range 60 {
		serials = append(serials, fmt.Sprintf("%010d", rnd.Uint32()))
		words = append(words, fmt.Sprintf("%05d,%05d", rnd.IntN(65536), rnd.IntN(65536)))
		pairs, spaced = append(pairs, fmt.Sprintf("125,%d", 208+7*i)), append(spaced, fmt.Sprintf("183 %05d", 1301+7*i))
		joined = append(joined, fmt.Sprintf("250%05d", 23_800+7*i))
	}
	numbers := kind("26-8-16", "pair", 125)
	numbers.Numbers = []formats.Range{{First: 208, Last: 707}}
	for name, tt := range map[string]struct {
		cards []formats.Population
		texts []string
		odd   string
	}{
		"a sign in ten digits":   {[]formats.Population{kind("34-0-32", "words")}, words, "0002425 848"},
		"a digit too many":       {[]formats.Population{kind("34-0-32", "words")}, words, "015935,41862"},
		"a digit lost":           {[]formats.Population{kind("26-8-16", "pair", 183)}, spaced, "183 0116"},
		"a point before a digit": {[]formats.Population{kind("26-8-16", "number", 121)}, pairs[:0:0], "4468.0"},
		"a sign moved":           {[]formats.Population{kind("32-0-32", "words"), numbers}, slices.Concat(words, pairs), "12538 6"},
		"a sign lost":            {[]formats.Population{kind("34-0-32", "number10"), numbers}, slices.Concat(serials, pairs), "125386"},
		"a sign in digits":       {[]formats.Population{kind("26-8-16", "joined"), kind("32-10-20", "pair")}, joined, "250.23839"},
	} {
		texts := tt.texts
		for i := range 60 {
			if tt.odd == "4468.0" {
				texts = append(texts, fmt.Sprint(44_000+13*i))
			}
		}
		p := settledOn(t, tt.cards, append([]string{tt.odd}, texts...), Options{})
		assert.Error(t, p.Read([]byte(tt.odd), &Seen{}), name)
		for _, text := range texts[:5] {
			assert.NoError(t, p.Read([]byte(text), &Seen{}), "%s: %s", name, text)
		}
	}
}

// A column of which half of the numbers are filled up with zeros and half are not: both are read, whatever digits they
// are filled up to. By hand: 121·65536 is no part of it, since the forms have the facility.
func TestColumnsHalfFilledUp(t *testing.T) {
	for _, tt := range []struct {
		cards         formats.Population
		filled, plain string
		short         string // neither of them: a digit is missing behind a zero
	}{
		{kind("26-8-16", "pair", 21), "021,%05d", "21,%d", "021,0123"},
		{kind("26-8-16", "number", 21), "%06d", "%d", "01023"},
		{kind("37-16-19", "pair", 21), "021,%05d", "21,%d", "21,0123"}, // filled up otherwise than the form
	} {
		var texts, want []string
		for i := range 60 {
			n := 1001 + 7*i
			texts = append(texts, fmt.Sprintf([]string{tt.filled, tt.plain}[i%2], n))
			card, ok := (&settledOn(t, []formats.Population{tt.cards}, nil, Options{}).readings[0]).Make(21, true, uint64(n))
			assert.True(t, ok)
			made := card.Card()
			want = append(want, tt.cards.Format+" "+Describe(&made))
		}
		p := settledOn(t, []formats.Population{tt.cards}, texts, Options{})
		assert.Equal(t, want, outcomes(p, texts...), tt.filled)
		assert.Error(t, p.Read([]byte(tt.short), &Seen{}), tt.short)
	}
}

// Kinds whose form the site file does not say are seen beside one whose form it says. Where two forms make two cards of
// all texts of a kind, its rows are in doubt, and those of the other kinds are read. 121·65536+1001 = 7930857, by
// hand.
func TestFormsOfSeveralKinds(t *testing.T) {
	rnd := rand.New(rand.NewPCG(2, 56))
	var texts []string
	for i := range 30 {
		texts = append(texts, fmt.Sprintf("121 - %05d", 1001+i), fmt.Sprint(1<<30+rnd.IntN(1<<30)), fmt.Sprintf("%014X", rnd.Uint64()>>8))
	}
	cards := []formats.Population{kind("26-8-16", "", 121), kind("34-0-32", "number"), kind("56-0-56", "")}
	shown := Shown(formats.Builtin(), cards, texts, Options{})
	assert.Equal(t, []string{"pair", "number", ""}, []string{shown[0].Printed, shown[1].Printed, shown[2].Printed})
	p := settledOn(t, shown, texts, Options{})
	assert.Equal(t, []string{"26-8-16 121,01001", "34-0-32 " + texts[1], "unreadable"}, outcomes(p, texts[:3]...))
	assert.ErrorContains(t, p.Read([]byte(texts[2]), &Seen{}), "neither the site file nor the list tells")
}

// Of a row that can be a card of a kind whose form nothing tells, that is said, and not that another kind's form has no
// room for it; where another kind can have it, too, it is not said to be none of this site's. 144·2^20+67 = 150995011.
func TestFormsThatNothingTellsAreNamed(t *testing.T) {
	rnd := rand.New(rand.NewPCG(39, 40))
	var serials []string
	short := []string{"150995011", "150995124"}
	for range 30 {
		serials, short = append(serials, fmt.Sprint(rnd.Uint64N(1<<56)|1)), append(short, fmt.Sprint(rnd.Uint32()))
	}
	said := func(cards []formats.Population, texts []string) error {
		p := settledOn(t, Shown(formats.Builtin(), cards, texts, Options{}), texts, Options{})
		return p.Read([]byte(texts[0]), &Seen{})
	}
	assert.ErrorContains(t, said([]formats.Population{kind("58-0-56", ""), kind("34-8-16", "hex", 50)},
		append(serials[:9], "3201D0", "3201D5", "3201D3", "3201D6")), "neither the site file nor the list tells")
	inBlock := kind("35-12-20", "", 144)
	inBlock.Numbers = []formats.Range{{First: 1, Last: 200}}
	assert.ErrorContains(t, said([]formats.Population{kind("32-0-32", "number"), inBlock}, short),
		"if that is how they are written")
}

// Rows of a facility that the site file does not name are rejected, and leave the others as they are: every eighth row.
func TestEveryEighthRowIsANeighbours(t *testing.T) {
	for _, form := range []string{"words", "decimal10", "hex", "pair"} {
		var texts, want []string
		for i := range 160 {
			f, n := 34, 41_900+i
			if want = append(want, fmt.Sprintf("26-8-16 034,%05d", n)); i%8 == 3 {
				f, want[i] = 35, "wrong-facility"
			}
			texts = append(texts, map[string]string{"words": fmt.Sprintf("%05d,%05d", f, n), "pair": fmt.Sprintf("%03d,%05d", f, n),
				"decimal10": fmt.Sprintf("%010d", f<<16|n), "hex": fmt.Sprintf("%06X", f<<16|n)}[form])
		}
		assert.Equal(t, want, outcomes(settledOn(t, []formats.Population{kind("26-8-16", form, 34)}, texts, Options{}), texts...), form)
	}
}
