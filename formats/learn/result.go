package learn

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Result is what reads of one length say about their layout.
type Result struct {
	Length  int // bits of a read
	Reads   int // distinct reads that the layout was worked out from: misreads and repetitions left out
	Printed int // how many of them have a printed number

	// Spec is the likeliest layout. Bits that were the same in all reads are fixed bits, or a facility where what is printed
	// names it; bits that vary and follow from nothing are fields named unknown. Empty where there was nothing to learn from.
	Spec   wiegand.Spec
	Number Number // where the card number is, and how what is printed comes from it

	// Probability is how likely it is that the layout gives the right read for every number of its field that a card of the
	// same facility can have. Layouts that agree on all of these count as one. 0 where there was nothing to learn from.
	Probability float64

	Known        []Known       // formats of the catalogue that explain the reads; Spec is the first one's then
	Swapped      bool          // the reads have every bit changed: the two data lines are swapped. Spec is for the right way round
	Open         wiegand.Spans // bits whose part could not be determined
	Constant     wiegand.Spans // bits that were the same in all reads
	Evidence     []string      // what speaks for the layout, one line each
	Alternatives []Alternative // other layouts that are still possible and predict something else, likeliest first
	Settle       []string      // what to present next, one line each
	Misreads     []Misread     // reads that the layout does not explain, by line
	Warnings     []string
}

// Known is a format of the catalogue that explains all reads.
type Known struct {
	ID   string
	Form string // the form in which numbers are printed; "" where none are
}

// Alternative is a layout that is less likely than the best one.
type Alternative struct {
	Spec        wiegand.Spec
	Number      Number
	Probability float64
	Differs     string // in what, in one line
}

// Learn works out the layout of a format from reads of cards of one site: one result for each length among them, shortest
// first. Known formats are recognised and said to be so. It never fails for want of evidence: the results say how sure they
// are and what would help. The error says which line is at fault: a print that is no number, the same read with two different
// prints, a read without bits, or no reads at all.
//
// It takes time and memory in proportion to the number of reads: about a tenth of a second for 10,000 of 64 bits.
func Learn(reads []Read, known formats.Catalogue) ([]Result, error) {
	groups, remarks, err := sortReads(reads)
	if err != nil {
		return nil, err
	}
	var all []Result
	for _, s := range groups {
		all = append(all, learnLength(s, known))
	}
	all[0].Warnings = append(all[0].Warnings, remarks...)
	if len(groups) > 1 {
		for i := range all {
			all[i].Warnings = append(all[i].Warnings, fmt.Sprintf("the reads have %s; each is learned by itself", lengths(groups)))
		}
	}
	return all, nil
}

func lengths(groups []*sample) string {
	var parts []string
	for _, s := range groups {
		parts = append(parts, fmt.Sprintf("%d bits (%d)", s.length, s.n))
	}
	return strings.Join(parts, ", ")
}

// learnLength learns from the reads of one length.
func learnLength(s *sample, known formats.Catalogue) Result {
	set := newPatternSet(s.length)
	p, out := learn(s, set)
	swapped := len(p.classes) > 0 && p.classes[0].best.num != nil && p.classes[0].best.num.Inverse
	if swapped {
		s = s.inverted()
		p, out = learn(s, set)
	}
	r := Result{Length: s.length, Reads: p.s.n, Printed: p.s.prints(), Swapped: swapped}
	r.Constant = span(0, s.length-1).without(p.s.varying).spans()
	for _, k := range out {
		if len(p.classes) == 0 {
			continue
		}
		m := p.misread(s.reads[k], s.printed[k])
		if swapped {
			m.Read = m.Read.Invert() // as it was given
		}
		r.Misreads = append(r.Misreads, m)
	}
	p.describe(&r)
	r.recognise(&p, known)
	p.advise(&r)
	return r
}

// inverted returns the sample with every bit changed.
func (s *sample) inverted() *sample {
	reads := slices.Clone(s.reads)
	for i := range reads {
		reads[i].Bits = reads[i].Bits.Invert()
	}
	return newSample(reads, s.printed)
}

// describe fills in the layout, its probability and what is open.
func (p *posterior) describe(r *Result) {
	all := span(0, p.s.length-1)
	if len(p.classes) == 0 || p.s.varying.empty() {
		r.Open = all.spans()
		r.Spec = wiegand.Spec{Length: p.s.length, Fields: []wiegand.Field{{Name: wiegand.FieldUnknown, Bits: all.spans()}}}
		return
	}
	best := &p.classes[0].best
	r.Spec = p.spec(best)
	r.Probability = p.probability() * p.complete(best)
	if best.num != nil {
		r.Number = best.num.Number
	}
	r.Open = p.open(best).spans()
	r.Evidence = p.evidenceFor(best)
	for i := 1; i < len(p.classes) && len(r.Alternatives) < maxAlternatives; i++ {
		c := &p.classes[i]
		prob := math.Exp2(c.logw - p.total)
		if prob < leastAlternative {
			break
		}
		a := Alternative{Spec: p.spec(&c.best), Probability: prob, Differs: p.differs(best, &c.best)}
		if c.best.num != nil {
			a.Number = c.best.num.Number
		}
		r.Alternatives = append(r.Alternatives, a)
	}
	p.warn(r, best)
}

// Bounds of what is told of the alternatives.
const (
	maxAlternatives  = 5
	leastAlternative = 0.001
)

// complete is how likely the number field has no more bits than the prints show. A bit beside its top is one of the number's with
// even odds before. If it is, it is 0 on n cards once in 2^n, their numbers being spread over the field; if it is the facility's, it
// is 0 on all of them once in 2. Where numbers are not spread, its part is open, and that is said.
func (p *posterior) complete(l *layout) float64 {
	if l.num == nil || l.num.Print == PrintNone || p.zeros(l.num).empty() {
		return 1
	}
	return 1 / (1 + math.Exp2(1-float64(p.s.n)))
}

