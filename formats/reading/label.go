package reading

import (
	"bytes"
	"regexp"
	"slices"
	"strings"
	"sync"
)

// labelled is a number behind letters, or two, or the second of two that come from columns of their own: behind a sign
// it can be in hex. W26-144 may be a read of 26 bits.
var labelled = sync.OnceValue(func() *regexp.Regexp {
	const one, two = `#|\pL{1,8}[-_ :#.]{1,2}|\pL/\pL[ :.]{1,2}`, `[^\PLWw](?:\pL?|\pL{0,7}[-_ :#.]{1,2}|/\pL[ :.]{1,2})`
	return regexp.MustCompile(`^(` + one + `)[0-9A-Fa-f]+(?::[0-9A-Fa-f]{2})*$|^(\pL{1,2})\d+$|^([G-Zg-z]{1,2})[0-9A-Fa-f]+$` +
		`|^(` + two + `)\d+[,/: -]\d+$|^\d+,(#|\pL{1,8}[-_ :#.]{0,2})\d+$`)
})

// LabelOf returns what texts of a column have before their numbers, where all have the same, or hardly any has not: N-
// of N-00144, which says no more of one card than of another. It is "" where there is no such label, or where its
// letters may be digits in hex: the column has that, or may have it, as lists from a door do, and there are too few
// numbers to say that none has a letter elsewhere. Short ones are no hex but in a list that leaves zeros out.
func LabelOf(texts []string, hasHex, mayHaveHex bool) (label string) {
	c := labels(texts)
	n, pairs := c.with, c.pairs
	if n < fewShown || (c.all-n)*losing > c.all ||
		c.digits() && (hasHex || n < enoughHex && (mayHaveHex || pairs+c.short < n)) {
		return ""
	}
	return c.label
}

// labelCount counts the texts of a column that have a number, and those of them that have a label, the same as most.
type labelCount struct {
	label            string
	all, with, pairs int
	short            int // with a label, and too short for a whole read
	long             int // with this label, and numbers that count no visitors
}

// digits reports whether the label can be digits of hex before numbers that are no pairs.
func (c *labelCount) digits() bool {
	return strings.Trim(c.label, "ABCDEFabcdef") == "" && c.pairs < c.with
}

func labels(texts []string) (c labelCount) {
	counts, long := map[string]int{}, map[string]int{}
	for _, text := range texts {
		if strings.ContainsAny(text, "0123456789") && !LooksLikeDate(text) {
			c.all++
		}
		text, _ = unwrapped(text)
		m := labelled().FindStringSubmatch(strings.TrimSpace(text))
		if m == nil {
			continue
		}
		one := strings.Join(m[1:], "")
		if counts[one]++; counts[one] > counts[c.label] {
			c.label = one
		}
		if m[4]+m[5] != "" {
			c.pairs++
		} else if len(text) < shortestRead {
			c.short++
		}
		if len(text)-len(one) >= leastLabelled {
			long[one]++
		}
	}
	c.with, c.long = counts[c.label], long[c.label]
	return c
}

// leastLabelled is how many digits a number has at least that is a card's, where only some have a label: fewer count
// visitors. A judgement.
const leastLabelled = 4

// partLabel returns what some texts of a column have before their numbers, as those of one of several kinds have: one
// row in twenty at least. It is none that can be digits in hex.
func partLabel(texts []string) (label string) {
	c := labels(texts)
	if c.long < c.with || c.with < fewShown || c.with*hardlyAny < c.all || c.digits() {
		return ""
	}
	return c.label
}

// WithoutLabel returns a text without that label before its number, or before the second of two numbers, and without
// what makes a spreadsheet leave either as it is.
func WithoutLabel(text, label string) string {
	text, _ = unwrapped(text)
	text = strings.TrimSpace(text)
	if first, second, pair := strings.Cut(text, ","); pair && digitsOnly(first) {
		second, _ = unwrapped(second)
		return first + "," + strings.TrimPrefix(second, label)
	}
	return strings.TrimPrefix(text, label)
}

// withoutLabel returns texts without that label, and what is around their numbers.
func withoutLabel(texts []string, label string) (bare []string) {
	for _, text := range texts {
		bare = append(bare, WithoutLabel(text, label))
	}
	return plain(bare)
}

// whole returns a value without what all of its column have: the label before their numbers, and the decimal places.
func (p *Plan) whole(value []byte) (whole []byte, repair string) {
	if p.label != "" {
		text := string(value)
		if bare := WithoutLabel(text, p.label); bare != WithoutLabel(text, "") {
			return []byte(bare), p.unlabelledAs()
		}
	}
	if p.places != "" {
		if bare, found := bytes.CutSuffix(bytes.TrimSpace(value), []byte(p.places)); found {
			return bare, "decimal places taken away"
		}
	}
	return value, ""
}

func (p *Plan) unlabelledAs() string {
	if p.partly {
		return "the label before some of the numbers taken away"
	}
	return "the label before all numbers taken away"
}

// Label returns what is taken for a label that all numbers of the list have before them; "" where they have none.
func (p *Plan) Label() string { return p.label }

// hasHex reports whether numbers can be in hex, as they are printed, or as a door has them.
func (p *Plan) hasHex(door bool) bool {
	return slices.ContainsFunc(p.readings, func(r Reading) bool { return r.shape.Hex && r.second == door })
}

// unlabelled returns texts of a list without the label before them, and notes that. Where hex has that letter before
// all its numbers, and too few digits, it may be one: then zeros are put back before none.
func (p *Plan) unlabelled(texts []string) []string {
	p.label = LabelOf(texts, p.hasHex(false), p.hasHex(true))
	if p.label == "" && !p.wholly && p.kinds() > 1 {
		p.label = partLabel(texts)
		p.partly = p.label != ""
	}
	if p.label == "" && LabelOf(texts, false, false) != "" {
		for i := range p.readings {
			if s := &p.readings[i].shape; s.Hex {
				s.Least = s.Width
			}
		}
	}
	return withoutLabel(texts, p.label)
}

// kinds returns of how many formats the cards are.
func (p *Plan) kinds() int {
	var all []string
	for i := range p.readings {
		if id := p.readings[i].Format.ID; !slices.Contains(all, id) {
			all = append(all, id)
		}
	}
	return len(all)
}

// labelsKind reports whether the rows with the label are of one kind, and hardly any of the others are: an office
// that writes a label before some of its cards tells them apart by that. Else it may be before cards that the site
// file does not have.
func (p *Plan) labelsKind(texts []string) bool {
	with, without := map[string]int{}, map[string]int{}
	all := 0
	for _, text := range texts {
		var s Seen
		if p.Read([]byte(text), &s) != nil {
			continue
		}
		id := s.Reading.Format.ID
		if WithoutLabel(text, p.label) != WithoutLabel(text, "") {
			with[id]++
			all++
		} else {
			without[id]++
		}
	}
	for id, n := range with {
		if n*hardlyAny >= all && without[id]*hardlyAny >= n {
			return false
		}
	}
	return true
}
