package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// evidenceFor says what speaks for each part of a layout.
func (p *posterior) evidenceFor(l *layout) []string {
	var lines []string
	if h := l.num; h != nil {
		lines = append(lines, p.numberEvidence(h)...)
	}
	for _, c := range l.checks {
		if c.class.key.empty() || l.num != nil && l.num.cols.has(c.bit) {
			continue
		}
		line := fmt.Sprintf("bit %d is %s parity over %s: true of all %s", c.bit+1, parityName(c.class.odd), c.class.rep, plural(p.s.n, "read"))
		if c.class.family == familyAny {
			line += ", in no usual pattern"
		}
		if dark := maskOf(c.class.rep).without(p.s.varying); !dark.empty() {
			line += fmt.Sprintf(" (whether it covers %s can't be seen: constant)", dark.spans())
		}
		lines = append(lines, line)
	}
	if l.rest.facility {
		lines = append(lines, fmt.Sprintf("%s %d values together: a part of the facility, most likely", bitsAre(l.rest.cols, "takes", "take"), l.rest.values))
	} else if !l.rest.cols.empty() {
		lines = append(lines, bitsAre(l.rest.cols, "varies and follows", "vary and follow")+" from nothing that was found")
	}
	if fixed := span(0, p.s.length-1).without(p.s.varying); !fixed.empty() {
		lines = append(lines, bitsAre(fixed, "was", "were")+" the same in all reads")
	}
	return lines
}

// bitsAre begins a sentence about bits.
func bitsAre(m mask, one, many string) string {
	if m.count() == 1 {
		return "bit " + m.spans().String() + " " + one
	}
	return "bits " + m.spans().String() + " " + many
}

// numberEvidence says where the number is and how that is known.
func (p *posterior) numberEvidence(h *number) []string {
	where := "bits " + h.Bits.String() + " hold the number" + h.manner()
	n := p.s.prints()
	if (h.Print == PrintNone || h.Print == PrintSequence) && !p.beyond(h, func(int) bool { return true }).empty() {
		where = "bits " + h.Bits.String() + " hold the number or its low end" + h.manner()
	}
	switch h.Print {
	case PrintFull:
		where += fmt.Sprintf(": as printed on %s", plural(n, "card"))
	case PrintPair, PrintJoined:
		where += fmt.Sprintf(": as printed behind the facility on %s", plural(n, "card"))
	case PrintLast:
		where += fmt.Sprintf(": its last %s are printed on %s", plural(h.Digits, "digit"), plural(n, "card"))
	case PrintOffset:
		where += fmt.Sprintf(": what is printed on %s is %+d from it", plural(n, "card"), h.Offset)
	case PrintSequence:
		where += fmt.Sprintf(": it counts up from card to card through %s", plural(p.s.n, "read"))
	default:
		where += ": what varies and is no check"
		if !h.near {
			where += "; which end counts most can't be seen, and that it is the first is the usual way"
		}
	}
	lines := []string{where}
	if h.facility != nil {
		lines = append(lines, fmt.Sprintf("bits %s hold the facility as printed", h.facility))
	}
	return lines
}

// manner says how a number is written where that is not the usual way.
func (h *number) manner() string {
	var parts []string
	if h.Order == wiegand.LSBFirst && h.Coding == wiegand.Binary {
		parts = append(parts, "last bit counts most")
	}
	switch h.Coding {
	case wiegand.BCD:
		parts = append(parts, "4 bits a decimal digit")
		if h.Order == wiegand.LSBFirst {
			parts = append(parts, "lowest bit of each first")
		}
	case wiegand.Digits5:
		parts = append(parts, "5 bits a decimal digit")
	}
	if h.Inverse {
		parts = append(parts, "every bit changed")
	}
	if parts == nil {
		return ""
	}
	return " (" + strings.Join(parts, ", ") + ")"
}

