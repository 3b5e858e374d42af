package evidence

import (
	"cmp"
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// Kinds tells cards of several formats, or with several ways of printing, from one another. An answer of [Model.Weigh]
// has one format for all cards; where a site has cards of several makers, each kind is to be ranked by itself.
type Kinds struct {
	Groups      [][]int // places of the cards, from 0, in rising order; the group of the first card comes first
	Probability float64 // that they are of more than one kind; 0 where they can be of one only

	// Doubtful has the cards that may well be of another of the kinds than the one they are put with, in rising order:
	// all those of a length of which there are more than 100.
	Doubtful []int

	// Otherwise has for each group how else its cards may be dealt out.
	Otherwise [][]Otherwise
}

// Otherwise is another way to deal out the cards of a group: they are of the kinds of which the parts are, which have
// all of them between them, or are of one kind with others, and then there is one part, which has the others too.
type Otherwise struct {
	Parts       [][]int // places of the cards, from 0, in rising order
	Probability float64 // of all such ways, of which these parts are the likeliest
}

// doubtful is how much likelier a card must be of its own kind than of the other, as a log, not to be in doubt.
var doubtful = math.Log(19)

// leastSplit is how many cards it takes to look for two kinds: with fewer, a second kind is a guess.
const leastSplit = 4

// Kinds looks for cards of several kinds among those asked about. Those of different lengths are of different kinds,
// unless a bit lost or added makes them alike; those of one length are split in two where the two halves are together
// likelier than all in one, and each half again. All in one group is the answer where they are of one kind, or where it
// can't be told. The error is that of Rank.
func (r *Model) Kinds(cards []formats.Sightings) (Kinds, error) {
	return r.KindsGiven(cards, 0)
}

// KindsGiven is Kinds where [Work.Joint] of all the cards is known already, or is 0, which it never is.
func (r *Model) KindsGiven(cards []formats.Sightings, joint float64) (Kinds, error) {
	s, err := r.splitter(cards, joint)
	if err != nil {
		return Kinds{}, err
	}
	groups, gain := s.merge(ByLength(cards))
	k := Kinds{}
	if len(groups) > 1 {
		k.Probability = share(gain)
	}
	for _, g := range groups {
		parts, p := s.split(g)
		k.Groups = append(k.Groups, parts...)
		k.Probability = max(k.Probability, p)
	}
	slices.SortFunc(k.Groups, func(a, b []int) int { return a[0] - b[0] })
	for _, g := range k.Groups {
		k.Otherwise = append(k.Otherwise, s.otherwise[g[0]])
	}
	slices.Sort(s.doubts)
	k.Doubtful = slices.Compact(s.doubts)
	return k, nil
}

// splitter prepares looking for kinds. joint and the error are those of KindsGiven.
func (r *Model) splitter(cards []formats.Sightings, joint float64) (*splitter, error) {
	if len(cards) == 0 {
		return nil, errNoCards
	}
	s := &splitter{model: r, cards: cards, seen: make([][]typing.Seen, len(cards)), joint: joint,
		otherwise: map[int][]Otherwise{}, memory: Memory{}}
	trim := r.clocked(cards)
	for i := range cards {
		c, _, err := r.card(i, cards[i], trim)
		if err != nil {
			return nil, err
		}
		s.seen[i] = c.more
	}
	s.rank()
	return s, nil
}

// Memory keeps what came of weighing cards from one call of [Model.Evidence] to the next.
type Memory map[string]remembered

type remembered struct {
	joint    float64   // what Joint returns
	readings []weighed // what readings returns
}

// weigh weighs cards that may have been weighed before. The error is that of Weigh.
func (m Memory) weigh(model *Model, cards []formats.Sightings) (r remembered, err error) {
	key := memoryKey(cards)
	r, ok := m[key]
	if !ok {
		err = model.Weigh(cards, func(w *Work) { r = remembered{w.Joint(), w.readings()} })
		m[key] = r
	}
	return r, err
}

// memoryKey tells cards from others.
func memoryKey(cards []formats.Sightings) string {
	var key []byte
	for _, c := range cards {
		for _, s := range c {
			key = append(strconv.AppendQuote(append(key, byte(s.Kind)), s.Text), s.Bits.String()...)
		}
		key = append(key, '\n')
	}
	return string(key)
}

// Evidence returns the log of the joint probability of cards, of one kind or of one for each length of their reads. The
// error is that of Weigh.
func (r *Model) Evidence(cards []formats.Sightings, memory Memory) (float64, error) {
	all, err := memory.weigh(r, cards)
	groups := ByLength(cards)
	if err != nil || len(groups) < 2 {
		return all.joint, err
	}
	s := splitter{model: r, cards: cards, joint: all.joint, memory: memory}
	return all.joint + math.Log(1-judgement.SeveralKinds) + logp.Add(0, s.gain(groups, all.joint)), nil
}

// merge puts cards of different lengths together where they are likelier to be of one kind, some with bits lost or too
// many, than of two. gain is how much likelier what is left apart is than the next best.
func (s *splitter) merge(groups [][]int) (merged [][]int, gain float64) {
	if len(groups) == 1 {
		return groups, 0
	}
	slices.SortFunc(groups, func(a, b []int) int { return s.lengthOf(a) - s.lengthOf(b) })
	gain = math.Inf(1)
	if s.lengthOf(groups[0]) == 0 {
		groups, gain = s.unread(groups[0], groups[1:])
	}
	for i := 0; i+1 < len(groups); {
		a, b := groups[i], groups[i+1]
		n := s.lengthOf(a)
		if n == 0 || s.lengthOf(b)-n > mostLost {
			i++
			continue
		}
		both := bothOf(a, b)
		g := s.gain([][]int{a, b}, s.log(both))
		if g > 0 {
			gain = min(gain, g)
			together := Otherwise{[][]int{both}, 1 - share(g)}
			s.orElse(a, s.otherwise[a[0]], together)
			s.orElse(b, s.otherwise[b[0]], together)
			i++
			continue
		}
		s.orElse(both, nil, Otherwise{[][]int{a, b}, share(g)})
		groups = slices.Replace(groups, i, i+2, both)
		i = max(0, i-1)
	}
	return groups, gain
}

// unread puts cards that were not read to those that were, where they are likelier to be of one kind: those together
// whose prints look alike. What is left of them comes first. gain is that of merge.
func (s *splitter) unread(cards []int, read [][]int) (groups [][]int, gain float64) {
	groups, gain = slices.Clone(read), math.Inf(1)
	var left []int
	for _, some := range s.byLook(cards) {
		best, least := -1, math.Inf(1)
		for k := range groups {
			both := bothOf(some, groups[k])
			if g := s.gain([][]int{some, groups[k]}, s.log(both)); g < least {
				best, least = k, g
			}
		}
		both := bothOf(some, groups[best])
		if least > 0 {
			left, gain = append(left, some...), min(gain, least)
			s.orElse(some, s.otherwise[some[0]], Otherwise{[][]int{both}, 1 - share(least)})
			continue
		}
		s.orElse(both, s.otherwise[groups[best][0]], Otherwise{[][]int{some, groups[best]}, share(least)})
		groups[best] = both
	}
	if slices.Sort(left); len(left) > 0 {
		groups = slices.Insert(groups, 0, left)
	}
	return groups, gain
}

// byLook parts cards by what their prints look like, in an order that does not depend on how they were given.
func (s *splitter) byLook(cards []int) (groups [][]int) {
	at := map[printLook]int{}
	for _, i := range s.ordered(cards) {
		look := looks(printOf(s.cards[i]))
		k, ok := at[look]
		if !ok {
			k, at[look] = len(groups), len(groups)
			groups = append(groups, nil)
		}
		groups[k] = append(groups[k], i)
	}
	for _, g := range groups {
		slices.Sort(g)
	}
	return groups
}

// orElse notes how else the cards of a group may be dealt out: as known already, and one way more.
func (s *splitter) orElse(group []int, known []Otherwise, one Otherwise) {
	s.otherwise[group[0]] = append(slices.Clone(known), one)
}

// lengthOf returns the length of most reads of a group, the first of equals; 0 where there is none.
func (s *splitter) lengthOf(places []int) int {
	counts := map[int]int{}
	best := 0
	for _, i := range places {
		n := ReadOf(s.cards[i]).Len()
		if counts[n]++; n > 0 && (best == 0 || counts[n] > counts[best]) {
			best = n
		}
	}
	return best
}

// share is the probability of two alternatives of which one is likelier by the given log.
func share(gain float64) float64 { return 1 / (1 + math.Exp(-gain)) }

// splitter looks for kinds among the cards of one question.
type splitter struct {
	model     *Model
	cards     []formats.Sightings
	seen      [][]typing.Seen     // of each card beside its read
	order     []int               // of each card, its place in an order that does not depend on how they were given
	otherwise map[int][]Otherwise // by the first place of a group
	joint     float64             // log of the probability of all cards together, 0 where it is not known
	card      formats.Card        // scratch: a card as some format has it
	text      [96]byte            // and in some form
	doubts    []int
	memory    Memory
}

// ReadOf returns the read of a card, empty where there is none.
func ReadOf(s formats.Sightings) wiegand.Bits {
	for _, t := range s {
		if t.Kind == formats.Read {
			return t.Bits
		}
	}
	return wiegand.Bits{}
}

// printOf returns what is printed on a card, "" where that is not known.
func printOf(s formats.Sightings) string {
	for _, t := range s {
		if t.Kind == formats.Printed {
			return t.Text
		}
	}
	return ""
}

// ByLength returns the places of cards, from 0, sorted by the length of their reads, in the order in which the lengths
// come. Cards without a read are a group of their own.
func ByLength(cards []formats.Sightings) (groups [][]int) {
	at := map[int]int{}
	for i := range cards {
		n := ReadOf(cards[i]).Len()
		k, ok := at[n]
		if !ok {
			k, at[n] = len(groups), len(groups)
			groups = append(groups, nil)
		}
		groups[k] = append(groups[k], i)
	}
	return groups
}

// log is the log of the probability of cards under all that is known.
func (s *splitter) log(places []int) float64 {
	if len(places) == len(s.cards) && s.joint != 0 {
		return s.joint
	}
	return s.weigh(places).joint
}

// gain is the log of how much likelier it is that the cards are of these kinds than of one.
func (s *splitter) gain(groups [][]int, joint float64) float64 {
	gain := dealingLog(groups) - joint
	if len(groups) == 2 {
		return gain + s.model.together(s.readings(groups[0]), s.readings(groups[1]))
	}
	for _, g := range groups {
		gain += s.log(g)
	}
	return gain
}

// dealingLog is the log of how much likelier it is that cards are dealt out so than that they are of one kind, before
// anything is seen of them: each way of dealing so many out is as likely as another.
func dealingLog(groups [][]int) (log float64) {
	log, left := -math.Log(1-judgement.SeveralKinds), 0
	for _, g := range groups {
		left += len(g)
	}
	for _, g := range groups[:len(groups)-1] {
		log += math.Log(judgement.SeveralKinds) - math.Log(float64(left)) - logp.Choose(left, len(g))
		left -= len(g)
	}
	if len(groups) == 2 { // either of which can be the first
		log += math.Ln2
	}
	return log
}

// readings is all that cards can be as one kind.
func (s *splitter) readings(places []int) []weighed { return s.weigh(places).readings }

// weigh weighs cards as one kind.
func (s *splitter) weigh(places []int) remembered {
	r, _ := s.memory.weigh(s.model, s.some(places)) // the cards have been ranked once: there is no error in them
	return r
}

// bothOf returns the places of two groups, in rising order.
func bothOf(a, b []int) []int { return slices.Sorted(slices.Values(slices.Concat(a, b))) }

// some returns the cards at these places.
func (s *splitter) some(places []int) []formats.Sightings {
	some := make([]formats.Sightings, len(places))
	for i, at := range places {
		some[i] = s.cards[at]
	}
	return some
}

// MostWeighed is how many cards the ways of splitting are weighed on: of more, as many are taken evenly from all.
const MostWeighed = 1000

// rank works out the order.
func (s *splitter) rank() {
	all := make([]int, len(s.cards))
	for i := range all {
		all[i] = i
	}
	slices.SortFunc(all, func(i, j int) int {
		return cmp.Or(ReadOf(s.cards[i]).Compare(ReadOf(s.cards[j])), compareSeen(s.seen[i], s.seen[j]))
	})
	s.order = make([]int, len(all))
	for place, i := range all {
		s.order[i] = place
	}
}

// ordered returns places in that order.
func (s *splitter) ordered(places []int) []int {
	all := slices.Clone(places)
	slices.SortFunc(all, func(i, j int) int { return s.order[i] - s.order[j] })
	return all
}

// split splits cards of one length as long as that makes them likelier. p is the probability of all ways to split them
// once that are looked at.
func (s *splitter) split(all []int) (groups [][]int, p float64) {
	if len(all) < leastSplit {
		return [][]int{all}, 0
	}
	some := all
	if every := len(all) / MostWeighed; every > 1 {
		some = nil
		for i := 0; i < len(all); i += every {
			some = append(some, all[i])
		}
	}
	some = s.ordered(some)
	joint, best, ways := s.log(some), math.Inf(-1), logp.NewMix()
	var deal dealing
	for _, d := range s.dealings(some) {
		groups := s.dealt(some, d)
		if s.hopeless(groups) {
			continue
		}
		gain := s.gain(groups, joint)
		if ways.Add(gain); gain > best {
			best, deal = gain, d
		}
	}
	if deal == nil {
		return [][]int{all}, 0
	}
	otherwise := s.otherwise[all[0]]
	parts := s.dealt(all, deal)
	if p = share(ways.Log()); best <= 0 {
		if p > unlikely {
			s.orElse(all, otherwise, Otherwise{parts, p})
		}
		return [][]int{all}, p
	}
	if len(all) <= mostMoved {
		var refined float64
		if parts, refined = s.refine(all, parts, joint, best); refined > best {
			p = share(logp.Add(refined, ways.Log()))
		}
	} else {
		s.doubts = append(s.doubts, all...)
	}
	for _, part := range parts {
		if s.otherwise[part[0]] = otherwise; p < 1-unlikely {
			s.orElse(part, otherwise, Otherwise{[][]int{all}, 1 - p})
		}
		deeper, _ := s.split(part)
		groups = append(groups, deeper...)
	}
	return groups, p
}

// unlikely is a probability of other kinds that changes no answer.
const unlikely = 5e-4

// dealing says which of two groups the card at a place goes to.
type dealing func(at int) bool

// dealt deals cards into two groups.
func (s *splitter) dealt(all []int, d dealing) [][]int {
	groups := [][]int{nil, nil}
	for _, at := range all {
		g := 1
		if d(at) {
			g = 0
		}
		groups[g] = append(groups[g], at)
	}
	return groups
}

// Whether many cards are of two kinds shows on a few of each. If they are, the few make one kind likelier than two by
// e^farFromFew in at most one sample in e^farFromFew.
const (
	fewCards   = 4 // of each kind
	leastMany  = 24
	farFromFew = 9
)

// few takes some cards of a group, evenly.
func few(group []int) []int {
	n := len(group)
	some := make([]int, min(fewCards, n))
	for i := range some {
		some[i] = group[(2*i+1)*n/(2*len(some))]
	}
	return some
}

// hopeless reports whether a few of many cards show that they are hardly of these two kinds.
func (s *splitter) hopeless(groups [][]int) bool {
	a, b := groups[0], groups[1]
	if len(a)+len(b) < leastMany {
		return false
	}
	a, b = few(a), few(b)
	likelier := s.model.together(s.readings(a), s.readings(b)) - s.log(bothOf(a, b))
	if likelier < -farFromFew {
		return true
	}
	whole := len(a) == len(groups[0]) || len(b) == len(groups[1]) // the rest are but more of one kind
	return whole && likelier+dealingLog(groups) < math.Log(unlikely)-farFromFew
}

// sketch is a few cards of each of two groups, and all that they can be.
type sketch struct {
	few      [2][]int
	readings [2][]weighed
}

// sketch takes a few of many cards; none of few.
func (s *splitter) sketch(groups [][]int) (k sketch) {
	if min(len(groups[0]), len(groups[1])) < leastMany/2 {
		return k
	}
	for g := range groups {
		k.few[g] = few(groups[g])
		k.readings[g] = s.readings(k.few[g])
	}
	return k
}

// stays reports whether a few of many cards, this one not among them, show that one is hardly of the other kind.
func (s *splitter) stays(k *sketch, card, from int) bool {
	other := 1 - from
	if len(k.few[from]) == 0 || slices.Contains(k.few[from], card) {
		return false
	}
	here := s.model.together(s.readings(bothOf(k.few[from], []int{card})), k.readings[other])
	there := s.model.together(k.readings[from], s.readings(bothOf(k.few[other], []int{card})))
	return there-here < -farFromFew-doubtful
}

// mostMoved is how many cards there can be for each of them to be tried in the other group.
const mostMoved = 100

// refine moves cards from one group to the other, one by one, as long as that is likelier: cards without a print that
// others are told apart by, and reads that keep a check by chance.
func (s *splitter) refine(all []int, groups [][]int, joint, best float64) ([][]int, float64) {
	var doubts []int
	order, sketch := s.ordered(all), s.sketch(groups)
	for i, tried := 0, 0; tried < len(order); i, tried = (i+1)%len(order), tried+1 {
		card, from := order[i], 0
		if slices.Contains(groups[1], card) {
			from = 1
		}
		if len(groups[from]) == 1 || s.stays(&sketch, card, from) {
			continue
		}
		other := [][]int{nil, nil}
		other[from] = slices.DeleteFunc(slices.Clone(groups[from]), func(i int) bool { return i == card })
		other[1-from] = bothOf(groups[1-from], []int{card})
		gain := s.gain(other, joint)
		if gain > best { // all others are to be tried again
			best, groups, sketch, doubts, tried = gain, other, s.sketch(other), nil, -1
		} else if gain > best-doubtful {
			doubts = append(doubts, card)
		}
	}
	s.doubts = append(s.doubts, doubts...)
	return groups, best
}

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
		if look := looks(printOf(s.cards[at])); !tried[look] {
			tried[look] = true
			add(func(at int) bool { return looks(printOf(s.cards[at])) == look })
		}
	}
	for most := 1; most <= maxDigits; most++ {
		add(func(at int) bool { return len(typing.Digits(printOf(s.cards[at]))) <= most })
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

// printLook is what a print looks like at a glance.
type printLook struct {
	pair, zeros bool
	digits      int // with zeros before it, or as a pair
}

// looks returns what a print looks like: two numbers or one, and how many digits it has where they were filled up with
// zeros.
func looks(text string) printLook {
	digits := typing.Digits(text)
	l := printLook{pair: len(digits) < len(text), zeros: len(digits) > 1 && digits[0] == '0'}
	if l.zeros {
		l.digits = len(digits)
	}
	return l
}

// Joint is Total, less what it takes for cards of one kind to be printed in hex and in decimal.
func (w *Work) Joint() float64 {
	if w.q.mixed {
		return w.Total() + math.Log(judgement.MixedPrints)
	}
	return w.Total()
}
