package reading

import (
	"bytes"
	"cmp"
	"errors"
	"math"
	"slices"
	"strings"
)

// candidate is a card that a text can be.
type candidate struct {
	seen    Seen
	weight  float64 // of the forms that give it
	log     float64 // of how probable the text is by it, where it has lost digits
	share   float64 // of all that the text can be
	written int     // characters that the form writes it with
	short   bool    // the text has fewer
	mended  bool    // something was repaired in the text, and not just around it
	err     *Error  // why the card is not taken: it is none of the site's; nil where it is
	lost    bool    // the text would be what is left of it
	typed   bool    // the text would be it typed wrong
}

// refused reports whether the card is not taken, and only says that a text is in doubt.
func (c *candidate) refused() bool { return c.err != nil || c.lost || c.typed }

// strange reports whether the card is none that a list has: none of the site's, or typed wrong.
func (c *candidate) strange() bool { return c.err != nil || c.typed }

// candidates appends the different cards that a value can be, the likeliest first. Where none of them can be taken,
// there are none, and the error says why.
func (p *Plan) candidates(value []byte, all []candidate) (_ []candidate, worst error) {
	plain := stripped(value)
	all, sound, worst := p.read(value, plain, all)
	if all = merged(all, nil); !slices.ContainsFunc(all, func(c candidate) bool { return !c.refused() }) {
		return all[:0], worst
	}
	if !sound {
		all = p.spoilt(plain, all)
	}
	all = p.doubts(value, len(plain), all)
	p.share(all, plain)
	return all, worst
}

// merged returns candidates of which those with the same card are one: the text is written as that has it, or usually
// so. Those of readings that are apart stay apart.
func merged(all []candidate, apart map[[2]int]bool) []candidate {
	n := 0
	for i := range all {
		one, at := &all[i], 0
		for at < n && !all[at].sameAs(one, apart) {
			at++
		}
		if at == n {
			all[n] = *one
			n++
			continue
		}
		sum := all[at].weight + one.weight
		was, is := all[at].seen.Repair != "", one.seen.Repair != ""
		alike := one.seen.Reading.second == all[at].seen.Reading.second // else the first is as printed
		if alike && (was && !is || was == is && one.weight > all[at].weight) {
			all[at] = *one
		}
		all[at].weight = sum
	}
	return all[:n]
}

// sameAs reports whether two readings that are not apart make the same card of a text.
func (c *candidate) sameAs(o *candidate, apart map[[2]int]bool) bool {
	return !c.refused() && !o.refused() && same(&c.seen, &o.seen) &&
		!apart[[2]int{c.seen.Reading.index, o.seen.Reading.index}]
}

// read appends the card that each reading makes of a value, and reports whether nothing can have been lost of that.
func (p *Plan) read(value, plain []byte, all []candidate) (_ []candidate, sound bool, worst error) {
	settled, variable := false, false // it is a card of a block, in the form that the list should have; of any length
	among := false                    // others of the list
	for i := range p.readings {
		r := &p.readings[i]
		if among && r.unseen() || r.second && leavesOut(worst) {
			continue
		}
		n := len(all)
		all = append(all, candidate{weight: r.weight})
		one := &all[n]
		if err := r.candidate(value, plain, p, one); err != nil {
			switch {
			case r.guessed && one.err != nil:
				worst = nearer(err, worst)
			case !r.second || worst == nil || r.writes(err, len(plain)):
				worst = nearer(worst, err)
			}
			if one.err == nil || settled {
				all = all[:n]
			}
			continue
		}
		if r.second && among && r.habit.rare && !r.crowd.has(&one.seen) { // it goes with others, and as this with hardly any
			all = all[:n]
			continue
		}
		whole := one.seen.Repair != ZerosBack || r.habit.loose[0]
		if !r.second && r.blocks && whole && one.weight == r.weight && r.inBlocks(&one.seen) {
			settled, variable = true, !r.Fixed() || r.shape.Second > 0 && r.short(plain)
		}
		among = among || !r.second && whole && one.weight == r.weight && r.among(&one.seen)
		if one.lost {
			worst = nearer(worst, &Error{Kind: Unreadable, Form: r.Form.Name, Reason: quoted(value) + signless})
		}
	}
	return all, settled && !variable, worst
}

