package main

import (
	"cmp"
	"fmt"
	"hash/maphash"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/reading"
)

// maxTyping is how many wrong numbers are looked at for a mistake in typing: with more, something else is wrong.
const maxTyping = 1000

// typing looks at numbers that are not the site's: if changing a digit makes one of them a card of the site that nobody has,
// it was probably typed wrong.
func (c *checker) typing() {
	looked := 0
	for i := range c.findings {
		f := &c.findings[i]
		if f.kind != unusable || f.what != reading.OutOfBlock && f.what != reading.WrongFacility && f.what != reading.OutOfRange {
			continue
		}
		if looked++; looked > maxTyping {
			return
		}
		if meant, how := c.meant(c.texts.number(f.text)); meant != "" {
			f.kind, f.note = typing, fmt.Sprintf("%s|%s", meant, how)
		}
	}
}

// meant returns the number that a wrong one was probably meant to be, and what was done to it: the mildest mistake that gives
// just one card which is the site's and free.
func (c *checker) meant(number string) (meant, how string) {
	plan := c.plan.AsIs()
	for _, mistake := range mistakes {
		found, taken := "", false
		for candidate := range mistake.undo(number) {
			var seen reading.Seen
			if candidate == number || plan.Read([]byte(candidate), &seen) != nil {
				continue
			}
			if c.has(seen.Key()) {
				taken = true
				continue
			}
			if found != "" && found != candidate {
				return "", "" // several: naming one would be guessing
			}
			found = candidate
		}
		switch {
		case found != "":
			return found, mistake.name
		case taken:
			return "", "" // somebody has what was probably meant
		}
	}
	return "", ""
}

// mistake is one that people make in typing numbers.
type mistake struct {
	name string
	undo func(string) func(yield func(string) bool)
	even bool // doing it undoes it, and the number stays as long
}

// mistakes in the order of how common they are: swapped neighbours first.
var mistakes = []mistake{
	{"two digits swapped", undoSwap, true},
	{"a digit typed twice", undoDouble, false},
	{"one digit wrong", undoDigit, true},
}

func isDigitByte(c byte) bool { return c >= '0' && c <= '9' }

func undoSwap(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		b := []byte(s)
		for i := 1; i < len(b); i++ {
			if b[i] == b[i-1] || !isDigitByte(b[i]) || !isDigitByte(b[i-1]) {
				continue
			}
			b[i], b[i-1] = b[i-1], b[i]
			if !yield(string(b)) {
				return
			}
			b[i], b[i-1] = b[i-1], b[i]
		}
	}
}

func undoDouble(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for i := 1; i < len(s); i++ {
			if s[i] == s[i-1] && isDigitByte(s[i]) && !yield(s[:i]+s[i+1:]) {
				return
			}
		}
	}
}

func undoDigit(s string) func(func(string) bool) {
	return func(yield func(string) bool) {
		for i := range len(s) {
			if !isDigitByte(s[i]) {
				continue
			}
			for d := byte('0'); d <= '9'; d++ {
				if d != s[i] && !yield(s[:i]+string(d)+s[i+1:]) {
					return
				}
			}
		}
	}
}

// maxSameName is how often a name can be there and still be one person.
const maxSameName = 4

// sameNames finds one person with two cards whose numbers differ by swapped digits: one of them was probably typed wrong.
func (c *checker) sameNames() {
	if len(c.names) == 0 {
		return
	}
	type named struct {
		hash uint64
		card int32
	}
	all := make([]named, 0, len(c.cards))
	for i := range c.cards {
		if name := c.texts.name(c.cards[i].text); name != "" {
			all = append(all, named{maphash.String(seed, strings.ToLower(name)), int32(i)})
		}
	}
	slices.SortFunc(all, func(a, b named) int { return cmp.Or(cmp.Compare(a.hash, b.hash), cmp.Compare(a.card, b.card)) })
	for i := 0; i < len(all); {
		j := i + 1
		for j < len(all) && all[j].hash == all[i].hash {
			j++
		}
		for a := i; a < j && j-i <= maxSameName; a++ {
			for b := a + 1; b < j; b++ {
				c.sameName(&c.cards[all[a].card], &c.cards[all[b].card])
			}
		}
		i = j
	}
}

func (c *checker) sameName(a, b *cardRow) {
	first, second := c.texts.number(a.text), c.texts.number(b.text)
	if a.key == b.key || !strings.EqualFold(c.texts.name(a.text), c.texts.name(b.text)) {
		return
	}
	for candidate := range undoSwap(first) {
		if candidate == second {
			c.add(finding{kind: sameName, line: b.line, text: b.text, other: a.line, with: a.text})
			return
		}
	}
}
