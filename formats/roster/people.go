package roster

import (
	"cmp"
	"hash/maphash"
	"slices"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"github.com/cardtell/cardtell/formats/typing"
)

// Person is rows that are probably one person's: nothing wrong, but worth a look.
type Person struct {
	Kind  PersonKind
	Rows  []PersonRow // in the order of the list, the first maxPersonRows
	Cards int         // different cards that they have, in all rows
}

// PersonRow is a row of a [Person].
type PersonRow struct {
	Line int
	Text int32 // for [Roster.Name] and [Roster.Number]
}

// PersonKind is why somebody is named.
type PersonKind uint8

// The kinds.
const (
	SeveralCards PersonKind = iota // one name has several cards
	Spellings                      // one name is written in several ways: capitals, accents, spaces or the order of its words differ
	OneLetter                      // two names of which one letter differs
)

const (
	maxPersonRows = 8
	maxPeople     = 1000   // that are kept
	maxNear       = 20_000 // names, up to which those that differ by a letter are looked for
	maxSameName   = 4      // rows of one name, up to which their numbers are compared
	longWord      = 5      // letters from which on a word that differs by one is probably the same. A judgement
)

// People returns who has several cards or is written in several ways, and how many more there are; after [Roster.Check].
func (c *Roster) People() (all []Person, more int) { return c.people, c.morePeople }

// namedRow is a row by the hash of its plain name.
type namedRow struct {
	hash uint64
	card int32
}

// names puts the rows of each name together, and looks at them.
func (c *Roster) names() {
	if !c.named {
		return
	}
	all := make([]namedRow, 0, len(c.cards))
	for i := range c.cards {
		if name := plainName(c.texts.name(c.cards[i].text)); name != "" {
			all = append(all, namedRow{maphash.String(seed, name), int32(i)})
		}
	}
	slices.SortFunc(all, func(a, b namedRow) int { return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.card, b.card)) })
	var first []int32 // of each name
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].hash == all[i].hash {
			j++
		}
		first = append(first, all[i].card)
		if j-i > 1 {
			c.oneName(all[i:j])
		}
		i = j
	}
	if len(first) <= maxNear {
		c.nearNames(first)
	}
	slices.SortStableFunc(c.people, func(a, b Person) int {
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Rows[0].Line, b.Rows[0].Line), cmp.Compare(a.Rows[1].Line, b.Rows[1].Line))
	})
}

// oneName looks at the rows of one name: how many cards they have, whether the name is written alike, and whether two of their numbers
// differ by swapped digits.
func (c *Roster) oneName(rows []namedRow) {
	name := c.texts.name(c.cards[rows[0].card].text)
	p := Person{Kind: SeveralCards, Cards: 1}
	for i, row := range rows {
		card := &c.cards[row.card]
		if !slices.ContainsFunc(rows[:min(i, maxPersonRows)], func(r namedRow) bool { return c.cards[r.card].key == card.key }) && i > 0 {
			p.Cards++
		}
		if c.texts.name(card.text) != name {
			p.Kind = Spellings
		}
		if i < maxPersonRows {
			p.Rows = append(p.Rows, PersonRow{int(card.line), card.text})
		}
	}
	if p.Cards > 1 || p.Kind == Spellings {
		c.addPerson(p)
	}
	for a := 0; a < len(rows) && len(rows) <= maxSameName; a++ {
		for b := a + 1; b < len(rows); b++ {
			c.sameName(&c.cards[rows[a].card], &c.cards[rows[b].card])
		}
	}
}

// sameName finds one person with two cards whose numbers differ by swapped digits: one of them was probably typed wrong.
func (c *Roster) sameName(a, b *cardRow) {
	first, second := c.texts.number(a.text), c.texts.number(b.text)
	if a.key == b.key {
		return
	}
	for candidate := range typing.Swaps(first) {
		if candidate == second {
			c.add(Finding{Kind: SameName, Line: int(b.line), Text: b.text, Other: int(a.line), With: a.text})
			return
		}
	}
}

func (c *Roster) addPerson(p Person) {
	if len(c.people) < maxPeople {
		c.people = append(c.people, p)
	} else {
		c.morePeople++
	}
}

// plainName returns a name in lower case, without accents, its words in the order of the alphabet with one space between.
func plainName(name string) string {
	decomposed := norm.NFD.String(strings.ToLower(name))
	words := strings.FieldsFunc(strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, decomposed), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	slices.Sort(words)
	return strings.Join(words, " ")
}

// nearNames finds pairs of names of which one letter differs, in a long word: names that are alike without one letter of it.
func (c *Roster) nearNames(first []int32) {
	var keys []namedRow
	for _, card := range first {
		words := strings.Fields(plainName(c.texts.name(c.cards[card].text)))
		for i, word := range words {
			letters := []rune(word)
			if len(letters) < longWord || len(letters) > 40 || strings.ContainsFunc(word, unicode.IsDigit) {
				continue
			}
			rest := strings.Join(slices.Delete(slices.Clone(words), i, i+1), " ")
			for k := range len(letters) + 1 { // the last time the whole word
				cut := string(letters[:k]) + string(letters[min(k+1, len(letters)):])
				keys = append(keys, namedRow{maphash.String(seed, rest+"\x00"+cut), card})
			}
		}
	}
	slices.SortFunc(keys, func(a, b namedRow) int { return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.card, b.card)) })
	told := map[[2]int32]bool{}
	for i := range keys {
		for j := i + 1; j < len(keys) && keys[j].hash == keys[i].hash; j++ {
			pair := [2]int32{keys[i].card, keys[j].card}
			a, b := &c.cards[pair[0]], &c.cards[pair[1]]
			if pair[0] == pair[1] || told[pair] || !oneLetter(plainName(c.texts.name(a.text)), plainName(c.texts.name(b.text))) {
				continue
			}
			told[pair] = true
			p := Person{Kind: OneLetter, Cards: 1, Rows: []PersonRow{{int(a.line), a.text}, {int(b.line), b.text}}}
			if a.key != b.key {
				p.Cards = 2
			}
			c.addPerson(p)
		}
	}
}

// oneLetter reports whether two texts differ by one letter that is another one, missing, or swapped with the next. A letter more at the
// end of a word is often another person's name.
func oneLetter(a, b string) bool {
	x, y := []rune(a), []rune(b)
	if len(x) > len(y) {
		x, y = y, x
	}
	i := 0
	for i < len(x) && x[i] == y[i] {
		i++
	}
	same := func(x, y []rune) bool { return slices.Equal(x, y) }
	switch {
	case len(x) == len(y):
		return i < len(x) && (same(x[i+1:], y[i+1:]) || i+1 < len(x) && x[i] == y[i+1] && x[i+1] == y[i] && same(x[i+2:], y[i+2:]))
	case len(x)+1 == len(y) && i < len(x):
		return x[i] != ' ' && same(x[i:], y[i+1:])
	}
	return false
}
