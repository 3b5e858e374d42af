package reading

import (
	"cmp"
	"fmt"
	"iter"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/atonce"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// among is what the other lots of a sample say of a reading.
type among struct {
	reading     *Reading
	lots        []part  // what of them is known to be the reading's
	cards       float64 // so many are in those
	otherwise   bool    // cards of its format are known to be in a form of the other rank, printed or a door's
	short, kept float64 // texts of the reading that have lost their zeros, and that have kept them
	// texts of any reading whose form has no zeros before a number that have some, and all that would have some, too
	padded, bare float64
}

// among gathers what the others say of a reading of the lot.
func (l *lot) among(r *Reading, lots []*lot) among {
	a := among{reading: r}
	second := r.lostPart(l.plain[0]) == 1
	for k, o := range lots {
		at := o.placeOf(r)
		if o == l {
			continue
		}
		for way, c := range o.texts[0] {
			p, ok := o.part(k, way)
			if !ok {
				continue
			}
			other := c.seen.Reading
			a.otherwise = a.otherwise || other.Format == r.Format && other.second != r.second
			if other.shape.bare() {
				a.fills(o, p, len(l.plain[0]))
			}
			if way == at {
				a.lots, a.cards = append(a.lots, p), a.cards+o.count(p)
			}
		}
		if at < 0 {
			continue
		}
		for i, t := range o.texts {
			switch lost, kept := r.zeros(o.plain[i], second); {
			case lost && t[at].short:
				a.short++
			case kept:
				a.kept++
			}
		}
	}
	return a
}

// fills counts how many texts have zeros before their numbers, and of how many: one of that width needs none.
func (a *among) fills(o *lot, p part, width int) {
	for i := p.from; i < len(o.plain); i += p.step {
		text := o.plain[i]
		if text[0] == '0' {
			a.padded++
		}
		if text[0] == '0' || len(text) < width {
			a.bare++
		}
	}
}

// zeros reports whether a text has lost, or kept, the zeros before its number, or before the second of two.
func (r *Reading) zeros(text string, second bool) (lost, kept bool) {
	if !second {
		return true, text[0] == '0'
	}
	number := secondOf(text)
	return len(number) < r.shape.Second, number != "" && number[0] == '0'
}

// others returns how many texts there are in other lots, and in those of which it is known how they are read.
func (l *lot) others(lots []*lot) (all, known float64) {
	for _, o := range lots {
		if o == l {
			continue
		}
		all += float64(len(o.texts))
		for way := range o.texts[0] {
			if p, ok := o.part(0, way); ok {
				known += o.count(p)
			}
		}
	}
	return all, known
}

// inLists is what the cards of some lots come to together, by a reading and those lots: most lots are asked about
// beside nearly all others.
type inLists struct {
	lots []*lot
	logs map[string]float64
}

// of returns the log of how probable the cards of parts of the lots are together, as a reading has them.
func (in *inLists) of(r *Reading, parts ...part) float64 {
	key := strconv.AppendInt(nil, int64(r.index), 10)
	for _, p := range parts {
		key = fmt.Append(key, p)
	}
	if log, ok := in.logs[string(key)]; ok {
		return log
	}
	var cards []Seen
	for _, p := range parts {
		l := in.lots[p.place]
		way := l.placeOf(r)
		for i := p.from; i < len(l.texts); i += p.step {
			cards = append(cards, l.texts[i][way].seen)
		}
	}
	log := r.inList(cards)
	in.logs[string(key)] = log
	return log
}

// listed returns the log of how probable a lot is by each of its readings, beside the others: as an order of its own,
// or as more of the cards that the reading has there.
func (in *inLists) listed(place int, own bool) (logs []float64) {
	l := in.lots[place]
	_, known := l.others(in.lots)
	whole := part{place, 0, 1}
	for way, c := range l.texts[0] {
		a := l.among(c.seen.Reading, in.lots)
		log := a.looks(l, way, whole)
		if own {
			log += math.Log(anotherOrder) + a.usual() + apart(l.count(whole), known) + in.of(a.reading, whole)
		} else {
			log += in.more(&a, whole, known)
		}
		logs = append(logs, log)
	}
	return logs
}

// more returns the log of how probable it is that a part of a lot is more of the cards that a reading has in others,
// where it is known of so many of these which cards they are.
func (in *inLists) more(a *among, p part, known float64) float64 {
	n := in.lots[p.place].count(p)
	at, _ := slices.BinarySearchFunc(a.lots, p, func(a, b part) int { return cmp.Compare(a.place, b.place) })
	with := slices.Insert(slices.Clone(a.lots), at, p)
	return a.usual() + apart(n, known) - apart(n, a.cards) + in.of(a.reading, with...) - in.of(a.reading, a.lots...)
}

// usual returns the log of how usual it is that a list has cards in the reading's form.
func (a *among) usual() float64 {
	log := math.Log(min(1, a.reading.weight+a.cards))
	if a.cards == 0 && a.otherwise {
		log += math.Log(mixed)
	}
	return log
}

// looks returns the log of how probable it is that so many texts of a part of a lot are not as the reading writes them.
func (a *among) looks(l *lot, way int, p part) float64 {
	n := l.count(p)
	var w written
	for i := p.from; i < len(l.texts); i += p.step {
		w.count(l.plain[i], &l.texts[i][way])
	}
	log := oddly(asMended, w.long, n, 0, 0)
	if a.reading.shape.bare() {
		padded := oddly(asPadded, w.padded, n, a.padded, a.bare)
		if w.padded == n && a.padded == a.bare {
			padded = logp.Add(padded, math.Log(allPadded))
		}
		log += padded
	}
	if l.texts[0][way].short {
		lost := habitual(n, 0, usual*asMended+a.short, usual*(1-asMended)+a.kept)
		if a.kept == 0 {
			lost = logp.Add(lost, math.Log(allLost))
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
				n.put(key, l)
			}
			for key := range remains(stem(text)) {
				n.put(stems+key, l)
			}
		}
	}
	return n
}

