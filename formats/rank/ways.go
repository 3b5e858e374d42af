package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
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
}

// asking is one question of what texts are.
type asking struct {
	*Ranker
	memory *evidence.Memory
}

// evidence returns for each way the log of the joint probability of its first n cards, over all readings and none, of
// one kind or of one for each length.
func (r *asking) evidence(ways []*way, n int) ([]float64, error) {
	logs, errs := make([]float64, len(ways)), make([]error, len(ways))
	atonce.Do(len(ways), func(i int) {
		cards := ways[i].taken.Cards
		logs[i], errs[i] = r.model.Evidence(cards[:min(n, len(cards))], r.memory)
	})
	return logs, cmp.Or(errs...)
}

// alike is how much likelier a text is meant as another one beside it surely is, than it would be alone; apart is the
// chance that texts of which all can be meant in one way are meant in several: judgements.
const alike, apart = 100, 0.05

// sampled is how many cards show which ways of meaning texts are out of the question, and remote the probability below
// which one is.
const sampled, remote = 8, 1e-9

// open is a text that can be meant in several ways: each by the parts of it that are not the same in all of them.
type open struct {
	keys      []string
	parts     [][]string // of each key
	signature string     // of texts that are written alike: the most usual of them
	sightings int        // how many there are of the card
}

// opened returns what is open in a text: nothing where it can be meant in one way only.
func opened(all []formats.Spelling) (o open) {
	if len(all) < 2 {
		return o
	}
	parts := make([][]string, len(all))
	same := true // they have as many parts
	for i, s := range all {
		parts[i] = strings.Split(s.As, words.And)
		same = same && len(parts[i]) == len(parts[0])
	}
	for i := range all {
		differ := parts[i]
		if same {
			differ = nil
			for k, part := range parts[i] {
				if slices.ContainsFunc(parts, func(p []string) bool { return p[k] != part }) {
					differ = append(differ, part)
				}
			}
		}
		o.keys, o.parts = append(o.keys, strings.Join(differ, words.And)), append(o.parts, differ)
	}
	usual := 0 // how many are as usual as the first
	for usual < len(all) && all[usual].Weight == all[0].Weight {
		usual++
	}
	alike := make([]string, usual)
	for i, parts := range o.parts[:usual] { // in one order, in whichever the card's were written
		parts = slices.Clone(parts)
		for k := range parts {
			parts[k] = withoutLength(parts[k], all[i].Sightings)
		}
		slices.Sort(parts)
		alike[i] = strings.Join(parts, words.And)
	}
	slices.Sort(alike)
	o.signature, o.sightings = strings.Join(slices.Compact(alike), "\n"), len(all[0].Sightings)
	return o
}

// withoutLength takes the length off what a read is taken for that is written without one, and says of how many digits it
// is: those are how it is written.
func withoutLength(as string, card formats.Sightings) string {
	rest, ok := strings.CutPrefix(as, aRead)
	_, how, loose := strings.Cut(rest, " bits ")
	at := slices.IndexFunc(card, isRead)
	if !ok || !loose || at < 0 {
		return as
	}
	_, digits, _ := strings.Cut(card[at].Text, ":")
	return fmt.Sprint(aRead, len(digits), " digits ", how)
}

// aRead is how it begins what a read is taken for.
const aRead = "a read of "

// at returns the place of a key among those of the text, or of the one with the most of its parts, as where only one of
// two texts has a print beside its read: what stands first in the key counts more than what stands beside it. longer is
// that of a read which is a bit longer than that of the key, as where it has a bit too many. -1 where there is none.
func (o *open) at(key string) (at int, longer bool) {
	if at = o.nearest(key); at < 0 {
		if long := longerReads(key); long != key {
			at, longer = o.nearest(long), true
		}
	}
	return at, longer
}

func (o *open) nearest(key string) int {
	if at := slices.Index(o.keys, key); at >= 0 {
		return at
	}
	best, most := -1, 0
	parts := strings.Split(key, words.And)
	for i, own := range o.parts {
		if n := common(parts, own); n > most {
			best, most = i, n
		}
	}
	return best
}

// common tells how much of a key is in another one that has nothing else: 0 where it has.
func common(key, own []string) (n int) {
	if len(own) > len(key) {
		return 0
	}
	for i, part := range key {
		if k := slices.Index(own, part); k >= 0 {
			n, own = n+2, slices.Delete(slices.Clone(own), k, k+1)
			if i == 0 {
				n++
			}
		}
	}
	if len(own) > 0 {
		return 0
	}
	return n
}

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
	groups := groupsOf(texts)
	if len(groups) > 1 {
		w, err := r.groupWay(spelled, texts, groups)
		if err != nil {
			return nil, nil, err
		}
		if ways != nil {
			w.log += math.Log(apart)
		}
		ways = append(ways, w)
	}
	return r.likely(ways), bare, nil
}

