package reading

import (
	"iter"
	"math"
	"math/bits"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// among is what the other lots of a sample say of a lot's likeliest reading.
type among struct {
	reading     *Reading
	cards       []Seen  // of the reading, of lots that nothing else reads
	texts       float64 // of all other lots
	short, kept float64 // texts of the reading that have lost their zeros, and that have kept them
}

// among gathers what the others say of a lot's reading, by its place among the readings of the lot.
func (l *lot) among(way int, lots []*lot) (a among) {
	a.reading = l.texts[0][way].seen.Reading
	for _, o := range lots {
		if o == l {
			continue
		}
		a.texts += float64(len(o.texts))
		at := slices.IndexFunc(o.texts[0], func(c candidate) bool { return c.seen.Reading == a.reading })
		if at < 0 {
			continue
		}
		if len(o.texts[0]) == 1 && o.strange == nil {
			a.cards = append(a.cards, o.cards(at)...)
		}
		for i, t := range o.texts {
			switch {
			case t[at].short:
				a.short++
			case zerosKept(o.plain[i]):
				a.kept++
			}
		}
	}
	return a
}

// listed returns the log of how probable a lot is by a reading: as more cards of those that others have, or as an order
// of its own.
func (a *among) listed(l *lot, way int) float64 {
	n, cards := float64(len(l.texts)), l.cards(way)
	more := a.reading.inList(slices.Concat(a.cards, cards)) - a.reading.inList(a.cards)
	order := math.Log(anotherOrder) + a.reading.inList(cards) + apart(n, float64(len(a.cards)))
	var w, none written
	for i := range l.texts {
		w.count(l.plain[i], &l.texts[i][way])
	}
	w.short = 0 // for which see below
	log := evidence.LogAdd(more, order) + math.Log(a.reading.weight) + none.more(w, 0, n)
	if l.texts[0][way].short {
		lost := habitual(n, 0, usual*asMended+a.short, usual*(1-asMended)+a.kept)
		if a.kept == 0 {
			lost = evidence.LogAdd(lost, math.Log(allLost))
		}
		log += lost
	}
	return log
}

// neighbours finds texts that are hardly different: by what is left of them without the zeros before their numbers, and
// without any one sign. Two texts of which one is the other with a slip have some of that alike. The value is the lot
// that has it, nil where several do.
type neighbours map[string]*lot

// newNeighbours makes that of all lots.
func newNeighbours(lots []*lot) neighbours {
	n := neighbours{}
	for _, l := range lots {
		for _, text := range l.plain {
			for key := range remains(text) {
				if other, there := n[key]; there && other != l {
					n[key] = nil
				} else {
					n[key] = l
				}
			}
		}
	}
	return n
}

// slips returns the log of how probable texts are that slips have made of others, of other lots than that given.
func (n neighbours) slips(texts []string, own *lot) (log float64) {
	for _, text := range texts {
		one := math.Log(typedWrong) - math.Ln10*float64(len(text))
		for key := range remains(text) {
			if l, there := n[key]; there && (l == nil || l != own) {
				one = typedNear
				break
			}
		}
		log += one
	}
	return log
}

// remains yields a text without the zeros before its numbers, and that without each of its signs.
func remains(text string) iter.Seq[string] {
	return func(yield func(string) bool) {
		plain := make([]byte, 0, len(text))
		for _, c := range stripped([]byte(text)) {
			if c != '0' || len(plain) > 0 && strings.IndexByte(signs, plain[len(plain)-1]) < 0 {
				plain = append(plain, c)
			}
		}
		if !yield(string(plain)) {
			return
		}
		for i := range plain {
			if !yield(string(plain[:i]) + string(plain[i+1:])) {
				return
			}
		}
	}
}

// allBeside weighs strangers beside the readings of all lots. What some lots have, others can have too: so twice.
func allBeside(all []strange, lots []*lot, n neighbours) {
	for range 2 {
		var more []*lot
		for _, l := range lots {
			if l.strange == nil {
				if l.beside(all, lots, n.slips(l.plain, l)); l.strange != nil {
					more = append(more, l)
				}
			}
		}
		for _, l := range more {
			for i := range all {
				all[i].takes(l, l.strange[i])
			}
		}
	}
}

// beside weighs strangers beside the readings of a lot; lots are all, and slips is how probable it is that the lot is
// nothing but slips.
func (l *lot) beside(all []strange, lots []*lot, slips float64) {
	way := 0
	for i := range l.shares {
		if l.shares[i] > l.shares[way] {
			way = i
		}
	}
	a, n := l.among(way, lots), float64(len(l.texts))
	listed := a.listed(l, way) - math.Log(l.shares[way])
	alone := math.Log(nothingElse + (1-nothingElse)*a.texts/(a.texts+n))
	logs, sum := make([]float64, len(all)), evidence.LogAdd(listed, slips)
	for i := range all {
		logs[i] = all[i].weigh(l, float64(len(a.cards))) + alone
		sum = evidence.LogAdd(sum, logs[i])
	}
	share := 0.0
	for i := range logs {
		logs[i] = math.Exp(logs[i] - sum)
		share += logs[i]
	}
	if share < stranger {
		return
	}
	l.strange = logs
	for i := range l.shares {
		l.shares[i] *= 1 - share
	}
}

// inList is together for cards of a list, whose numbers are often issued in order of use. Of numbers that are known to
// be in blocks some lie together in each; others may count up as in a narrow field, however wide theirs is.
func (r *Reading) inList(cards []Seen) float64 {
	log := r.together(cards)
	values := numbersOf(cards)
	most, ok := r.Largest()
	switch {
	case len(values) == 0 || !ok:
	case r.blocks:
		if own, all := r.inBlock(values); all {
			count := 0.0
			for _, b := range r.population.Numbers {
				count += float64(b.Last-b.First) + 1
			}
			return evidence.LogAdd(log, log+float64(len(values))*math.Log(count)+own) - math.Ln2
		}
	default:
		width := bits.Len64(most)
		wide := evidence.NewNumbers(width, math.Ldexp(1, width), anyhow)
		before, sum := wide.Log(values), log
		for _, w := range narrow {
			if w < width && values[len(values)-1]>>w == 0 {
				n := evidence.NewNumbers(w, math.Ldexp(1, w), anyhow)
				sum = evidence.LogAdd(sum, log-before+n.Log(values))
			}
		}
		return sum - math.Log(1+float64(len(narrow)))
	}
	return log
}

// numbersOf returns the different numbers of cards, sorted.
func numbersOf(cards []Seen) (values []uint64) {
	for i := range cards {
		if n, ok := cards[i].Number(); ok {
			values = append(values, n)
		}
	}
	slices.Sort(values)
	return slices.Compact(values)
}

// inBlock returns the log of how probable sorted numbers are among those of the reading's blocks: each block has some,
// that lie anyhow or in boxes. ok is false where one is in none.
func (r *Reading) inBlock(values []uint64) (log float64, ok bool) {
	blocks := r.population.Numbers
	in := 0
	for _, b := range blocks {
		var places []uint64
		for _, n := range values {
			if b.Has(n) {
				places = append(places, n-b.First)
			}
		}
		size := float64(b.Last-b.First) + 1
		numbers := evidence.NewNumbers(bits.Len64(b.Last-b.First), size, anyhow)
		log += numbers.Log(places) + lgamma(1+float64(len(places)))
		in += len(places)
	}
	k := float64(len(blocks))
	return log + lgamma(k) - lgamma(k+float64(len(values))), in == len(values)
}