// spoilt appends the cards that a text can be what is left of, or typed wrong.
func (p *Plan) spoilt(plain []byte, all []candidate) []candidate {
	read := len(all)
	for i := range p.readings {
		r := &p.readings[i]
		if one, ok := r.leftOf(string(plain), p); ok {
			all = append(all, one)
		}
		if slices.ContainsFunc(all[:read], func(c candidate) bool {
			return c.err == nil && c.seen.Reading.Format == r.Format && !c.seen.Reading.alone(&c.seen)
		}) {
			continue // one number of a kind is as likely as the next
		}
		if one, ok := r.typed(plain, p); ok {
			all = append(all, one)
		}
	}
	return all
}

// candidate reads a value in one way. Where that gives a card that is none of the site's, and is written just so but
// for the zeros that the column has lost, the candidate says so beside the error.
func (r *Reading) candidate(value, plain []byte, p *Plan, one *candidate) error {
	if err := r.read(value, p, &one.seen); err != nil {
		if e, ok := errors.AsType[*Error](err); ok && p.settled && !r.second && e.Card.Format != nil {
			one.seen = Seen{Reading: r, card: e.Card}
			if one.fit(len(plain)) || one.written > len(plain) && r.habit.loose[r.lostPart(string(plain))] {
				one.err = e
			}
		}
		return err
	}
	one.mended = one.seen.Repair != "" && !around(value, one.seen.Repair)
	switch {
	case r.shape.Second > 0 && !bytes.ContainsAny(plain, signs) && (p.signs || len(p.readings) > 1):
		if r.second && r.habit.rare {
			return &Error{Kind: Unreadable, Form: r.Form.Name, Reason: quoted(value) + signless}
		}
		card := one.seen.Card()
		one.lost, one.weight, one.log = true, one.weight*asMended, r.values.LogGiven(&card, r.numbers)
	case one.seen.Repair == pointTaken && p.settled && !p.pointed:
		return &Error{Kind: Damaged, Form: r.Form.Name, Reason: quoted(value) +
			"has a decimal point, as others of this list do not: it may be a digit's, or a slip; write it with digits alone"}
	case r.shape.Second > 0 && p.inHexPairs(string(plain)):
		return &Error{Kind: Damaged, Form: r.Form.Name, Reason: quoted(value) +
			"stands among pairs with letters, which are in hex: this one may be, too; write it in decimal"}
	case one.seen.Repair == powerWritten && p.hasHex(false):
		return &Error{Kind: Damaged, Form: r.Form.Name, Reason: quoted(value) +
			"is a power of ten, and others of this list may be hex: it may have been that; write it with all its digits"}
	case p.settled && r.zeroBefore(plain):
		one.weight *= asPadded
		one.err = &Error{Kind: Damaged, Form: r.Form.Name, Reason: quoted(value) +
			"has zeros before it, as others of this list do not: a digit may be missing; write it with all its digits"}
		return one.err
	case one.mended && one.seen.Repair != ZerosBack:
		one.weight *= asMended
	}
	if p.settled && r.guessed {
		one.err = &Error{Kind: Unreadable, Form: r.Form.Name, Settles: []string{"Forms"}, Reason: quoted(value) +
			"can be a card of format " + r.Format.ID + ", of which neither the site file nor the list tells how it is written"}
		return one.err
	}
	return nil
}

// zeroBefore reports whether a number has zeros before it that neither the form nor the list has.
func (r *Reading) zeroBefore(plain []byte) bool {
	return r.shape.bare() && len(plain) > 1 && plain[0] == '0'
}

// writes reports whether a card that is refused is as long in the reading's form as the text is.
func (r *Reading) writes(err error, length int) bool {
	e, ok := errors.AsType[*Error](err)
	return ok && e.Card.Format != nil && (&candidate{seen: Seen{Reading: r, card: e.Card}}).fit(length)
}

// around reports whether a repair only took away what is around a number, which is so in whatever form it is.
func around(value []byte, repair string) bool {
	_, did := strip(string(value))
	return did == repair || repair == pointTaken
}

// Plain returns a cell's text without what is around its number, its decimal place, and the signs between bytes.
func Plain(cell string) string { return string(stripped([]byte(cell))) }

