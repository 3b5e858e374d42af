package learn

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// How many cards it takes for two checks over runs of a 16-bit number: with 8, one layout in three is settled; with 12,
// 19 in 20; with 16, 98 in 100.
const (
	fewCards   = 8
	goodCards  = 16
	sureEnough = 0.99
)

// advise says what to present next.
func (p *posterior) advise(r *Result, best *entry) {
	if best == nil {
		r.Settle = append(r.Settle, fmt.Sprintf("so few reads say nothing about a layout: present at least %d cards with different numbers, better %d, and note what is printed on each",
			fewCards, goodCards))
		return
	}
	if r.Printed == 0 && r.Probability < sureEnough {
		r.Settle = append(r.Settle, "note the printed numbers of a few cards: without them it can't be seen which bits are the number, and in which order")
	}
	if best.format != nil && r.Probability >= sureEnough {
		return
	}
	if r.Probability < sureEnough {
		more := max(int(math.Ceil(math.Log2(max(1-r.Probability, 1e-6)/(1-sureEnough)))), fewCards-len(p.s.Reads), 1)
		r.Settle = append(r.Settle, fmt.Sprintf("about %s of other numbers, as far apart as there are",
			words.Count(more, "more card")))
	}
	r.Settle = append(r.Settle, p.deciding(best)...)
	if best.format != nil {
		return
	}
	if len(r.Open) > 0 && r.Number.Bits != nil {
		r.Settle = append(r.Settle, fmt.Sprintf("a card with a much higher number, or from another order: %s, and can be high bits of the number as well as the facility",
			bitsAre(r.Open, "never changed", "never changed")))
	}
	var number [4]uint64
	if !best.Hyp.None {
		number = between(best.Hyp.Place.From, best.Hyp.Place.To)
	}
	fixed := without(without(between(best.From, best.To), p.varying), number)
	if s := spansOf(fixed); s.Len() > 1 && s.String() != r.Open.String() {
		r.Settle = append(r.Settle, fmt.Sprintf("cards from another order: all this is for the facility of these cards; bits %s never changed, so that what the checks cover there is not known", s))
	}
	if dark := without(number, p.varying); best.Hyp.Print != PrintNone && dark != ([4]uint64{}) {
		r.Settle = append(r.Settle, fmt.Sprintf("a card whose number differs in bits %s, which were the same on all cards",
			spansOf(dark)))
	}
}

// deciding names a card that would tell the likeliest layouts apart: of some numbers near those seen, the one about
// whose read there is most doubt.
func (p *posterior) deciding(best *entry) []string {
	if len(best.toggles) == 0 || best.Hyp.Offset != 0 {
		return nil
	}
	bestNumber, bestDoubt := uint64(0), 0.01
	var other wiegand.Bits
	for _, v := range p.candidates(best) {
		first, doubt, rival := best.read(v), 0.0, -1
		for k := range p.entries[:min(len(p.entries), 64)] {
			e := &p.entries[k]
			if p.agree[k] || len(e.toggles) < len(best.toggles) {
				continue
			}
			if e.read(v) != first {
				doubt += math.Exp(e.Log - p.total)
				if rival < 0 {
					rival = k
				}
			}
		}
		if doubt = min(doubt, 1-doubt); doubt > bestDoubt {
			bestNumber, bestDoubt = v, doubt
			other = wiegand.BitsFromWords(p.entries[rival].read(v), p.s.Length)
		}
	}
	if bestDoubt <= 0.01 {
		return nil
	}
	first := wiegand.BitsFromWords(best.read(bestNumber), p.s.Length)
	return []string{fmt.Sprintf("card %d, if there is one: a read of %s speaks for the first, %s for another layout",
		bestNumber, first.Hex(), other.Hex())}
}

// read returns the read of a printed number.
func (e *entry) read(v uint64) [4]uint64 {
	m := e.zero
	for j := range e.toggles {
		if v>>uint(j)&1 == 1 {
			xor(&m, &e.toggles[j])
		}
	}
	return m
}

// candidates returns numbers a person may have a card of: beside those seen, and between them.
func (p *posterior) candidates(best *entry) []uint64 {
	var seen []uint64
	for i := range p.s.Prints {
		if len(p.s.Prints[i]) > 0 && len(seen) < 50 {
			seen = append(seen, numberIn(p.s.Prints[i][0].Text))
		}
	}
	limit := uint64(math.MaxUint64) >> uint(64-len(best.toggles))
	var all []uint64
	add := func(v uint64) {
		if v <= limit && len(all) < 400 && !slices.Contains(seen, v) {
			all = append(all, v)
		}
	}
	for i, v := range seen {
		add(v + 1)
		add(v + 2)
		add(v ^ 1<<uint(i%16))
		for _, u := range seen[:i] {
			add(u/2 + v/2)
		}
	}
	slices.Sort(all)
	return slices.Compact(all)
}

// numberIn returns the number that a print ends with.
func numberIn(text string) (v uint64) {
	if i := strings.LastIndexAny(text, ",-/ "); i >= 0 {
		text = text[i+1:]
	}
	for _, c := range text {
		if c >= '0' && c <= '9' {
			v = v*10 + uint64(c-'0')
		}
	}
	return v
}