func (n neighbours) put(key string, l *lot) {
	if other, there := n[key]; there && other != l {
		l = nil
	}
	n[key] = l
}

// stems is what the keys of texts without their last digits begin with.
const stems = "~"

// stem returns a text without the last digits of its number: those differ where numbers count up.
func stem(text string) string {
	text = string(stripped([]byte(text)))
	return text[:max(0, len(text)-stemDigits)]
}

// slips returns the log of how probable texts are, of so many rows, that slips have made of others, of other lots than
// that given; where none is, of numbers that are none of the list, and lie among its.
func (n neighbours) slips(texts []string, rows float64, own *lot) (log float64) {
	log = oddly(typedWrong, float64(len(texts)), rows, 0, 0)
	for _, text := range texts {
		one := -math.Ln10 * float64(len(text))
		if own == nil && n.among(text) {
			one = justThis - math.Ln10*stemDigits
		}
		for key := range remains(text) {
			if l, there := n[key]; there && (l == nil || l != own) {
				one = justThis
				break
			}
		}
		log += one
	}
	return log
}

// among reports whether a text is a slip away from numbers that lie where others do.
func (n neighbours) among(text string) bool {
	if len(text) <= 2*stemDigits {
		return false
	}
	for key := range remains(stem(text)) {
		if _, there := n[stems+key]; there {
			return true
		}
	}
	return false
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
func allBeside(all []strange, in *inLists, n neighbours) {
	for range 2 {
		var more []*lot
		for k, l := range in.lots {
			if l.strange == nil {
				others, _ := l.others(in.lots)
				slips := n.slips(l.plain, others+float64(len(l.texts)), l)
				if in.beside(all, k, slips); l.strange != nil {
					more = append(more, l)
				}
			}
		}
		if len(more) == 0 {
			return
		}
		for _, l := range more {
			for i := range all {
				all[i].takes(l, l.strange[i])
			}
		}
	}
}

// beside weighs strangers beside the readings of the lot at a place; slips is how probable it is that the lot is
// nothing but slips.
func (in *inLists) beside(all []strange, place int, slips float64) {
	l := in.lots[place]
	n := float64(len(l.texts))
	others, known := l.others(in.lots)
	beside := fewStrangers * math.Pow(others/(others+n), fewStrangers-1)
	alone := math.Log(nothingElse + (1-nothingElse)*beside)
	logs := make([]float64, len(all)+2)
	atonce.Do(len(all)+1, func(i int) {
		if i == 0 {
			logs[len(all)] = logp.Sum(in.listed(place, true))
			return
		}
		if logs[i-1] = all[i-1].weigh(l, known); all[i-1].end == "" { // else it is of the site
			logs[i-1] += alone
		}
	})
	for i := range all {
		if s := &all[i]; s.near && l.has(s) {
			logs[len(all)], logs[i] = logp.Add(logs[len(all)], logs[i]), math.Inf(-1)
		}
	}
	logs[len(all)+1] = slips
	if stranger > strangers(logs, len(all)) {
		return // however probable they are as more of the others' cards, which takes longer to say
	}
	logs[len(all)] = logp.Add(logs[len(all)], logp.Sum(in.listed(place, false)))
	share := strangers(logs, len(all))
	if share < stranger {
		return
	}
	l.strange = parted(logs)[:len(all)]
	for i := range l.shares {
		l.shares[i] *= max(0, 1-share)
	}
}

// strangers returns the share of the first n of logs.
func strangers(logs []float64, n int) float64 { return math.Exp(logp.Sum(logs[:n]) - logp.Sum(logs)) }

// inList returns the log of how probable the cards of a list are together, whose numbers are often issued in order of
// use. Of numbers that are known to be in blocks some lie together in each, and a few in none; others may count up as
// in a narrow field, however wide theirs is.
func (r *Reading) inList(cards []Seen) float64 {
	all, again := once(cards)
	columns := r.columns(all)
	log := r.values.LogAll(len(all), columns) + again
	values := numbersOf(cards)
	most, ok := r.Largest()
	switch {
	case len(values) == 0 || !ok:
	case r.blocks:
		var in, out []Seen
		for i := range cards {
			if r.inBlocks(&cards[i]) {
				in = append(in, cards[i])
			} else {
				out = append(out, cards[i])
			}
		}
		if len(in) == 0 {
			return log
		}
		inside := r.inBlock(in)
		if len(out) > 0 {
			inside += r.inList(out) + oddly(asMended, float64(len(out)), float64(len(cards)), 0, 0)
		}
		return logp.Add(log, inside) - math.Ln2
	default:
		width := bits.Len64(most)
		wide := density.NewNumbers(width, math.Ldexp(1, width), anyhow)
		before, sum := wide.Log(values), log
		for _, w := range narrow {
			if w < width && values[len(values)-1]>>w == 0 {
				n := density.NewNumbers(w, math.Ldexp(1, w), anyhow)
				sum = logp.Add(sum, log-before+n.Log(values))
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

// inBlock returns the log of how probable cards are whose numbers are those of the reading's blocks: each block has
// some, that lie anyhow or in boxes.
func (r *Reading) inBlock(cards []Seen) (log float64) {
	all, again := once(cards)
	columns, values := r.columns(all), numbersOf(cards)
	columns[r.Format.Number()] = evidence.Column{}
	log = r.values.LogAll(len(all), columns) + again
	blocks := r.population.Numbers
	for _, b := range blocks {
		var places []uint64
		for _, n := range values {
			if b.Has(n) {
				places = append(places, n-b.First)
			}
		}
		size := float64(b.Last-b.First) + 1
		numbers := density.NewNumbers(bits.Len64(b.Last-b.First), size, anyhow)
		log += numbers.Log(places) + lgamma(1+float64(len(places)))
	}
	k := float64(len(blocks))
	return log + lgamma(k) - lgamma(k+float64(len(values)))
}
