package worlds

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Reading is what an answer makes of one card.
type Reading struct {
	Layout *wiegand.Layout // nil where nothing is claimed of the card
	Read   wiegand.Bits    // what the card is said to hold
	Chance float64         // that it does, if the rest of the answer is right
}

// leastClaim is the chance from which on a reading is part of what an answer says. Below it the answer leaves the card
// in doubt.
const leastClaim = 0.95

func (r *Reading) claimed() bool { return r.Layout != nil && r.Chance >= leastClaim }

// Hypothesis is what some cards are said to be, and how likely.
type Hypothesis struct {
	Probability float64
	None        bool            // no format of the catalogue
	Frame       *wiegand.Layout // with None: whose frame they are said to have all the same; nil where that is not said
	Format      string
	Cards       []Reading // for each card of the group; empty with None
}

// Group is cards that are judged together, by their places from 0, and what they can be, likeliest first.
type Group struct {
	Cards      []int
	Hypotheses []Hypothesis
}

// Learned is a layout that was learned.
type Learned struct {
	Stated  float64 // that it is right
	Spec    wiegand.Spec
	Swapped bool          // it is for the reads with every bit changed
	Open    wiegand.Spans // bits whose part is said not to be known
	Cards   []int         // the cards that it is for, by their places from 0: misreads left out
	Known   []string      // formats of the catalogue that it is said to be
}

// Verdict is a statement and whether it is true.
type Verdict struct {
	Stated float64
	True   bool
	What   string // what was said, for people
}

// values writes what a read is in a layout, so that what nobody can tell apart is written alike.
func values(l *wiegand.Layout, b wiegand.Bits) string {
	r, err := l.Decode(b)
	if err != nil {
		return "another length"
	}
	var text strings.Builder
	for i, f := range l.Spec().Fields {
		if v := r.Text(i); f.Name != wiegand.FieldUnknown && (f.Name != wiegand.FieldFacility || strings.Trim(v, "0") != "") {
			fmt.Fprintf(&text, "%s=%s ", f.Name, v)
		}
	}
	return text.String()
}

// truths returns the readings of a card that are right.
func (s *Sample) truths(i int) []Reading {
	c := &s.Truth[i]
	k := &s.Kinds[c.Kind]
	all := []Reading{{Layout: k.Layout, Read: c.Read}}
	if k.Inner != nil {
		all = append(all, Reading{Layout: k.Inner.Layout, Read: c.Read.Slice(k.Before, c.Read.Len())})
	}
	return all
}

func (r *Reading) same(o *Reading) bool {
	return r.Read == o.Read && values(r.Layout, r.Read) == values(o.Layout, o.Read)
}

func (s *Sample) right(i int, r *Reading) bool {
	return slices.ContainsFunc(s.truths(i), func(t Reading) bool { return t.same(r) })
}

// alike reports whether two hypotheses can't be told apart: they give every card the same.
func (h *Hypothesis) alike(o *Hypothesis) bool {
	if h.None || o.None {
		return h.None && o.None
	}
	something := false
	for i := range h.Cards {
		a, b := &h.Cards[i], &o.Cards[i]
		if (a.Layout == nil) != (b.Layout == nil) || a.Layout != nil && !a.same(b) {
			return false
		}
		something = something || a.Layout != nil
	}
	return something || h.Format == o.Format
}

// top returns the likeliest hypothesis of a group, those that can't be told apart taken together, and the probability
// of these.
func (g *Group) top() (best *Hypothesis, stated float64) {
	for i := range g.Hypotheses {
		h, sum := &g.Hypotheses[i], 0.0
		for k := range g.Hypotheses {
			if h.alike(&g.Hypotheses[k]) {
				sum += g.Hypotheses[k].Probability
			}
		}
		if sum > stated {
			best, stated = h, sum
		}
	}
	return best, min(stated, 1) // a sum of rounded terms
}

// truly reports whether a hypothesis is right for a group.
func (s *Sample) truly(g *Group, h *Hypothesis) bool {
	claims := 0
	for at, i := range g.Cards {
		k := &s.Kinds[s.Truth[i].Kind]
		switch {
		case h.None:
			if k.Format != "" || h.Frame != nil && !h.Frame.Holds(s.Truth[i].Read) {
				return false
			}
		case h.Cards[at].claimed() && !s.Truth[i].Spoilt:
			if claims++; !s.right(i, &h.Cards[at]) {
				return false
			}
		}
	}
	return h.None || claims > 0 || h.Format == s.Kinds[s.Truth[g.Cards[0]].Kind].Format
}

// Identify judges what was said of all cards: a verdict for each group.
func (s *Sample) Identify(groups []Group) []Verdict {
	var all []Verdict
	for i := range groups {
		g := &groups[i]
		h, stated := g.top()
		if h == nil {
			continue
		}
		what := h.Format
		if h.None {
			what = "no known format"
		}
		all = append(all, Verdict{Stated: stated, True: s.truly(g, h), What: fmt.Sprintf("%d cards: %s", len(g.Cards), what)})
	}
	return all
}

