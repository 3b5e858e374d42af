package evidence

import (
	"cmp"
	"encoding/binary"
	"math"
	"slices"
	"sort"
	"strconv"
	"sync"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/atonce"
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
	return r.KindsGiven(cards, 0, new(Memory))
}

// KindsGiven is Kinds where [Work.Joint] of all the cards is known already, or is 0, which it never is, and what came
// of weighing some of them may be, too.
func (r *Model) KindsGiven(cards []formats.Sightings, joint float64, memory *Memory) (Kinds, error) {
	s, err := r.splitter(cards, joint, memory)
	if err != nil {
		return Kinds{}, err
	}
	return s.kinds(), nil
}

// kinds is Kinds for cards that were prepared.
func (s *splitter) kinds() (k Kinds) {
	cards := s.cards
	groups, gain := s.merge(ByLength(cards))
	if len(groups) > 1 {
		k.Probability = share(gain)
	}
	for _, g := range groups {
		parts, p := s.split(g)
		k.Groups = append(k.Groups, parts...)
		k.Probability = max(k.Probability, p)
	}
	sort.SliceStable(k.Groups, func(i, j int) bool { return k.Groups[i][0] < k.Groups[j][0] })
	for _, g := range k.Groups {
		k.Otherwise = append(k.Otherwise, s.otherwise[g[0]])
	}
	slices.Sort(s.doubts)
	k.Doubtful = slices.Compact(s.doubts)
	return k
}