// stripped returns a value without what is around its number, its decimal place, and the signs between bytes, of which
// there are three or more: two may be facility and number.
func stripped(value []byte) []byte {
	letters, between := false, 0
	for _, c := range value {
		switch {
		case c >= '0' && c <= '9':
		case upper(c) >= 'A' && upper(c) <= 'F':
			letters = true
		case c == ',' || c == '-' || c == '/':
			between++
		default:
			between = 2
		}
	}
	if between == 0 || between == 1 && !letters {
		return value
	}
	text, _ := strip(string(value))
	if whole, pointed := strings.CutSuffix(text, ".0"); pointed && digitsOnly(whole) {
		text = whole
	}
	if len(text) > len("00-00") {
		text = hexDigits(text)
	}
	return []byte(text)
}

// fit works out how long the form writes the card, and reports whether a text is as long.
func (c *candidate) fit(length int) bool {
	if c.written == 0 {
		if c.written = c.seen.written(); c.written < 0 {
			c.written = length
		}
	}
	return c.written == length
}

// written returns how many characters the form writes the card with; -1 where it does not write it, or in bytes, with
// signs between or without.
func (s *Seen) written() int {
	r, least := s.Reading, 0 // digits, zeros before the number among them
	switch {
	case r.shape.Hex:
		return cmp.Or(r.shape.Width, -1)
	case r.shape.Decimal:
		least = r.shape.Width
	}
	var memory [32]byte
	if s.quick && r.write != nil {
		if text, ok := r.write(memory[:0], s.v, s.known); ok {
			return max(len(text), least)
		}
	}
	card := s.Card()
	text, err := r.Form.Append(memory[:0], &card)
	if err != nil {
		return -1
	}
	return max(len(text), least)
}

// asks reports whether a sample of a list would say more of how to read it.
func (p *Plan) asks() bool {
	return len(p.readings) > 1 || !p.asIs
}

// Settled returns the plan with what a sample of a list's numbers says: how usual each form is in it, and where the
// numbers lie of cards whose blocks are not known. So what is likely for the column is likely for each row. The texts
// have no white space around them.
func (p *Plan) Settled(sample []string) *Plan {
	if !p.asks() || len(sample) == 0 {
		return p
	}
	q := *p
	if p.any {
		within := *p
		within.any = false
		q.within = within.Settled(sample)
	}
	q.readings = slices.Clone(p.readings)
	before, texts, sum := *p, sample, 0.0
	if sample = different(sample); !p.asIs {
		sample, q.places = p.withoutDecimals(different(q.unlabelled(sample)))
		sample, q.grouped = p.ungrouped(sample)
	}
	for i := range q.readings {
		q.readings[i].shape.narrow(sample)
		sum += q.readings[i].weight
	}
	q.fillUp(sample)
	p, q.strangers = &Plan{readings: slices.Clone(q.readings), asIs: p.asIs, any: p.any, catalogue: p.catalogue}, nil
	for i := range q.readings {
		q.readings[i].weight *= usual / sum
	}
	all, strangers := p.lots(sample)
	whole, some, perhaps, rows := q.count(all)
	for i := range q.readings {
		q.readings[i].weight /= rows + usual
		q.readings[i].have(whole[i])
		q.readings[i].perhaps = crowdOf(numbersOf(perhaps[i]))
	}
	q.pool()
	for i := range q.readings {
		q.readings[i].habit.rare = q.readings[i].weight < rarely
	}
	q.strangers = remaining(strangers, all, rows)
	q.learn(sample)
	q.note(sample)
	q.hexPairs = hexPairs(sample)
	for i := range q.readings {
		if r := &q.readings[i]; r.habit.loose[0] || r.habit.loose[1] {
			r.have(some[i]) // those that have lost zeros too
		}
	}
	q.sole = q.isSole()
	if q.partly && !q.labelsKind(texts) {
		before.wholly = true
		return before.Settled(texts)
	}
	return &q
}

// count adds the rows of lots to the weights of their readings, and returns the cards of each reading: the whole ones,
// those and the ones that have lost zeros, and those that may be its, where another reading has the lot.
func (p *Plan) count(all []*lot) (whole, some, perhaps [][]Seen, rows float64) {
	n := len(p.readings)
	whole, some, perhaps = make([][]Seen, n), make([][]Seen, n), make([][]Seen, n)
	for _, l := range all {
		rows += float64(len(l.texts))
		for way, share := range l.shares {
			at := l.texts[0][way].seen.Reading.index
			p.readings[at].weight += share * float64(len(l.texts))
			for _, t := range l.texts {
				switch {
				case share < 1-certain:
				case share < alternative:
					perhaps[at] = append(perhaps[at], t[way].seen)
				case t[way].short:
					some[at] = append(some[at], t[way].seen)
				default:
					some[at], whole[at] = append(some[at], t[way].seen), append(whole[at], t[way].seen)
				}
			}
		}
	}
	return whole, some, perhaps, rows
}

