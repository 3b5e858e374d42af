package match

import (
	"cmp"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
)

// weigh finds for every unknown card who it can be, and how likely that is.
func (m *Matcher) weigh() {
	m.learned = learned{rules: make([]float64, len(weights)), facilities: map[uint64]float64{}, forms: map[int8]float64{},
		slips: map[int8]float64{}}
	if len(m.order) == 0 {
		return
	}
	m.takeUnread()
	m.buildIndex()
	m.sure = 0
	for i := range m.holders {
		if m.holders[i].cards == 1 {
			m.sure++
		}
	}
	m.slipped, m.asIs = map[int32]float64{}, m.opt.List.AsIs()
	m.weighRows()
	for _, u := range m.order {
		m.ways(u)
	}
	m.byDigits()
	for range 30 {
		m.learn()
	}
	for _, u := range m.order {
		m.judge(u)
	}
}

// takeUnread takes up those rows of the list whose number can't be read.
func (m *Matcher) takeUnread() {
	if len(m.unread) > 0 && m.read == 0 {
		m.read = len(m.holders)
		for i := range m.unread {
			m.asTyped(m.unread[i].Number, int32(m.read+i))
		}
		m.holders = append(m.holders, m.unread...)
	}
}

// oddMistyped is how many times as likely as another a row that does not go with the others is one that was typed
// wrong; seenMistyped one whose card was seen at the door. Judgements.
const oddMistyped, seenMistyped = 50, 0.02

// mistypedOdds is how many times as likely as another a holder's number is typed wrong.
func (m *Matcher) mistypedOdds(holder int32) float64 {
	odds := 1.0
	if m.odd(holder) {
		odds = oddMistyped
	}
	if m.seen[holder] {
		odds *= seenMistyped
	}
	return odds
}

// weighRows sums up how likely the rows of the list are typed wrong, by some of them where there are many.
func (m *Matcher) weighRows() {
	m.mistypedAll, m.unseenAll = 0, 0
	each := len(m.holders)/someRows + 1
	for i := range m.holders {
		if m.read > 0 && i >= m.read { // none of those is left out
			each = 1
		} else if i%each != 0 {
			continue
		}
		odds := m.mistypedOdds(int32(i))
		m.unseenAll += odds * float64(each)
		if m.seen[int32(i)] {
			odds /= seenMistyped
		}
		m.mistypedAll += odds * float64(each)
	}
}

// someRows is how many rows of a list say how many of it are typed wrong.
const someRows = 200

// typedWeight is how common it is that the row of a holder is typed wrong that is as likely as another: those that
// do not go with the others add to what is usual.
func (m *Matcher) typedWeight() float64 {
	usual := priorCards * weights[Typed] * m.mistypedAll / float64(len(m.holders))
	return (usual + m.learned.rules[Typed]) / m.unseenAll
}

// learned is what the unknown cards speak for: how many of them go by each rule, and by which facility those that
// have another one. A card that can be several things counts for a part of each.
type learned struct {
	rules      []float64
	strangers  strays
	facilities map[uint64]float64
	forms      map[int8]float64
	slips      map[int8]float64
}

// count adds what a card speaks for, or with sign -1 takes it away.
func (e *learned) count(u *Unknown, sign float64) {
	for k := range u.strange {
		e.strangers[k] += sign * u.strange[k]
	}
	for _, w := range u.ways {
		e.rules[w.rule] += sign * w.share
		switch w.rule {
		case Facility:
			e.facilities[u.facility] += sign * w.share
		case Form:
			e.forms[w.form] += sign * w.share
		case Typed:
			e.slips[w.slip] += sign * w.share
		}
	}
}

// priorCards is how many cards the start weights count for. With half of that, sites at random make the answers of
// 60 to 90 % surer than right by some points more.
const priorCards = 8

// learn weighs every card by what the other cards speak for. What a card speaks for itself is left out: it would
// speak for itself twice, and a rule that one card alone can have would seem to be proved by it.
func (m *Matcher) learn() {
	for _, u := range m.order {
		if u.Value == "" {
			continue
		}
		m.learned.count(u, -1)
		all := m.mass(u)
		for k := range u.strange {
			u.strange[k] = m.strayMass(u, k) / all
		}
		for i := range u.ways {
			u.ways[i].share = m.wayMass(u, u.ways[i]) / all
		}
		m.learned.count(u, 1)
	}
}

// weight is how common a rule is, by the start weights and what the cards speak for.
func (m *Matcher) weight(rule Rule) float64 {
	return priorCards*weights[rule] + m.learned.rules[rule]
}

// facilityShare is how likely a card with another facility than the list's has just this one: each of n is as
// likely as any other, until cards with one of them were seen.
func (m *Matcher) facilityShare(facility uint64, n int32) float64 {
	return (1/float64(n) + m.learned.facilities[facility]) / (1 + m.learned.rules[Facility])
}

