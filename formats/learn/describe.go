package learn

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// result is what the sample says, for people and programs.
func (p *posterior) result() Result {
	r := Result{Length: p.s.Length, Reads: len(p.s.Reads), Printed: p.prints(), Unknown: p.unknown}
	for _, read := range p.reads {
		r.Lines = append(r.Lines, read.Line)
	}
	slices.Sort(r.Lines)
	r.Constant = spansOf(without(head(p.s.Length), p.varying))
	if len(p.entries) == 0 || p.varying == ([4]uint64{}) {
		r.Open = spansOf(head(p.s.Length))
		r.Spec = wiegand.Spec{Length: p.s.Length, Fields: []wiegand.Field{{Name: wiegand.FieldUnknown, Bits: r.Open}}}
		p.conflicts(&r)
		p.advise(&r, nil)
		return r
	}
	p.describe(&r)
	return r
}

// describe fills in the answer.
func (p *posterior) describe(r *Result) {
	best := p.answer()
	for i := range p.entries {
		if e := &p.entries[i]; p.agree[i] && e.format != nil {
			r.Known = append(r.Known, Known{e.format.ID, e.form, math.Exp(e.Log - p.total)})
		}
	}
	if best.format == nil {
		r.Known = nil // there are formats that say the same, but hardly any that is likely
	}
	r.Probability, r.Unrelated = p.prob, min(1, p.apart)
	r.Reads -= len(best.left)
	r.Example = p.example(best)
	r.Swapped = best.wiring == evidence.SwappedLines || best.wiring == evidence.SwappedReversed || best.format == nil &&
		best.Hyp.Place.Inverse
	if at := &best.Hyp.Place; best.format == nil && best.Hyp.Print == PrintNone && !best.Hyp.None &&
		at.Turn == undocumented.FirstHigh && at.Coding == wiegand.Binary {
		best = p.lowEnd(best)
	}
	if best.format != nil {
		p.describeFormat(r, best)
	} else {
		p.describeOwn(r, best)
	}
	p.misreads(r, best)
	p.alternatives(r, best)
	if p.whole > 0.5 {
		r.Warnings = append(r.Warnings, "the printed numbers are the whole reads, checks and all: they do not say where the card number is")
	}
	if r.Printed > 0 && r.Unrelated > 0.5 {
		r.Warnings = append(r.Warnings, "the printed numbers have nothing to do with the reads, as far as was looked: another numbering, or of other cards")
	}
	if r.Swapped {
		r.Warnings = append(r.Warnings, "every bit of the reads is changed: most likely the reader's two data lines are swapped; the layout is for the right way round")
	}
	p.advise(r, best)
}

// answer returns the likeliest of what says the same as the answer, a format of the catalogue where one is likely
// enough.
func (p *posterior) answer() *entry {
	best := &p.entries[p.best]
	for i := range p.entries {
		if e := &p.entries[i]; best.format == nil && p.agree[i] && e.format != nil &&
			math.Exp(e.Log-p.total) > p.prob*knownEnough {
			return e
		}
	}
	return best
}

// example returns the first read, by line, that an entry explains.
func (p *posterior) example(e *entry) wiegand.Bits {
	first := -1
	for i := range p.reads {
		if !slices.Contains(e.left, i) && (first < 0 || p.reads[i].Line < p.reads[first].Line) {
			first = i
		}
	}
	return p.s.Reads[max(first, 0)]
}

// lowEnd returns the layout with a number that no print shows as the bits that vary: where it begins can't be seen, and
// the bits before are open. Bits before it that take few values are a facility only where that is much likelier.
func (p *posterior) lowEnd(best *entry) *entry {
	varies := best.From
	for varies < best.To && !has(&p.varying, varies) {
		varies++
	}
	from := best.Hyp.Place.From
	for i := range p.entries {
		e := &p.entries[i]
		if p.agree[i] && e.format == nil && e.Hyp.Place.From <= varies && math.Exp(e.Log-best.Log) > facilityOdds {
			from = varies
			break
		}
	}
	e := *best
	e.Hyp.Place.From = max(from, varies)
	return &e
}

// facilityOdds is how likely bits that take few values must be to belong to the number, against the facility, for that
// to be said.
const facilityOdds = 0.2

// knownEnough is how large a part of an answer's probability a format of the catalogue must have to give it its name.
const knownEnough = 0.3