// differs says in what a layout differs from the best one.
func (p *posterior) differs(best, l *layout) string {
	var parts []string
	if a, b := bitsOf(best.num), bitsOf(l.num); a != b {
		parts = append(parts, fmt.Sprintf("the number in bits %s instead of %s", b, a))
	}
	own := map[int]*class{}
	for _, c := range best.checks {
		if !c.class.key.empty() {
			own[c.bit] = c.class
		}
	}
	for _, c := range l.checks {
		was := own[c.bit]
		delete(own, c.bit)
		switch {
		case c.class.key.empty() && was == nil:
		case was == nil:
			parts = append(parts, fmt.Sprintf("bit %d is a check over %s", c.bit+1, c.class.rep))
		case was.key != c.class.key:
			parts = append(parts, fmt.Sprintf("the check in bit %d covers %s instead of %s", c.bit+1, c.class.rep, was.rep))
		}
	}
	for _, bit := range sortedKeys(own) {
		parts = append(parts, fmt.Sprintf("bit %d is no check", bit+1))
	}
	if l.rest.cols != best.rest.cols && !l.rest.cols.empty() {
		parts = append(parts, bitsAre(l.rest.cols, "follows", "follow")+" from nothing")
	}
	if parts == nil {
		return "a check covers another bit of the number"
	}
	return strings.Join(parts, "; ")
}

func bitsOf(h *number) string {
	if h == nil || h.Bits == nil {
		return "none"
	}
	s := h.Bits.String() + h.manner()
	switch h.Print {
	case PrintOffset:
		s += fmt.Sprintf(" (printed %+d)", h.Offset)
	case PrintLast:
		s += fmt.Sprintf(" (printed: the last %d digits)", h.Digits)
	}
	return s
}

// warn adds what the reader should know about the layout.
func (p *posterior) warn(r *Result, l *layout) {
	if p.s.prints() > 0 && (l.num == nil || l.num.Print == PrintNone || l.num.Print == PrintSequence) {
		r.Warnings = append(r.Warnings, "the printed numbers have nothing to do with the reads, as far as was looked: another numbering, or of other cards")
	}
	if r.Swapped {
		r.Warnings = append(r.Warnings, "every bit of the number is changed: most likely the reader's two data lines are swapped; the layout is for the right way round")
	}
	if l.num == nil {
		return
	}
	if n := p.unexplained(l); n > 0 {
		r.Warnings = append(r.Warnings, fmt.Sprintf("%s between bits hold in all reads that the layout does not explain: a check of no usual pattern", plural(n, "more relation")))
	}
	switch h := l.num; {
	case h.Print == PrintOffset:
		r.Warnings = append(r.Warnings, fmt.Sprintf("what is printed is the number in the read %+d; a definition file knows only the number in the read", h.Offset))
	case h.Print == PrintLast:
		r.Warnings = append(r.Warnings, fmt.Sprintf("only the last %d digits of the number are printed; a read can't be made from them", h.Digits))
	}
}

// unexplained returns how many independent relations over GF(2) hold between the bits that vary, beyond the layout's checks. It
// is 0 where there are too few reads to tell them from chance, or where numbers near one another bring their own.
func (p *posterior) unexplained(l *layout) int {
	varying := p.s.varying.count()
	if p.s.n < varying+10 || l.num.near || l.rest.facility {
		return 0
	}
	checks := 0
	for _, c := range l.checks {
		if !c.class.key.empty() {
			checks++
		}
	}
	return max(0, varying-p.f.basis.rank()-checks)
}

// advise says what to present next.
func (p *posterior) advise(r *Result) {
	if p.s.varying.empty() {
		r.Settle = append(r.Settle, fmt.Sprintf("one read says nothing about a layout: present at least %d cards with different numbers, better %d, and note what is printed on each",
			fewCards, goodCards))
		return
	}
	if p.s.prints() == 0 && len(r.Known) == 0 {
		r.Settle = append(r.Settle, "note the printed numbers of a few cards: without them it can't be seen which bits are the number, and in which order")
	}
	if len(r.Known) > 0 || len(p.classes) == 0 {
		return
	}
	if r.Probability < sureEnough {
		r.Settle = append(r.Settle, fmt.Sprintf("about %s of other numbers, as far apart as there are", plural(p.moreCards(r.Probability), "more card")))
	}
	r.Settle = append(r.Settle, p.deciding()...)
	l := &p.classes[0].best
	if l.num != nil && len(r.Open) > 0 {
		if m := maskOf(r.Open).without(l.rest.cols); !m.empty() {
			r.Settle = append(r.Settle, fmt.Sprintf("a card with a much higher number, or from another order: %s, and can be high bits of the number as well as the facility", bitsAre(m, "never changed", "never changed")))
		}
	}
	if fixed := p.facilityBits(l); fixed.count() > 1 && !fixed.without(maskOf(r.Open)).empty() {
		r.Settle = append(r.Settle, fmt.Sprintf("cards from another order: all this is for the facility of these cards; bits %s never changed, so that what the checks cover there is not known", fixed.spans()))
	}
	if dark := p.unexercised(l); !dark.empty() {
		r.Settle = append(r.Settle, fmt.Sprintf("a card whose number differs in bits %s, which were the same on all cards", dark.spans()))
	}
}

