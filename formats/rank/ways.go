package rank

import (
	"cmp"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/atonce"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/words"
)

// way is one way of meaning all texts.
type way struct {
	taken Taken
	log   float64 // of how usual it is
	rests float64 // log of what is beside the numbers of prints
	few   float64 // and of those of the first cards
	seen  float64 // of the probability of the cards
	ans   Answer

	picked []int  // of what each text can be, the one that is taken
	others []*way // in which one group of texts is meant otherwise, each hardly less likely
}

// asking is one question of what texts are.
type asking struct {
	*Ranker
	memory *evidence.Memory
}

// evidence returns for each way the log of the joint probability of its cards in these places, nil for all, over all
// readings and none, of one kind or of one for each length.
func (r *asking) evidence(ways []*way, places []int) ([]float64, error) {
	logs, errs := make([]float64, len(ways)), make([]error, len(ways))
	atonce.Do(len(ways), func(i int) {
		cards := ways[i].taken.Cards
		if places != nil {
			cards = cardsAt(cards, places)
		}
		logs[i], errs[i] = r.model.Evidence(cards, r.memory)
	})
	return logs, cmp.Or(errs...)
}

// inDoubt returns the places of n cards: the first ones that not all ways mean alike, and where those are too few, the
// first of the others. If a way has something beside the numbers of prints, they are the first cards: few is of those.
func inDoubt(ways []*way, n int) (places []int) {
	beside := slices.ContainsFunc(ways, func(w *way) bool { return w.rests != 0 })
	var others []int
	for i, card := range ways[0].taken.Cards {
		differs := func(w *way) bool { return !slices.Equal(w.taken.Cards[i], card) }
		if beside || !slices.ContainsFunc(ways, differs) {
			others = append(others, i)
		} else if places = append(places, i); len(places) == n {
			break
		}
	}
	places = append(places, others[:min(len(others), n-len(places))]...)
	slices.Sort(places)
	return places
}

// alike is how much likelier a text is meant as another one beside it surely is, than it would be alone; apart is the
// chance that texts of which all can be meant in one way are meant in several: judgements.
const alike, apart = 100, 0.05

// sampled is how many cards show which ways of meaning texts are out of the question, and remote the probability below
// which one is.
const sampled, remote = 8, 1e-9

// waysOf returns the ways in which texts can be meant: all alike, and each group that is written alike by itself; and
// the few of those that are likeliest by the reads alone. The error is that of Rank.
func (r *asking) waysOf(spelled [][]formats.Spelling) (ways, bare []*way, err error) {
	spelled = withHex(spelled)
	texts := make([]open, len(spelled))
	for i := range spelled {
		texts[i] = opened(spelled[i])
	}
	ways = sharedWays(spelled, texts)
	if bare, err = r.barest(ways); err != nil {
		return nil, nil, err
	}
	shared := ways != nil
	for _, texts := range [][]open{texts, withLike(spelled, texts)} {
		groups := groupsOf(texts)
		if len(groups) < 2 {
			continue
		}
		w, err := r.groupWay(spelled, texts, groups)
		if err != nil {
			return nil, nil, err
		}
		for _, one := range append(w.others, w) {
			if shared {
				one.log += math.Log(apart)
			}
		}
		ways = append(ways, w)
	}
	return r.likely(ways), bare, nil
}

// barest returns the few ways that are likeliest by the reads of the first cards that have one, as if prints had
// nothing to do with them: none where these are no reads in any, or have no print. The error is that of Rank.
func (r *asking) barest(ways []*way) (all []*way, err error) {
	if len(ways) < 2 {
		return nil, nil
	}
	of := map[*way]*way{}
	places := withReads(ways)
	for _, w := range ways {
		reads, prints := readsAlone(cardsAt(w.taken.Cards, places))
		if reads == nil || prints == nil {
			continue
		}
		log := typing.NothingLog(prints)
		one := &way{taken: Taken{Cards: reads}, log: w.log, rests: log, few: log}
		of[one], all = w, append(all, one)
	}
	all = r.likely(all)
	logs, err := r.evidence(all, nil)
	if err != nil {
		return nil, err
	}
	for i, w := range all {
		w.seen = logs[i]
	}
	slices.SortStableFunc(all, func(a, b *way) int { return cmp.Compare(b.log+b.rests+b.seen, a.log+a.rests+a.seen) })
	all = all[:min(len(all), mostBare)]
	for i, w := range all {
		all[i] = of[w]
	}
	return all, nil
}

