package learn

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
)

// Pair is one card's number written in two ways, in any spelling of [formats.ParseSighting].
type Pair struct {
	Line int    // for messages: the line of a file, or the position among arguments, from 1
	A, B string // such as what is printed, and what the controller shows
}

// Relation is what pairs say about the rule behind them.
type Relation struct {
	// Rules are those that fit every pair, likeliest first. Rules that give the same numbers are one, even if one of them writes
	// zeros before small ones and another does not. Empty where none fits.
	Rules   []Fit
	Unknown float64 // how likely the rule is one that was not looked for
	// Differences tells the first rule from each of the others: a number on which they differ, and what to look up.
	Differences []Difference
	// Breaks names the pairs that break the best rule where none fits all, and what they would have been.
	Breaks   []Break
	Nearly   *Rule // that rule
	Warnings []string
}

// Fit is a rule and how likely it is.
type Fit struct {
	Rule        Rule
	Probability float64
	Others      int // how many other ways of writing the same rule fit as well
}

// Difference is a number on which two rules that fit differ.
type Difference struct {
	Rule    int    // position in Rules of the one that is compared with the first
	A       string // a number that was not given
	First   string // what the first rule makes of it; "" where it can't take it
	Another string // what the other makes of it
}

// Break is a pair that does not fit.
type Break struct {
	Pair
	Want string // what the rule makes of A; "" where it can't take it
}

// Relate finds the rules that turn A into B for every pair. The error says which pair is at fault: a spelling that is none, a
// mixture of spellings on one side, one A with two different Bs. That no rule fits is no error. Formats of the catalogue are
// those whose parity a rule may take off or put on.
//
// The search is exhaustive over rules of up to three steps between the ways of reading and writing, besides parity; it takes a
// fraction of a second.
func Relate(pairs []Pair, known formats.Catalogue) (Relation, error) {
	distinct, remarks, err := distinctPairs(pairs)
	if err != nil {
		return Relation{}, err
	}
	s, err := newSearch(distinct, known)
	if err != nil {
		return Relation{}, err
	}
	s.run()
	rel := Relation{Warnings: remarks}
	if len(s.found) == 0 {
		rel.Unknown = 1
		rel.nearly(distinct, known)
		return rel, nil
	}
	s.rank(&rel)
	s.tell(&rel)
	return rel, nil
}

// distinctPairs drops pairs that are there twice and refuses contradictions.
func distinctPairs(pairs []Pair) (distinct []Pair, remarks []string, err error) {
	if len(pairs) == 0 {
		return nil, nil, fail("", "", "no pairs; write A=B, such as 0009876543=150,46143, for each card", ErrPairs)
	}
	seen := map[string]Pair{}
	for _, p := range pairs {
		p.A, p.B = strings.TrimSpace(p.A), strings.TrimSpace(p.B)
		first, again := seen[p.A]
		switch {
		case !again:
			seen[p.A] = p
			distinct = append(distinct, p)
		case first.B == p.B:
			remarks = append(remarks, fmt.Sprintf("pair %d is the same as pair %d", p.Line, first.Line))
		default:
			return nil, nil, fail(pairOf(p.Line), p.A, fmt.Sprintf("is %q here and %q in pair %d; one number can't become two",
				cutShort(p.B), cutShort(first.B), first.Line), ErrPairs)
		}
	}
	return distinct, remarks, nil
}

// unknownBits is what a rule costs that was not looked for, besides writing its results down one by one.
const unknownBits = 8

// ranked is rules that give the same numbers.
type ranked struct {
	best    found
	outputs []string // loose
	logw    float64
	n       int
	zeros   *Difference // where some of them write zeros before a number and the best one does not, or the other way round
}

// rank groups the rules found into those that do the same, and weighs the groups.
func (s *search) rank(rel *Relation) {
	slices.SortStableFunc(s.found, func(a, b found) int {
		if c := cmp.Compare(a.cost, b.cost); c != 0 {
			return c
		}
		return strings.Compare(a.rule.String(), b.rule.String())
	})
	groups := s.groups()
	unknown := -float64(unknownBits) - s.surprise()
	total := unknown
	for _, g := range groups {
		total = logAdd(total, g.logw)
	}
	rel.Unknown = math.Exp2(unknown - total)
	slices.SortStableFunc(groups, func(a, b ranked) int { return cmp.Compare(b.logw, a.logw) })
	for i, g := range groups {
		p := math.Exp2(g.logw - total)
		if i >= maxRules || i > 0 && p < leastRule {
			break
		}
		rel.Rules = append(rel.Rules, Fit{Rule: g.best.rule, Probability: p, Others: g.n - 1})
		if i == 0 && g.zeros != nil {
			rel.Warnings = append(rel.Warnings, fmt.Sprintf("whether zeros are written before a number can't be seen: %s may become %s or %s", g.zeros.A, g.zeros.First, g.zeros.Another))
		}
	}
}

