// Package survey finds out what cards a list shows: of which kinds they are, with which facilities and numbers. It is
// what a site file begins with.
//
// # Where to start
//
// [New] surveys a list, and [Survey.Cards] has what it shows for a site file. [Formats] says which formats numbers of
// one kind can have.
package survey

import (
	"iter"
	"math/rand/v2"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/reading"
)

// Options say what is known of a list beforehand. What is left out is found out.
type Options struct {
	Format string // id of the cards' format, of all of them
	Form   string // of their numbers
}

// Survey is what a list shows.
type Survey struct {
	Rows   int     // that have a number
	Read   int     // of which the kind is known
	Kinds  []Kind  // most rows first
	Doubts []Doubt // numbers that are written alike, and whose format is not settled
}

// Kind is cards of one format whose numbers are written in one form.
type Kind struct {
	Format      *formats.Format
	Form        string
	Probability float64  // of the format, among all that the numbers can be; 1 where it was given
	Likely      []Likely // all that they can be, the format first; none where it was given
	Rows        int
	Serials     bool                 // the numbers are or may be chip serials, which are not bought in blocks
	Cards       []formats.Population // one for each facility; none that another kind has already
	Odd         []Odd                // facilities that are left out, being on a card or two alone
}

// Odd is a facility that may be typed wrong.
type Odd struct {
	Facility    uint64
	Cards, Line int // how many have it, and where the first stands
}

// Doubt is numbers whose format is not settled.
type Doubt struct {
	Example string
	Likely  []Likely
}

// Cards returns what the site has, for a site file.
func (s *Survey) Cards() (all []formats.Population) {
	for i := range s.Kinds {
		all = append(all, s.Kinds[i].Cards...)
	}
	return all
}

// Judgements.
const (
	// sampled is how many rows of a list settle its kinds, taken evenly from all of it.
	sampled = 192
	// leastOfKind is how many numbers a kind has at least, in the sample, beside another kind.
	leastOfKind = 3
	// sure is from which probability on a format is proposed: a person looks at it, and at what else it can be.
	sure = 0.75
)

// New surveys a list: for each row that has a number, the line where it stands, from 1, and the number. rows is ranged
// over twice, and has to give the same both times; once alone where format and form are given. The error is for a
// format or form that does not exist, and for a format that does not have the form.
func New(cat formats.Catalogue, rows iter.Seq2[int, string], opt Options) (Survey, error) {
	var s Survey
	lots, err := s.lots(cat, rows, opt)
	if err != nil {
		return s, err
	}
	for line, text := range rows {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		s.Rows++
		if l := lotOf(lots, text); l != nil {
			s.Read++
			l.add(line)
		}
	}
	slices.SortStableFunc(lots, func(a, b *lot) int { return b.kind.Rows - a.kind.Rows })
	for i, l := range lots {
		for _, larger := range lots[:i] {
			larger.take(l)
		}
	}
	for _, l := range lots {
		l.populate(s.Cards())
		s.Kinds = append(s.Kinds, l.kind)
	}
	return s, nil
}

// lots finds the kinds that there are. What stays in doubt is noted.
func (s *Survey) lots(cat formats.Catalogue, rows iter.Seq2[int, string], opt Options) (lots []*lot, err error) {
	if opt.Format != "" && opt.Form != "" {
		l, err := newLot(cat, Likely{Format: opt.Format, Form: opt.Form, Probability: 1}, nil)
		return []*lot{l}, err
	}
	forms := formNames(opt.Form)
	ranker, err := rank.New(cat)
	if err != nil {
		return nil, err
	}
	left := groups(ranker, readable(cat, sample(rows), forms))
	for {
		before := len(left)
		if lots, left, err = s.settle(cat, ranker, lots, left, forms, opt); err != nil || len(left) == 0 ||
			len(left) == before {
			return lots, err
		}
		var known []formats.Population // numbers written in another way are likeliest of the cards that are known by now
		for _, l := range lots {
			known = append(known, l.known())
		}
		if ranker, err = rank.New(cat, known...); err != nil {
			return nil, err
		}
	}
}

