package roster

import (
	"cmp"
	"hash/maphash"
	"iter"
	"slices"
	"sort"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/reading"
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
	// one name is written in several ways: capitals, accents, spaces or the order of its words differ
	Spellings
	OneLetter // two names of which one letter differs
)

const (
	maxPersonRows = 8
	maxPeople     = 1000   // that are kept
	maxNear       = 20_000 // names, up to which those that differ by a letter are looked for
	maxSameName   = 4      // rows of one name, up to which their numbers are compared
	longWord      = 5      // letters from which on a word that differs by one is probably the same. A judgement
)

// People returns who has several cards or is written in several ways, and how many more there are; after
// [Roster.Check].
func (c *Roster) People() (all []Person, more int) { return c.people, c.morePeople }

// hashed is the hash of a text and the place of a card, in one number so that a million take little room and sort fast.
type hashed uint64

func hashOf(text string, card int32) hashed {
	return hashed(maphash.String(seed, text)>>31<<31) | hashed(card)
}

func (h hashed) card() int32 { return int32(h & (1<<31 - 1)) }

// groups yields the cards whose hashes are equal, in the order of the list.
func groups(all []hashed) iter.Seq[[]hashed] {
	return func(yield func([]hashed) bool) {
		slices.Sort(all)
		for i := 0; i < len(all); {
			j := i + 1
			for j < len(all) && all[j]>>31 == all[i]>>31 {
				j++
			}
			if !yield(all[i:j]) {
				return
			}
			i = j
		}
	}
}

// plain returns the plain name of a card.
func (c *Roster) plain(card int32) string { return plainName(c.texts.name(c.cards.at(card).text)) }

// names puts the rows of each name together, and looks at them.
func (c *Roster) names() {
	if !c.named {
		return
	}
	all := make([]hashed, 0, c.cards.n)
	for i := range int32(c.cards.n) {
		if name := c.plain(i); name != "" {
			all = append(all, hashOf(name, i))
		}
	}
	var first []int32 // of each name
	for group := range groups(all) {
		if len(first) <= maxNear {
			first = append(first, group[0].card())
		}
		if len(group) == 1 {
			continue
		}
		rows := map[string][]int32{}
		for _, h := range group { // of one name, but for chance
			name := c.plain(h.card())
			rows[name] = append(rows[name], h.card())
		}
		for _, same := range rows {
			c.oneName(same)
		}
	}
	if len(first) <= maxNear {
		c.nearNames(first)
	}
	c.firstPeople()
}

// addPerson adds somebody, and keeps few.
func (c *Roster) addPerson(p Person) {
	if c.people = append(c.people, p); len(c.people) > 8*maxPeople {
		c.firstPeople()
	}
}

// firstPeople keeps those who are told first.
func (c *Roster) firstPeople() {
	sort.SliceStable(c.people, func(i, j int) bool {
		a, b := &c.people[i], &c.people[j]
		return cmp.Or(cmp.Compare(a.Kind, b.Kind), cmp.Compare(a.Rows[0].Line, b.Rows[0].Line), cmp.Compare(a.Rows[1].Line,
			b.Rows[1].Line)) < 0
	})
	kept := min(len(c.people), maxPeople)
	c.morePeople += len(c.people) - kept
	c.people = c.people[:kept]
}

// oneName looks at the rows of one name: how many cards they have, whether the name is written alike, and whether two
// of their numbers differ by swapped digits.
func (c *Roster) oneName(rows []int32) {
	if len(rows) == 1 {
		return
	}
	name := c.texts.name(c.cards.at(rows[0]).text)
	p := Person{Kind: SeveralCards}
	var keys []reading.Key
	for i, row := range rows {
		card := c.cards.at(row)
		keys = append(keys, card.key)
		if c.texts.name(card.text) != name {
			p.Kind = Spellings
		}
		if i < maxPersonRows {
			p.Rows = append(p.Rows, PersonRow{int(card.line), card.text})
		}
	}
	sort.Slice(keys, func(i, j int) bool { return keys[i].Compare(keys[j]) < 0 })
	p.Cards = len(slices.Compact(keys))
	if p.Cards > 1 || p.Kind == Spellings {
		c.addPerson(p)
	}
	for a := 0; a < len(rows) && len(rows) <= maxSameName; a++ {
		for b := a + 1; b < len(rows); b++ {
			c.sameName(c.cards.at(rows[a]), c.cards.at(rows[b]))
		}
	}
}

// sameName finds one person with two cards whose numbers differ by swapped digits: one of them was probably typed
// wrong.
func (c *Roster) sameName(a, b *cardRow) {
	first, second := c.texts.number(a.text), c.texts.number(b.text)
	if a.key == b.key {
		return
	}
	for candidate := range typing.Swapped(first, typing.Decimal) {
		if string(candidate) == second {
			c.add(Finding{Kind: SameName, Line: int(b.line), Text: b.text, Other: int(a.line), With: a.text})
			return
		}
	}
}

// plainName returns a name in lower case, without accents, its words in the order of the alphabet with one space
// between.
func plainName(name string) string {
	words := strings.FieldsFunc(strings.Map(func(r rune) rune {
		if unicode.Is(unicode.Mn, r) || r == '\'' || r == '’' {
			return -1
		}
		return r
	}, decomposed(strings.ToLower(name))), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	slices.Sort(words)
	return strings.Join(words, " ")
}

// nearNames finds pairs of names of which one letter differs, in a long word: names that are alike without one letter
// of it.
func (c *Roster) nearNames(first []int32) {
	var keys []hashed
	for _, card := range first {
		words := strings.Fields(c.plain(card))
		for i, word := range words {
			letters := []rune(word)
			if len(letters) < longWord || len(letters) > 40 || strings.ContainsFunc(word, unicode.IsDigit) {
				continue
			}
			rest := strings.Join(slices.Delete(slices.Clone(words), i, i+1), " ")
			for k := range len(letters) + 1 { // the last time the whole word
				cut := string(letters[:k]) + string(letters[min(k+1, len(letters)):])
				keys = append(keys, hashOf(rest+"\x00"+cut, card))
			}
		}
	}
	told := map[[2]int32]bool{}
	for group := range groups(keys) {
		for i := range group {
			for _, other := range group[i+1:] {
				c.near([2]int32{group[i].card(), other.card()}, told)
			}
		}
	}
}

// near names two rows whose names differ by one letter, once.
func (c *Roster) near(pair [2]int32, told map[[2]int32]bool) {
	a, b := c.cards.at(pair[0]), c.cards.at(pair[1])
	if pair[0] == pair[1] || told[pair] || !oneLetter(c.plain(pair[0]), c.plain(pair[1])) {
		return
	}
	told[pair] = true
	p := Person{Kind: OneLetter, Cards: 1, Rows: []PersonRow{{int(a.line), a.text}, {int(b.line), b.text}}}
	if a.key != b.key {
		p.Cards = 2
	}
	c.addPerson(p)
}

// oneLetter reports whether two texts differ by one letter that is another one, missing, or swapped with the next. A
// letter more at the end of a word is often another person's name.
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
		return i < len(x) && (same(x[i+1:], y[i+1:]) || i+1 < len(x) && x[i] == y[i+1] && x[i+1] == y[i] &&
			same(x[i+2:], y[i+2:]))
	case len(x)+1 == len(y) && i < len(x):
		return x[i] != ' ' && same(x[i:], y[i+1:])
	}
	return false
}
