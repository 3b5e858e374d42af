package reading

import (
	"bytes"
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/quick"
)

// A site file does not have everything: a list can have cards of kinds that it does not name, and its own kinds written
// as it does not say. Those are strangers: every format of the catalogue in every form, as usual as they are anywhere.
// They are weighed beside the readings of the plan, for texts of a sample that go together. Those that explain some of
// them stay in the plan: they throw doubt on what they read, and never give a card.

// strange is one way to write a stranger's card. Formats whose numbers come out alike are one, the most usual of them.
type strange struct {
	Reading
	most    float64
	whole   bool    // the form leaves nothing of a card out
	signed  bool    // plain digits are none of the form's, but for 0s and 1s
	own     []Seen  // the cards of texts that no reading of the plan reads, or that are strangers' by now
	ownLog  float64 // of how probable those are together
	written         // how those are written
	log     float64 // of how probable it is that the list has such cards, with those
	slips   float64 // how probable it is that those were typed wrong
	near    bool    // they are cards of a kind that the site has, of any facility, written as the site's
}

// unlisted returns all strangers that a plan can have.
func (p *Plan) unlisted() (all []strange) {
	m, err := evidence.New(*p.catalogue, nil)
	if err != nil {
		return nil // there are none in a catalogue that can't be weighed
	}
	place := map[string]int{}
	for i, f := range m.Formats() {
		if f.Kind == formats.KindKeypad {
			continue
		}
		usual := map[string]float64{}
		for form, share := range m.Prints(i) {
			usual[form.Name] = share
		}
		all = p.alsoCards(all, place, f, &formats.Population{Format: f.ID}, (1-otherwise)*math.Exp(m.Prior(i)), usual)
		for _, q := range p.populations(f) {
			all = p.alsoCards(all, place, f, q, otherwise/float64(len(p.readings)), usual)
		}
	}
	p.ends(all)
	p.neighbours(all)
	return append(all, p.cuts(all)...)
}

// neighbours makes cards of the site's kinds that are printed as the site's, of any facility, as usual as they are:
// another site's, or those of an order that the site file does not have.
func (p *Plan) neighbours(all []strange) {
	for i := range p.readings {
		r := &p.readings[i]
		for k := range all {
			s := &all[k]
			if !r.second && len(r.population.Facilities) > 0 && s.Format == r.Format && s.Form.Name == r.Form.Name &&
				len(s.population.Facilities) == 0 {
				s.weight, s.near = s.weight+neighbouring, true
			}
		}
	}
}

// ends makes strangers of the site's own cards whose form shows the low 24 bits of a number alone: nothing says which
// cards those are, but they are as usual as any of the site's.
func (p *Plan) ends(all []strange) {
	for i := range p.readings {
		r := &p.readings[i]
		if r.second || len(r.population.Numbers) > 0 || !r.drops() {
			continue
		}
		form := r.Form.Name
		if form == "number24" {
			form = "number" // which those of 24 bits have in its place
		}
		for k := range all {
			s := &all[k]
			if most, ok := s.Largest(); ok && most == 1<<evidence.LowBits-1 && s.Format.Facility() < 0 && s.Form.Name == form {
				s.weight += 1 / hasStrangers / float64(len(p.readings))
				s.end = r.Format.ID
			}
		}
	}
}

// populations returns those of the plan that have cards of a format.
func (p *Plan) populations(f *formats.Format) (all []*formats.Population) {
	for i := range p.readings {
		if r := &p.readings[i]; r.Format == f && !slices.Contains(all, r.population) {
			all = append(all, r.population)
		}
	}
	return all
}

// alsoCards appends cards of a format in all forms; weight is how usual they are, and usual which forms.
func (p *Plan) alsoCards(all []strange, place map[string]int, f *formats.Format, q *formats.Population, weight float64,
	usual map[string]float64) []strange {
	values, site := evidence.NewValues(f, q), p.readingOf(f) != nil
	for _, form := range formats.Forms() {
		if ok, _ := form.Fits(f); !ok {
			continue
		}
		s := strange{most: weight * max(usual[form.Name], rarelyListed)}
		s.Reading = Reading{Format: f, Form: form, cards: q, population: q, index: -1, stranger: true, ofSite: site,
			weight: s.most}
		if s.prepare(values) != nil {
			return all // a facility that the site file's own line refuses
		}
		s.whole, s.signed = !s.drops(), form.Name == "bits" || form.Name == "bits-hex" || form.Name == "fields"
		if !s.whole && len(q.Numbers) == 0 {
			continue // nothing says which card it is
		}
		key := form.Name + s.fields
		if form.OfRead() || site {
			key += fmt.Sprint(f.ID, q.Facilities, q.Numbers)
		}
		at, known := place[key]
		switch {
		case !known:
			place[key] = len(all)
			all = append(all, s)
		case s.most > all[at].most:
			s.weight += all[at].weight
			all[at] = s
		default:
			all[at].weight += s.weight
		}
	}
	return all
}

