package evidence

import (
	"encoding/binary"
	"iter"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// among is where most numbers of cards lie together, and the facilities that more than one card has.
type among struct {
	number, facility int // fields
	low, high        uint64
	cards            int      // how many have a number
	facilities       []uint64 // none where the format has no such field
	main             []uint64 // the one that most cards have, where some have another of these
}

// worthLeaving is how much likelier all others must be without a number that lies apart from them, as a log, for it to
// be one that may be typed wrong: such a slip comes once in some thousand times.
const worthLeaving = 8

// amongOf returns what cards at some places are among; false where they have no numbers.
func (w *Work) amongOf(places iter.Seq[int]) (b among, ok bool) {
	b.number, b.facility = w.model.format.Number(), w.model.format.Facility()
	var numbers, facilities []uint64
	for i := range places {
		c := &w.cards[i]
		if v, some := c.Record.Uint64(b.number); some && c.Known.Has(b.number) {
			numbers = append(numbers, v)
		}
		if v, some := c.Record.Uint64(b.facility); some && c.Known.Has(b.facility) {
			facilities = append(facilities, v)
		}
	}
	if len(numbers) < 2 {
		return b, false
	}
	slices.Sort(facilities)
	for i, v := range facilities {
		if i > 0 && facilities[i-1] == v && !slices.Contains(b.facilities, v) {
			b.facilities = append(b.facilities, v)
		}
	}
	if usual, ok := commonest(facilities); ok && len(b.facilities) > 1 {
		from, _ := slices.BinarySearch(facilities, usual)
		if to, _ := slices.BinarySearch(facilities, usual+1); 2*(to-from) > len(facilities) {
			b.main = []uint64{usual}
		}
	}
	slices.Sort(numbers)
	from, to := closest(numbers)
	b.low, b.high, b.cards = numbers[from], numbers[to], len(numbers)
	return b, len(b.facilities) > 0 || len(facilities) == 0
}

// closest returns the first and the last of the sorted numbers that lie together: up to a quarter at either end are
// left out if the others lie so much closer together then that it makes up for so many slips.
func closest(numbers []uint64) (from, to int) {
	n := len(numbers)
	to = n - 1
	width := func(from, to int) float64 { return math.Log(float64(numbers[to]-numbers[from]) + 1) }
	for range 2 { // far ones at one end hide how far those at the other are
		low, high, most := 0, n-1, 0.0
		for k := 0; k <= n/4; k++ {
			if gain := float64(to-k)*(width(0, to)-width(k, to)) - worthLeaving*float64(k); gain > most {
				low, most = k, gain
			}
		}
		from, most = low, 0
		for k := n - 1; k >= n-1-n/4; k-- {
			if gain := float64(k-from)*(width(from, n-1)-width(from, k)) - worthLeaving*float64(n-1-k); gain > most {
				high, most = k, gain
			}
		}
		to = high
	}
	return from, to
}

// places yields those of a slot's cards.
func (s *slot) places() iter.Seq[int] {
	return func(yield func(int) bool) {
		for _, e := range s.entries {
			if !yield(e.card) {
				return
			}
		}
	}
}

// has reports whether a card is among them.
func (b *among) has(c *formats.Card) bool {
	v, some := c.Record.Uint64(b.number)
	return some && v >= b.low && v <= b.high && b.hasFacility(c)
}

// near is has, and as far below and above again.
func (b *among) near(c *formats.Card) bool {
	v, some := c.Record.Uint64(b.number)
	width := b.high - b.low + 1
	return some && v >= b.low-min(b.low, width) && v-min(v, b.high) <= width && b.hasFacility(c)
}

func (b *among) hasFacility(c *formats.Card) bool {
	f, _ := c.Record.Uint64(b.facility)
	return len(b.facilities) == 0 || slices.Contains(b.facilities, f)
}

// chance is the probability that one more card is this one. Each of n+1 numbers is as likely the lowest or the highest;
// beyond the others it hardly ever lies many times as far as they lie from one another.
func (b *among) chance(t *typo) float64 {
	if len(b.facilities) > 0 && !slices.Contains(b.facilities, t.facility) {
		return 0
	}
	v, n, width := t.number, float64(b.cards), float64(b.high-b.low)+1
	p := (n - 1) / (n + 1) / width
	if v < b.low || v > b.high {
		far, step := float64(max(b.low-min(v, b.low), v-min(v, b.high))), width/n
		p = step / (n + 1) / ((far + step) * (far + step))
	}
	return p / float64(max(1, len(b.facilities)))
}

// suspects are cards without a read that can be typed wrong, and how much likelier their prints are then, as a log.
type suspects struct {
	cards []int
	log   float64
}

// meant adds to what no card of the format has, given an option, the probability that it was typed wrong for a number
// among the others or near them. Half the chance is left to what is anything. Cards that lie apart from the others are
// noted as typed wrong too, as another way in which all can have come about; and so are those that have, two or more of
// them, another facility than most: the same mistake is made twice.
func (w *Work) meant(s *slot, opt *option) {
	w.wrong = w.wrong[:0]
	if opt.part != nil || opt.leavesOut(w.model.format) || s.kind == formats.Serial {
		return
	}
	b, ok := w.amongOf(s.places())
	if !ok {
		return
	}
	odd := w.oddOf(s, &b)
	for _, i := range odd {
		if e := s.entries[i]; w.cards[e.card].Format == nil {
			one := w.slipAmong(&b, opt, e.seen)
			one.Slip += w.fits[i].Slip / 2
			w.fits[i] = one
		}
	}
	if len(w.q.slots) > 1 { // valuesLog leaves none out then
		return
	}
	w.suspect(s, opt, &b, odd)
	if b.main != nil {
		b.facilities = b.main
		w.suspect(s, opt, &b, w.oddOf(s, &b))
	}
}

// oddOf returns the entries of a slot whose cards were not read and are not among the others, or no card of the format;
// none where those are most.
func (w *Work) oddOf(s *slot, b *among) (odd []int) {
	for i, e := range s.entries {
		if c := &w.cards[e.card]; c.Format == nil || w.q.cards[e.card].read.Len() == 0 && !b.has(c) {
			if odd = append(odd, i); len(odd) > len(s.entries)/2 {
				return nil
			}
		}
	}
	return odd
}

// suspect notes the odd entries of a slot that can be typed wrong for numbers among the others.
func (w *Work) suspect(s *slot, opt *option, b *among, odd []int) {
	var fits []typing.Fit
	var all suspects
	for _, i := range odd {
		e := s.entries[i]
		if w.cards[e.card].Format == nil {
			continue
		}
		if one := w.slipAmong(b, opt, e.seen); one.Slip > 0 || one.Near.Styles() != 0 {
			if fits == nil {
				fits = slices.Clone(w.fits)
			}
			fits[i] = one
			all.cards = append(all.cards, e.card)
		}
	}
	if fits != nil {
		all.log = typing.FitsLog(fits) - typing.FitsLog(w.fits)
		w.wrong = append(w.wrong, all)
	}
}

// slipOf is what slipAmong depends on, but for the facilities, which are in bytes.
type slipOf struct {
	opt        *option
	text       string
	others     float64
	low, high  uint64
	cards      int
	facilities string
}

// mostSlips is of how many prints what slipAmong found is kept.
const mostSlips = 1 << 12

// slipAmong is how a print fits, given an option, that was typed wrong for some number among the others or near them,
// which half of those that can be are. Other readings of the same cards ask again.
func (w *Work) slipAmong(b *among, opt *option, seen *typing.Seen) typing.Fit {
	var facilities []byte
	for _, f := range b.facilities {
		facilities = binary.BigEndian.AppendUint64(facilities, f)
	}
	key := slipOf{opt, seen.Text, seen.Others, b.low, b.high, b.cards, string(facilities)}
	f, known := w.slips[key]
	if !known {
		if len(w.slips) >= mostSlips || w.slips == nil {
			w.slips = map[slipOf]typing.Fit{}
		}
		f = w.slip(b, opt, seen)
		w.slips[key] = f
	}
	return f
}

// slip is slipAmong, worked out.
func (w *Work) slip(b *among, opt *option, seen *typing.Seen) (f typing.Fit) {
	if opt.never(seen, seen.Significant(1)) {
		return f
	}
	key := typedAs{opt.form, w.model.alike, seen.Text, seen.Others}
	all, known := w.typos[key]
	if !known || opt.form.OfRead() {
		if all = w.typosOf(b, opt, seen); w.allTypos < mostTypos {
			if w.allTypos += len(all.cards); w.typos == nil {
				w.typos = map[typedAs]typos{}
			}
			w.typos[key] = all
		}
	}
	for i := range all.cards {
		t := &all.cards[i]
		if chance := b.chance(t) / 2; chance > 0 {
			f.Slip += chance * t.slip
			f.Near.Add(&all.fits[t.fit].Near, chance)
		}
	}
	return f
}

// typedAs is a print in a form, for formats whose cards are printed alike, and how many other cards have the same.
type typedAs struct {
	form   *formats.Form
	alike  int
	text   string
	others float64
}

// typos are the cards that a print can have been typed wrong for. Most have the same fit but for the slip.
type typos struct {
	cards []typo
	fits  []typing.Fit
}

// typo is one of these: its number and facility, the probability of the print as a slip of its own, and how it fits
// beside that, by its place.
type typo struct {
	number, facility uint64
	slip             float64
	fit              int
}

// mostTypos is how many of these are kept.
const mostTypos = 1 << 19

// typosOf works them out.
func (w *Work) typosOf(b *among, opt *option, seen *typing.Seen) (all typos) {
	for _, m := range typing.Mistakes() {
		for text := range m.Undo(seen.Text) {
			var err error
			if w.typo, err = opt.form.Parse(w.model.format, string(text)); err != nil {
				continue
			}
			number, ok := w.typo.Record.Uint64(b.number)
			fit := opt.fit(&w.typo, seen, w.text[:])
			if !ok || fit.Styles != 0 {
				continue
			}
			facility, _ := w.typo.Record.Uint64(b.facility)
			one := typo{number: number, facility: facility, slip: fit.Slip - seen.Astray()}
			fit.Slip = 0
			if one.fit = slices.Index(all.fits, fit); one.fit < 0 {
				one.fit, all.fits = len(all.fits), append(all.fits, fit)
			}
			all.cards = append(all.cards, one)
		}
	}
	return all
}

// valuesLog is the log probability of the cards' values, of those that are typed wrong left out or not.
func (w *Work) valuesLog() float64 {
	log := w.fieldsLog()
	if w.q.mixed && w.q.reads == 0 {
		log = logp.Add(math.Log(1-judgement.LotByPrint)+log, math.Log(judgement.LotByPrint)+w.lotsLog())
	}
	if log += w.lowLog(); len(w.q.slots) > 1 || math.IsInf(log, -1) {
		return log
	}
	var saved []formats.Card
	for i := range w.wrong {
		saved = append(saved[:0], w.cards...)
		for _, card := range w.wrong[i].cards {
			w.cards[card] = formats.Card{}
		}
		log = logp.Add(log, w.wrong[i].log+w.fieldsLog()+w.lowLog())
		copy(w.cards, saved)
	}
	return log
}

// lotsLog is fieldsLog where the cards of each slot are a lot of their own; a card of several is of the first one.
func (w *Work) lotsLog() (log float64) {
	saved := slices.Clone(w.cards)
	left := slices.Clone(saved)
	for k := range w.q.slots {
		clear(w.cards)
		some := false
		for card := range w.q.slots[k].places() {
			w.cards[card], left[card] = left[card], formats.Card{}
			some = some || w.cards[card].Format != nil
		}
		if some {
			log += w.fieldsLog()
		}
	}
	copy(w.cards, saved)
	return log
}