// Doubted judges what was said of the first card, if any, that does not fit what the others are: what it is said to be
// is its true reading. One card of a sample is enough, since what is said of the others hangs together with it.
func (s *Sample) Doubted(groups []Group) []Verdict {
	i := slices.IndexFunc(s.Truth, func(c Card) bool { return s.belied(&c) })
	for k := range groups {
		g := &groups[k]
		at := slices.Index(g.Cards, i)
		h, stated := g.top()
		if at < 0 || h == nil {
			continue
		}
		if h.None || h.Cards[at].Layout == nil {
			return []Verdict{{What: fmt.Sprintf("card %d: nothing", i+1)}}
		}
		r, truth := &h.Cards[at], &s.truths(i)[0]
		return []Verdict{{
			Stated: stated * r.Chance, True: s.right(i, r),
			What: fmt.Sprintf("card %d: %s %s; true: %s", i+1, h.Format, values(r.Layout, r.Read),
				values(truth.Layout, truth.Read)),
		}}
	}
	return nil
}

// belied reports whether a card can be seen not to fit, by whoever knows what the others are: its print says otherwise,
// or its read has another length or breaks a check. A spoilt read that does neither is seen by nobody, and is not
// judged; nor is a card of a layout that no table has, of which identify can say nothing.
func (s *Sample) belied(c *Card) bool {
	if k := &s.Kinds[c.Kind]; k.Format == "" && k.Inner == nil {
		return false
	}
	i := slices.IndexFunc(s.Truth, func(o Card) bool { return o.Read == c.Read })
	came := s.Line.Send(s.Cards[i][0].Bits)
	return c.Wrong || c.Spoilt && (len(s.Cards[i]) > 1 || !s.Kinds[c.Kind].Layout.Holds(came))
}

// Learn judges what was learned: a verdict for each layout, but for those whose true layout has no binary number of 64
// bits or less.
func (s *Sample) Learn(learned []Learned, rng *rand.Rand) []Verdict {
	var all []Verdict
	for i := range learned {
		l := &learned[i]
		if kinds := s.kindsOf(l); kinds != nil {
			v := Verdict{Stated: l.Stated, True: s.predicts(l, kinds, rng), What: fmt.Sprintf("%d cards: nothing", len(l.Cards))}
			if compiled, err := wiegand.Compile(l.Spec); err == nil {
				v.What = fmt.Sprintf("%d cards: %s, open %s", len(l.Cards), describe(compiled), l.Open)
			}
			all = append(all, v)
		}
	}
	return all
}

// kindsOf returns a good card for each kind, and facility of it, that a learned layout is said to be for; nil where it
// can't be judged.
func (s *Sample) kindsOf(l *Learned) []int {
	type family struct {
		kind     int
		facility uint64
	}
	seen := map[family]bool{}
	var cards []int
	for _, i := range l.Cards {
		c := &s.Truth[i]
		if c.Spoilt {
			continue
		}
		layout := s.Kinds[c.Kind].Layout
		at := layout.Field(wiegand.FieldNumber)
		if at < 0 || layout.Spec().Fields[at].Coding != wiegand.Binary || layout.Spec().Fields[at].Bits.Len() > 64 {
			return nil
		}
		if f := (family{c.Kind, c.Facility}); !seen[f] {
			seen[f] = true
			cards = append(cards, i)
		}
	}
	return cards
}

// unseen is how many numbers a learned layout has to get right for each kind and facility: all of them.
const unseen = 100

func (s *Sample) predicts(l *Learned, cards []int, rng *rand.Rand) bool {
	layout, err := wiegand.Compile(l.Spec)
	if err != nil || layout.Field(wiegand.FieldNumber) < 0 || l.Stated == 0 {
		return false
	}
	sent := func(b wiegand.Bits) wiegand.Bits {
		if b = s.Line.Send(b); l.Swapped {
			b = b.Invert()
		}
		return b
	}
	for _, i := range cards {
		c := &s.Truth[i]
		truth := s.Kinds[c.Kind].Layout
		base, err := layout.Decode(sent(c.Read))
		if err != nil {
			return false
		}
		kept := s.kept(l, c.Kind)
		for range unseen {
			want := another(rng, truth, c.Read, kept)
			if !gives(layout, base, sent(want), value(truth, want), width(truth, wiegand.FieldNumber)) {
				return false
			}
		}
	}
	return true
}