// reads reads a text as a stranger's. length is that of its number.
func (s *strange) reads(text []byte, one *candidate) (length int, ok bool) {
	if w := s.shape.Width; w > 0 && (len(text) > w || len(text) < s.shape.Least) && digitsOnly(string(text)) {
		return 0, false // too many digits, or too few
	}
	*one = candidate{}
	if !s.tries(text, &one.seen) {
		return 0, false
	}
	length = len(stripped(text))
	one.fit(length)
	return length, true
}

// tries reads a value, and does not say why it can't.
func (s *strange) tries(value []byte, seen *Seen) bool {
	plain := digitsOnly(string(value)) && len(value) <= maxDigits && !zeros(value)
	switch whole := s.parse != nil && s.whole; {
	case whole && Sound(value, s.shape): // no more can be done to it
		return s.fast(value, seen) && s.inBlocks(seen)
	case whole && plain && s.shape.Width <= maxDigits+1: // nothing but zeros can be put back
		return s.withZeros(value, seen) && s.inBlocks(seen)
	case plain && s.signed && strings.Trim(string(value), "01") != "",
		s.Form.Name == "bits" && bytes.IndexByte(value, ':') >= 0: // which it reads, and does not write
		return false
	case plain:
		if good, ok := quick.Good(s.Format, s.Form, value); ok && !good {
			return false
		}
	}
	return s.try(value, &Plan{}, seen) == nil && seen.Repair != powerWritten
}

// learn notes which strangers read the texts that no reading of the plan reads, and how probable each is then, beside
// so many that are read: those texts may as well be cards of the site that were typed wrong.
func learn(all []strange, texts []string, read float64, n neighbours) {
	sum := 0.0 // that there are none
	for i := range all {
		s := &all[i]
		var some []string
		var one candidate
		for _, text := range texts {
			if _, ok := s.reads([]byte(text), &one); ok {
				some = append(some, text)
				s.own = append(s.own, one.seen)
				s.written.count(text, &one)
			}
		}
		s.log = math.Log(hasStrangers * s.weight)
		if len(some) > 0 {
			s.ownLog = s.together(s.own)
			s.log += s.ownLog + apart(float64(len(some)), read) - n.slips(some, read+float64(len(texts)), nil)
			sum = logp.Add(sum, s.log)
		}
	}
	for i := range all {
		if len(all[i].own) > 0 {
			all[i].log, all[i].slips = all[i].log-sum, math.Exp(-sum)
		}
	}
}

// written is how many texts have fewer characters than a form writes, more of them, and zeros that the form does not
// have.
type written struct{ short, long, padded float64 }

// of returns the cards of a lot by the stranger, and how they are written; ok is false where it does not read all of
// them, or gives the cards that the readings do, but for a neighbour: his cards say how probable the site's are beside
// them.
func (s *strange) of(l *lot) (cards []Seen, w written, ok bool) {
	var one candidate
	var value []byte
	for k, text := range l.plain {
		if k == 1 {
			cards = slices.Grow(cards, len(l.plain))
		}
		value = append(value[:0], text...)
		length, ok := s.reads(value, &one)
		if !ok || !s.near && slices.ContainsFunc(l.texts[k], func(c candidate) bool { return s.alike(&c, &one, length) }) {
			return nil, w, false
		}
		w.count(text, &one)
		cards = append(cards, one.seen)
	}
	return cards, w, true
}

func (w *written) count(text string, one *candidate) {
	plain := stripped([]byte(text))
	switch {
	case one.written > len(plain):
		w.short++
	case one.written < len(plain) && plain[0] == '0' && one.seen.Reading.shape.bare():
		w.padded++
	case one.written < len(plain):
		w.long++
	}
}

func (w *written) add(o written) {
	w.short, w.long, w.padded = w.short+o.short, w.long+o.long, w.padded+o.padded
}