// describeFormat gives the answer as a format of the catalogue.
func (p *posterior) describeFormat(r *Result, e *entry) {
	sort.SliceStable(r.Known, func(i, j int) bool {
		return r.Known[i].ID == e.format.ID && r.Known[j].ID != e.format.ID
	})
	r.Spec = e.format.Layout.Spec()
	if e.wiring == evidence.Reversed || e.wiring == evidence.SwappedReversed {
		r.Spec = mirrored(r.Spec)
		r.Warnings = append(r.Warnings, "the bits come last first; the layout is for the reads as they come")
	}
	if e.before+e.after > 0 {
		r.Spec = p.widened(r.Spec, e)
		r.Warnings = append(r.Warnings, fmt.Sprintf("every read has one bit more than %s, at the %s", e.format.ID,
			map[bool]string{true: "beginning", false: "end"}[e.before > 0]))
	}
	r.Evidence = []string{fmt.Sprintf("%s of format %s in all %s", checksHold(len(e.format.Layout.Checks())), e.format.ID,
		words.Count(r.Reads, "read"))}
	if e.form != "" {
		what := e.form
		longer := evidence.IsLonger(e.form)
		if !longer && e.form != evidence.FacilityAlone {
			r.Number.Print = PrintFull
		}
		if more, ok := evidence.Added(e.form); ok {
			r.Number.Print, r.Number.Offset, what = PrintOffset, more, fmt.Sprintf("number %+d", more)
		}
		cards, seen := words.Count(r.Printed-len(e.wrong), "card"), "what is printed on %s is its %s"
		switch {
		case evidence.IsPart(e.form):
			what, seen = thePart(e.form), "of the chip serial of %s the card has %s"
			r.Number.Print, r.Number.Part = PrintSerial, e.form
		case longer:
			what, seen = evidence.WayWords(e.form), "what is printed on %s is %s"
		}
		r.Evidence = append(r.Evidence, fmt.Sprintf(seen, cards, what))
	}
	if i := e.format.Number(); i >= 0 && i < len(r.Spec.Fields) {
		field := r.Spec.Fields[i]
		r.Number.Bits, r.Number.Order, r.Number.Coding = field.Bits, field.Order, field.Coding
	}
}

// widened returns a format's layout as it stands in reads that have a bit more.
func (p *posterior) widened(s wiegand.Spec, e *entry) wiegand.Spec {
	move := func(all wiegand.Spans) wiegand.Spans {
		all = slices.Clone(all)
		for i := range all {
			all[i].From, all[i].To = all[i].From+e.before, all[i].To+e.before
		}
		return all
	}
	out := wiegand.Spec{Length: p.s.Length}
	for _, f := range s.Fields {
		f.Bits = move(f.Bits)
		out.Fields = append(out.Fields, f)
	}
	m := between(0, e.before)
	if e.after > 0 {
		m = between(p.s.Length-e.after, p.s.Length)
	}
	if and(m, p.varying) == ([4]uint64{}) {
		out.Checks = append(out.Checks, wiegand.Check{Kind: wiegand.Fixed, Bits: spansOf(m), Value: p.bits(e, m, false)})
	} else {
		out.Fields = append(out.Fields, wiegand.Field{Name: wiegand.FieldUnknown, Bits: spansOf(m)})
	}
	for _, c := range s.Checks {
		if c.Bit > 0 {
			c.Bit += e.before
		}
		c.Over, c.Bits = move(c.Over), move(c.Bits)
		out.Checks = append(out.Checks, c)
	}
	return out
}

// mirrored returns a layout with its last bit first.
func mirrored(s wiegand.Spec) wiegand.Spec {
	turn := func(all wiegand.Spans) wiegand.Spans {
		var out wiegand.Spans
		for i := len(all) - 1; i >= 0; i-- {
			from, to := s.Length+1-all[i].To, s.Length+1-all[i].From
			out = append(out, wiegand.Span{From: from, To: to, Step: all[i].Step})
		}
		return out
	}
	out := wiegand.Spec{Length: s.Length}
	for _, f := range s.Fields {
		f.Bits, f.Order = turn(f.Bits), 1-f.Order
		out.Fields = append(out.Fields, f)
	}
	for _, c := range s.Checks {
		if c.Bit > 0 {
			c.Bit = s.Length + 1 - c.Bit
		}
		c.Over, c.Bits, c.Value = turn(c.Over), turn(c.Bits), c.Value.Reverse()
		out.Checks = append(out.Checks, c)
	}
	if _, err := wiegand.Compile(out); err != nil {
		return s // digits can't be written so
	}
	return out
}

