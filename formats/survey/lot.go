package survey

import (
	"maps"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// lot is a kind whose rows are being read.
type lot struct {
	kind       Kind
	plan       *reading.Plan
	doubted    bool                // the format is not settled
	usual      map[uint64]bool     // facilities of the sample
	facilities bool                // are known
	numbers    map[uint64][]uint64 // by facility; under 0 where there is none
	cards      map[uint64]int      // rows of each facility
	lines      map[uint64]int      // the first of each
	first      map[uint64]string   // what stands there
	seen       reading.Seen        // the row at hand
}

// newLot makes a lot of a format and form, and notes the facilities that a sample of it has.
func newLot(cat formats.Catalogue, is Likely, texts []string) (*lot, error) {
	plan, err := reading.New(cat, site.Site{}, reading.Options{Format: is.Format, Forms: []string{is.Form}, Any: true})
	if err != nil {
		return nil, err
	}
	f := cat.Find(is.Format)[0]
	serials := f.Kind == formats.KindSerial || f.Kind == formats.KindEither
	l := &lot{
		kind: Kind{Format: f, Form: is.Form, Probability: is.Probability, Serials: serials},
		plan: plan, usual: map[uint64]bool{}, numbers: map[uint64][]uint64{}, cards: map[uint64]int{},
		lines: map[uint64]int{}, first: map[uint64]string{},
	}
	for _, text := range texts {
		if plan.Read([]byte(text), &l.seen) == nil {
			if v, ok := l.seen.Facility(); ok {
				l.usual[v] = true
			}
		}
	}
	return l, nil
}

// scattered parts texts by whether they are in the lot's form, and their facilities those of cards of the kind: many
// facilities of a card or two each are those of cards of another kind, which are written alike, and what is written in
// another way may be of another kind.
func (l *lot) scattered(texts []string) (main, others []string) {
	facilities, counts := make([]uint64, len(texts)), map[uint64]int{}
	unread := make([]bool, len(texts))
	for i, text := range texts {
		if unread[i] = l.plan.Read([]byte(text), &l.seen) != nil; unread[i] {
			continue
		}
		if v, ok := l.seen.Facility(); ok {
			facilities[i] = v
			counts[v]++
		}
	}
	odd := reading.OddFacilities(counts)
	for i, text := range texts {
		if unread[i] || slices.Contains(odd, facilities[i]) {
			others = append(others, text)
		} else {
			main = append(main, text)
		}
	}
	return main, others
}

// known returns what the sample tells of the cards.
func (l *lot) known() formats.Population {
	return formats.Population{Format: l.kind.Format.ID, Facilities: slices.Sorted(maps.Keys(l.usual)),
		Printed: l.kind.Form}
}

// without leaves out the lots whose numbers can be any: they would be likely of those that were parted from them, too.
func without(lots []*lot, likely []Likely) (left []Likely) {
	all, some := 0.0, 0.0
	for _, k := range likely {
		all += k.Probability
		if !slices.ContainsFunc(lots, func(l *lot) bool {
			return len(l.usual) == 0 && l.kind.Format.ID == k.Format && l.kind.Form == k.Form
		}) {
			some, left = some+k.Probability, append(left, k)
		}
	}
	for i := range left {
		left[i].Probability *= all / some
	}
	return left
}

// addLot adds a lot, or what its sample tells to one of the same format and form.
func addLot(lots []*lot, l *lot) []*lot {
	for _, other := range lots {
		if other.kind.Format == l.kind.Format && other.kind.Form == l.kind.Form {
			for v := range l.usual {
				other.usual[v] = true
			}
			return lots
		}
	}
	return append(lots, l)
}

// lotOf returns the lot of a number, nil where none reads it: the one that has its facility, then one whose numbers
// have none, since those read nearly anything.
func lotOf(lots []*lot, text string) *lot {
	var found *lot
	for _, l := range lots {
		if l.plan.Read([]byte(text), &l.seen) != nil {
			continue
		}
		v, ok := l.seen.Facility()
		if ok && l.usual[v] {
			return l
		}
		if !l.doubted && (found == nil || !ok && len(found.usual) > 0) {
			found = l
		}
	}
	return found
}

// maxNumbers is how many numbers of a facility are looked at: they only give blocks.
const maxNumbers = 1 << 21

// add counts the row at hand.
func (l *lot) add(line int, text string) {
	l.kind.Rows++
	facility, ok := l.seen.Facility()
	l.facilities = l.facilities || ok
	if l.cards[facility]++; l.cards[facility] == 1 {
		l.lines[facility], l.first[facility] = line, text
	}
	if number, ok := l.seen.Number(); ok && len(l.numbers[facility]) < maxNumbers {
		l.numbers[facility] = append(l.numbers[facility], number)
	}
}

// take takes over the cards of a smaller lot of the same format: they are one lot of cards, written in two ways.
func (l *lot) take(smaller *lot) {
	if l.kind.Format != smaller.kind.Format || l.facilities != smaller.facilities {
		return
	}
	for v, n := range smaller.cards {
		if l.cards[v] == 0 {
			l.lines[v], l.first[v] = smaller.lines[v], smaller.first[v]
		}
		l.cards[v] += n
		l.numbers[v] = append(l.numbers[v], smaller.numbers[v]...)
	}
	smaller.cards = nil
}

// populate makes a population of each facility, unless another kind has those cards already.
func (l *lot) populate(others []formats.Population) {
	var odd []uint64
	if l.facilities {
		odd = reading.OddFacilities(l.cards)
	}
	all := slices.Sorted(maps.Keys(l.cards))
	if len(all) == 0 { // another lot has them
		return
	}
	most := slices.MaxFunc(all, func(a, b uint64) int { return l.cards[a] - l.cards[b] })
	for _, v := range all {
		if slices.Contains(odd, v) {
			l.kind.Odd = append(l.kind.Odd, Odd{v, l.cards[v], l.lines[v]})
			continue
		}
		if o, ok := l.otherwise(v, most); ok {
			l.kind.Otherwise = append(l.kind.Otherwise, o)
		}
		p := formats.Population{Format: l.kind.Format.ID, Printed: l.kind.Form}
		if !l.kind.Serials {
			p.Numbers = blocks(l.numbers[v])
		}
		if l.facilities {
			p.Facilities = []uint64{v}
		}
		if !slices.ContainsFunc(others, p.Meets) {
			l.kind.Cards = append(l.kind.Cards, p)
		}
	}
}

// otherwise looks whether the first number of a facility is, in another form, a card of the one that most cards have: a
// list whose form was given can have others in it.
func (l *lot) otherwise(facility, most uint64) (o Otherwise, ok bool) {
	if l.cards[most] == l.cards[facility] || !l.facilities || len(l.kind.Likely) > 0 { // else it was weighed
		return o, false
	}
	for _, form := range formats.Forms() {
		c, err := form.Parse(l.kind.Format, l.first[facility])
		if v, known := c.Facility(); err == nil && known && v == most {
			return Otherwise{facility, most, form.Name, l.first[facility], l.cards[facility], l.lines[facility]}, true
		}
	}
	return o, false
}

// blockGap is from how many missing numbers on a new block begins, at least: packs of cards have 100 or fewer. A
// judgement.
const blockGap = 100

// maxBlocks is how many blocks are worth writing down.
const maxBlocks = 40

// blocks puts numbers together that are near one another.
func blocks(numbers []uint64) []formats.Range {
	slices.Sort(numbers)
	numbers = slices.Compact(numbers)
	if len(numbers) == 0 {
		return nil
	}
	gaps := make([]uint64, 0, len(numbers))
	for i := 1; i < len(numbers); i++ {
		gaps = append(gaps, numbers[i]-numbers[i-1])
	}
	slices.Sort(gaps)
	limit := uint64(blockGap)
	if len(gaps) > 0 {
		limit = max(limit, 20*gaps[len(gaps)/2])
	}
	all := []formats.Range{{First: numbers[0], Last: numbers[0]}}
	for _, n := range numbers[1:] {
		last := &all[len(all)-1]
		if n-last.Last <= limit {
			last.Last = n
		} else {
			all = append(all, formats.Range{First: n, Last: n})
		}
	}
	if len(all) > maxBlocks {
		return []formats.Range{{First: numbers[0], Last: numbers[len(numbers)-1]}}
	}
	return all
}
