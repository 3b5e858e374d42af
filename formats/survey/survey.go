// Package survey finds out what cards a list shows: of which kinds they are, with which facilities and numbers. It is
// what a site file begins with.
//
// # Where to start
//
// [New] surveys a list, and [Survey.Cards] has what it shows for a site file. [Formats] says which formats numbers of
// one kind can have.
package survey

import (
	"cmp"
	"fmt"
	"iter"
	"maps"
	"math/rand/v2"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
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
	Label  string  // what all numbers have before them, which says nothing; "" where they have none
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
	Otherwise   []Otherwise          // other facilities that may be the main one, written in another form
}

// Otherwise is a facility whose first number is, in another form, a card of the facility that most cards have.
type Otherwise struct {
	Facility, Main uint64
	Form           string // the other form
	Example        string // that number
	Cards, Line    int    // how many have that facility, and where the first stands
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
		if text = reading.WithoutLabel(reading.Clean(text).Text, s.Label); text == "" {
			continue
		}
		s.Rows++
		if l := lotOf(lots, text); l != nil && !l.doubted {
			s.Read++
			l.add(line, text)
		}
	}
	slices.SortStableFunc(lots, func(a, b *lot) int { return b.kind.Rows - a.kind.Rows })
	for i, l := range lots {
		for _, larger := range lots[:i] {
			larger.take(l)
		}
	}
	for _, l := range lots {
		if l.kind.Rows == 0 { // others read them all
			continue
		}
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
	texts := sample(rows)
	s.Label = reading.LabelOf(texts, false, false)
	for i := range texts {
		texts[i] = reading.WithoutLabel(texts[i], s.Label)
	}
	model, err := evidence.New(cat, nil)
	if err != nil {
		return nil, err
	}
	var left []*group
	for _, g := range groups(ranker, readable(cat, texts, forms)) {
		left = append(left, g.parted(model, new(evidence.Memory))...)
	}
	for {
		before := len(left)
		if lots, left, err = s.settle(cat, ranker, lots, left, forms, opt); err != nil || len(left) == 0 {
			return lots, err
		}
		if len(left) == before {
			return s.doubted(cat, lots, left)
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

// doubted adds lots of the numbers in doubt, which are not to be counted as those of a kind that reads nearly anything.
func (s *Survey) doubted(cat formats.Catalogue, lots []*lot, left []*group) ([]*lot, error) {
	for i, d := range s.Doubts {
		if len(d.Likely) == 0 || d.Likely[0].Form == "" {
			continue
		}
		l, err := newLot(cat, d.Likely[0], left[i].texts)
		if err != nil {
			return nil, err
		}
		l.doubted = true
		lots = append(lots, l)
	}
	return lots, nil
}

// settle makes a lot of each group of numbers of which the format is settled. The others are left, and noted.
func (s *Survey) settle(cat formats.Catalogue, r *rank.Ranker, lots []*lot, all []*group, forms []string,
	opt Options) (_ []*lot, left []*group, err error) {
	s.Doubts = nil
	asked := map[string][]Likely{}
	for len(all) > 0 {
		one, texts := all[0], all[0].texts
		all = all[1:]
		form := reading.ShownForm(cat, &formats.Population{Format: opt.Format}, texts)
		likely := []Likely{{Format: opt.Format, Form: form, Probability: 1}}
		if opt.Format == "" {
			if likely, err = one.formats(cat, r, forms, asked); err != nil {
				return nil, nil, err
			}
		}
		if one.apart {
			likely = without(lots, likely)
		}
		if len(likely) == 0 || likely[0].Probability < sure || likely[0].Form == "" {
			left = append(left, one)
			s.Doubts = append(s.Doubts, Doubt{texts[0], likely})
			continue
		}
		l, err := newLot(cat, likely[0], texts)
		if err != nil {
			return nil, nil, err
		}
		if opt.Format == "" {
			if main, others := l.scattered(texts); len(main) > 0 && len(others)*oddLength > len(texts) {
				all = append([]*group{{texts: main}, {texts: others}}, all...)
				continue
			}
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
		if text = reading.Clean(text).Text; text == "" {
			continue
		}
		n++
		if len(all) < sampled {
			all = append(all, row{line, text})
		} else if i := rnd.IntN(n); i < sampled {
			all[i] = row{line, text}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].line < all[j].line })
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
			if fits(cat.At(i), text, forms) {
				return false
			}
		}
		return true
	})
}

