package match

import (
	"math"
	"sort"
	"strconv"
)

// Strangers' cards of one box lie beside one another. Such cards speak for one another that all of them are
// strangers': taken card by card, each given all others, cards of neighbouring rows of the list would prove one
// another to be strangers', and none would pay for it that the box lies just where those rows do. So the sum is taken
// over all ways to have some of the cards of a box as strangers', with the first of them anywhere and each next one
// beside the one before or anywhere.

// inBox is a card that an unknown number can be, by its number.
type inBox struct {
	number uint64
	of     *Unknown
	cards  []*shownCard // by each reading
}

// putInBoxes gathers the cards that the unknown ones can be, as far as the door shows them alike.
func (m *Matcher) putInBoxes() {
	m.boxes = nil
	places, of := map[string]int{}, []byte{}
	for _, u := range m.order {
		for _, c := range u.cards {
			n, ok := c.card.Number()
			if !ok || c.beside == (strays{}) {
				continue
			}
			of = strconv.AppendUint(append(of[:0], c.card.Format.ID...), c.kind.facility, 16)
			if of = append(of, ' '); c.other {
				of = append(of, byte(c.by), byte(c.form))
			}
			at, ok := places[string(of)]
			if !ok {
				at, places[string(of)] = len(m.boxes), len(m.boxes)
				m.boxes = append(m.boxes, nil)
			}
			box := &m.boxes[at]
			if k := len(*box) - 1; k >= 0 && (*box)[k].of == u && (*box)[k].number == n {
				(*box)[k].cards = append((*box)[k].cards, c)
				continue
			}
			*box = append(*box, inBox{n, u, []*shownCard{c}})
		}
	}
	for _, all := range m.boxes {
		sort.SliceStable(all, func(i, j int) bool { return all[i].number < all[j].number })
	}
}

// mostBeside is how many cards of a box before one count, at most, as those that it can lie beside.
const mostBeside = 8

// beside is how likely a stranger's card lies as far from another as this one.
func (b *inBox) beside(before *inBox) float64 {
	if b.of == before.of { // which is one card
		return 0
	}
	d := math.Max(float64(b.number-before.number), 1)
	return 0.5 / (d * (d + 1))
}

// chances are how likely a card is a stranger's that lies anywhere, and one beside another, as often as it is anything
// else.
type chances struct{ anywhere, beside float64 }

// weighBoxes finds how much the cards of each box speak for it that they are strangers'.
func (m *Matcher) weighBoxes() {
	for _, all := range m.boxes {
		if len(all) == 1 {
			continue
		}
		strange := 0.0
		for i := range all {
			strange += all[i].of.astray()
		}
		each := make([]chances, len(all))
		for i := range all {
			each[i] = m.chances(&all[i], strange-all[i].of.astray())
		}
		more := sumBox(all, each)
		for i := range all {
			for _, c := range all[i].cards {
				c.near = more[i] / each[i].beside
			}
		}
	}
}

// least and most are how likely anything is as often as anything else, at least and at most.
const least, most = 1e-300, 1e100

// chances returns those of a card beside so many other strangers.
func (m *Matcher) chances(b *inBox, others float64) chances {
	c, u := b.cards[0], b.of
	none := m.strayRate(fromAnywhere)*u.anything + least
	for i := range u.ways {
		if u.ways[i].rule != Unread {
			none += u.ways[i].mass
		}
	}
	anywhere, beside := least, least
	for k := range c.p {
		rate := m.strayRate(k) * c.nobody
		if c.other {
			rate *= m.habitShare(c.by, c.form)
		}
		if k == fromElsewhere {
			rate *= m.samePlace(u)
		}
		anywhere, beside = anywhere+rate*c.p[k], beside+rate*c.beside[k]
	}
	beside /= math.Max(others, 1)
	return chances{math.Min(anywhere/none, most), math.Max(least, math.Min(beside/none, most))}
}

// sumBox returns, for each card of a box, how much the others add to how likely it is a stranger's beside that it is
// anything else: all ways to have some of them as strangers' are summed over, forward and backward. Each sum is kept as
// a part of that over all ways up to there, and their logarithm beside it, since the sums themselves soon have no room.
func sumBox(all []inBox, each []chances) (more []float64) {
	n := len(all)
	last, logs := make([]float64, n), make([]float64, n+1) // the last is a stranger's; of those before
	more = make([]float64, n)
	for i := range all {
		x := each[i].anywhere
		from := max(0, i-mostBeside)
		for j := from; j < i; j++ {
			x += last[j] * each[i].beside * all[i].beside(&all[j])
		}
		for j := from; j < i; j++ {
			last[j] /= 1 + x
		}
		last[i], more[i], logs[i+1] = x/(1+x), math.Log(math.Max(x, least))+logs[i], logs[i]+math.Log1p(x)
	}
	log := 0.0 // of those behind
	for i := n - 1; i >= 0; i-- {
		to := min(n, i+1+mostBeside)
		y := 1.0
		for j := i + 1; j < to; j++ {
			y += last[j] * each[j].beside * all[j].beside(&all[i])
		}
		share := math.Exp(more[i] + math.Log(y) + log - logs[n])
		more[i] = math.Max(share/math.Max(1-share, leastOdds)-each[i].anywhere, 0)
		x := each[i].anywhere * y
		for j := i + 1; j < to; j++ {
			last[j] /= 1 + x
		}
		last[i], log = y/(1+x), log+math.Log1p(x)
	}
	return more
}

// leastOdds is how unlikely it is at least that a card is no stranger's: less is lost in rounding.
const leastOdds = 1e-12

// astray is how likely an unknown card is none of the rows that were read.
func (u *Unknown) astray() (sum float64) {
	for k := range u.strange {
		sum += u.strange[k] + u.unread[k]
	}
	return sum
}