// groups puts the rules found, cheapest first, together with those that do the same. A rule that does the same as a cheaper
// one but fails on some numbers, such as swapping the bytes twice, is that one with a needless step; that it names a facility
// is no needless step.
func (s *search) groups() []ranked {
	var groups []ranked
	at := map[string]int{}
	for _, f := range s.found {
		texts := s.outputs(&f.rule)
		outputs := make([]string, len(texts))
		for i, t := range texts {
			outputs[i] = f.rule.To.loose(t)
		}
		key := strings.Join(outputs, "\n")
		i, ok := at[key]
		if !ok {
			i = slices.IndexFunc(groups, func(g ranked) bool { return !f.rule.namesFacility() && g.takes(f, outputs) })
			switch {
			case i < 0:
				i = len(groups)
				groups = append(groups, ranked{best: f, outputs: outputs, logw: math.Inf(-1)})
			case !within(outputs, groups[i].outputs):
				groups[i].best, groups[i].outputs, groups[i].zeros = f, outputs, nil
			}
			at[key] = i
		}
		groups[i].logw = logAdd(groups[i].logw, -f.cost)
		groups[i].n++
		s.compareZeros(&groups[i], texts)
	}
	return groups
}

// wider is how much dearer a rule may be, in bits, and still stand for a group because it takes numbers that the best one can't.
const wider = 4

// takes reports whether a rule belongs to the group: it gives the same where it gives something, or the other way round.
func (g *ranked) takes(f found, outputs []string) bool {
	return within(outputs, g.outputs) || f.cost < g.best.cost+wider && !g.best.rule.namesFacility() && within(g.outputs, outputs)
}

// compareZeros notes where a rule writes the same number with other zeros before it than the best of its group.
func (s *search) compareZeros(g *ranked, texts []string) {
	for i, text := range texts {
		if g.zeros != nil || text == "" {
			continue
		}
		if first, err := g.best.rule.Apply(s.probes[i]); err == nil && first != text {
			g.zeros = &Difference{A: s.probes[i], First: first, Another: text}
		}
	}
}

// loose returns a text without the zeros before its numbers, which make no difference to what the number is.
func (t *Text) loose(s string) string {
	if t.Kind > JoinedText {
		return s
	}
	parts := strings.Split(s, string(t.Sep))
	if t.Kind != PairText {
		parts = []string{s}
	}
	for i, p := range parts {
		parts[i] = strings.TrimLeft(p, "0")
		if parts[i] == "" && p != "" {
			parts[i] = "0"
		}
	}
	return strings.Join(parts, ",")
}

// within reports whether some is all with nothing in some places.
func within(some, all []string) bool {
	for i, s := range some {
		if s != "" && s != all[i] {
			return false
		}
	}
	return true
}

func (r *Rule) namesFacility() bool {
	return slices.ContainsFunc(r.steps, func(s Step) bool { return s.Op == DropFacility })
}

// Bounds of what is told.
const (
	maxRules  = 8
	leastRule = 1e-3
)

// surprise is how many bits it takes to write the results down without a rule.
func (s *search) surprise() float64 {
	n := 0.0
	for _, p := range s.pairs {
		for _, c := range bare(p.B) {
			switch {
			case c >= '0' && c <= '9' && s.out[0].Kind != Hex && s.out[0].Kind != SerialText && s.out[0].Kind != ReadText:
				n += log2(10)
			case unhex(byte(c)) <= 15:
				n += 4
			}
		}
	}
	return n
}

// tell finds, for each rule but the first, a number that tells it from the first one: if it can, one that both take.
func (s *search) tell(rel *Relation) {
	for k := 1; k < len(rel.Rules); k++ {
		first, other := s.outputs(&rel.Rules[0].Rule), s.outputs(&rel.Rules[k].Rule)
		at := -1
		for i, a := range s.probes {
			switch {
			case first[i] == other[i]:
			case first[i] != "" && other[i] != "":
				rel.Differences = append(rel.Differences, Difference{Rule: k, A: a, First: first[i], Another: other[i]})
				at = -2
			case at == -1:
				at = i
			}
			if at == -2 {
				break
			}
		}
		if at >= 0 {
			rel.Differences = append(rel.Differences, Difference{Rule: k, A: s.probes[at], First: first[at], Another: other[at]})
		}
	}
}

// nearly looks for a rule that fits all pairs but a few: a slip of the pen is the usual reason why none fits all.
func (rel *Relation) nearly(pairs []Pair, known formats.Catalogue) {
	if len(pairs) < 3 {
		return
	}
	var best *Rule
	bestFits, bestCost := 1, math.Inf(1)
	for i := range min(len(pairs), maxTries) {
		two := []Pair{pairs[i], pairs[(i+1)%len(pairs)]}
		s, err := newSearch(two, known)
		if err != nil {
			continue
		}
		s.run()
		for k := range s.found {
			f := &s.found[k]
			if n := f.rule.fits(pairs); n > bestFits || n == bestFits && f.cost < bestCost {
				best, bestFits, bestCost = &f.rule, n, f.cost
			}
		}
	}
	if best == nil || bestFits < 2 || 2*bestFits <= len(pairs) {
		return
	}
	rel.Nearly = best
	for _, p := range pairs {
		if got, err := best.Apply(p.A); err != nil {
			rel.Breaks = append(rel.Breaks, Break{Pair: p})
		} else if !best.To.same([]byte(got), p.B) {
			rel.Breaks = append(rel.Breaks, Break{Pair: p, Want: got})
		}
	}
}

// maxTries is from how many pairs of pairs rules are looked for where none fits all.
const maxTries = 8

// fits returns how many pairs the rule gives as they stand.
func (r *Rule) fits(pairs []Pair) int {
	n := 0
	var buf [96]byte
	for _, p := range pairs {
		if b, err := r.Append(buf[:0], p.A); err == nil && r.To.same(b, p.B) {
			n++
		}
	}
	return n
}
