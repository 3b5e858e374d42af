package learn

import (
	"math"
	"math/bits"
	"slices"
	"sort"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/misread"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// entry is one layout with its checks, or one format of the catalogue, and its weight.
type entry struct {
	undocumented.Explained
	format *formats.Format // of the catalogue; nil for a layout of its own
	wiring evidence.Fault  // of a format
	kind   evidence.Reading
	before int // bits that every read has before a format's, or after it
	after  int
	form   string // in which a format's numbers are printed, "" where that is not known
	left   []int  // reads left out as misreads, by place in the sample
	wrong  []int  // reads whose print does not follow from them

	whole bool // what is printed is all data bits of a format that has more than one field
	// the bits of a read that change with each bit of the printed number, from the lowest on; none without prints
	toggles [][4]uint64
	zero    [4]uint64 // the read of number 0, for them
}

// posterior is what one sample says.
type posterior struct {
	model   *evidence.Model
	s       *undocumented.Sample
	reads   []Read               // of the sample, in its order
	given   [][]given            // what is printed beside each of them
	at      map[wiegand.Bits]int // its place in the sample
	words   [][4]uint64
	varying [4]uint64
	total   float64 // log of everything
	joint   float64 // log of the probability of the cards as one kind
	unknown float64 // probability of all that is in no table
	apart   float64 // probability that prints have nothing to do with the reads
	// probability that prints are the whole reads, which says nothing of what is in them
	whole   float64
	wholes  map[*undocumented.Sample]float64 // of each sample, that of its prints if they follow from no number
	entries []entry                          // likeliest first
	best    int                              // the answer among them
	prob    float64                          // its probability: that of all that agree with it
	agree   []bool                           // entries that do
}

// Bounds of what is looked at: what is dropped is less likely than the best by so much, as a log, that it can't change
// a stated probability in the fourth place.
const (
	dropped    = 12.0
	mostParts  = 300
	mostLooked = 3000
	answers    = 60 // entries tried as the answer, or as another one
)

// part is a part of what the undocumented layouts come to.
type part struct {
	undocumented.Layout
	s    *undocumented.Sample
	left []int // reads of the sample that it takes for misreads
}

// infer weighs everything against the reads of one kind and length.
func infer(model *evidence.Model, s *sample, places []int) (*posterior, error) {
	p := &posterior{model: model, wholes: map[*undocumented.Sample]float64{}}
	cards := make([]formats.Sightings, len(places))
	for k, i := range places {
		cards[k] = s.sightings[i]
	}
	var parts []part
	top := math.Inf(-1)
	keep := func(s *undocumented.Sample, l undocumented.Layout, left []int) {
		far := dropped
		if l.Hyp.Print == PrintNone { // of which thousands add up
			far *= 2
		}
		if l.Log <= top-far {
			return
		}
		l.Log = l.Whole()
		if top = max(top, l.Log); l.Log > top-far {
			parts = append(parts, part{l, s, left})
		}
	}
	err := model.Explain(cards, nil, keep, func(w *evidence.Work) {
		p.total, p.joint = w.Total(), w.Joint()
		p.unknown = math.Exp(w.Unknown - p.total)
		at := make(map[wiegand.Bits]int, len(places)) // as they are weighed, without clocking zeros
		for k, place := range w.Input() {
			at[w.Read(place)] = places[k]
		}
		p.s = slices.MaxFunc(w.Samples(), func(a, b *undocumented.Sample) int { return len(a.Reads) - len(b.Reads) })
		n := len(p.s.Reads)
		p.at = make(map[wiegand.Bits]int, n)
		p.reads, p.given, p.words = make([]Read, 0, n), make([][]given, 0, n), make([][4]uint64, 0, n)
		for i, b := range p.s.Reads {
			p.at[b] = i
			p.reads = append(p.reads, s.reads[at[b]])
			p.given = append(p.given, s.prints[at[b]])
			p.words = append(p.words, b.Words())
		}
		p.varying = p.s.Varying()
		for i := range w.Results {
			p.addFormat(&w.Results[i], w)
		}
	})
	if err != nil {
		return nil, err
	}
	p.addParts(parts)
	for i := range p.entries {
		p.toggle(&p.entries[i])
	}
	p.choose()
	return p, nil
}

// addParts adds the likeliest undocumented layouts of the reads' length, each with every choice of checks.
func (p *posterior) addParts(parts []part) {
	prints := p.prints()
	parts = slices.DeleteFunc(parts, func(l part) bool {
		if l.s.Length != p.s.Length {
			return true
		}
		if prints > 0 && l.Hyp.Print == PrintNone {
			p.unrelated(math.Exp(l.Log-p.total), l.s)
		}
		return l.Log < p.total-dropped
	})
	sort.SliceStable(parts, func(i, j int) bool { return parts[i].Log > parts[j].Log })
	explainers := map[*undocumented.Sample]*undocumented.Explainer{}
	for i := range parts[:min(len(parts), mostParts)] {
		l := &parts[i]
		if len(p.entries) > mostLooked {
			break
		}
		care := p.varying
		for b := l.Hyp.Place.From; b < l.Hyp.Place.To; b++ {
			care[b>>6] |= 1 << (63 - uint(b)&63)
		}
		x := explainers[l.s]
		if x == nil {
			x = undocumented.NewExplainer(l.s, p.model.Frames(p.s.Length))
			explainers[l.s] = x
		}
		x.Explain(l.Layout, care, p.total-dropped, func(e undocumented.Explained) {
			one := entry{Explained: e, left: l.left}
			for _, r := range l.Hyp.Wrong {
				one.wrong = append(one.wrong, l.s.Origin[r])
			}
			p.entries = append(p.entries, one)
		})
	}
}

// prints returns how many reads have a printed number.
func (p *posterior) prints() int {
	n := 0
	for _, more := range p.s.Prints {
		n += min(1, len(more))
	}
	return n
}

// unrelated notes the probability of a part whose number is in no print.
func (p *posterior) unrelated(prob float64, s *undocumented.Sample) {
	whole, ok := p.wholes[s]
	if !ok {
		whole = s.WholeReads()
		p.wholes[s] = whole
	}
	p.whole += prob * whole
	p.apart += prob * (1 - whole)
}

// addFormat adds what was weighed of a format of the catalogue.
func (p *posterior) addFormat(r *evidence.Result, w *evidence.Work) {
	if r.Log < p.total-dropped {
		return
	}
	e := entry{format: r.Format, wiring: r.Wiring, kind: evidence.NewReading(r.Format, r.Wiring, r.How)}
	if r.Format.Layout.Len() != p.s.Length {
		if e.before, e.after = extra(r, p.s.Length); e.before+e.after == 0 {
			return
		}
	}
	e.Log = r.Log
	e.form = p.form(r, w)
	if e.form == "" && p.prints() > 0 {
		p.unrelated(math.Exp(r.Log-p.total), p.s)
	}
	for place := range r.Cards {
		i, ok := p.at[w.Read(place)]
		switch {
		case !ok: // of another length
		case e.before+e.after == 0 && r.Repair[place].Fault != r.Wiring:
			e.left = append(e.left, i)
		case e.form != "" && len(p.s.Prints[i]) > 0 && !followsAny(r.How, &r.Cards[place], p.s.Reads[i], p.s.Prints[i]):
			e.wrong = append(e.wrong, i)
		}
	}
	p.entries = append(p.entries, e)
}

// form returns the form of most of what is printed, "" where nothing printed has to do with the reads.
func (p *posterior) form(r *evidence.Result, w *evidence.Work) (form string) {
	most := 0
	for _, how := range r.How {
		if how == "" || how == evidence.WholeRead {
			continue
		}
		n := 1
		for place := range r.Cards {
			if i, ok := p.at[w.Read(place)]; ok && followsAny([]string{how}, &r.Cards[place], p.s.Reads[i], p.s.Prints[i]) {
				n++
			}
		}
		if n > most {
			form, most = how, n
		}
	}
	return form
}

// followsAny reports whether any of what is seen of a card follows from it in one of some ways.
func followsAny(ways []string, c *formats.Card, read wiegand.Bits, seen []typing.Seen) bool {
	return slices.ContainsFunc(ways, func(how string) bool {
		return how != "" && slices.ContainsFunc(seen, func(s typing.Seen) bool { return evidence.Follows(how, c, read, &s) })
	})
}

// extra returns whether every read has one bit more than the format, before it or after it.
func extra(r *evidence.Result, n int) (before, after int) {
	if n != r.Format.Layout.Len()+1 {
		return 0, 0
	}
	for _, one := range r.Repair {
		switch {
		case one.Fault == evidence.ExtraBit && one.Bit == 1 && after == 0:
			before = 1
		case one.Fault == evidence.ExtraBit && one.Bit == n && before == 0:
			after = 1
		default:
			return 0, 0
		}
	}
	return before, after
}

// inner returns the bits of a read that are the format's, with the wiring undone.
func (e *entry) inner(b wiegand.Bits) wiegand.Bits {
	return e.wiring.Undo(b.Slice(e.before, b.Len()-e.after))
}

// outer is the inverse of inner, with the bits around it as 0.
func (e *entry) outer(b wiegand.Bits) [4]uint64 {
	w := e.wiring.Undo(b).Words()
	for range e.before {
		w = [4]uint64{w[0] >> 1, w[1]>>1 | w[0]<<63, w[2]>>1 | w[1]<<63, w[3]>>1 | w[2]<<63}
	}
	return w
}

// toggle works out what each bit of the printed number does to a read.
func (p *posterior) toggle(e *entry) {
	if e.format != nil {
		p.toggleFormat(e)
		return
	}
	h := &e.Hyp
	if h.Print == undocumented.PrintNone || h.Print == undocumented.PrintWhole || h.Print == undocumented.PrintLast ||
		h.Place.Coding != wiegand.Binary {
		return
	}
	base := p.first(e)
	v, _ := h.Place.Number(&base)
	for _, b := range h.Place.Bits() {
		var m [4]uint64
		flip(&m, b)
		for _, c := range e.Checks {
			if parity(&m, &c.Mask) == 1 {
				flip(&m, c.Bit)
			}
		}
		e.toggles = append(e.toggles, m)
	}
	e.zero = base
	for j := range e.toggles {
		if v>>uint(j)&1 == 1 {
			xor(&e.zero, &e.toggles[j])
		}
	}
	if h.Offset != 0 { // bits of the printed number are no bits of the read then
		e.zero[3] ^= uint64(h.Offset)
	}
}

// first returns the first read that an entry explains.
func (p *posterior) first(e *entry) [4]uint64 {
	for i := range p.words {
		if !slices.Contains(e.left, i) {
			return p.words[i]
		}
	}
	return p.words[0]
}

// toggleFormat is toggle for a format of the catalogue, whose printed numbers are its number, or all data bits.
func (p *posterior) toggleFormat(e *entry) {
	f := e.format
	number := f.Number()
	if e.form == "" || e.form == evidence.FacilityAlone || number < 0 ||
		f.Layout.Spec().Fields[number].Coding != wiegand.Binary {
		return
	}
	rec, err := f.Layout.Decode(e.inner(wiegand.BitsFromWords(p.first(e), p.s.Length)))
	if err != nil {
		return
	}
	whole := evidence.IsLonger(e.form) || slices.Contains([]string{"decimal", "decimal10", "hex", "words"}, e.form)
	var fields []int
	for i := len(f.Layout.Spec().Fields) - 1; i >= 0; i-- {
		if i == number || whole {
			fields = append(fields, i)
		}
	}
	e.whole = len(fields) > 1
	blank := rec
	for _, i := range fields {
		width := rec.Value(i).Len()
		for j := range min(64, width) {
			if e.printsLow() && j >= 24 {
				break
			}
			zero, err0 := rec.WithUint64(i, 0)
			one, err1 := rec.WithUint64(i, 1<<uint(j))
			if err0 != nil || err1 != nil {
				return
			}
			x := misread.Differ(zero.Encode(), one.Encode())
			if e.wiring == evidence.SwappedLines || e.wiring == evidence.SwappedReversed {
				x = x.Invert() // outer inverts it again
			}
			e.toggles = append(e.toggles, e.outer(x))
		}
		if v, ok := rec.Uint64(i); ok && v > 0 {
			if blank, err = blank.WithUint64(i, 0); err != nil {
				return
			}
		}
	}
	e.zero = e.outer(blank.Encode())
	if more, ok := evidence.Added(e.form); ok { // bits of the printed number are no bits of the read then
		e.zero[3] ^= uint64(more)
	}
	if e.printsLow() {
		v, _ := rec.Uint64(number)
		high, err := rec.WithUint64(number, v&^(1<<24-1))
		if err == nil {
			e.zero = e.outer(high.Encode())
		}
	}
}

// holds reports whether an answer gives the right read for every number of an entry's field.
func (a *entry) holds(e *entry) bool {
	if a.format != nil && a.format == e.format && a.wiring == e.wiring && a.before == e.before && a.after == e.after &&
		(a.form == e.form || a.toggles == nil) {
		return true
	}
	if a.format != nil && e.format != nil || a.whole != e.whole {
		return false
	}
	if len(a.toggles) > 0 && len(e.toggles) > 0 {
		if len(e.toggles) > len(a.toggles) || len(e.toggles) < len(a.toggles) && e.printsLow() || a.zero != e.zero {
			return false
		}
		return slices.Equal(e.toggles, a.toggles[:len(e.toggles)])
	}
	if a.format != nil || e.format != nil || len(a.toggles) != len(e.toggles) {
		return false
	}
	// Without prints: the same end and order of the number, and the same checks of what varies.
	return a.Hyp.None == e.Hyp.None && a.Hyp.Place.Low() == e.Hyp.Place.Low() && a.Hyp.Place.Turn == e.Hyp.Place.Turn &&
		a.Hyp.Place.Coding == e.Hyp.Place.Coding && a.Hyp.Place.Inverse == e.Hyp.Place.Inverse &&
		a.Hyp.Print == e.Hyp.Print &&
		slices.EqualFunc(a.Checks, e.Checks, func(x, y undocumented.Check) bool {
			return x.Bit == y.Bit && x.Odd == y.Odd &&
				x.Mask == y.Mask
		})
}

// printsLow reports whether a format's numbers are longer than what is printed of them: their lowest 24 bits.
func (e *entry) printsLow() bool {
	return slices.Contains([]string{"pair24", "joined24", "number24"}, e.form)
}

// choose picks the answer that is most likely right.
func (p *posterior) choose() {
	sort.SliceStable(p.entries, func(i, j int) bool { return p.entries[i].Log > p.entries[j].Log })
	p.best, p.prob = -1, 0
	for i := range min(answers, len(p.entries)) {
		if p.best >= 0 && p.agree[i] && len(p.entries[i].toggles) <= len(p.entries[p.best].toggles) {
			continue // another way to say the same
		}
		prob, agree := 0.0, make([]bool, len(p.entries))
		for k := range p.entries {
			if p.entries[i].holds(&p.entries[k]) {
				prob += math.Exp(p.entries[k].Log - p.total)
				agree[k] = true
			}
		}
		if p.best < 0 || prob > p.prob*1.0000001 {
			p.best, p.prob, p.agree = i, prob, agree
		}
	}
	p.prob = min(1, p.prob)
	if p.best >= 0 && len(p.entries[p.best].left) > 0 { // what varies is seen in the reads that are right
		p.varying = [4]uint64{}
		first := p.first(&p.entries[p.best])
		for i := range p.words {
			if !slices.Contains(p.entries[p.best].left, i) {
				for k := range p.varying {
					p.varying[k] |= p.words[i][k] ^ first[k]
				}
			}
		}
	}
}

func flip(m *[4]uint64, i int) { m[i>>6] ^= 1 << (63 - uint(i)&63) }

func xor(m, o *[4]uint64) {
	for i := range m {
		m[i] ^= o[i]
	}
}

func parity(a, b *[4]uint64) int {
	return bits.OnesCount64(a[0]&b[0]^a[1]&b[1]^a[2]&b[2]^a[3]&b[3]) & 1
}