// How many cards it takes for two checks over runs of a 16-bit number: with 8, one layout in three is settled; with 12, 19 in 20;
// with 16, 98 in 100.
const (
	fewCards   = 8
	goodCards  = 16
	sureEnough = 0.99
)

// moreCards returns how many more cards it takes, on average, until the layout is sure: each rules out half of what is wrong.
func (p *posterior) moreCards(prob float64) int {
	doubt := max(1-prob, 1e-6)
	n := int(math.Ceil(math.Log2(doubt / (1 - sureEnough))))
	return max(n, fewCards-p.s.n, 1)
}

// facilityBits returns the bits that were the same in all reads and are neither at the ends nor in the number.
func (p *posterior) facilityBits(l *layout) mask {
	m := span(0, p.s.length-1).without(p.s.varying)
	m.drop(0)
	m.drop(p.s.length - 1)
	if l.num != nil {
		m = m.without(l.num.cols)
	}
	return m
}

// unexercised returns the bits of the number that were the same in all reads.
func (p *posterior) unexercised(l *layout) mask {
	if l.num == nil || l.num.Print == PrintNone || l.num.Print == PrintSequence {
		return mask{}
	}
	return l.num.cols.without(p.s.varying)
}

// deciding names a card that would tell the likeliest layouts apart: of some numbers near those seen, the one about whose read
// there is most doubt.
func (p *posterior) deciding() []string {
	if len(p.classes) < 2 || p.classes[0].best.probes() == nil {
		return nil
	}
	bestNumber, bestDoubt := uint64(0), 0.0
	var bestReads []mask
	for _, v := range p.candidates() {
		reads, doubt := p.doubt(v)
		if doubt > bestDoubt {
			bestNumber, bestDoubt, bestReads = v, doubt, reads
		}
	}
	if bestDoubt < 0.01 {
		return nil
	}
	h := p.classes[0].best.num
	var parts []string
	for i, w := range bestReads {
		parts = append(parts, fmt.Sprintf("%s speaks for %s", wiegand.BitsFromWords(w, p.s.length).Hex(), []string{"the first", "another layout"}[min(i, 1)]))
	}
	return []string{fmt.Sprintf("card %d, if there is one: a read of %s", h.shown(bestNumber), strings.Join(parts[:min(len(parts), 2)], ", "))}
}

// candidates returns numbers a person may have a card of: beside those seen, and between them.
func (p *posterior) candidates() []uint64 {
	h := p.classes[0].best.num
	seen := map[uint64]bool{}
	for _, w := range p.s.words {
		seen[h.value(w)] = true
	}
	var all []uint64
	add := func(v uint64) {
		if v <= h.max() && !seen[v] && len(all) < 400 {
			seen[v] = true
			all = append(all, v)
		}
	}
	words := p.s.words[:min(len(p.s.words), 50)]
	for _, w := range words {
		v := h.value(w)
		add(v + 1)
		add(v + 2)
		add(v ^ 1<<uint(len(all)%16))
	}
	for i := range words {
		for k := range i {
			add(h.value(words[i])/2 + h.value(words[k])/2)
		}
	}
	slices.Sort(all)
	return all
}

// doubt returns what the leading layouts predict for a number, the likeliest one's first, and how likely the others are that
// do not agree with it, held to one half: that is where a card says most.
func (p *posterior) doubt(v uint64) (reads []mask, doubt float64) {
	best := &p.classes[0].best
	first, ok := p.predict(best, v)
	if !ok {
		return nil, 0
	}
	reads = []mask{first}
	for i := 1; i < len(p.classes) && i < 64; i++ {
		c := &p.classes[i]
		if c.best.num == nil {
			continue
		}
		w, ok := p.predict(&c.best, c.best.num.stored(best.num.shown(v)))
		if ok && w != first {
			doubt += math.Exp2(c.logw - p.total)
			reads = append(reads, w)
		}
	}
	return reads, min(doubt, 1-doubt)
}