func checksHold(n int) string {
	if n == 0 {
		return "the length"
	}
	return words.ChecksHold(n)
}

// describeOwn gives the answer as a layout of its own.
func (p *posterior) describeOwn(r *Result, e *entry) {
	r.Spec, r.Number = p.spec(e), numberOf(&e.Hyp)
	r.Open = spansOf(p.open(e))
	r.Evidence = p.evidenceFor(r, e)
	switch h := &e.Hyp; h.Print {
	case PrintOffset:
		r.Warnings = append(r.Warnings, fmt.Sprintf("what is printed is the number in the read %+d; a definition file knows only the number in the read", h.Offset))
	case PrintLast:
		r.Warnings = append(r.Warnings, fmt.Sprintf("only the last %d digits of the number are printed; a read can't be made from them", h.Digits))
	}
}

// thePart names a part of a chip serial that was named before.
func thePart(name string) string { return strings.Replace(name, "its ", "the ", 1) }

// numberOf gives a place as spans of a field.
func numberOf(h *undocumented.Hypothesis) Number {
	n := Number{Print: h.Print, Offset: h.Offset, Inverse: h.Place.Inverse, Coding: h.Place.Coding}
	if n.Digits = h.Digits; h.Print == PrintSerial {
		n.Digits, n.Part = 0, evidence.PartName(h.Digits)
	}
	if h.None || h.Place.Width() == 0 {
		return n
	}
	from, to := h.Place.From, h.Place.To
	n.Bits = wiegand.Spans{{From: from + 1, To: to}}
	if high := h.Place.High; high[1] > 0 {
		n.Bits = wiegand.Spans{{From: high[0] + 1, To: high[1]}, n.Bits[0]}
	}
	switch h.Place.Turn {
	case undocumented.LastHigh:
		n.Order = wiegand.LSBFirst
	case undocumented.BytesLast:
		n.Bits = nil
		for b := to; b > from; b -= 8 {
			n.Bits = append(n.Bits, wiegand.Span{From: b - 7, To: b})
		}
	case undocumented.BitsInByte:
		n.Bits = nil
		for b := from; b < to; b += 8 {
			for i := b + 8; i > b; i-- {
				n.Bits = append(n.Bits, wiegand.Span{From: i, To: i})
			}
		}
	}
	return n
}

// open returns the bits whose part is not known: constant bits that can belong to the number as well as to the
// facility, and bits that vary and follow from nothing.
func (p *posterior) open(e *entry) (m [4]uint64) {
	h := &e.Hyp
	if h.None {
		return between(e.From, e.To)
	}
	step, i, last := -1, h.Place.From-1, e.From-1
	if h.Place.Turn == undocumented.LastHigh {
		step, i, last = 1, h.Place.To, e.To
	}
	first := p.first(e)
	zerosOnly := h.Print != PrintNone && h.Print != PrintLast && h.Print != PrintOffset
	for ; i != last; i += step {
		if has(&p.varying, i) || zerosOnly && has(&first, i) {
			break
		}
		if h.Facility[1] > 0 && i >= h.Facility[0] && i < h.Facility[1] {
			break
		}
		flip(&m, i)
	}
	return m
}

// facility returns the indices of the facility that the prints show, as far as they are data of this layout.
func (e *entry) facility() (from, to int) { return max(e.Hyp.Facility[0], e.From), e.Hyp.Facility[1] }