// barest returns the few ways that are likeliest by the reads of the first cards, as if prints had nothing to do with
// them: none where not all have a read in any, or none a print. The error is that of Rank.
func (r *asking) barest(ways []*way) (all []*way, err error) {
	if len(ways) < 2 {
		return nil, nil
	}
	of := map[*way]*way{}
	for _, w := range ways {
		reads, prints := readsAlone(w.taken.Cards[:min(sampled, len(w.taken.Cards))])
		if reads == nil || prints == nil {
			continue
		}
		log := typing.NothingLog(prints)
		one := &way{taken: Taken{Cards: reads}, log: w.log, rests: log, few: log}
		of[one], all = w, append(all, one)
	}
	all = r.likely(all)
	logs, err := r.evidence(all, sampled)
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

// withHex gives digits beside a read, which are a print by themselves, all that they can be where the print of another
// card has letters: some numbers in hex have none.
func withHex(spelled [][]formats.Spelling) [][]formats.Spelling {
	if !slices.ContainsFunc(spelled, func(all []formats.Spelling) bool {
		return slices.ContainsFunc(all, lettersBeside) && !slices.ContainsFunc(all, digitsBeside)
	}) {
		return spelled
	}
	out := slices.Clone(spelled)
	for i, all := range spelled {
		out[i] = slices.Clip(all)
		for _, s := range all {
			if digitsBeside(s) {
				out[i] = append(out[i], inHex(s)...)
			}
		}
	}
	return out
}

// inHex returns all else that the digits beside a read can be.
func inHex(s formats.Spelling) (all []formats.Spelling) {
	digits := s.Sightings[1].Text
	ways, err := formats.Spellings(digits)
	if err == nil && !slices.ContainsFunc(ways, isHex) { // too few digits for hex by themselves
		ways, err = formats.Spellings("hex:" + digits)
	}
	if err != nil {
		return nil
	}
	read, _, _ := strings.Cut(s.As, words.And)
	for _, w := range ways {
		if one := w.Sightings; len(one) == 1 && one[0].Kind != formats.Read && one[0].Text != digits {
			all = append(all, formats.Spelling{As: read + words.And + w.As,
				Sightings: formats.Sightings{s.Sightings[0], one[0]}, Weight: s.Weight * w.Weight})
		}
	}
	return all
}

func isRead(s formats.Sighting) bool { return s.Kind == formats.Read }

func isHex(s formats.Spelling) bool { return s.Sightings[0].Kind == formats.Hex }

// lettersBeside and digitsBeside report whether a card is a read and a print beside it, in hex or in digits alone.
func lettersBeside(s formats.Spelling) bool {
	return len(s.Sightings) == 2 && s.Sightings[0].Kind == formats.Read && s.Sightings[1].Kind == formats.Hex
}

func digitsBeside(s formats.Spelling) bool {
	return len(s.Sightings) == 2 && s.Sightings[0].Kind == formats.Read && s.Sightings[1].Kind == formats.Printed &&
		!strings.HasSuffix(s.As, "in hex")
}

// groupsOf returns the signatures of texts that are written alike: first that of the texts that say most of their card,
// of those that of most texts.
func groupsOf(texts []open) (signatures []string) {
	count, most := map[string]int{}, map[string]int{}
	for i := range texts {
		if sign := texts[i].signature; sign != "" {
			if count[sign]++; count[sign] == 1 {
				signatures = append(signatures, sign)
			}
			most[sign] = max(most[sign], texts[i].sightings)
		}
	}
	slices.SortStableFunc(signatures, func(a, b string) int {
		return cmp.Or(most[b]-most[a], count[b]-count[a], strings.Compare(a, b))
	})
	return signatures
}

// groupWay returns the likeliest way in which each group is meant in one, the next beside those before it.
func (r *asking) groupWay(spelled [][]formats.Spelling, texts []open, signatures []string) (*way, error) {
	spelled, texts = slices.Clone(spelled), slices.Clone(texts)
	log := 0.0
	for _, sign := range signatures {
		var some [][]formats.Spelling
		var what []open
		first, known := -1, 0 // the first of the group, in some
		for i := range spelled {
			switch texts[i].signature {
			case sign:
				if first < 0 {
					first = len(some)
				}
			case "":
				if known++; known > sampled {
					continue
				}
			default:
				continue
			}
			some, what = append(some, spelled[i]), append(what, texts[i])
		}
		one, err := r.likeliest(sharedWays(some, what))
		if err != nil {
			return nil, err
		}
		at := slices.IndexFunc(some[first], func(s formats.Spelling) bool { return s.As == one.taken.As[first] })
		log += math.Log(some[first][at].Weight)
		key := what[first].keys[at]
		for i := range spelled {
			if texts[i].signature == sign {
				at, _ := texts[i].at(key)
				spelled[i], texts[i] = spelled[i][at:at+1:at+1], open{}
			}
		}
	}
	w := sharedWays(spelled, texts)[0]
	w.log = log
	return w, nil
}

// likeliest returns the likeliest of ways, of which there is one at least.
func (r *asking) likeliest(ways []*way) (best *way, err error) {
	ways, top := r.likely(ways), never
	logs, err := r.evidence(ways, len(ways[0].taken.Cards))
	for i, w := range ways {
		if log := logs[i] + w.log + w.rests; best == nil || log > top {
			best, top = w, log
		}
	}
	return best, err
}

// likely returns the ways that the first cards leave possible, first two and then a few: weighing many cards in each
// takes long.
func (r *asking) likely(ways []*way) []*way {
	for _, n := range [...]int{2, sampled} {
		if len(ways) < 2 || len(ways[0].taken.Cards) <= n {
			return ways
		}
		logs, err := r.evidence(ways, n)
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
			w.add(&all[0])
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
		w.add(&all[at])
	}
	if surely {
		w.log += math.Log(alike)
	}
	return true
}

// longerReads is a key whose read is one bit longer, as that of a text is which has a bit too many; the key itself where
// it has none, or of a length that is written down.
func longerReads(key string) string {
	head, rest, ok := strings.Cut(key, aRead)
	length, how, _ := strings.Cut(rest, " bits ")
	n, err := strconv.Atoi(length)
	if !ok || err != nil {
		return key
	}
	return head + aRead + strconv.Itoa(n+1) + " bits " + how
}

func (w *way) add(s *formats.Spelling) {
	w.taken.As, w.taken.Cards = append(w.taken.As, s.As), append(w.taken.Cards, s.Sightings)
}