// formShare is how likely numbers in another form than was thought are in just this one: a door shows all of its
// cards in one form, each of n as likely as any other until cards in one of them were seen.
func (m *Matcher) formShare(form int8, n int32) float64 {
	return (1/float64(n) + m.learned.forms[form]) / (1 + m.learned.rules[Form])
}

// slipCards is how many cards the usual shares of the slips count for. A judgement.
const slipCards = 2

// slipShare is how likely a number that was typed wrong is so by this slip: as is usual, until numbers typed wrong
// were seen.
func (m *Matcher) slipShare(slip int8) float64 {
	return (slipCards*slips[slip].share/allSlips + m.learned.slips[slip]) / (slipCards + m.learned.rules[Typed])
}

// shown is how likely the card of a row that is on the list, but could not be read or not surely, is among the events:
// as likely as those of the rows that were read, by whatever rule, until there are events to go by.
func (m *Matcher) shown(rule Rule) float64 {
	seen := priorCards*weights[rule] + float64(len(m.seen))
	for other, n := range m.learned.rules {
		if Rule(other) < Stranger {
			seen += n
		}
	}
	return min(1, seen/(float64(m.sure)+priorCards))
}

func (m *Matcher) wayMass(u *Unknown, w way) float64 {
	mass := m.weight(w.rule) / float64(len(m.holders))
	switch w.rule {
	case Typed:
		mass = m.typedWeight() * w.odds * m.slipShare(w.slip)
		return mass * m.inForm(w) * float64(w.times) / float64(w.variants)
	case Unread:
		p := 0.0
		for kind, share := range unreadShares {
			p += share * m.strayAt(u, kind)
		}
		return m.shown(Unread) * float64(len(m.holders)-m.read) * p
	case Doubtful, Alike:
		mass = m.shown(w.rule)
	}
	mass /= float64(max(m.holders[w.holder].cards, 1))
	switch w.rule {
	case Facility:
		return mass * m.facilityShare(u.facility, w.variants)
	case Form:
		return mass * m.formShare(w.form, w.variants)
	case Misread, Lost, Digit:
		mass *= m.inForm(w) * math.Pow(0.5, float64(min(u.Events, 64)-1))
	}
	return mass * float64(w.times) / float64(w.variants)
}

// inForm is how likely the door shows the card in the form in which it is a way.
func (m *Matcher) inForm(w way) float64 {
	if !w.other {
		return 1
	}
	return m.otherwise() * m.formShare(w.form, m.forms)
}

func (m *Matcher) strayMass(u *Unknown, kind int) float64 {
	return (priorCards*weights[Stranger]/strangers + m.learned.strangers[kind]) * m.strayAt(u, kind)
}

// strayAt is how likely a card of a kind that is not on the list, or of a row that was not read, shows the number, in
// whatever form.
func (m *Matcher) strayAt(u *Unknown, kind int) float64 {
	p, another := u.stray[kind], 0.0
	for i := range u.otherForms {
		if o := &u.otherForms[i]; o.p[kind] > 0 {
			another += o.p[kind] * m.formShare(o.form, m.forms)
		}
	}
	if another > 0 {
		p += m.otherwise() * another
	}
	return p
}

// otherwise is how likely the door shows a card in another form than was thought: as many as were seen so, of all.
func (m *Matcher) otherwise() float64 {
	all := float64(len(m.seen))
	for rule, n := range m.learned.rules {
		all += priorCards*weights[rule] + n
	}
	return m.weight(Form) / all
}

func (m *Matcher) strangerMass(u *Unknown) (total float64) {
	for k := range u.stray {
		total += m.strayMass(u, k)
	}
	return total
}

func (m *Matcher) mass(u *Unknown) float64 {
	total := m.strangerMass(u)
	for _, w := range u.ways {
		total += m.wayMass(u, w)
	}
	return total
}

// judge adds up for each holder the ways in which the card is theirs.
func (m *Matcher) judge(u *Unknown) {
	m.learned.count(u, -1)
	defer m.learned.count(u, 1)
	total := m.mass(u)
	u.Best, u.Second = Verdict{Holder: -1, Rule: Stranger, Probability: m.strangerMass(u) / total},
		Verdict{Holder: -1, Rule: Stranger}
	if len(u.ways) == 0 {
		return
	}
	slices.SortStableFunc(u.ways, func(a, b way) int {
		return cmp.Or(cmp.Compare(a.holder, b.holder), cmp.Compare(m.wayMass(u, b), m.wayMass(u, a)))
	})
	for i := 0; i < len(u.ways); {
		sum, j := 0.0, i
		for ; j < len(u.ways) && u.ways[j].holder == u.ways[i].holder; j++ {
			sum += m.wayMass(u, u.ways[j])
		}
		v := Verdict{Holder: int(u.ways[i].holder), Rule: u.ways[i].rule, Probability: sum / total}
		if v.Rule == Form {
			v.Form = formats.Forms()[u.ways[i].form].Name
		}
		switch {
		case v.Probability > u.Best.Probability:
			u.Best, u.Second = v, u.Best
		case v.Probability > u.Second.Probability:
			u.Second = v
		}
		i = j
	}
}
