package match

import (
	"math"
	"sort"

	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Strangers' cards of one box lie beside one another. Such cards speak for one another that all of them are
// strangers': taken card by card, each given all others, cards of neighbouring rows of the list would prove one
// another to be strangers', and none would pay for it that the box lies just where those rows do. So the sum is taken
// over all ways to have some of the cards of a box as strangers', with the first of them anywhere and each next one
// beside the one before or anywhere.

// boxOf is what the cards of one box have in common: the door shows them alike.
type boxOf struct {
	facilityOf
	other bool
	by    Rule
	form  int8
}

// inBox is a card that an unknown number can be, by its number.
type inBox struct {
	number uint64
	of     *Unknown
	cards  []*shownCard // by each reading
}

// putInBoxes gathers the cards that the unknown ones can be.
func (m *Matcher) putInBoxes() {
	m.boxes = map[boxOf][]inBox{}
	for _, u := range m.order {
		for _, c := range u.cards {
			if n, ok := c.card.Number(); ok && c.beside != (strays{}) {
				of := boxOf{c.kind.facilityOf, c.other, c.by, c.form}
				if all := m.boxes[of]; len(all) > 0 && all[len(all)-1].of == u && all[len(all)-1].number == n {
					all[len(all)-1].cards = append(all[len(all)-1].cards, c)
					continue
				}
				m.boxes[of] = append(m.boxes[of], inBox{n, u, []*shownCard{c}})
			}
		}
	}
	for of, all := range m.boxes {
		if len(all) == 1 {
			delete(m.boxes, of)
		}
		sort.SliceStable(all, func(i, j int) bool { return all[i].number < all[j].number })
	}
}

// mostBeside is how many cards of a box before one count, at most, as those that it can lie beside.
const mostBeside = 8

// beside is the log of how likely a stranger's card lies as far from another as this one.
func (b *inBox) beside(before *inBox) float64 {
	if b.of == before.of { // which is one card
		return math.Log(least)
	}
	d := math.Max(float64(b.number-before.number), 1)
	return -math.Log(2 * d * (d + 1))
}

// chances are the logs of how likely a card is a stranger's that lies anywhere, and one beside another, as often as
// it is anything else.
type chances struct{ anywhere, beside float64 }

// weighBoxes finds how much the cards of each box speak for it that they are strangers'.
func (m *Matcher) weighBoxes() {
	for _, all := range m.boxes {
		strange := 0.0
		for i := range all {
			strange += all[i].of.astray()
		}
		logs := make([]chances, len(all))
		for i := range all {
			logs[i] = m.chances(&all[i], strange-all[i].of.astray())
		}
		sums := sumBox(all, logs)
		for i := range all {
			for _, c := range all[i].cards {
				c.near = math.Exp(sums[i] - logs[i].beside)
			}
		}
	}
}

// least is how unlikely anything is at least: of less there is no logarithm.
const least = 1e-300

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
	return chances{math.Log(anywhere) - math.Log(none), math.Log(beside) - math.Log(none)}
}

// sumBox returns the log, for each card of a box, of how much the others add to how likely it is a stranger's beside
// that it is anything else: all ways to have some of them as strangers' are summed over, forward and backward.
func sumBox(all []inBox, logs []chances) (more []float64) {
	n := len(all)
	last, upTo := make([]float64, n), 0.0 // of those up to here: the last is a stranger's; whichever
	for i := range all {
		last[i] = logs[i].anywhere + upTo
		for j := max(0, i-mostBeside); j < i; j++ {
			last[i] = logp.Add(last[i], last[j]+logs[i].beside+all[i].beside(&all[j]))
		}
		upTo = logp.Add(upTo, last[i])
	}
	behind, anywhere := make([]float64, n), math.Inf(-1) // of those behind a stranger's
	for i := n - 1; i >= 0; i-- {
		behind[i] = logp.Add(0, anywhere)
		for j := i + 1; j < min(n, i+1+mostBeside); j++ {
			behind[i] = logp.Add(behind[i], behind[j]+logs[j].beside+all[j].beside(&all[i]))
		}
		anywhere = logp.Add(anywhere, logs[i].anywhere+behind[i])
	}
	more = make([]float64, n)
	for i := range more {
		share := math.Exp(last[i] + behind[i] - upTo)
		odds := share / math.Max(1-share, leastOdds)
		more[i] = math.Log(math.Max(odds-math.Exp(logs[i].anywhere), least))
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
