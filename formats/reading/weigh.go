package reading

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"
)

// What a text can be is weighed as everywhere: by how usual the form is in this list, and by how probable the card is
// among those that the site uses.
const (
	// certain is the share from which a card is taken where a text can be another one too. One row in a hundred thousand
	// may be wrong.
	certain = 0.99999

	// asDoor is how usual it is that a list has numbers in the form of a door, against that in which they are printed.
	asDoor = 0.05

	// asMended is how usual it is that a cell lost something that has to be put back.
	asMended = 0.05

	// asPadded is how usual it is that a number that is written without zeros before it has just so many that another form
	// fits.
	asPadded = 0.0001
)

// candidate is a card that a text can be.
type candidate struct {
	seen   Seen
	weight float64 // of the forms that give it
	share  float64 // of all that the text can be
}

// candidates appends the different cards that a value can be, the likeliest first. Where there are none, the error says
// why.
func (p *Plan) candidates(value []byte, all []candidate) (_ []candidate, worst error) {
	var stray *Error
	settled := false // by a card of a block, in the form that the list should have
	for i := range p.readings {
		r := &p.readings[i]
		if r.second && settled && r.weight <= asDoor {
			continue
		}
		var one candidate
		if err := r.read(value, p, &one.seen); err != nil {
			if e, ok := errors.AsType[*Error](err); ok && !r.second && e.Kind == Damaged && e.Card.Format != nil {
				stray = e // which is a way to read it all the same: what else it can be is not certain
			}
			worst = nearer(worst, err)
			continue
		}
		one.weight = r.weight
		if r.shape.Decimal && r.shape.Width == 0 && len(value) > 1 && value[0] == '0' {
			if r.habit.rare || p.padded.unusual(len(value)) {
				worst = nearer(worst, &Error{Kind: Damaged, Form: r.Form.Name, Reason: quoted(value) +
					"with zeros before it, and not as many as others of this list have; write it with all its digits"})
				continue
			}
			one.weight *= asPadded
		} else if one.seen.Repair != "" {
			one.weight *= asMended
		} else if !r.second && r.blocks && r.inBlocks(&one.seen) {
			settled = true
		}
		at := slices.IndexFunc(all, func(c candidate) bool { return same(&c.seen, &one.seen) })
		if at < 0 {
			all = append(all, one)
			continue
		}
		if all[at].seen.Repair != "" && one.seen.Repair == "" {
			all[at].seen = one.seen
		}
		all[at].weight += one.weight
	}
	if stray != nil && !settled {
		return all[:0], stray
	}
	share(all, len(bytes.TrimSpace(value)))
	return all, worst
}

// usual is how many rows the forms weigh that no row speaks for, and beyond from which share on a row of the sample
// says where numbers lie. It must be told by what is known beforehand: a column that explained itself would grow sure
// of anything.
const usual, beyond = 2.0, 0.999

// Asks reports whether a sample of a list would say more of how to read it.
func (p *Plan) Asks() bool {
	return len(p.readings) > 1 || !p.asIs && !p.readings[0].blocks &&
		p.readings[0].shape.Width+p.readings[0].shape.Second > 0
}

// Settled returns the plan with what a sample of a list's numbers says: how usual each form is in it, and where the
// numbers lie of cards whose blocks are not known. So what is likely for the column is likely for each row.
func (p *Plan) Settled(sample []string) *Plan {
	q := *p
	q.readings = slices.Clone(p.readings)
	before, rows := 0.0, 0.0
	for i := range q.readings {
		q.readings[i].weight *= p.readings[i].lettered(sample)
		before += q.readings[i].weight
	}
	p = &Plan{readings: slices.Clone(q.readings), asIs: p.asIs, any: p.any}
	for i := range q.readings {
		q.readings[i].weight *= usual / before
	}
	for _, text := range sample {
		all, _ := p.candidates([]byte(text), nil)
		rows += float64(min(1, len(all)))
		for i := range all {
			c := &all[i]
			r := &q.readings[c.seen.Reading.index]
			r.weight += c.share
			if n, ok := c.seen.Number(); ok && c.share > beyond && !r.blocks {
				r.numbers = append(r.numbers, n)
			}
		}
	}
	for i := range q.readings {
		q.readings[i].weight /= rows + usual
		slices.Sort(q.readings[i].numbers)
		q.readings[i].numbers = thinned(slices.Compact(q.readings[i].numbers))
	}
	q.learn(sample)
	for _, text := range sample {
		if digitsOnly(text) && text[0] == '0' && len(text) < len(q.padded) {
			q.padded[len(text)]++
		}
	}
	for i := range q.readings {
		q.readings[i].habit.rare = q.readings[i].weight < rarely
	}
	return &q
}

// padded is how many numbers of a sample have zeros before them, by their length.
type padded [24]int

// unusual reports whether nine in ten of the numbers with zeros before them have another length.
func (p *padded) unusual(length int) bool {
	all := 0
	for _, n := range p {
		all += n
	}
	return all > 0 && (length >= len(p) || p[length]*10 < all)
}

// rarely is the weight of a form that few numbers of a list have.
const rarely = 0.05

