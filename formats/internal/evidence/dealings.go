package evidence

import (
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// mostDealings is how many ways of dealing out are weighed.
const mostDealings = 16

// dealings returns the ways to split cards of one length that are worth weighing: those that keep the checks of a
// format, the lines wired in any way, from the others; those whose print looks alike from the others; and those with a
// short print from the others. Ways that come out the same are given once.
func (s *splitter) dealings(all []int) (ways []dealing) {
	seen := map[string]bool{}
	key := make([]byte, len(all))
	add := func(d dealing) {
		first, other := 0, d(all[0]) // so that the same two groups have the same key
		for i, at := range all {
			key[i] = 0
			if d(at) != other {
				key[i] = 1
				first++
			}
		}
		if first > 0 && first < len(all) && len(ways) < mostDealings && !seen[string(key)] {
			seen[string(key)] = true
			ways = append(ways, d)
		}
	}
	for _, layout := range s.model.OfLength(s.lengthOf(all)) {
		for fault := None; fault <= SwappedReversed; fault++ {
			add(func(at int) bool { return layout.Holds(fault.Undo(ReadOf(s.cards[at]))) })
		}
	}
	for _, i := range s.model.byLen[s.lengthOf(all)] {
		f := &s.model.formats[i]
		for o := range f.forms {
			add(func(at int) bool { return s.explains(f, at, &f.forms[o]) })
		}
	}
	for _, span := range s.facilities(s.lengthOf(all)) { // those that begin alike, as cards of one facility do
		for _, v := range s.commonest(all, span) {
			add(func(at int) bool { return span.of(ReadOf(s.cards[at])) == v })
		}
	}
	tried := map[printLook]bool{}
	for _, at := range all {
		if look := s.looks(at); !tried[look] {
			tried[look] = true
			add(func(at int) bool { return s.looks(at) == look })
		}
	}
	for most := 1; most <= maxDigits; most++ {
		add(func(at int) bool { return len(s.first(at).Digits) <= most })
	}
	return ways
}

// beginning is how many bits of a read show that cards may be of one facility, where no format says which, and
// mostBeginnings how many such are tried.
const beginning, mostBeginnings = 9, 4

// bitSpan is a run of bits, by index.
type bitSpan struct{ from, to int }

// of returns the bits of a read that are in the run, as a number.
func (s bitSpan) of(b wiegand.Bits) uint64 {
	w := b.Words()
	return undocumented.Value(&w, min(s.from, b.Len()), min(s.to, b.Len()))
}

// commonest returns what most cards have in a run of bits, a few such values, most cards first.
func (s *splitter) commonest(places []int, span bitSpan) (most []uint64) {
	var values []uint64
	for _, at := range places {
		values = append(values, span.of(ReadOf(s.cards[at])))
	}
	slices.Sort(values)
	for len(most) < mostBeginnings && len(values) > 0 {
		first, cards := 0, 0
		for i, j := 0, 0; i < len(values); i = j {
			for j = i; j < len(values) && values[j] == values[i]; j++ {
			}
			if j-i > cards {
				first, cards = i, j-i
			}
		}
		most = append(most, values[first])
		values = slices.Delete(values, first, first+cards)
	}
	return most
}

// facilities returns where reads of a length have a facility, as the formats of that length say, each place once.
func (s *splitter) facilities(length int) (all []bitSpan) {
	if length >= judgement.UnknownLow {
		all = append(all, bitSpan{1, beginning})
	}
	for _, i := range s.model.byLen[length] {
		f := s.model.formats[i].format
		if f.Facility() < 0 {
			continue
		}
		bits := f.Layout.Spec().Fields[f.Facility()].Bits
		if span := (bitSpan{bits[0].From - 1, bits[0].To}); len(bits) == 1 && span.to-span.from == bits.Len() &&
			!slices.Contains(all, span) {
			all = append(all, span)
		}
	}
	return all
}

// explains reports whether a card's read is one of a format and one of its prints follows from it in a certain way.
func (s *splitter) explains(m *formatModel, at int, opt *option) bool {
	read, more := ReadOf(s.cards[at]), s.seen[at]
	if !slices.ContainsFunc(more, func(s typing.Seen) bool { return opt.of(s.Kind) }) || !m.format.Layout.Holds(read) {
		return false
	}
	s.card, _ = m.format.Read(read) // which has the right length
	for k := range more {
		if opt.of(more[k].Kind) && opt.follows(&s.card, &more[k], s.text[:]) {
			return true
		}
	}
	return false
}

// maxDigits is how many digits the longest print has that is told from others by its length.
const maxDigits = 20

// printLook is what is beside a read at a glance: what it is, whether two numbers, and how many digits a serial has or
// what has zeros before it.
type printLook struct {
	kind        formats.SightingKind
	pair, zeros bool
	digits      int
}

// first returns the first thing beside the read of a card; the zero one where there is none.
func (s *splitter) first(at int) (one typing.Seen) {
	if len(s.seen[at]) > 0 {
		one = s.seen[at][0]
	}
	return one
}

// looks returns what that looks like.
func (s *splitter) looks(at int) printLook {
	one := s.first(at)
	l := printLook{kind: one.Kind, pair: one.Pair, zeros: len(one.Digits) > 1 && one.Digits[0] == '0'}
	if l.zeros || one.Kind == formats.Serial {
		l.digits = len(one.Digits)
	}
	return l
}

// sorts says for each sort of number whether some cards have one beside their read.
type sorts [4][2]bool

// sortsOf returns that of cards; of those that are reads and nothing else, that they are. read says whether they have a
// read, ok that all have one or none, and something beside it or nothing.
func (s *splitter) sortsOf(cards ...int) (all sorts, read, ok bool) {
	bare := false
	for n, at := range cards {
		one, some := false, false
		for _, t := range s.cards[at] {
			if t.Kind == formats.Read {
				one = true
				continue
			}
			some = true
			all[t.Kind&3][bit(t.Kind == formats.Printed && typing.IsPair(t.Text))] = true
		}
		if n > 0 && (one != read || some == bare) {
			return all, read, false
		}
		read, bare = one, !some
	}
	if bare {
		all[formats.Read&3][0] = true
	}
	return all, read, true
}

// share reports whether some are the same.
func (a sorts) share(b sorts) bool {
	for kind := range a {
		for pair := range a[kind] {
			if a[kind][pair] && b[kind][pair] {
				return true
			}
		}
	}
	return false
}

// looksApart reports whether two groups look different. A card that looks like no other may be typed wrong.
func (s *splitter) looksApart(a, b []int) bool {
	return min(len(a), len(b)) > 1 && s.differ(a, b)
}

// differ reports whether what is beside the reads of two groups, or alone, tells the cards of the one from those of the
// other: it is of no one sort, or where no read tells, far longer.
func (s *splitter) differ(a, b []int) bool {
	of, read, ok := s.sortsOf(a...)
	others, otherRead, otherOK := s.sortsOf(b...)
	bare := sorts{formats.Read & 3: {true}}
	comparable := read == otherRead
	if of == bare || others == bare { // those have a read, and all that the others may be is a number
		comparable = !comparable
	}
	return ok && otherOK && comparable && (!of.share(others) || !read && s.farLonger(a, b))
}

// farLonger reports whether the numbers of one group, one for each card, all have so many more digits than those of the
// other that no slip makes the one of the other.
func (s *splitter) farLonger(a, b []int) bool {
	least, most := s.digits(a...)
	shortest, longest := s.digits(b...)
	return min(least, shortest) > 0 && max(least-longest, shortest-most) >= muchLonger
}

// muchLonger is how many more digits that is.
const muchLonger = 4

// digits returns how many digits the one number has that each of some cards has beside its read, at least and at most;
// 0 and 0 where one has none or several, or a pair.
func (s *splitter) digits(cards ...int) (least, most int) {
	least = math.MaxInt
	for _, at := range cards {
		number := ""
		for _, t := range s.cards[at] {
			if t.Kind == formats.Read {
				continue
			}
			if number != "" || t.Kind != formats.Printed || typing.IsPair(t.Text) {
				return 0, 0
			}
			number = t.Text
		}
		if number == "" {
			return 0, 0
		}
		least, most = min(least, len(number)), max(most, len(number))
	}
	return least, most
}

// byFirstLook parts those cards that look like the first one from the others, if all of them can be told apart so: by
// sort, or else by how long their numbers are.
func (s *splitter) byFirstLook(cards []int) [][]int {
	first, _, _ := s.sortsOf(cards[0])
	length, _ := s.digits(cards[0])
	for _, like := range [...]dealing{func(at int) bool {
		one, _, _ := s.sortsOf(at)
		return one.share(first)
	}, func(at int) bool {
		own, _ := s.digits(at)
		return max(own-length, length-own) < muchLonger
	}} {
		if groups := s.dealt(cards, like); len(groups[1]) > 0 && s.differ(groups[0], groups[1]) {
			return groups
		}
	}
	return [][]int{cards}
}