// splitter prepares looking for kinds. joint and the error are those of KindsGiven.
func (r *Model) splitter(cards []formats.Sightings, joint float64, memory *Memory) (*splitter, error) {
	if len(cards) == 0 {
		return nil, errNoCards
	}
	s := &splitter{model: r, cards: cards, seen: make([][]typing.Seen, len(cards)), joint: joint,
		otherwise: map[int][]Otherwise{}, memory: memory}
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

// Memory keeps what came of weighing cards from one call of [Model.Evidence] to others, at once or later. The zero one
// is ready.
type Memory struct {
	cards   sync.Map // of remembered
	samples sync.Map // of undocumented.Weighed
}

type remembered struct {
	joint    float64   // what Joint returns
	readings []weighed // what readings returns
}

// weigh weighs cards that may have been weighed before. The error is that of Weigh.
func (m *Memory) weigh(model *Model, cards []formats.Sightings) (r remembered, err error) {
	key := Key(cards)
	if known, ok := m.cards.Load(key); ok {
		return known.(remembered), nil
	}
	err = model.weigh(cards, m, nil, func(w *Work) { r = m.keep(key, w) })
	return r, err
}

// Keep keeps what comes of weighing the cards of that [Key].
func (m *Memory) Keep(key string, w *Work) { m.keep(key, w) }

func (m *Memory) keep(key string, w *Work) remembered {
	r := remembered{w.Joint(), w.readings()}
	m.cards.Store(key, r)
	return r
}

// layouts is undocumented.Weigh for a sample that may have been weighed before, as one kind of cards beside others.
func (w *Work) layouts(s *undocumented.Sample, keep undocumented.Keep) (all undocumented.Weighed) {
	kept, key := w.memory != nil && keep == nil, ""
	if kept {
		key = sampleKey(s)
		if known, ok := w.memory.samples.Load(key); ok {
			return known.(undocumented.Weighed)
		}
	}
	reads := w.readsOf
	if keep != nil { // which may keep them, too
		reads = undocumented.NewReads
	}
	all = undocumented.Weigh(s, reads, w.m.unknown, w.m.frames[s.Length], keep)
	if kept {
		w.memory.samples.Store(key, all)
	}
	return all
}

// readsOf returns what the reads of a sample come to by themselves, as far as it was asked in questions that have to do
// with one another.
func (w *Work) readsOf(s *undocumented.Sample) *undocumented.Reads {
	switch {
	case len(s.Reads) > undocumented.ManyReads:
		return undocumented.NewReads(s)
	case w.memory == nil:
		if w.used++; w.used > len(w.own) {
			w.own = append(w.own, undocumented.NewReads(s))
		} else {
			w.own[w.used-1].Reset(s)
		}
		return w.own[w.used-1]
	}
	var key []byte
	for _, b := range s.Reads {
		key = appendBits(key, b.Slice(b.LeadingZeros(), b.Len()))
	}
	alike := w.reads[string(key)]
	for _, reads := range alike {
		if reads.Length() == s.Length {
			return reads
		}
	}
	if w.kept++; w.kept > mostKept {
		clear(w.reads)
		w.kept, alike = 1, nil
	}
	reads := undocumented.NewReads(s)
	if len(alike) > 0 {
		reads = alike[0].Longer(s)
	}
	w.reads[string(key)] = append(alike, reads)
	return reads
}

// mostKept is of how many samples that is kept, which can take half a megabyte each.
const mostKept = 256

// appendBits appends bits to a key, in as little time as can be.
func appendBits(key []byte, b wiegand.Bits) []byte {
	key = append(key, byte(b.Len()), byte(b.Len()>>8))
	words := b.Words()
	for i := range (b.Len() + 63) / 64 {
		key = binary.BigEndian.AppendUint64(key, words[i])
	}
	return key
}

// sampleKey tells a sample from others.
func sampleKey(s *undocumented.Sample) string {
	var key []byte
	for i, b := range s.Reads {
		key = appendBits(append(key, '\n'), b)
		for k := range s.Prints[i] {
			one := &s.Prints[i][k]
			key = strconv.AppendQuote(append(key, byte(one.Kind)), one.Text)
			key = strconv.AppendUint(key, math.Float64bits(one.Others), 16)
		}
	}
	return string(key)
}

// Key tells cards from others of which something else is said: of several kinds of sighting it does not matter which
// comes first.
func Key(cards []formats.Sightings) string {
	var key []byte
	for _, c := range cards {
		byKind := func(a, b formats.Sighting) int { return cmp.Compare(a.Kind, b.Kind) }
		if !slices.IsSortedFunc(c, byKind) {
			c = slices.Clone(c)
			slices.SortStableFunc(c, byKind)
		}
		for _, s := range c {
			key = strconv.AppendBool(strconv.AppendQuote(append(key, byte(s.Kind)), s.Text), s.Loose)
			key = appendBits(key, s.Bits)
		}
		key = append(key, '\n')
	}
	return string(key)
}

// Evidence returns the log of the joint probability of cards, of one kind or of one for each length of their reads. The
// error is that of Weigh.
func (r *Model) Evidence(cards []formats.Sightings, memory *Memory) (float64, error) {
	all, err := memory.weigh(r, cards)
	if err != nil || len(cards) < 2 {
		return all.joint, err
	}
	s := splitter{model: r, cards: cards, joint: all.joint, memory: memory}
	groups := ByLength(cards)
	if len(groups) == 1 {
		groups = s.byFirstLook(groups[0])
	}
	if len(groups) == 1 {
		return all.joint, nil
	}
	gain := s.gain(groups, all.joint)
	if joined := s.joined(groups); joined != nil {
		gain = logp.Add(gain, s.gain(joined, all.joint))
	}
	return all.joint + math.Log(1-judgement.SeveralKinds) + logp.Add(0, gain), nil
}

// Apart is Evidence of cards that may be of several kinds of one length, too, as [Model.Kinds] tells them apart; kinds
// are those. It is worked out less closely, and comes out lower, where it is far below that of the same cards meant
// otherwise, which are of the kinds of best and come to least.
func (r *Model) Apart(cards []formats.Sightings, memory *Memory, best [][]int, least float64) (
	log float64, kinds [][]int, err error) {
	if log, err = r.Evidence(cards, memory); err != nil {
		return log, nil, err
	}
	all, _ := memory.weigh(r, cards) // as Evidence did
	s, err := r.splitter(cards, all.joint, memory)
	if err != nil {
		return log, nil, err
	}
	apart := func(kinds [][]int) float64 {
		if len(kinds) < 2 {
			return log
		}
		return max(log, all.joint+math.Log(1-judgement.SeveralKinds)+logp.Add(0, s.gain(kinds, all.joint)))
	}
	if apart(best) < least-float64(farFromBest*len(cards)) {
		return log, nil, nil
	}
	s.lacks = least - all.joint - hopelesslyLess - float64(len(cards))
	kinds = s.kinds().Groups
	return apart(kinds), kinds, nil
}

// farFromBest is the log of how much likelier a card is among cards of its own kind than among all, at most, and
// hopelesslyLess that of how little what is less likely than something else matters.
const farFromBest, hopelesslyLess = 5, 30

// joined returns the kinds if the cards that were not read are of those that were: each lot that looks alike is of the
// kind it goes best with. nil where all were read, or where the reads are of one length, or of too many.
func (s *splitter) joined(groups [][]int) [][]int {
	unread := slices.IndexFunc(groups, func(g []int) bool { return s.lengthOf(g) == 0 })
	if unread < 0 || len(groups) == 2 || len(groups) > mostJoined {
		return nil
	}
	all := slices.Delete(slices.Clone(groups), unread, unread+1)
	for _, some := range s.byFirstLook(groups[unread]) {
		best, top := 0, logp.Never
		for k := range all {
			if log := s.log(bothOf(some, all[k])) - s.log(all[k]); log > top {
				best, top = k, log
			}
		}
		all[best] = bothOf(some, all[best])
	}
	return all
}

// mostJoined is how many groups there are at most for that: weighing each of the unread with each takes its time.
const mostJoined = 4

// merge puts cards of different lengths together where they are likelier to be of one kind, some with bits lost or too
// many, than of two. gain is how much likelier what is left apart is than the next best.
func (s *splitter) merge(groups [][]int) (merged [][]int, gain float64) {
	if len(groups) == 1 {
		return groups, 0
	}
	sort.SliceStable(groups, func(i, j int) bool { return s.lengthOf(groups[i]) < s.lengthOf(groups[j]) })
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
		groups[i] = both
		groups = append(groups[:i+1], groups[i+2:]...)
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
		groups = append([][]int{left}, groups...)
	}
	return groups, gain
}