// note notes which signs the numbers of a sample have.
func (p *Plan) note(sample []string) {
	signed, pointed := 0, 0
	for _, text := range sample {
		if whole := strings.TrimRight(text, "0"); whole != text && strings.HasSuffix(whole, ".") {
			pointed++
		}
		p.signs = p.signs || strings.ContainsAny(text, signs)
		if strings.ContainsAny(text, signs+".") {
			signed++
		}
	}
	p.plain = signed == 1 || signed*hardlyAny <= len(sample)
	p.pointed = pointed*hardlyAny >= len(sample)
}

// isSole reports whether no other reading has a say where the first one gives a card clearly, so that nothing has to be
// weighed.
func (p *Plan) isSole() bool {
	one := &p.readings[0]
	return !p.any && one.parse != nil && len(p.strangers) == 0 && p.hexPairs == nil &&
		!slices.ContainsFunc(p.readings[1:], func(r Reading) bool {
			return !r.unseen()
		})
}

// unseen reports whether the form is a door's in which hardly any number of the list is, and those say nothing of
// others.
func (r *Reading) unseen() bool { return r.second && r.habit.rare && len(r.crowd.numbers) == 0 }

// clearly reads a value that is just as the form writes it, as a card that is among the others. It is for the only
// reading that can have a say.
func (r *Reading) clearly(value []byte, s *Seen) bool {
	switch {
	case !Sound(value, r.shape), value[0] == '0' && r.shape.bare():
		return false
	// there is no sign where it belongs
	case r.shape.Second > 0 && (len(value) != r.shape.First+1+r.shape.Second || value[r.shape.First] >= '0'):
		return false
	case !r.fast(value, s):
		return false
	}
	return r.inBlocks(s) && r.among(s)
}

// among reports whether a number that is in the blocks, if they are known, goes with the others.
func (r *Reading) among(s *Seen) bool { return r.blocks && r.inBlocks(s) || r.crowd.has(s) }

// plain returns texts without what is around their numbers: words before all of them are no sign of damage.
func plain(sample []string) (all []string) {
	for _, text := range sample {
		text, _ = strip(text)
		all = append(all, text)
	}
	return all
}

// different returns the different texts of a sample, in their order: a card that is there twice says no more.
func different(sample []string) (all []string) {
	seen := map[string]bool{}
	for _, text := range sample {
		if !seen[text] {
			seen[text], all = true, append(all, text)
		}
	}
	return all
}

// pool lets all kinds share how usual the form of a door is: where a list is a back-up of a door, all of it is.
func (p *Plan) pool() {
	sum := map[string]float64{}
	for i := range p.readings {
		if r := &p.readings[i]; r.second {
			sum[r.Form.Name] += r.weight
		}
	}
	for i := range p.readings {
		if r := &p.readings[i]; r.second {
			r.weight = sum[r.Form.Name]
		}
	}
}

// signs are what stands between two numbers, and signless says that there is none.
const (
	signs    = ",-/ "
	signless = "has no sign between its two numbers; write it as it is on the card"
)

// secondOf returns the second of two numbers, all of a text that has no sign between two.
func secondOf(text string) string { return text[strings.LastIndexAny(text, signs)+1:] }

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

// share works out how probable each of the cards is that a text can be, and sorts them.
func (p *Plan) share(all []candidate, plain []byte) {
	length, padded := len(plain), len(plain) > 0 && zerosKept(string(plain))
	if len(all) == 1 {
		all[0].share = 1
		return
	}
	top := math.Inf(-1)
	for i := range all {
		c := &all[i]
		r := c.seen.Reading
		switch {
		case c.lost, c.typed:
		case c.fit(length): // as the form writes it
			if r.stranger && padded {
				c.weight *= 1 - r.habit.zeros[0]
			}
		case c.written > length && p.settled:
			c.weight *= r.habit.zeros[r.lostPart(string(plain))]
		case r.stranger:
			c.weight *= r.habit.long
		default:
			c.weight *= asMended
		}
		switch {
		case c.lost, c.typed:
		case r.cut:
			c.log = cutLog
		default:
			card := c.seen.Card()
			c.log = r.values.LogGiven(&card, r.numbers)
		}
		c.share = math.Log(c.weight) + c.log
		top = max(top, c.share)
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