// withReads returns the places of the first cards that have a read in one of the ways.
func withReads(ways []*way) (places []int) {
	for i := range ways[0].taken.Cards {
		if slices.ContainsFunc(ways, func(w *way) bool { return hasRead(w.taken.Cards[i]) }) {
			if places = append(places, i); len(places) == sampled {
				break
			}
		}
	}
	return places
}

// mostBare is of how many ways that is weighed what more can be on the prints.
const mostBare = 3

// readsAlone parts cards in their reads and all else; nil where a card has no read.
func readsAlone(cards []formats.Sightings) (reads []formats.Sightings, others []*typing.Seen) {
	for _, s := range cards {
		at := slices.IndexFunc(s, isRead)
		if at < 0 {
			return nil, nil
		}
		reads = append(reads, s[at:at+1])
		for k := range s {
			if k != at {
				seen := typing.NewSeen(s[k])
				others = append(others, &seen)
			}
		}
	}
	return reads, others
}

func isRead(s formats.Sighting) bool { return s.Kind == formats.Read }

// mostGroups is how many groups are weighed beside one another: texts of more are a heap of all sorts, in which the one
// says little of the other, and weighing them together takes seconds.
const mostGroups = 3

// groupWay returns the likeliest way in which each group is meant in one, the next beside those before it, or where
// there are many, by itself; and with it those in which one group is meant in another. Texts of a group that can't be
// meant alike are groups of their own.
func (r *asking) groupWay(spelled [][]formats.Spelling, texts []open, signatures []string) (*way, error) {
	spelled, texts = slices.Clone(spelled), slices.Clone(texts)
	log, beside := 0.0, sampled
	if len(signatures) > mostGroups {
		beside = 0
	}
	var others []groupMeant
	for k := 0; k < len(signatures); k++ {
		some, what, places := ofGroup(spelled, texts, signatures[k], beside)
		shared := sharedWays(some, what)
		if shared == nil {
			signatures = append(signatures, byKeys(texts, signatures[k])...)
			continue
		}
		ways, err := r.byLikelihood(shared)
		if err != nil {
			return nil, err
		}
		best := meantAs(some, places, ways[0])
		for _, w := range ways[1:min(len(ways), mostOthers+1)] {
			if other := meantAs(some, places, w); w.seen > ways[0].seen-hardlyLess {
				other.log -= best.log
				others = append(others, other)
			}
		}
		log += best.log
		best.use(spelled)
		for _, i := range best.places {
			texts[i] = open{}
		}
	}
	best := sharedWays(spelled, texts)[0]
	best.log = log
	for _, o := range others {
		other := slices.Clone(spelled)
		o.use(other)
		w := sharedWays(other, texts)[0]
		w.log = log + o.log
		best.others = append(best.others, w)
	}
	return best, nil
}

// ofGroup returns the texts of a group, and so many of those of which is known how they are meant; and the place of
// each among all texts, -1 of the latter.
func ofGroup(spelled [][]formats.Spelling, texts []open, sign string, known int) (some [][]formats.Spelling,
	what []open, places []int) {
	for i := range spelled {
		at := i
		switch texts[i].signature {
		case sign:
		case "":
			if at, known = -1, known-1; known < 0 {
				continue
			}
		default:
			continue
		}
		some, what, places = append(some, spelled[i]), append(what, texts[i]), append(places, at)
	}
	return some, what, places
}

// byKeys parts a group, so that only texts are in one that can be meant in just the same ways.
func byKeys(texts []open, sign string) (signatures []string) {
	for i := range texts {
		if t := &texts[i]; t.signature == sign {
			t.signature = sign + "\nof " + strings.Join(t.keys, "\n")
			if !slices.Contains(signatures, t.signature) {
				signatures = append(signatures, t.signature)
			}
		}
	}
	return signatures
}