// spec writes a layout out.
func (p *posterior) spec(e *entry) wiegand.Spec {
	spec := wiegand.Spec{Length: p.s.Length}
	free := head(p.s.Length)
	h := &e.Hyp
	if from, to := e.facility(); to > from {
		field := wiegand.Field{Name: wiegand.FieldFacility, Bits: wiegand.Spans{{From: from + 1, To: to}}}
		m := between(from, to)
		if and(m, p.varying) == ([4]uint64{}) {
			v, _ := p.bits(e, m, h.Place.Inverse).Uint64()
			field.Constant = strconv.FormatUint(v, 10)
		}
		spec.Fields = append(spec.Fields, field)
		free = without(free, m)
	}
	if n := numberOf(h); n.Bits != nil {
		spec.Fields = append(spec.Fields, wiegand.Field{Name: wiegand.FieldNumber, Bits: n.Bits, Order: n.Order,
			Coding: n.Coding})
		free = without(without(free, between(h.Place.From, h.Place.To)), between(h.Place.High[0], h.Place.High[1]))
	}
	var checks []wiegand.Check
	for _, c := range e.Checks {
		kind := wiegand.Even
		if c.Odd != h.Place.Inverse && c.Odd {
			kind = wiegand.Odd
		}
		checks = append(checks, wiegand.Check{Kind: kind, Bit: c.Bit + 1, Over: c.Over})
		free = without(free, between(c.Bit, c.Bit+1))
	}
	if h.Place.Inverse {
		p.invertChecks(e, checks)
	}
	if rest := and(free, p.varying); rest != ([4]uint64{}) {
		spec.Fields = append(spec.Fields, wiegand.Field{Name: wiegand.FieldUnknown, Bits: spansOf(rest)})
	}
	sort.SliceStable(spec.Fields, func(i, j int) bool { return spec.Fields[i].Bits[0].From < spec.Fields[j].Bits[0].From })
	if fixed := without(free, p.varying); fixed != ([4]uint64{}) {
		spec.Checks = append(spec.Checks, wiegand.Check{Kind: wiegand.Fixed, Bits: spansOf(fixed),
			Value: p.bits(e, fixed, h.Place.Inverse)})
	}
	spec.Checks = append(spec.Checks, checks...)
	return spec
}

// invertChecks gives the checks of reads with every bit changed the sense that they have the right way round.
func (p *posterior) invertChecks(e *entry, checks []wiegand.Check) {
	for i, c := range e.Checks {
		ones := 1
		for _, s := range spansOf(c.Mask) {
			ones += s.To - s.From + 1
		}
		checks[i].Kind = wiegand.Even
		if c.Odd != (ones%2 == 1) {
			checks[i].Kind = wiegand.Odd
		}
	}
}

// bits returns what the reads have in common at some bits.
func (p *posterior) bits(e *entry, m [4]uint64, inverse bool) wiegand.Bits {
	var b wiegand.Bits
	first := wiegand.BitsFromWords(p.first(e), p.s.Length)
	for i := range p.s.Length {
		if has(&m, i) {
			v := first.Bit(i)
			if inverse {
				v = 1 - v
			}
			b, _ = b.Append(v) // a read has no more bits than Bits holds
		}
	}
	return b
}

// misreads names the reads that were left out, and the prints that do not follow.
func (p *posterior) misreads(r *Result, e *entry) {
	for i, read := range p.reads {
		switch {
		case slices.Contains(e.left, i):
			r.Misreads = append(r.Misreads, Misread{Line: read.Line, Read: read.Bits})
		case slices.Contains(e.wrong, i) && len(p.given[i]) == 1:
			r.Misreads = append(r.Misreads, Misread{read.Line, read.Bits, read.Printed})
		}
	}
	switch {
	case r.Number.Print == PrintNone || r.Number.Print == PrintOffset:
		p.conflicts(r)
	case slices.ContainsFunc(p.given, func(all []given) bool { return len(all) > 1 }):
		p.misprints(r, e)
	}
	sortedLines(r.Misreads)
}

// misprints names what is printed on a card with several numbers and does not follow from its read: what looks like a
// print that follows from its own, or all of a card of which nothing follows and nothing looks so.
func (p *posterior) misprints(r *Result, e *entry) {
	var right []*given
	wrong := make([][]*given, len(p.given))
	for i, all := range p.given {
		card, ok := p.card(r, e, p.reads[i].Bits)
		if !ok || slices.Contains(e.left, i) {
			continue
		}
		for k := range all {
			seen := typing.NewSeen(all[k].print)
			if evidence.FollowsSomehow(&card, p.reads[i].Bits, &seen) {
				right = append(right, &all[k])
			} else if len(all) > 1 {
				wrong[i] = append(wrong[i], &all[k])
			}
		}
	}
	for i, all := range wrong {
		named := slices.DeleteFunc(slices.Clone(all), func(w *given) bool {
			return !slices.ContainsFunc(right, func(r *given) bool { return alike(w, r) })
		})
		if len(named) == 0 && len(all) == len(p.given[i]) {
			named = all
		}
		for _, w := range named {
			r.Misreads = append(r.Misreads, Misread{w.Line, w.Bits, w.Printed})
		}
	}
}

