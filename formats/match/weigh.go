package match

import (
	"cmp"
	"math"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// weigh finds for every unknown card who it can be, and how likely that is.
func (m *Matcher) weigh() {
	m.learned = learned{rules: make([]float64, len(weights)), facilities: map[uint64]float64{},
		elsewhere: map[uint64]float64{}, forms: make([]float64, m.forms),
		kinds: map[kind]float64{}, boxes: map[uint64]float64{}, highs: map[uint64]float64{}}
	if len(m.order) == 0 {
		return
	}
	m.takeUnread()
	m.weighForm()
	m.buildIndex()
	m.countFacilities()
	m.slipped, m.asIs = map[int32]float64{}, m.opt.List.AsIs()
	m.claimSeen()
	m.weighRows()
	for _, u := range m.order {
		m.ways(u)
	}
	m.byHabits()
	m.byDigits()
	m.byOthers()
	m.putInBoxes()
	m.begin()
	for i := range 30 {
		m.freeUnread()
		if i > 0 && i&(i-1) == 0 { // by what was found of each card alone: it takes time, and changes little later
			m.weighBoxes()
		}
		if changed := m.learn(); i > 8 && changed < 1e-7 {
			break
		}
	}
	for _, u := range m.order {
		m.judge(u)
	}
}

// takeUnread takes up those rows of the list whose number can't be read.
func (m *Matcher) takeUnread() {
	if len(m.unread) > 0 && m.read == 0 {
		m.read = len(m.holders)
		m.byValue, m.byOther = map[uint64][]int32{}, map[reading.Key][]int32{}
		for i := range m.unread {
			m.asTyped(m.unread[i].Number, int32(m.read+i))
			for _, v := range valuesOf(m.plain(m.unread[i].Number)) {
				put(m.byValue, v, int32(m.read+i))
			}
			m.otherwiseWritten(&m.unread[i], int32(m.read+i))
		}
		m.holders = append(m.holders, m.unread...)
	}
}

// otherwiseWritten notes the cards that a row which was not read is in other forms than the list has: a second list may
// stand below the first.
func (m *Matcher) otherwiseWritten(h *Holder, i int32) {
	number := m.plain(h.Number)
	for _, f := range m.formats {
		for _, fm := range formats.Forms() {
			c, err := fm.Parse(f, number)
			if err != nil {
				continue
			}
			if text, err := fm.Text(&c); err != nil || reading.Plain(text) != number {
				continue
			}
			if k := m.opt.List.KeyOf(&c); !slices.Contains(m.byOther[k], i) {
				m.byOther[k] = append(m.byOther[k], i)
				h.sorts++
			}
		}
	}
}

// isUnread reports whether a holder's row was not read.
func (m *Matcher) isUnread(holder int32) bool { return m.read > 0 && int(holder) >= m.read }

// oddMistyped is how many times as likely as another a row that does not go with the others is one that was typed
// wrong. A judgement.
const oddMistyped = 50

// mistypedOdds is how many times as likely as another a holder's number is typed wrong. Where several have the same,
// one of them is.
func (m *Matcher) mistypedOdds(holder int32) float64 {
	switch {
	case m.isUnread(holder):
		return 1 + (oddMistyped-1)*(1-m.unknownForm)
	case m.odd(holder) || len(m.holders[holder].Same) > 0:
		return oddMistyped
	}
	return 1
}

// weighRows sums up how likely the rows of the list are typed wrong, by some of them where there are many.
func (m *Matcher) weighRows() {
	m.mistypedAll = 0
	each := len(m.holders)/someRows + 1
	for i := range m.holders {
		if m.isUnread(int32(i)) { // none of those is left out
			each = 1
		} else if i%each != 0 {
			continue
		}
		m.mistypedAll += m.mistypedOdds(int32(i)) * float64(each)
	}
}

// freeUnread counts the rows that were not read whose card is no other.
func (m *Matcher) freeUnread() {
	m.unreadAll = 0
	for i := m.read; m.read > 0 && i < len(m.holders); i++ {
		others := 0.0
		for _, c := range m.claims[i] {
			others += c.odds
		}
		m.unreadAll += m.unreadShare(m.holders[i].Number) / (1 + others)
	}
}

// claim is how much cards of the events speak for it that a holder has this card: that the list has it right, or not.
// A holder has one card, so that each speaks against all others.
type claim struct {
	card  reading.Key
	right bool
	odds  float64
}

// claimSeen has each card that was seen at the door, just as the list has it, claim its holder: it would be that of
// somebody else, who is not on the list, if the holder's number were typed wrong.
func (m *Matcher) claimSeen() {
	m.claims = make([][]claim, len(m.holders))
	for i := range m.seen {
		h := &m.holders[i]
		c, ok := h.card()
		if !ok || len(h.Same) > 0 {
			continue
		}
		p, _, _ := m.strayAs(&c)
		others := 0.0
		for k := range p {
			others += priorCards * weights[Stranger] * strangerShares[k] * p[k]
		}
		m.claims[i] = []claim{{right: true, odds: weights[Alike] / others}}
	}
}

// claimed notes what a card speaks for, or with sign -1 takes it away.
func (m *Matcher) claimed(w *way, sign float64) {
	if !w.rule.claims() {
		return
	}
	all := m.claims[w.holder]
	i := slices.IndexFunc(all, func(c claim) bool { return c.card == w.card && c.right == w.rule.right() })
	if i < 0 {
		i, all = len(all), append(all, claim{card: w.card, right: w.rule.right()})
		m.claims[w.holder] = all
	}
	all[i].odds = max(0, all[i].odds+sign*w.claim)
}

// free is how much likelier it is by the other cards of the events that a holder has this one: less, as others are
// claimed for them, and more where none is, since most cards of the list are seen. Of several with the same number
// one has the card of that number.
func (m *Matcher) free(w *way) float64 {
	others, seen := m.hasAnother(w.holder, w.card, w.rule.right()), 0.0
	switch w.rule {
	case Typed:
		seen = min(m.shown(Doubtful), mostSeen)
	case Facility:
		return max(1/(1+others), twoDoors)
	}
	return 1 / (1 - seen + others)
}

// hasAnother is how much the cards of the events speak for it that a holder has another card than this one, of which
// right says that the list has it right.
func (m *Matcher) hasAnother(holder int32, card reading.Key, right bool) (odds float64) {
	for _, c := range m.claims[holder] {
		if (c.card != card || c.right != right) && !(c.right && len(m.holders[holder].Same) > 0) {
			odds += c.odds
		}
	}
	return odds
}

// nobodys is how likely a card is of none of the holders who have it by the list: each has another of the cards that
// the number can be, or is typed wrong, with a card that was claimed, or was not at the door.
func (m *Matcher) nobodys(u *Unknown, c *shownCard) float64 {
	nobody := 1.0
	for _, i := range c.listed {
		h := &m.holders[i]
		if len(h.Same) > 0 {
			return 0
		}
		key := reading.Key{}
		if h.cards > 1 {
			key = m.opt.List.KeyOf(&c.card)
		}
		seen := min(m.shown(Doubtful), mostSeen)
		other := 1/m.kindsShown(u, i, c) - 1
		another := m.hasAnother(i, key, true) + (other+m.typedWeight()*m.mistypedOdds(i)/seen)*(1-seen)
		nobody *= another / (1 + another)
	}
	return nobody
}

// kind is what a number that can be several cards turns out to be as those near it do.
type kind struct {
	facilityOf
	box uint64 // of the number, without its last boxBits bits
}

// boxBits is how many bits the numbers of a box differ in, and kindRows for how many rows it counts that each card is
// as likely as any other. Judgements.
const boxBits, kindRows = 8, 2

func kindOf(c *formats.Card) kind {
	facility, _ := c.Facility()
	number, _ := c.Number()
	return kind{facilityOf{c.Format, facility}, number >> boxBits}
}

// kindShare is how likely a number of the list that can be several cards is this one: numbers near one another are of
// one kind. That it is the end of a longer number is as likely as that it is any of the cards that it can be whole.
func (m *Matcher) kindShare(holder int32, c *shownCard) float64 {
	h := &m.holders[holder]
	sorts := float64(max(h.sorts, 1))
	if h.cards <= 1 || c == nil {
		return 1 / sorts
	}
	share := kindRows / sorts
	if m.endAlone(holder, c) {
		share /= float64(endsOf(c.card.Format))
	}
	return (share + m.learned.kinds[c.kind]) / (kindRows + m.learned.boxes[c.kind.box])
}

// endAlone reports whether it is but the end of a card that a holder's number can be.
func (m *Matcher) endAlone(holder int32, c *shownCard) bool {
	h := &m.holders[holder]
	if h.Doubt == len(h.can) || !slices.Contains(m.endsSo(&c.card), holder) {
		return false
	}
	n, _ := c.card.Number()
	return !slices.ContainsFunc(h.can, func(l listed) bool { return l.format == c.card.Format && l.num == n })
}

// kindsShown is kindShare of all cards that a holder can have and that are shown as this one is: whichever of them it
// is, it is the holder's.
func (m *Matcher) kindsShown(u *Unknown, holder int32, c *shownCard) (share float64) {
	if c == nil || m.holders[holder].cards <= 1 {
		return m.kindShare(holder, c)
	}
	var keys []reading.Key
	for _, o := range u.cards {
		key := m.opt.List.KeyOf(&o.card)
		if o.other == c.other && o.by == c.by && o.form == c.form && slices.Contains(o.listed, holder) &&
			!slices.Contains(keys, key) {
			keys, share = append(keys, key), share+m.kindShare(holder, o)
		}
	}
	return min(1, share)
}

// twoDoors is how likely a log is of two doors, one of which shows another facility of the same cards. A judgement.
const twoDoors = 0.02

// mostSeen is how many of the cards of a list are seen at a door at most. A judgement.
const mostSeen = 0.95

// someRows is how many rows of a list say how many of it are typed wrong.
const someRows = 200

// typedWeight is how common it is that the row of a holder is typed wrong that is as likely as another.
func (m *Matcher) typedWeight() float64 {
	return priorCards*weights[Typed]/float64(len(m.holders)) + m.learned.rules[Typed]/m.mistypedAll
}

// learned is what the unknown cards speak for: how many of them go by each rule, and by which facility those that
// have another one. A card that can be several things counts for a part of each.
type learned struct {
	rules      []float64 // by [Rule]
	right      float64   // by those that say which card somebody of the list has, and not typed wrong
	strangers  strays
	unread     strays // of rows that were not read
	facilities map[uint64]float64
	elsewhere  map[uint64]float64  // of strangers, and of rows that were not read
	forms      []float64           // by place among all
	typed      [len(slips)]float64 // by slip
	copied     [len(slips)]float64
	kinds      map[kind]float64   // of rows that can be several cards
	boxes      map[uint64]float64 // how many of those in each box
	highs      map[uint64]float64
}

// count adds what a card speaks for, or with sign -1 takes it away.
func (e *learned) count(u *Unknown, sign float64) {
	for k := range u.strange {
		e.strangers[k] += sign * u.strange[k]
		e.unread[k] += sign * u.unread[k]
	}
	if n := u.strange[fromElsewhere] + u.unread[fromElsewhere]; n > 0 {
		e.elsewhere[u.facility] += sign * n
	}
	for i := range u.ways {
		w := &u.ways[i]
		e.rules[w.rule] += sign * w.share
		if w.rule.claims() && w.rule != Typed {
			e.right += sign * w.share
		}
		if w.card != (reading.Key{}) && w.rule != Typed && w.in != nil {
			e.kinds[w.in.kind] += sign * w.share
			e.boxes[w.in.kind.box] += sign * w.share
		}
		switch w.rule {
		case Facility:
			e.facilities[u.facility] += sign * w.share
		case Form:
			e.forms[w.form] += sign * w.share
		case Ending:
			e.highs[w.high] += sign * w.share
		case Typed:
			e.typed[w.slip] += sign * w.share
		case Digit:
			e.copied[w.slip] += sign * w.share
		}
	}
}

// priorCards is how many cards the start weights count for. With half of that, sites at random make the answers of
// 60 to 90 % surer than right by some points more.
const priorCards = 8

// begin takes each card for one of the list that it can be, whole and in another form or with another facility, before
// they are weighed: a habit of the door that all of them have is found then, though each alone would rather be a
// stranger's.
func (m *Matcher) begin() {
	for _, u := range m.order {
		best := -1
		for i := range u.ways {
			w := &u.ways[i]
			w.free = 1
			if w.rule.claims() && w.rule != Typed && (best < 0 || m.wayMass(u, w) > m.wayMass(u, &u.ways[best])) {
				best = i
			}
		}
		if best >= 0 {
			u.ways[best].share, u.ways[best].claim = 1, 1
			m.learned.count(u, 1)
			m.claimed(&u.ways[best], 1)
		}
	}
}

// learn weighs every card by what the other cards speak for. What a card speaks for itself is left out: it would
// speak for itself twice, and a rule that one card alone can have would seem to be proved by it. It returns by how
// much a share has changed at most.
func (m *Matcher) learn() (changed float64) {
	for _, u := range m.order {
		if u.Value == "" {
			continue
		}
		m.learned.count(u, -1)
		for i := range u.ways {
			m.claimed(&u.ways[i], -1)
		}
		for i := range u.ways {
			if w := &u.ways[i]; w.rule.claims() {
				w.free = m.free(w)
			}
		}
		for _, c := range u.cards {
			c.nobody = m.nobodys(u, c)
		}
		strange, all := m.masses(u)
		for k := range strange {
			u.strange[k], u.unread[k] = strange[k]/all, m.unreadMass(u, k)/all
		}
		for i := range u.ways {
			w := &u.ways[i]
			changed = max(changed, math.Abs(w.share-w.mass/all))
			w.share, w.claim = w.mass/all, w.mass/w.free/max(all-w.mass, all*1e-9)
			m.claimed(w, 1)
		}
		m.learned.count(u, 1)
	}
	return changed
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

// slipShare is how likely a number that was typed or copied wrong is so by this slip: as is usual, until some were
// seen.
func (m *Matcher) slipShare(rule Rule, slip int8) float64 {
	usual, seen := slips[slip].share, m.learned.typed[slip]
	if rule == Digit {
		usual, seen = slips[slip].copied, m.learned.copied[slip]
	}
	return (slipCards*usual + seen) / (slipCards + m.learned.rules[rule])
}

// shown is how likely the card of a row that is on the list, but could not be read or not surely, is among the events:
// as likely as those of all rows that were read, by whatever rule.
func (m *Matcher) shown(rule Rule) float64 {
	seen := priorCards*weights[rule] + float64(len(m.seen))
	for other, n := range m.learned.rules {
		if Rule(other) != Stranger && Rule(other) != Unread {
			seen += n
		}
	}
	return min(1, seen/(float64(len(m.holders)-len(m.unread))+priorCards))
}

// unreadShown is the same of each of the rows that were not read, less what other cards were taken for theirs: they
// have no more cards than there are rows.
func (m *Matcher) unreadShown() float64 {
	shown := m.shown(Unread)
	taken := m.learned.rules[Unread] / max(m.unreadAll, 1)
	return shown / max(1, 1-shown+taken)
}

func (m *Matcher) wayMass(u *Unknown, w *way) float64 {
	mass := m.weight(w.rule) * w.free / float64(len(m.holders))
	switch w.rule {
	case Typed:
		mass = m.typedWeight() * w.odds * m.slipShare(Typed, w.slip)
		return mass * w.free * m.inForm(w) * float64(w.times) / float64(w.variants)
	case Unread:
		all := 0.0
		for kind := range u.unread {
			all += m.unreadMass(u, kind)
		}
		return all
	case Doubtful, Alike:
		mass = m.shown(w.rule) * w.free
	}
	if w.of != nil {
		mass *= float64(len(m.holders)) * float64(w.of.Events) / float64(m.events)
	} else if w.rule != Ending { // of all cards that end so, odds says
		mass *= m.kindsShown(u, w.holder, w.in)
	}
	switch w.rule {
	case Facility:
		return mass * m.facilityShare(u.facility, w.variants)
	case Form:
		return mass * m.formShare(w.form, w.variants)
	case Ending: // a list has the ends of all its numbers, and the door shows none of them just so
		mass *= m.endShare(w) * priorCards / (priorCards + float64(len(m.seen)))
	case Digit:
		mass *= m.inForm(w) * m.slipShare(Digit, w.slip)
		fallthrough
	case Misread, Lost:
		mass *= math.Pow(0.5, float64(min(u.Events, 64)-1))
	}
	return mass * float64(w.times) / float64(w.variants)
}

// inForm is how likely the door shows the card in the form in which it is a way, and it is not that of those who have
// it by the list.
func (m *Matcher) inForm(w *way) float64 {
	p := 1.0
	if w.other {
		p = m.habitShare(w.by, w.form)
	}
	if w.in != nil {
		p *= w.in.nobody
	}
	return p
}

func (m *Matcher) strayMass(u *Unknown, kind int) float64 {
	return (priorCards*weights[Stranger]*strangerShares[kind] + m.learned.strangers[kind]) * m.strayAt(u, kind)
}

// strayRate is how many strangers of a kind there are, and cards of rows that were not read.
func (m *Matcher) strayRate(kind int) float64 {
	return priorCards*weights[Stranger]*strangerShares[kind] + m.learned.strangers[kind] + m.unreadRate(kind)
}

// samePlace is how much likelier a stranger of another site has a facility that others of the events have.
func (m *Matcher) samePlace(u *Unknown) float64 {
	return (1 + float64(u.facilities)*m.learned.elsewhere[u.facility]) /
		(1 + m.learned.strangers[fromElsewhere] + m.learned.unread[fromElsewhere])
}

// strayAt is how likely a card of a kind that is not on the list, or of a row that was not read, shows the number, in
// whatever form.
func (m *Matcher) strayAt(u *Unknown, kind int) float64 {
	p, another := 0.0, 0.0
	if kind == fromAnywhere {
		p = u.anything
	}
	for _, c := range u.cards {
		as := c.p[kind] + c.beside[kind]*c.near
		if c.other {
			another += as * c.nobody * m.habitShare(c.by, c.form)
		} else {
			p = max(p, as*c.nobody)
		}
	}
	p += another
	if kind == fromElsewhere { // from the same place as others
		p *= m.samePlace(u)
	}
	return p
}

// otherwise is how likely the door shows a card by a rule, and not as was thought: as many as were seen so, of all that
// are known to be somebody's.
func (m *Matcher) otherwise(by Rule) float64 {
	return m.weight(by) / (priorCards + float64(len(m.seen)) + m.learned.right)
}

// masses returns those of a card as a stranger's, and the sum of all; it sets those of its ways.
func (m *Matcher) masses(u *Unknown) (strange strays, all float64) {
	for k := range strange {
		strange[k] = m.strayMass(u, k)
		all += strange[k]
	}
	for i := range u.ways {
		w := &u.ways[i]
		w.mass = m.wayMass(u, w)
		all += w.mass
	}
	return strange, all
}

// part is how likely an unknown card is somebody's in one way.
type part struct {
	holder int32 // -1 by the rules Stranger and Unread
	rule   Rule
	form   int8
	mass   float64
}

// parts returns all that a card can be. What lacks a digit of another card's number is whosever that card is.
func (m *Matcher) parts(u *Unknown, strange strays) []part {
	nobody := part{holder: -1, rule: Stranger}
	for _, mass := range strange {
		nobody.mass += mass
	}
	all := make([]part, 0, 1+len(u.ways))
	for i := range u.ways {
		w := &u.ways[i]
		if w.of == nil {
			all = append(all, part{w.holder, w.rule, w.form, w.mass})
			continue
		}
		for _, share := range w.of.strange {
			nobody.mass += w.mass * share
		}
		for k := range w.of.ways {
			if o := &w.of.ways[k]; o.rule == Unread {
				all = append(all, part{-1, Unread, 0, w.mass * o.share})
			} else if o.of == nil {
				all = append(all, part{o.holder, Digit, 0, w.mass * o.share})
			}
		}
	}
	all = append(all, nobody)
	sort.SliceStable(all, func(i, j int) bool {
		a, b := &all[i], &all[j]
		return cmp.Or(cmp.Compare(a.who(), b.who()), cmp.Compare(b.mass, a.mass)) < 0
	})
	return all
}

// who is whose the card is: a holder, or by which rule nobody's.
func (p *part) who() int32 {
	if p.holder < 0 {
		return int32(p.rule) - int32(len(ruleNames))
	}
	return p.holder
}

// judge adds up for each holder the ways in which the card is theirs.
func (m *Matcher) judge(u *Unknown) {
	m.learned.count(u, -1)
	defer m.learned.count(u, 1)
	strange, total := m.masses(u)
	u.Best, u.Second = Verdict{Holder: -1, Rule: Stranger}, Verdict{Holder: -1, Rule: Stranger}
	all := m.parts(u, strange)
	for i := 0; i < len(all); {
		v := Verdict{Holder: int(all[i].holder), Rule: all[i].rule}
		if v.Rule == Form {
			v.Form = formats.Forms()[all[i].form].Name
		}
		for who := all[i].who(); i < len(all) && all[i].who() == who; i++ {
			v.Probability += all[i].mass / total
		}
		switch {
		case v.Probability > u.Best.Probability:
			u.Best, u.Second = v, u.Best
		case v.Probability > u.Second.Probability:
			u.Second = v
		}
	}
}
