package reading

import (
	"cmp"
	"errors"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// lot is the texts of a sample that the same readings read. They are all of one kind in one form, or of another: which
// is one question, since the numbers of a kind go together. Two kinds whose numbers would lie together as well are as
// likely for the whole lot as for one text of it.
type lot struct {
	texts   [][]candidate // each by the same readings, in their order
	plain   []string      // the same as they are written
	shares  []float64     // of each reading
	strange []float64     // of each of the strangers, where it may be those of some of them
}

// lots puts the texts of a sample together that the same readings read, written alike, and works out how probable each
// of these is, and cards that the site file does not have.
func (p *Plan) lots(sample []string) (parts []*lot, s []strange) {
	place := map[string]*lot{}
	var all []*lot
	var unread []string
	ends := slices.DeleteFunc(slices.Clone(p.readings), func(r Reading) bool { return r.second || !r.drops() })
	taken := make([][]candidate, len(sample))
	apart := map[[2]int]bool{}
	for i, text := range sample {
		taken[i] = p.taken(text)
		tell(taken[i], apart)
	}
	for i, text := range sample {
		can := merged(taken[i], apart)
		if len(can) == 0 {
			unread = append(unread, text)
			continue
		}
		plain := len(stripped([]byte(text)))
		key := make([]byte, 0, 2*len(can))
		for i := range can {
			can[i].fit(plain)
			can[i].short = can[i].written > plain
			key = append(key, byte(can[i].seen.Reading.index), byte(cmp.Compare(can[i].written, plain)))
			if can[i].seen.Reading.shape.Hex && digitsOnly(text) {
				key = append(key, 'd')
			}
		}
		for i := range ends { // a number that can be the end of a longer one is another than one that can't
			if _, err := ends[i].Form.Parse(ends[i].Format, text); errors.Is(err, formats.ErrMissing) {
				key = append(key, byte(ends[i].index), 'e')
			}
		}
		l := place[string(key)]
		if l == nil {
			l = &lot{}
			place[string(key)], all = l, append(all, l)
		}
		l.texts, l.plain = append(l.texts, can), append(l.plain, text)
	}
	settle(all)
	for _, l := range all {
		parts = append(parts, l.split()...)
	}
	in := settle(parts)
	if p.catalogue == nil {
		return parts, nil
	}
	s = p.unlisted()
	n := newNeighbours(parts)
	learn(s, unread, float64(len(sample)-len(unread)), n)
	in.cut(s)
	allBeside(s, in, n)
	return parts, s
}

// taken returns the card that each reading makes of a text, of those that do.
func (p *Plan) taken(text string) []candidate {
	can, _, _ := p.read([]byte(text), stripped([]byte(text)), nil)
	return slices.DeleteFunc(can, func(c candidate) bool { return c.refused() })
}

// tell notes which readings are apart, since they make two cards of a text. Of another text they may make the same, as
// with bytes that are turned and are the same from either end: that is no evidence of either.
func tell(can []candidate, apart map[[2]int]bool) {
	for i := range can {
		for k := range can[:i] {
			if !same(&can[i].seen, &can[k].seen) {
				apart[[2]int{can[k].seen.Reading.index, can[i].seen.Reading.index}] = true
			}
		}
	}
}

// withoutColons returns bytes in hex that have signs between them without those; any other text as it is.
func withoutColons(text string) string {
	for i := 2; i < len(text); i += 3 {
		if !strings.ContainsRune(":- ", rune(text[i])) || text[i] != text[2] {
			return text
		}
	}
	if len(text)%3 != 2 || len(text) < 5 {
		return text
	}
	return strings.ReplaceAll(text, text[2:3], "")
}

// settle works out how probable each reading of each lot is. All lots are one question: numbers of one length lie
// together, which says nothing by itself. So the lots are gone through, the largest first, with all that is likely of
// those before.
func settle(lots []*lot) *inLists {
	in := &inLists{lots, map[string]float64{}}
	var open []*lot
	for _, l := range lots {
		if l.shares = []float64{1}; len(l.texts[0]) > 1 {
			l.shares, open = nil, append(open, l)
		}
	}
	slices.SortStableFunc(open, func(a, b *lot) int {
		return cmp.Or(cmp.Compare(len(b.texts), len(a.texts)), cmp.Compare(slices.Min(a.plain), slices.Min(b.plain)))
	})
	all := []whole{{}}
	for i, l := range open {
		all = in.longer(all, open[:i], slices.Index(lots, l))
	}
	logs := make([]float64, len(all))
	for i := range all {
		logs[i] = all[i].log
	}
	parted(logs)
	for k, l := range open {
		l.shares = make([]float64, len(l.texts[0]))
		for i, w := range all {
			for way, share := range w.shares[k] {
				l.shares[way] += logs[i] * share
			}
		}
	}
	return in
}

// longer returns ways to read some lots and one more, those that are not far-fetched.
func (in *inLists) longer(all []whole, some []*lot, place int) (more []whole) {
	for _, w := range all {
		for k, l := range some {
			l.shares = w.shares[k]
		}
		for _, one := range in.ways(place) {
			more = append(more, whole{append(slices.Clip(w.shares), one.shares...), w.log + one.log})
		}
	}
	sort.SliceStable(more, func(i, j int) bool { return more[i].log > more[j].log })
	least := more[0].log - farFetched
	return slices.DeleteFunc(more[:min(len(more), mostWholes)], func(w whole) bool { return w.log < least })
}

// whole is a way to read the largest lots of a list, each as its shares say, and the log of how probable it is.
type whole struct {
	shares [][]float64
	log    float64
}

// ways returns each way to read a lot beside others: all of it in one, or half of it in each of the two likeliest,
// where those are of two kinds.
func (in *inLists) ways(place int) (all []whole) {
	l := in.lots[place]
	logs := in.listed(place, false)
	best, next := -1, -1
	for way, log := range logs {
		shares := make([]float64, len(logs))
		shares[way] = 1
		all = append(all, whole{[][]float64{shares}, log})
		r := l.texts[0][way].seen.Reading
		switch {
		case r.second || r.guessed:
		case best < 0 || log > logs[best]:
			best, next = way, best
		case next < 0 || log > logs[next]:
			next = way
		}
	}
	can := l.texts[0]
	if next < 0 || len(l.texts) < fewShown || can[best].seen.Reading.Format == can[next].seen.Reading.Format {
		return all
	}
	half := make([]float64, len(logs))
	half[best], half[next] = 0.5, 0.5
	return append(all, whole{[][]float64{half}, in.halved(place, min(best, next), max(best, next))})
}

// halved returns the log of how probable it is that any half of a lot is of one kind, and the other half of another:
// every other text stands for all.
func (in *inLists) halved(place, one, other int) (log float64) {
	l := in.lots[place]
	_, known := l.others(in.lots)
	half := [...]part{{place, 0, 2}, {place, 1, 2}}
	for i, way := range [...]int{one, other} {
		a := l.among(l.texts[0][way].seen.Reading, in.lots)
		log += a.looks(l, way, half[i]) + in.more(&a, half[i], known)
		known += l.count(half[i])
	}
	return log - apart(l.count(half[0]), l.count(half[1]))
}

// split makes lots of those texts that would be near one another as cards of one facility: two kinds may be among those
// that the same readings read. The others stay together.
func (l *lot) split() []*lot {
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
	for i, t := range l.texts {
		b := boxOf(t)
		if counts[b] < leastOfBox {
			b = box{math.MaxUint64, 0}
		}
		if place[b] == nil {
			place[b] = &lot{}
			parts = append(parts, place[b])
		}
		place[b].texts, place[b].plain = append(place[b].texts, t), append(place[b].plain, l.plain[i])
	}
	return parts
}

// placeOf returns the place of a reading among those of the lot, -1 where it is none of them.
func (l *lot) placeOf(r *Reading) int {
	return slices.IndexFunc(l.texts[0], func(c candidate) bool { return c.seen.Reading == r })
}

// has reports whether a reading of the lot is of a stranger's format and form.
func (l *lot) has(s *strange) bool {
	return slices.ContainsFunc(l.texts[0], func(c candidate) bool {
		return c.seen.Reading.Format == s.Format && c.seen.Reading.Form.Name == s.Form.Name
	})
}

// part is what of the lot at a place a reading has: each text from one on, or every other.
type part struct{ place, from, step int }

// part returns what of the lot is known to be cards of one of its readings.
func (l *lot) part(place, way int) (p part, ok bool) {
	const half = (1 - alternative) / 2
	switch {
	case l.strange != nil || l.shares == nil || l.shares[way] < half:
		return p, false
	case l.shares[way] >= 1-alternative:
		return part{place, 0, 1}, true
	}
	first := slices.IndexFunc(l.shares, func(share float64) bool { return share >= half })
	return part{place, min(1, way-first), 2}, true
}

// count returns how many texts of the lot a part has.
func (l *lot) count(p part) float64 { return float64((len(l.texts) - p.from + p.step - 1) / p.step) }

// habitual returns the log of how probable it is that so many texts are odd, and so many are not, where a and b others
// were: a column is odd throughout, or hardly ever.
func habitual(odd, even, a, b float64) float64 {
	return lgamma(a+odd) + lgamma(b+even) - lgamma(a+b+odd+even) + lgamma(a+b) - lgamma(a) - lgamma(b)
}

func lgamma(x float64) float64 { v, _ := math.Lgamma(x); return v }

// together returns the log of how probable cards of the reading's kind are together.
func (r *Reading) together(cards []Seen) float64 {
	all, again := once(cards)
	return r.values.LogAll(len(all), r.columns(all)) + again
}

// columns returns the values of cards, field by field.
func (r *Reading) columns(cards []*Seen) []evidence.Column {
	columns := make([]evidence.Column, len(r.Format.Layout.Spec().Fields))
	for f := range columns {
		c := &columns[f]
		for _, s := range cards {
			if v, ok := s.field(f); ok {
				c.Values = append(c.Values, v)
			} else if !s.quick && s.card.Known.Has(f) {
				c.Wide++
			}
		}
	}
	return columns
}

// once returns the different ones of cards, and the log of how probable the others are: one that is there again is one
// of those that were there.
func once(cards []Seen) (all []*Seen, again float64) {
	all = make([]*Seen, 0, len(cards))
	if allDifferent(cards) { // most are
		for i := range cards {
			all = append(all, &cards[i])
		}
		return all, 0
	}
	seen := make(map[Key]bool, len(cards))
	for i := range cards {
		if k := cards[i].Key(); !seen[k] {
			seen[k], all = true, append(all, &cards[i])
		} else {
			again += math.Log(twice / float64(len(all)))
		}
	}
	return all, again
}

// allDifferent reports whether it is seen fast that no card of the same reading is there twice.
func allDifferent(cards []Seen) bool {
	values := make([]uint64, len(cards))
	for i := range cards {
		if s := &cards[i]; !s.quick || s.known != cards[0].known {
			return false
		}
		values[i] = cards[i].v
	}
	slices.Sort(values)
	return len(slices.Compact(values)) == len(cards)
}

// parted returns the shares of logs, which it overwrites.
func parted(logs []float64) []float64 {
	sum := logp.Sum(logs)
	for i := range logs {
		logs[i] = math.Exp(logs[i] - sum)
	}
	return logs
}