// byLook parts cards by what their prints look like, in an order that does not depend on how they were given.
func (s *splitter) byLook(cards []int) (groups [][]int) {
	at := map[printLook]int{}
	for _, i := range s.ordered(cards) {
		look := s.looks(i)
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
	memory    *Memory
	lacks     float64 // log of how much likelier the cards have to be of several kinds for it to matter which is of which
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
		if s.looksApart(groups[0], groups[1]) { // which card is of which kind is no more than what it looks like
			gain = math.Log(judgement.LooksApart*judgement.SeveralKinds/(1-judgement.SeveralKinds)) - joint
		}
		return gain + s.together(groups[0], groups[1])
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

// together is the log of the probability of two groups as two kinds, which are weighed at once.
func (s *splitter) together(a, b []int) float64 {
	groups, readings := [2][]int{a, b}, [2][]weighed{}
	atonce.Do(2, func(i int) { readings[i] = s.readings(groups[i]) })
	return s.model.together(readings[0], readings[1])
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

// rank works out the order.
func (s *splitter) rank() {
	all := make([]int, len(s.cards))
	for i := range all {
		all[i] = i
	}
	slices.SortFunc(all, func(i, j int) int {
		if n := ReadOf(s.cards[i]).Compare(ReadOf(s.cards[j])); n != 0 {
			return n
		}
		return cmp.Or(compareSeen(s.seen[i], s.seen[j]), i-j)
	})
	s.order = make([]int, len(all))
	for place, i := range all {
		s.order[i] = place
	}
}

// ordered returns places in that order.
func (s *splitter) ordered(places []int) []int {
	all := slices.Clone(places)
	slices.SortStableFunc(all, func(i, j int) int { return s.order[i] - s.order[j] })
	return all
}

// Joint is Total, less what it takes for cards of one kind to be printed in hex and in decimal.
func (w *Work) Joint() float64 {
	if w.q.mixed {
		return w.Total() + math.Log(judgement.MixedPrints)
	}
	return w.Total()
}