// settle makes a lot of each group of numbers of which the format is settled. The others are left, and noted.
func (s *Survey) settle(cat formats.Catalogue, r *rank.Ranker, lots []*lot, all [][]string, forms []string,
	opt Options) (_ []*lot, left [][]string, err error) {
	s.Doubts = nil
	for _, group := range all {
		likely := []Likely{{Format: opt.Format, Form: reading.UsualForm(cat, opt.Format, group), Probability: 1}}
		if opt.Format == "" {
			if likely, err = Formats(cat, r, group, forms); err != nil {
				return nil, nil, err
			}
		}
		if len(likely) == 0 || likely[0].Probability < sure || likely[0].Form == "" {
			left = append(left, group)
			s.Doubts = append(s.Doubts, Doubt{group[0], likely})
			continue
		}
		l, err := newLot(cat, likely[0], group)
		if err != nil {
			return nil, nil, err
		}
		if opt.Format == "" {
			l.kind.Likely = likely
		}
		lots = addLot(lots, l)
	}
	return lots, left, nil
}

func formNames(only string) []string {
	if only != "" {
		return []string{only}
	}
	var all []string
	for _, fm := range formats.Forms() {
		all = append(all, fm.Name)
	}
	return all
}

// sample takes numbers evenly from all rows, each once, in their order. The same list gives the same sample.
func sample(rows iter.Seq2[int, string]) []string {
	type row struct {
		line int
		text string
	}
	rnd := rand.New(rand.NewPCG(1, 2))
	var all []row
	n := 0
	for line, text := range rows {
		if text = strings.TrimSpace(text); text == "" {
			continue
		}
		n++
		if len(all) < sampled {
			all = append(all, row{line, text})
		} else if i := rnd.IntN(n); i < sampled {
			all[i] = row{line, text}
		}
	}
	slices.SortFunc(all, func(a, b row) int { return a.line - b.line })
	var texts []string
	for _, r := range all {
		if !slices.Contains(texts, r.text) {
			texts = append(texts, r.text)
		}
	}
	return texts
}

// readable leaves out what no format has in any of the forms: dates, words.
func readable(cat formats.Catalogue, texts, forms []string) []string {
	return slices.DeleteFunc(texts, func(text string) bool {
		for i := range cat.Len() {
			if reads(cat.At(i), text, forms) {
				return false
			}
		}
		return true
	})
}

// groups puts numbers together that are of one kind, largest first. Those that are written in two ways are of two.
func groups(r *rank.Ranker, texts []string) (all [][]string) {
	byShape := map[string][]string{}
	for _, text := range texts {
		k := shape(text)
		byShape[k] = append(byShape[k], text)
	}
	for _, same := range byShape {
		kinds, err := r.Kinds(sightings(same))
		if err != nil {
			kinds.Groups = [][]int{nil}
			for i := range same {
				kinds.Groups[0] = append(kinds.Groups[0], i)
			}
		}
		for _, places := range kinds.Groups {
			var group []string
			for _, i := range places {
				group = append(group, same[i])
			}
			all = append(all, group)
		}
	}
	slices.SortFunc(all, func(a, b []string) int {
		if n := len(b) - len(a); n != 0 {
			return n
		}
		return strings.Compare(a[0], b[0])
	})
	return slices.DeleteFunc(all, func(group []string) bool {
		return len(group) < leastOfKind &&
			len(group) < len(all[0])
	})
}

// shape is what stands between the digits, and whether there are letters of hex.
func shape(text string) string {
	return strings.Trim(strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9':
			return -1
		case r >= 'a' && r <= 'f' || r >= 'A' && r <= 'F':
			return 'A'
		}
		return r
	}, text), " ")
}

func sightings(texts []string) (cards []formats.Sightings) {
	for _, text := range texts {
		cards = append(cards, formats.Sightings{{Kind: formats.Printed, Text: text}})
	}
	return cards
}