// groups puts numbers together that are of one kind, largest first. Those that are written in two ways are of two.
func groups(r *rank.Ranker, texts []string) (all []*group) {
	byShape := map[string][]string{}
	for _, text := range texts {
		k := shape(text)
		byShape[k] = append(byShape[k], text)
	}
	for k, plain := range byShape {
		if hex := byShape[inHex+k]; !strings.HasPrefix(k, inHex) && len(hex) > 0 {
			byShape[inHex+k], byShape[k] = inHexToo(hex, plain)
		}
	}
	maps.DeleteFunc(byShape, func(_ string, same []string) bool { return len(same) == 0 })
	for _, same := range byShape {
		same = usualLength(same)
		kinds, err := r.Kinds(sightings(same))
		if err != nil {
			all = append(all, &group{texts: same})
			continue
		}
		at := func(places []int) (some []string) {
			for _, i := range places {
				some = append(some, same[i])
			}
			return some
		}
		for k, places := range kinds.Groups {
			one := &group{texts: at(places)}
			for _, o := range kinds.Otherwise[k] {
				if o.Probability < unlikely {
					continue
				}
				other := otherwise{probability: o.Probability}
				for _, part := range o.Parts {
					other.parts = append(other.parts, at(part))
				}
				one.otherwise = append(one.otherwise, other)
			}
			all = append(all, one)
		}
	}
	slices.SortStableFunc(all, func(a, b *group) int {
		return cmp.Or(len(b.texts)-len(a.texts), strings.Compare(a.texts[0], b.texts[0]))
	})
	return slices.DeleteFunc(all, func(g *group) bool {
		return len(g.texts) < leastOfKind && len(g.texts) < len(all[0].texts)
	})
}

// oddLength is of how many numbers at least one that is longer or shorter than most is odd, where it is not the only
// one.
const oddLength = 20

// usualLength leaves out the few numbers, of those that are written alike, that have a digit more than nearly all
// others or, where they are one number each, a digit less; and many that have a digit more, if all of those have their
// first one twice. Typed wrong, they would speak for formats that have room for them, and for forms that write no
// zeros.
func usualLength(texts []string) []string {
	usual := mostFrequent(texts, func(text string) int { return len(text) })
	one := strings.Trim(shape(texts[0]), inHex) == ""
	isOdd := func(text string) bool { return len(text) > usual || one && len(text) < usual }
	odd, twice := 0, 0
	for _, text := range texts {
		if isOdd(text) {
			odd++
			if len(text) == usual+1 && text[0] == text[1] { // the same slip in all of them
				twice++
			}
		}
	}
	if twice < max(odd, leastOfKind) && odd > 1 && odd*oddLength >= len(texts) || len(texts) <= leastOfKind {
		return texts
	}
	return slices.DeleteFunc(texts, isOdd)
}

// shape is what stands between the digits, and whether there are letters of hex.
func shape(text string) string {
	letters := ""
	between := strings.Map(func(r rune) rune {
		switch {
		case r >= '0' && r <= '9':
			return -1
		case r >= 'a' && r <= 'f' || r >= 'A' && r <= 'F':
			letters = inHex
			return -1
		}
		return r
	}, text)
	return letters + strings.Trim(between, " ")
}

// inHex begins the shape of texts with letters of hex, and mostHex is how many of them there are at least for each of
// those without a letter that are as long, for these to be hex too: one in ten of six random digits has none.
const inHex, mostHex = "A", 4