// top returns the step from a number's most significant bit to where the next one would be.
func (h *number) top() (first, step int) {
	if h.Order == wiegand.LSBFirst && h.Coding == wiegand.Binary {
		return h.at[0], 1
	}
	return h.at[0], -1
}

// zeros returns the bits that were 0 throughout from the number's top on: they can be high bits of it.
func (p *posterior) zeros(h *number) mask {
	return p.beyond(h, func(i int) bool { return !p.s.ones.has(i) })
}

// beyond returns the constant bits from the number's top on for which ok holds.
func (p *posterior) beyond(h *number, ok func(i int) bool) mask {
	var m mask
	i, step := h.top()
	for i += step; i >= 0 && i < p.s.length && !p.s.varying.has(i) && ok(i); i += step {
		m.add(i)
	}
	return m
}

// open returns the bits whose part is not known: constant bits that can belong to the number as well as to the facility, and
// bits that vary and follow from nothing.
func (p *posterior) open(l *layout) mask {
	m := l.rest.cols
	switch h := l.num; {
	case h == nil:
		return m.or(span(0, p.s.length-1).without(p.s.varying))
	case h.Print == PrintNone || h.Print == PrintSequence || h.Print == PrintLast || h.Print == PrintOffset:
		m = m.or(p.beyond(h, func(int) bool { return true }))
	default:
		m = m.or(p.zeros(h))
	}
	return m.without(maskOf(l.num.facility))
}

// spec writes a layout out.
func (p *posterior) spec(l *layout) wiegand.Spec {
	spec := wiegand.Spec{Length: p.s.length}
	free := span(0, p.s.length-1)
	if l.num != nil {
		if f := l.num.facility; f != nil {
			field := wiegand.Field{Name: wiegand.FieldFacility, Bits: f}
			if m := maskOf(f); m.and(p.s.varying).empty() {
				v := (&number{at: run(f[0].From-1, f[0].To-f[0].From+1, wiegand.MSBFirst)}).value(p.s.words[0])
				field.Constant = strconv.FormatUint(v, 10)
			}
			spec.Fields = append(spec.Fields, field)
			free = free.without(maskOf(f))
		}
		spec.Fields = append(spec.Fields, wiegand.Field{
			Name: wiegand.FieldNumber, Bits: l.num.Bits, Order: l.num.Order, Coding: l.num.Coding,
		})
		free = free.without(l.num.cols)
	}
	var fixed mask
	checks := l.ordered(free)
	for _, c := range checks {
		free.drop(c.Bit - 1)
	}
	fixed = free.without(p.s.varying)
	if rest := free.and(p.s.varying); !rest.empty() {
		spec.Fields = append(spec.Fields, wiegand.Field{Name: wiegand.FieldUnknown, Bits: rest.spans()})
	}
	slices.SortStableFunc(spec.Fields, func(a, b wiegand.Field) int { return a.Bits[0].From - b.Bits[0].From })
	if !fixed.empty() {
		spec.Checks = append(spec.Checks, wiegand.Check{Kind: wiegand.Fixed, Bits: fixed.spans(), Value: p.s.bits(fixed)})
	}
	spec.Checks = append(spec.Checks, checks...)
	return spec
}

// ordered returns the parity checks whose bit is free, each after those that it covers.
func (l *layout) ordered(free mask) []wiegand.Check {
	var done mask
	var checks []wiegand.Check
	var own mask
	for _, c := range l.checks {
		if !c.class.key.empty() && free.has(c.bit) {
			own.add(c.bit)
		}
	}
	for range l.checks {
		for _, c := range l.checks {
			waits := maskOf(c.class.rep).and(own).without(done)
			if !own.has(c.bit) || done.has(c.bit) || !waits.empty() {
				continue
			}
			done.add(c.bit)
			kind := wiegand.Even
			if c.class.odd {
				kind = wiegand.Odd
			}
			checks = append(checks, wiegand.Check{Kind: kind, Bit: c.bit + 1, Over: c.class.rep})
		}
	}
	return checks
}

// decimals writes a probability so that certainty is never claimed.
func decimals(p float64) string {
	if p > 0.9999 {
		return "over 0.9999"
	}
	return fmt.Sprintf("%.4f", p)
}

// Definition returns the layout as a definition file for one format, with the evidence in comments. It is empty where
// nothing was learned. The error is of package formats: an id that is none.
func (r *Result) Definition(id string) ([]byte, error) {
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		return nil, err
	}
	f := formats.Format{
		ID: id, Layout: layout, Standing: formats.Learned, Weight: 20,
		Description: fmt.Sprintf("%d bits, learned from %s of one site", r.Length, plural(r.Reads, "read")),
		Source:      fmt.Sprintf("learned from %s, probability %s", plural(r.Reads, "read"), decimals(r.Probability)),
	}
	comment := append([]string{"A format learned from reads. What speaks for it:"}, r.Evidence...)
	comment = append(comment, "The probability that it gives the right read for every number of the same facility is "+decimals(r.Probability)+".")
	if len(r.Open) > 0 {
		comment = append(comment, "Open, since the sample can't tell what they are for: bits "+r.Open.String()+".")
	}
	for _, a := range r.Alternatives {
		comment = append(comment, fmt.Sprintf("Also possible (%.4f): %s.", a.Probability, a.Differs))
	}
	comment = append(append(comment, r.Settle...), r.Warnings...)
	text := formats.AppendDefinition(nil, &f, comment...)
	if _, err := formats.ParseDefinitions("learned format", text); err != nil {
		return nil, err
	}
	return text, nil
}