// groupMeant is a way to mean a group of texts: what each is, by its place among all, and the log of how usual that is.
type groupMeant struct {
	places []int
	as     []formats.Spelling
	log    float64
}

// meantAs is how a way means the texts of a group.
func meantAs(some [][]formats.Spelling, places []int, w *way) (g groupMeant) {
	for k, i := range places {
		if i >= 0 {
			g.places, g.as = append(g.places, i), append(g.as, some[k][w.picked[k]])
		}
	}
	g.log = math.Log(g.as[0].Weight)
	return g
}

// use leaves each text the one spelling.
func (g *groupMeant) use(spelled [][]formats.Spelling) {
	for k, i := range g.places {
		spelled[i] = g.as[k : k+1 : k+1]
	}
}

// hardlyLess is the log of how much less likely such a way can be, and mostOthers how many of them there are.
const hardlyLess, mostOthers = 4.6, 3

// likeliest returns the likeliest of ways, of which there is one at least.
func (r *asking) likeliest(ways []*way) (best *way, err error) {
	if ways, err = r.byLikelihood(ways); err != nil {
		return nil, err
	}
	return ways[0], nil
}

// byLikelihood returns those of ways that are not out of the question, the likeliest first, with the log of all they
// come to.
func (r *asking) byLikelihood(ways []*way) ([]*way, error) {
	ways = r.likely(ways)
	logs, err := r.evidence(ways, nil)
	for i, w := range ways {
		w.seen = logs[i] + w.log + w.rests
	}
	slices.SortStableFunc(ways, func(a, b *way) int { return cmp.Compare(b.seen, a.seen) })
	return ways, err
}

// likely returns the ways that the first cards leave possible, first two and then a few: weighing many cards in each
// takes long.
func (r *asking) likely(ways []*way) []*way {
	for _, n := range [...]int{2, sampled} {
		if len(ways) < 2 || len(ways[0].taken.Cards) <= n {
			return ways
		}
		logs, err := r.evidence(ways, inDoubt(ways, n))
		if err != nil {
			return ways // the error is that of all cards
		}
		for i, w := range ways {
			logs[i] += w.log + w.few
		}
		total := logp.Sum(logs)
		var left []*way
		for i, w := range ways {
			if logs[i]-total > math.Log(remote) {
				left = append(left, w)
			}
		}
		ways = left
	}
	return ways
}

// sharedWays returns the ways in which all texts can be meant alike: those that can be meant in one way only are meant
// so. nil where there is none.
func sharedWays(spelled [][]formats.Spelling, texts []open) (ways []*way) {
	first := -1 // of those that say most of their card
	for i := range texts {
		if texts[i].signature != "" && (first < 0 || texts[i].sightings > texts[first].sightings) {
			first = i
		}
	}
	if first < 0 { // all in one way; where there are no texts, Rank says so
		w := new(way)
		for _, all := range spelled {
			w.add(all, 0)
		}
		return []*way{w}
	}
	for i, key := range texts[first].keys {
		w := &way{log: math.Inf(1)}
		if slices.Index(texts[first].keys, key) == i && w.all(spelled, texts, key) {
			ways = append(ways, w)
		}
	}
	return ways
}

// all takes every text in the way of a key, which is as usual as it is for the text for which it is least so; false
// where one can't be meant so.
func (w *way) all(spelled [][]formats.Spelling, texts []open, key string) bool {
	surely, long := false, 0
	for i, all := range spelled {
		at, longer := 0, false
		if texts[i].signature != "" {
			if at, longer = texts[i].at(key); longer {
				long++
			}
			if at >= 0 {
				w.log = min(w.log, math.Log(all[at].Weight))
			}
		} else {
			surely = surely || slices.Contains(strings.Split(all[0].As, words.And), key)
		}
		if at < 0 || long*fewOthers > len(spelled) {
			return false
		}
		w.add(all, at)
	}
	if surely {
		w.log += math.Log(alike)
	}
	return true
}

func (w *way) add(all []formats.Spelling, at int) {
	w.taken.As, w.taken.Cards = append(w.taken.As, all[at].As), append(w.taken.Cards, all[at].Sightings)
	w.picked = append(w.picked, at)
}