// inHexToo adds to numbers in hex those without a letter that are hex too, and returns the others.
func inHexToo(hex, plain []string) (all, others []string) {
	counts := map[int]int{} // of each length, how many more with a letter than it takes
	for _, text := range hex {
		counts[len(text)]++
	}
	for _, text := range plain {
		counts[len(text)] -= mostHex
	}
	all = hex
	for _, text := range plain {
		if counts[len(text)] >= 0 {
			all = append(all, text)
		} else {
			others = append(others, text)
		}
	}
	return all, others
}

// sightings takes texts for what is printed on cards: in hex where some of them have letters.
func sightings(texts []string) (cards []formats.Sightings) {
	kind := formats.Printed
	if slices.ContainsFunc(texts, func(s string) bool { return strings.ContainsAny(s, "ABCDEFabcdef") }) {
		kind = formats.Hex
	}
	for _, text := range texts {
		cards = append(cards, formats.Sightings{{Kind: kind, Text: strings.ToUpper(strings.TrimPrefix(text, "hex:"))}})
	}
	return cards
}

// How texts that are numbers of cards can be meant, and how usual it is that a list has whole reads: judgement.
const (
	asPrinted = "printed"
	asRead    = 0.01
	unlike    = 0.1 // of a form that would write the read in another way
)

// spellings returns what texts can be in any of the forms: what is printed on cards, or in a form of the whole read, a
// read of each length that the catalogue has one of.
func spellings(cat formats.Catalogue, texts, names []string) (all [][]formats.Spelling) {
	var ofRead []formats.Form
	for _, name := range names {
		if form, ok := formats.FormByName(name); ok && form.OfRead() {
			ofRead = append(ofRead, form)
		}
	}
	for k, one := range sightings(texts) {
		var ways []formats.Spelling
		if len(ofRead) < len(names) && one[0].Check() == nil { // 26:32D687E and 04:A2:3B:5C are no hex numbers
			ways = append(ways, formats.Spelling{As: asPrinted, Sightings: one, Weight: 1})
		}
		for _, form := range ofRead {
			ways = append(ways, reads(cat, form, texts[k])...)
		}
		sort.SliceStable(ways, func(i, j int) bool { return ways[i].Weight > ways[j].Weight })
		if len(ways) > 0 {
			all = append(all, ways)
		}
	}
	return all
}

// withoutMisread leaves out the few texts that are no good reads in a form in which nearly all are: typed wrong, they
// would leave nothing but formats of which any text is a good read.
func withoutMisread(all [][]formats.Spelling) [][]formats.Spelling {
	counts := map[string]int{}
	for _, ways := range all {
		for _, way := range ways {
			counts[way.As]++
		}
	}
	few := max(1, len(all)/oddLength)
	return slices.DeleteFunc(slices.Clone(all), func(ways []formats.Spelling) bool {
		for as, n := range counts {
			is := slices.ContainsFunc(ways, func(s formats.Spelling) bool { return s.As == as })
			if as != asPrinted && !is && n > leastOfKind && n >= len(all)-few {
				return true
			}
		}
		return false
	})
}

// reads returns the good reads that a text can be in a form.
func reads(cat formats.Catalogue, form formats.Form, text string) (all []formats.Spelling) {
	for f := range cat.All() {
		as := fmt.Sprintf("%s: %d bits", form.Name, f.Layout.Len())
		if slices.ContainsFunc(all, func(s formats.Spelling) bool { return s.As == as }) {
			continue
		}
		if card, err := form.Parse(f, text); err == nil {
			weight := asRead
			if written, err := form.Text(&card); err != nil || !strings.EqualFold(written, text) {
				weight *= unlike
			}
			all = append(all, formats.Spelling{As: as, Weight: weight,
				Sightings: formats.Sightings{{Kind: formats.Read, Bits: card.Record.Encode()}}})
		}
	}
	return all
}