// kept returns the bits of the true reads of a kind, by index, that a layout is not asked about: those that did not
// change in the sample and are called open, and zeros before all numbers, where the learned field begins behind them:
// such a layout refuses larger numbers, and gets none wrong.
func (s *Sample) kept(l *Learned, kind int) map[int]bool {
	truth := s.Kinds[kind].Layout
	open, number := bitsOf(l.Open), bitsOf(fieldNamed(l.Spec, wiegand.FieldNumber).Bits)
	kept, leading := map[int]bool{}, true
	for _, at := range ordered(fieldNamed(truth.Spec(), wiegand.FieldNumber)) {
		came := at
		if s.Line.Reversed {
			came = truth.Len() - 1 - at
		}
		same, zero := true, true
		for _, i := range l.Cards {
			same = same && s.Cards[i][0].Bits.Bit(came) == s.Cards[l.Cards[0]][0].Bits.Bit(came)
			zero = zero && (s.Truth[i].Kind != kind || s.Truth[i].Spoilt || s.Truth[i].Read.Bit(at) == 0)
		}
		leading = leading && zero && !number[came]
		kept[at] = leading || same && open[came]
	}
	return kept
}

func fieldNamed(spec wiegand.Spec, name string) wiegand.Field {
	i := slices.IndexFunc(spec.Fields, func(f wiegand.Field) bool { return f.Name == name })
	return spec.Fields[i]
}

// bitsOf returns the bits of spans, by index.
func bitsOf(spans wiegand.Spans) map[int]bool {
	m := map[int]bool{}
	for _, s := range spans {
		for bit := s.From; bit <= s.To; bit += max(s.Step, 1) {
			m[bit-1] = true
		}
	}
	return m
}

// ordered returns the bits of a binary field, by index, most significant first.
func ordered(f wiegand.Field) []int {
	var all []int
	for _, s := range f.Bits {
		for bit := s.From; bit <= s.To; bit += max(s.Step, 1) {
			all = append(all, bit-1)
		}
	}
	if f.Order == wiegand.LSBFirst {
		slices.Reverse(all)
	}
	return all
}

// another returns the read of a card with another number, whose bits that are to be kept are those of the card.
func another(rng *rand.Rand, l *wiegand.Layout, card wiegand.Bits, kept map[int]bool) wiegand.Bits {
	b := card
	for _, at := range ordered(fieldNamed(l.Spec(), wiegand.FieldNumber)) {
		if !kept[at] {
			b = b.WithBit(at, uint(rng.IntN(2)))
		}
	}
	r, err := l.Decode(b)
	if err != nil {
		panic(err) // it has the length of the card's
	}
	return r.Encode()
}

func value(l *wiegand.Layout, b wiegand.Bits) uint64 {
	r, err := l.Decode(b)
	if err != nil {
		panic(err)
	}
	v, _ := r.Uint64(l.Field(wiegand.FieldNumber))
	return v
}

// gives reports whether a learned layout finds a number in a read and makes that read of the number, given another
// card.
func gives(l *wiegand.Layout, base wiegand.Record, want wiegand.Bits, number uint64, bits int) bool {
	at := l.Field(wiegand.FieldNumber)
	r, err := l.Decode(want)
	if err != nil {
		return false
	}
	v, ok := r.Uint64(at)
	if !ok {
		return false
	}
	f := l.Spec().Fields[at]
	m := ones(min(f.Bits.Len(), bits))
	if f.Coding != wiegand.Binary {
		m = ^uint64(0)
	}
	made, err := base.WithUint64(at, v)
	return err == nil && v&m == number&m && made.Encode() == want
}

// Agree reports whether what was said of a group and a layout that was learned of its cards can both be true: the
// layout predicts what cards of that format send, or is none of the catalogue where no format of it is said to fit.
func (s *Sample) Agree(g *Group, l *Learned, rng *rand.Rand) bool {
	h, _ := g.top()
	if h.None {
		return len(l.Known) == 0
	}
	as := Sample{Cards: s.Cards, Truth: make([]Card, len(s.Cards)), Line: Line{}}
	here := map[int]bool{}
	for at, i := range g.Cards {
		r := &h.Cards[at]
		if !r.claimed() {
			continue
		}
		if here[i] = true; as.Kinds == nil {
			as.Kinds, as.Line = []Kind{{Format: h.Format, Layout: r.Layout}}, lineFrom(r.Read, s.Cards[i][0].Bits)
		}
		as.Truth[i] = Card{Read: r.Read, Spoilt: as.Line.Send(r.Read) != s.Cards[i][0].Bits, Facility: r.facility()}
	}
	part := *l
	part.Cards = slices.DeleteFunc(slices.Clone(l.Cards), func(i int) bool { return !here[i] })
	cards := as.kindsOf(&part)
	return len(cards) == 0 || as.predicts(&part, cards, rng)
}

// lineFrom returns what turns a read into what came; the zero value where nothing does.
func lineFrom(read, came wiegand.Bits) Line {
	for _, l := range []Line{{}, {Swapped: true}, {Reversed: true}, {Swapped: true, Reversed: true}} {
		if l.Send(read) == came {
			return l
		}
	}
	return Line{}
}

func (r *Reading) facility() uint64 {
	record, err := r.Layout.Decode(r.Read)
	if err != nil {
		return 0
	}
	v, _ := record.Uint64(r.Layout.Field(wiegand.FieldFacility))
	return v
}

// Top returns the probability of the likeliest hypothesis, those that can't be told apart taken together.
func (g *Group) Top() float64 {
	_, p := g.top()
	return p
}