// conflicts warns of two prints of one card that can't both be its number, where nothing says which is.
func (p *posterior) conflicts(r *Result) {
	for _, all := range p.given {
		for k := range all {
			if at := slices.IndexFunc(all[:k], func(r given) bool { return alike(&r, &all[k]) }); at >= 0 {
				r.Warnings = append(r.Warnings, fmt.Sprintf("the same read has %q beside it in line %d, and %q in line %d: one of them is wrong",
					words.Cut(all[at].Printed), all[at].Line, words.Cut(all[k].Printed), all[k].Line))
				break
			}
		}
	}
}

// alike reports whether two prints can be the same number, one of them typed wrong: of one kind, both one number or
// both a pair, and of about as many digits.
func alike(a, b *given) bool {
	d, e := typing.NewSeen(a.print), typing.NewSeen(b.print)
	more := len(d.Digits) - len(e.Digits)
	same := d.Serial.Len() > 0 && d.Serial == e.Serial // written in two ways
	return d.Kind == e.Kind && d.Pair == e.Pair && more >= -1 && more <= 1 && !same
}

// card returns the card of a read by the layout that was learned.
func (p *posterior) card(r *Result, e *entry, b wiegand.Bits) (card formats.Card, ok bool) {
	if e.format != nil {
		card, err := e.format.Read(e.inner(b))
		return card, err == nil
	}
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		return card, false
	}
	if r.Swapped {
		b = b.Invert()
	}
	card, err = (&formats.Format{ID: "learned", Layout: layout}).Read(b)
	return card, err == nil
}

// Bounds of what is told of the alternatives.
const (
	maxAlternatives  = 5
	leastAlternative = 0.001
)

// alternatives lists what else is possible and predicts something else.
func (p *posterior) alternatives(r *Result, best *entry) {
	said := slices.Clone(p.agree)
	for i, tried := 0, 0; i < len(p.entries) && tried < answers && len(r.Alternatives) < maxAlternatives; i++ {
		e := &p.entries[i]
		if said[i] {
			continue
		}
		prob := 0.0
		tried++
		for k := i; k < len(p.entries); k++ {
			if !said[k] && e.holds(&p.entries[k]) {
				said[k] = true
				prob += math.Exp(p.entries[k].Log - p.total)
			}
		}
		if prob < leastAlternative {
			continue
		}
		a := Alternative{Probability: prob, Differs: p.differs(best, e)}
		if e.format != nil {
			a.Spec = e.format.Layout.Spec()
		} else {
			a.Spec, a.Number = p.spec(e), numberOf(&e.Hyp)
		}
		r.Alternatives = append(r.Alternatives, a)
	}
}

// differs says in what a layout differs from the best one.
func (p *posterior) differs(best, e *entry) string {
	if e.format != nil {
		how := ""
		if e.wiring != evidence.None {
			how = ", " + e.wiring.Words()
		}
		switch {
		case evidence.IsPart(e.form):
			how += " and of the chip serial " + thePart(e.form)
		case evidence.IsLonger(e.form):
			how += ", printed as " + evidence.WayWords(e.form)
		case e.form != "":
			how += ", printed as its " + e.form
		}
		return "format " + e.format.ID + how
	}
	var parts []string
	if a, b := p.where(best), p.where(e); a != b {
		parts = append(parts, fmt.Sprintf("the number in bits %s instead of %s", b, a))
	}
	own := map[int]undocumented.Check{}
	if best.format == nil {
		for _, c := range best.Checks {
			own[c.Bit] = c
		}
	}
	for _, c := range e.Checks {
		was, there := own[c.Bit]
		delete(own, c.Bit)
		switch {
		case !there:
			parts = append(parts, fmt.Sprintf("bit %d is a check over %s", c.Bit+1, c.Over))
		case was.Mask != c.Mask:
			parts = append(parts, fmt.Sprintf("the check in bit %d covers %s instead of %s", c.Bit+1, c.Over, was.Over))
		}
	}
	for i := range p.s.Length {
		if _, left := own[i]; left {
			parts = append(parts, fmt.Sprintf("bit %d is no check", i+1))
		}
	}
	if parts == nil {
		return "what is printed is another part of the number"
	}
	return strings.Join(parts, "; ")
}

