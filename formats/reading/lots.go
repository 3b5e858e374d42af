package reading

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// lot is the texts of a sample that the same readings read. They are all of one kind in one form, or of another: which
// is one question, since the numbers of a kind go together. Two kinds whose numbers would lie together as well are as
// likely for the whole lot as for one text of it.
type lot struct {
	texts  [][]candidate // each by the same readings, in their order
	shares []float64     // of each reading
}

// lots puts the texts of a sample together that the same readings read, and works out how probable each of these is.
func (p *Plan) lots(sample []string) (all []*lot) {
	place := map[string]*lot{}
	for _, text := range sample {
		can, _ := p.candidates([]byte(text), nil)
		can = slices.DeleteFunc(can, func(c candidate) bool { return c.refused() })
		if len(can) == 0 {
			continue
		}
		slices.SortFunc(can, func(a, b candidate) int { return cmp.Compare(a.seen.Reading.index, b.seen.Reading.index) })
		key := make([]byte, len(can))
		for i := range can {
			can[i].fit(len(text))
			can[i].short = can[i].written > len(text)
			key[i] = byte(can[i].seen.Reading.index)
		}
		l := place[string(key)]
		if l == nil {
			l = &lot{}
			place[string(key)], all = l, append(all, l)
		}
		l.texts = append(l.texts, can)
	}
	own := make([][]Seen, len(p.readings)) // cards that only one reading gives
	var parts []*lot
	for _, l := range all {
		parts = append(parts, l.split()...)
		for _, t := range l.texts {
			if len(t) == 1 {
				at := t[0].seen.Reading.index
				own[at] = append(own[at], t[0].seen)
			}
		}
	}
	for _, l := range parts {
		l.weigh(own)
	}
	return parts
}

// split makes lots of those texts that would be near one another as cards of one facility: two kinds may be among those
// that the same readings read. The others stay together.
func (l *lot) split() []*lot {
	if len(l.texts[0]) == 1 {
		return []*lot{l}
	}
	type box struct{ facility, number uint64 }
	boxOf := func(t []candidate) (b box) {
		b.facility, _ = t[0].seen.Facility()
		b.number, _ = t[0].seen.Number()
		b.number >>= boxBits
		return b
	}
	counts := map[box]int{}
	for _, t := range l.texts {
		counts[boxOf(t)]++
	}
	var parts []*lot
	place := map[box]*lot{}
	for _, t := range l.texts {
		b := boxOf(t)
		if counts[b] < leastOfBox {
			b = box{math.MaxUint64, 0}
		}
		if place[b] == nil {
			place[b] = &lot{}
			parts = append(parts, place[b])
		}
		place[b].texts = append(place[b].texts, t)
	}
	return parts
}

// weigh works out how probable each reading is, given the cards that a reading alone gives.
func (l *lot) weigh(own [][]Seen) {
	l.shares = make([]float64, len(l.texts[0]))
	sum := math.Inf(-1)
	for i := range l.shares {
		r := l.texts[0][i].seen.Reading
		others := own[r.index]
		if len(l.shares) > 1 {
			l.shares[i] = math.Log(r.weight) + l.habit(i) + r.together(slices.Concat(others, l.cards(i))) - r.together(others)
		}
		sum = evidence.LogAdd(sum, l.shares[i])
	}
	for i := range l.shares {
		l.shares[i] = math.Exp(l.shares[i] - sum)
	}
}

// cards returns the cards that a reading gives, by its place among those of the lot.
func (l *lot) cards(way int) (cards []Seen) {
	for _, t := range l.texts {
		cards = append(cards, t[way].seen)
	}
	return cards
}

// habit returns the log of how probable it is that so many texts are not as the form writes them, or were mended: a
// column is so throughout, or hardly ever.
func (l *lot) habit(way int) float64 {
	odd, log := 0.0, 0.0
	for _, t := range l.texts {
		if less := math.Log(t[way].weight / t[way].seen.Reading.weight); less < 0 {
			odd, log = odd+1, log+less
		}
	}
	if odd == 0 {
		return 0
	}
	lgamma := func(x float64) float64 { v, _ := math.Lgamma(x); return v }
	share := math.Exp(log / odd)
	a, b, n := usual*share, usual*(1-share), float64(len(l.texts))
	return lgamma(a+odd) + lgamma(b+n-odd) - lgamma(usual+n) + lgamma(usual) - lgamma(a) - lgamma(b)
}

// together returns the log of how probable cards of the reading's kind are together.
func (r *Reading) together(cards []Seen) float64 {
	all := make([]formats.Card, len(cards))
	for i := range cards {
		all[i] = cards[i].Card()
	}
	return r.values.LogAll(all)
}