// lettered returns how probable it is that no number of a sample has a letter in it, where the form is hex: ten of the
// sixteen digits at the end of one are none. It is 1 where a number has, and for other forms.
func (r *Reading) lettered(sample []string) float64 {
	const digits = 10.0 / 16
	if !r.shape.Hex {
		return 1
	}
	p := 1.0
	for _, text := range sample {
		switch {
		case digitsOnly(text):
			p *= digits
		case strings.Trim(text, "0123456789ABCDEFabcdef") == "":
			return 1
		}
	}
	return max(p, 1e-12)
}

// enough is how many numbers say where others lie: each row in doubt is held against them.
const enough = 20

// thinned returns so many of sorted numbers, taken evenly.
func thinned(sorted []uint64) []uint64 {
	if len(sorted) <= enough {
		return sorted
	}
	some := make([]uint64, enough)
	for i := range some {
		some[i] = sorted[i*(len(sorted)-1)/(enough-1)]
	}
	return some
}

// share works out how probable each of the cards is that a text can be, and sorts them. length is that of the text.
func share(all []candidate, length int) {
	if len(all) == 1 {
		all[0].share = 1
		return
	}
	top := math.Inf(-1)
	for i := range all {
		c := all[i].seen.Card()
		if written, err := all[i].seen.Reading.Form.Text(&c); err == nil && len(written) != length {
			all[i].weight *= asMended // not as the form writes it
		}
		all[i].share = math.Log(all[i].weight) + all[i].seen.Reading.values.LogGiven(&c, all[i].seen.Reading.numbers)
		top = max(top, all[i].share)
	}
	sum := 0.0
	for i := range all {
		all[i].share = math.Exp(all[i].share - top)
		sum += all[i].share
	}
	for i := range all {
		all[i].share /= sum
	}
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.share, a.share) })
}

// habit is what a sample says of cards of which it is not known which numbers they have. A number that has fewer digits
// than the form has may have lost zeros, or any other digit: it is taken where such cards lie.
type habit struct {
	wary       bool
	low, high  uint64 // about where the numbers lie
	facilities []uint64
	numbers    []uint64 // that say so
	rare       bool     // few numbers of the list are read so
	all        bool     // a number of any length may be what is left of one of fixed length, of other cards
}

// learn learns the habits of all readings. A column where many numbers of a kind have lost their zeros has lost nothing
// else.
func (p *Plan) learn(sample []string) {
	habits, short := make([]habit, len(p.readings)), make([]int, len(p.readings))
	for _, text := range sample {
		all, _ := p.candidates([]byte(text), nil)
		if len(all) != 1 {
			continue
		}
		s := &all[0].seen
		h, at := &habits[s.Reading.index], s.Reading.index
		if s.Reading.isShort([]byte(text), s) {
			short[at]++
			continue
		}
		if n, ok := s.Number(); ok {
			h.numbers = append(h.numbers, n)
		}
		if f, ok := s.Facility(); ok && !slices.Contains(h.facilities, f) {
			h.facilities = append(h.facilities, f)
		}
	}
	for i := range p.readings {
		r, h := &p.readings[i], &habits[i]
		fixed := r.shape.Width+r.shape.Second > 0
		if r.blocks || p.asIs || losing*short[i] > len(sample) || len(h.numbers) < known || !fixed && !p.fixed() {
			continue
		}
		slices.Sort(h.numbers)
		strange := 0
		if h.all = !fixed; h.all {
			strange = len(h.numbers) / known
		}
		h.low, h.high = h.numbers[strange], h.numbers[len(h.numbers)-1-strange]
		span := h.high - h.low
		if h.all {
			span = min(span, math.MaxUint64/far/2) * far
		}
		h.wary, h.numbers, h.low, h.high = true, nil, h.low-min(h.low, span+nearby), h.high+min(math.MaxUint64-h.high,
			span+nearby)
		r.habit = *h
	}
}

// losing is which part of a sample, as one in so many, has lost zeros where that is what the column does.
const losing = 4

// Where numbers have no fixed length but those of other cards in the list do, a number that lies very far from what is
// known is in doubt: from all but one in so many at either end, which may be such numbers.
const known, far = 8, 100

// fixed reports whether numbers of some cards have a fixed length.
func (p *Plan) fixed() bool {
	return slices.ContainsFunc(p.readings, func(r Reading) bool {
		return !r.second && r.shape.Decimal &&
			r.shape.Width > 0
	})
}

// nearby is how far from others a number lies that goes with them.
const nearby = 100

// isShort reports whether a number has fewer digits than its form.
func (r *Reading) isShort(value []byte, s *Seen) bool {
	if r.shape.Second > 0 {
		value = bytes.TrimSpace(value)
		return len(value)-bytes.LastIndexAny(value, ",-/ ")-1 < r.shape.Second
	}
	return s.Repair == zerosBack
}

// strays returns an error for a number with too few digits that lies where no others do.
func (r *Reading) strays(value []byte, s *Seen) error {
	if !r.habit.wary || !r.habit.all && !r.isShort(value, s) {
		return nil
	}
	n, ok := s.Number()
	f, has := s.Facility()
	if (!ok || n >= r.habit.low && n <= r.habit.high) && (!has || slices.Contains(r.habit.facilities, f)) {
		return nil
	}
	c := s.Card()
	return &Error{Kind: Damaged, Card: c, Form: r.Form.Name, Reason: fmt.Sprintf(
		"%sthe number has too few digits, or would be %s, far from others like it; write all its digits, or numbers = in the site file",
		quoted(value), Describe(&c))}
}