// more returns the log of how probable it is that n more texts are written so, beside those of w.
func (w *written) more(o written, before, n float64) float64 {
	return oddly(asMended, o.short+o.long, n, w.short+w.long, before) + oddly(asPadded, o.padded, n, w.padded, before)
}

// oddly returns the log of how probable it is that so many of n texts are odd, of which a share is so before any is
// seen, where was of those before were.
func oddly(share, odd, n, was, before float64) float64 {
	return habitual(odd, n-odd, usual*share+was, usual*(1-share)+before-was)
}

// alike reports whether a stranger is the card that a reading of the plan gives, or one that differs from it in nothing
// that a list shows: those the site file tells apart, where the text is as the reading writes it.
func (s *strange) alike(listed, one *candidate, length int) bool {
	if same(&listed.seen, &one.seen) {
		return true
	}
	if s.end != "" || listed.written != length || s.fields != listed.seen.Reading.fields {
		return false
	}
	a, b := listed.seen.Card(), one.seen.Card()
	if a.Known != b.Known {
		return false
	}
	for f := range a.Format.Layout.Spec().Fields {
		if a.Known.Has(f) && a.Record.Value(f) != b.Record.Value(f) {
			return false
		}
	}
	return true
}

// weigh returns the log of how probable a lot is by the stranger, beside kind texts that go with it otherwise.
func (s *strange) weigh(l *lot, kind float64) float64 {
	cards, w, ok := s.of(l)
	if !ok {
		return math.Inf(-1)
	}
	n, own := float64(len(cards)), float64(len(s.own))
	return s.log + s.together(append(cards, s.own...)) - s.ownLog + apart(n, kind) - s.without(n) + s.more(w, own, n)
}

// without returns the log of how probable the stranger's own texts are where n others are not its: they were typed
// wrong, or are just those of all that are a stranger's.
func (s *strange) without(n float64) float64 {
	return logp.Add(math.Log(s.slips), math.Log1p(-s.slips)+apart(n, float64(len(s.own))))
}

// takes notes that the stranger has a lot, so that others can be its too.
func (s *strange) takes(l *lot, share float64) {
	if share < alternative {
		return
	}
	cards, w, _ := s.of(l)
	s.own, s.log, s.slips = append(s.own, cards...), max(s.log, math.Log(share)), min(s.slips, 1-share)
	s.ownLog = s.together(s.own)
	s.add(w)
}

// apart returns the log of how probable it is that just those n texts are of another kind, or of another order of
// cards, than so many others.
func apart(n, others float64) float64 {
	return lgamma(1+n) - lgamma(1+others+n) + lgamma(1+others)
}

// remaining returns the strangers that lots have, the most usual first.
func remaining(all []strange, lots []*lot, rows float64) (few []Reading) {
	for i := range all {
		r := all[i].Reading
		var cards []Seen
		var as written
		r.weight = 0
		for _, l := range lots {
			if l.strange == nil || l.strange[i] < alternative {
				continue
			}
			r.weight += l.strange[i] * float64(len(l.texts))
			of, w, _ := all[i].of(l)
			cards = append(cards, of...)
			as.add(w)
		}
		n := float64(len(cards))
		if n == 0 {
			continue
		}
		r.weight /= rows + usual
		some := asMended * usual // all are so, or hardly any
		lost := (as.short + some) / (n + 2*some)
		r.habit.zeros, r.habit.long = [2]float64{lost, lost}, (as.long+as.padded+some)/(n+2*some)
		r.have(cards)
		few = append(few, r)
	}
	sort.SliceStable(few, func(i, j int) bool { return few[i].weight > few[j].weight })
	return few[:min(len(few), mostStrangers)]
}

// doubts appends the cards that a value can be that the site file does not have.
func (p *Plan) doubts(value []byte, length int, all []candidate) []candidate {
	listed := len(all)
	for i := range p.strangers {
		r := &p.strangers[i]
		one := candidate{weight: r.weight}
		if r.try(value, p, &one.seen) != nil ||
			slices.ContainsFunc(all[:listed], func(c candidate) bool { return same(&c.seen, &one.seen) }) {
			continue
		}
		one.fit(length)
		card := one.seen.Card()
		one.err = &Error{Kind: Ambiguous, Card: card, Form: r.Form.Name, Reason: quoted(value) + "none of this site's cards"}
		all = append(all, one)
	}
	return all
}