// where says where the number is.
func (p *posterior) where(e *entry) string {
	if e.format != nil {
		i := e.format.Number()
		if i < 0 {
			return "none"
		}
		return e.format.Layout.Spec().Fields[i].Bits.String()
	}
	n := numberOf(&e.Hyp)
	if n.Bits == nil {
		return "none"
	}
	s := n.Bits.String() + manner(&n)
	switch n.Print {
	case PrintOffset:
		s += fmt.Sprintf(" (printed %+d)", n.Offset)
	case PrintLast:
		s += fmt.Sprintf(" (printed: the last %d digits)", n.Digits)
	}
	return s
}

// manner says how a number is written where that is not the usual way.
func manner(n *Number) string {
	var parts []string
	if n.Order == wiegand.LSBFirst && n.Coding == wiegand.Binary {
		parts = append(parts, "last bit counts most")
	}
	switch n.Coding {
	case wiegand.BCD:
		parts = append(parts, "4 bits a decimal digit")
	case wiegand.Digits5:
		parts = append(parts, "5 bits a decimal digit")
	}
	if n.Inverse {
		parts = append(parts, "every bit changed")
	}
	if parts == nil {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

// evidenceFor says what speaks for each part of a layout of its own.
func (p *posterior) evidenceFor(r *Result, e *entry) []string {
	var lines []string
	n, cards := &r.Number, words.Count(r.Printed-len(e.wrong), "card")
	if n.Bits != nil {
		bits, what := n.Bits.String(), " hold the number"
		if e.Hyp.Place.Turn == undocumented.BitsInByte { // of which the list is long
			bits, what = fmt.Sprintf("%d-%d", e.Hyp.Place.From+1, e.Hyp.Place.To), ", each byte last bit first, hold the number"
		}
		if n.Print == PrintNone && len(r.Open) > 0 {
			what += " or its low end"
		}
		where := "bits " + bits + what + manner(n)
		switch n.Print {
		case PrintFull:
			where += fmt.Sprintf(": as printed on %s", cards)
		case PrintPair, PrintJoined:
			where += fmt.Sprintf(": as printed behind the facility on %s", cards)
		case PrintLast:
			where += fmt.Sprintf(": its last %s are printed on %s", words.Count(n.Digits, "digit"), cards)
		case PrintWhole:
			if where += fmt.Sprintf(": what is printed on %s is all of bits %d-%d", cards, e.From+1, e.To); e.Hyp.Facility[1] > 0 {
				where += ", these the right way round"
			} else {
				where += ", and does not say where the facility ends"
			}
		case PrintOffset:
			where += fmt.Sprintf(": what is printed on %s is %+d from it", cards, n.Offset)
		case PrintSerial:
			where += fmt.Sprintf(": of the chip serial of %s it is %s", cards, thePart(n.Part))
		default:
			where += ": what varies and is no check; no print says which end counts most"
		}
		lines = append(lines, where)
	}
	if from, to := e.facility(); to > from {
		lines = append(lines, fmt.Sprintf("bits %d-%d hold the facility as printed", from+1, to))
	}
	for _, c := range e.Checks {
		kind := "even"
		if c.Odd {
			kind = "odd"
		}
		line := fmt.Sprintf("bit %d is %s parity over %s: true of all %s", c.Bit+1, kind, c.Over,
			words.Count(r.Reads, "read"))
		if dark := without(c.Mask, p.varying); dark != ([4]uint64{}) {
			line += fmt.Sprintf(" (whether it covers %s can't be seen: constant)", spansOf(dark))
		}
		lines = append(lines, line)
	}
	if len(r.Constant) > 0 {
		lines = append(lines, bitsAre(r.Constant, "was", "were")+" the same in all reads")
	}
	return lines
}

// bitsAre begins a sentence about bits.
func bitsAre(s wiegand.Spans, one, many string) string {
	if s.Len() == 1 {
		return "bit " + s.String() + " " + one
	}
	return "bits " + s.String() + " " + many
}

func spansOf(m [4]uint64) wiegand.Spans { return undocumented.SpansOf(m) }

func head(n int) [4]uint64 { return between(0, n) }

func between(from, to int) [4]uint64 { return undocumented.MaskOf(from, to) }

func and(a, b [4]uint64) [4]uint64 {
	return [4]uint64{a[0] & b[0], a[1] & b[1], a[2] & b[2], a[3] & b[3]}
}

func without(a, b [4]uint64) [4]uint64 {
	return [4]uint64{a[0] &^ b[0], a[1] &^ b[1], a[2] &^ b[2], a[3] &^ b[3]}
}

func has(m *[4]uint64, i int) bool { return m[i>>6]>>(63-uint(i)&63)&1 == 1 }
