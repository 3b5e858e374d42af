package relate

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// Pair is one card's number written in two ways, in any spelling of [formats.ParseSighting], such as what is printed
// and what the controller shows. Hex needs no prefix where a number of its side has letters.
type Pair struct{ A, B string }

// Answer is what pairs say about the rule behind them. The probabilities of Rules and Unknown add up to 1.
type Answer struct {
	// Rules are the likeliest, beginning with the best. Rules that give the same numbers are one, even if one of them
	// writes zeros before small ones and another does not. A rule need not fit every pair: see Slips.
	Rules []Candidate
	// Unknown is how likely another rule is: one that was not looked for, or too unlikely by itself to be listed, or none
	// of all cards, of which Mixed is a part.
	Unknown float64
	// Mixed is what some of the pairs say if the others are of another kind, with a rule of its own.
	Mixed Mixed
	// Slips are the pairs that may be typed wrong, likeliest first, from a probability of 1 % on.
	Slips []Slip
	// Differences tells the first rule from each of the others.
	Differences []Difference
	// Zeros is a number that the first rule may write with zeros before it or without: the pairs don't show which. Nil
	// where they do.
	Zeros *Difference
	// Run tells that the first rule adds something, and the numbers of A hardly leave any out: what is added can be
	// another elsewhere, as where cards come in boxes.
	Run bool
	// Repeats are pairs that say again what another one says, as places in what was given: the later one first.
	Repeats [][2]int
}

// Candidate is a rule and how likely it is.
type Candidate struct {
	Rule        Rule
	Probability float64
}

// Mixed is a rule of some of the pairs only.
type Mixed struct {
	Rule        Rule    // the likeliest
	Probability float64 // that no rule is of all pairs, but that or another one of some; 0 where that is next to nothing
	Apart       []int   // the pairs that do not go by Rule, as places in what was given
}

// Slip is a pair that may be typed wrong.
type Slip struct {
	Pair        int     // its place in what was given, from 0
	Probability float64 // that it is typed wrong, over all rules
	Meant       Pair    // what it should be, if it is typed wrong; empty where that is less sure than 90 %
}

// Difference is a number of which two rules make different things.
type Difference struct {
	Rule    int    `json:"rule"`              // position in Rules of the one that is compared with the first
	A       string `json:"number"`            // a number that was not given
	First   string `json:"first,omitempty"`   // what the first rule makes of it; "" where it can't take it
	Another string `json:"another,omitempty"` // what the other makes of it
}

// Find finds the rules that turn A into B, where some pairs may be typed wrong. The error is [ErrPairs] and says which
// pair is at fault: a spelling that is none, a mixture of spellings on one side, numbers of more than 64 bits. That no
// rule fits is no error. Formats of the catalogue are those whose parity a rule may take off or put on.
//
// The search is exhaustive over rules of up to three steps between the ways of reading and writing, besides parity; it
// takes a fraction of a second.
func Find(pairs []Pair, known formats.Catalogue) (Answer, error) {
	var answer Answer
	q := question{seen: map[ruleKey]bool{}, frames: frames(known), probed: map[Text][]probe{}}
	places := map[Pair]int{}
	for i, p := range pairs {
		p.A, p.B = strings.TrimSpace(p.A), strings.TrimSpace(p.B)
		if first, again := places[p]; again {
			answer.Repeats = append(answer.Repeats, [2]int{i, first})
			continue
		}
		places[p] = i
		q.pairs, q.places = append(q.pairs, p), append(q.places, i)
		q.bareA, q.bareB = append(q.bareA, bare(p.A)), append(q.bareB, bare(p.B))
	}
	if err := q.look(); err != nil {
		return Answer{}, err
	}
	q.answer(&answer)
	return answer, nil
}

// question is what was asked, and the rules that were found so far.
type question struct {
	pairs        []Pair   // no two the same
	bareA, bareB []string // of those, without their prefixes
	places       []int    // of each in what was given
	a, b         side
	frames       []costed // steps that take parity off
	probes       []string // texts like A that were not given
	probed       map[Text][]probe
	found        []found
	seen         map[ruleKey]bool
}

// maxSubsets is how many choices of pairs rules are looked for in, besides all pairs.
const maxSubsets = 8

// look looks for the rules that fit all pairs, or some of them: each pair with the next, or each of two by itself.
func (q *question) look() (err error) {
	if len(q.pairs) == 0 {
		return fail("pairs", "", "there are none; write A=B, such as 0009876543=150,46143, for each card", ErrPairs)
	}
	var as, bs []string
	for _, p := range q.pairs {
		as, bs = append(as, p.A), append(bs, p.B)
	}
	if q.a, err = q.sideOf(as); err == nil {
		q.b, err = q.sideOf(bs)
	}
	if err != nil {
		return err
	}
	n := len(q.pairs)
	subsets := [][]Pair{q.pairs}
	for i := range min(n, maxSubsets) {
		switch {
		case n == 2:
			subsets = append(subsets, q.pairs[i:i+1])
		case n > 2:
			subsets = append(subsets, []Pair{q.pairs[i], q.pairs[(i+1)%n]})
		}
	}
	worked := false
	for _, some := range subsets {
		s, why := newSearch(q, some)
		if why == nil {
			s.run()
			worked = true
		}
		err = cmp.Or(err, why)
	}
	if worked { // with some of them
		return nil
	}
	return err
}

// sideOf returns what all texts of one side of the = have in common; the error gives the pair that differs.
func (q *question) sideOf(texts []string) (all side, err error) {
	for i, s := range texts {
		one, err := sideOf(s)
		if err != nil {
			return all, &formats.Error{Where: fmt.Sprintf("pair %d", q.places[i]+1), Reason: err.Error(), Err: err}
		}
		switch {
		case i == 0 || one.kind == formats.Hex && all.digits():
			all = one
		case all.kind == formats.Hex && one.digits():
		case one != all:
			return all, fail(fmt.Sprintf("pair %d", q.places[i]+1), s,
				fmt.Sprintf("is written in another way than %q; all that stand on one side of the = must be of one kind",
					words.Cut(texts[0])), ErrPairs)
		}
	}
	return all, nil
}
