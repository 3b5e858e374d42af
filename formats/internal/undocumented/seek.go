package undocumented

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// prints looks for the printed numbers in the reads: which runs of bits, in which order and coding, are what is printed
// on all cards but a few. Where nothing is printed it looks for the chip serials.
func (u *search) prints() {
	pick := u.s.printsOf()
	if k := u.seeker(pick); len(k.rows) > 0 {
		u.seconds = u.s.seconds(pick)
		whole, none := u.s.wholeReads()
		u.chance = k.serials + typing.UnrelatedLog(none, whole+k.rest-k.serials)
		u.related = math.Log(1-judgement.PrintUnrelated-judgement.PrintedRead) + k.rest
		if serials(u.s.Prints) || serials(u.s.leftPrints) { // that follow from no bits, as is supposed here
			u.chance, u.related = u.chance+math.Log(judgement.SerialUnrelated), u.related+math.Log(judgement.SerialUnrelated)
		}
		k.all(k.targets(), true)
		return
	}
	k := u.seeker(firstSerial)
	u.related, u.chance = logp.Never, k.rest
	if len(k.rows) == 0 {
		return
	}
	u.related, u.chance = math.Log(1-judgement.SerialUnrelated)+k.rest, math.Log(judgement.SerialUnrelated)+k.rest
	for _, all := range [][]typing.Seen{k.seen, k.leftSeen} {
		for i := range all {
			u.chance += math.Log(all[i].Floor)
		}
	}
	k.all(k.serialTargets(), false)
}

// seeker prepares looking for what pick has the place of on each card, -1 where there is nothing.
func (u *search) seeker(pick func([]typing.Seen) int) seeker {
	k := seeker{u: u}
	for _, prints := range [...][][]typing.Seen{u.s.Prints, u.s.leftPrints} {
		rest, serials := unused(prints, pick)
		k.rest, k.serials = k.rest+rest, k.serials+serials
	}
	k.rows, k.seen = printed(u.s.Prints, pick)
	k.most = typing.Allowed(len(k.rows))
	k.leftRows, k.leftSeen = printed(u.s.leftPrints, pick)
	k.words = make([][4]uint64, len(k.rows))
	for x, r := range k.rows {
		k.words[x] = u.s.Reads[r].Words()
	}
	k.columns = make([]uint64, u.s.Length)
	for x, r := range k.rows[:min(64, len(k.rows))] {
		for i := range k.columns {
			k.columns[i] |= uint64(u.s.Reads[r].Bit(i)) << uint(x)
		}
	}
	return k
}

// all looks for targets: those that were derived from the number too, where nothing simpler fits as many prints.
func (k *seeker) all(targets []target, derived bool) {
	for _, t := range targets {
		k.seek(&t)
	}
	for i := range k.u.hyps {
		k.most = min(k.most, len(k.u.hyps[i].Wrong)-1)
	}
	if !derived || k.most < 0 {
		return
	}
	k.derived()
	for _, t := range targets {
		k.turnedWhole(&t)
		k.twoRuns(&t)
	}
}

// printed returns the reads that have a print, and the print of each, as pick has it.
func printed(prints [][]typing.Seen, pick func([]typing.Seen) int) (rows []int, texts []typing.Seen) {
	rows, texts = make([]int, 0, len(prints)), make([]typing.Seen, 0, len(prints))
	for r, more := range prints {
		if k := pick(more); k >= 0 {
			rows, texts = append(rows, r), append(texts, more[k])
		}
	}
	return rows, texts
}

// firstPrint returns the place of the first print that is looked for in reads, -1 where there is none.
func firstPrint(more []typing.Seen) int {
	return slices.IndexFunc(more, func(s typing.Seen) bool { return printedNumber(&s) })
}

// pairFirst is firstPrint where facility and number are looked for, if they are on a card.
func pairFirst(more []typing.Seen) int {
	if at := slices.IndexFunc(more, func(s typing.Seen) bool { return s.Pair && printedNumber(&s) }); at >= 0 {
		return at
	}
	return firstPrint(more)
}

// printsOf returns which prints of a sample are looked for in its reads: facility and number, where most have them,
// since what else is on a card follows from these.
func (s *Sample) printsOf() (pick func([]typing.Seen) int) {
	pairs, all := 0, 0
	for _, more := range s.Prints {
		switch at := pairFirst(more); {
		case at < 0:
			continue
		case more[at].Pair:
			pairs++
		}
		all++
	}
	if 2*pairs > all {
		return pairFirst
	}
	return firstPrint
}

// printedNumber reports whether something that was seen of a card is a print that a number of 64 bits can have.
func printedNumber(s *typing.Seen) bool { return s.Kind != formats.Serial && typing.OneWord(s.Digits) }

// firstSerial is firstPrint for chip serials.
func firstSerial(more []typing.Seen) int {
	return slices.IndexFunc(more, func(s typing.Seen) bool { return s.Kind == formats.Serial })
}

// serials reports whether the chip serial of a card was seen.
func serials(prints [][]typing.Seen) bool {
	return slices.ContainsFunc(prints, func(more []typing.Seen) bool { return firstSerial(more) >= 0 })
}

// unused is the log probability of what is seen of cards and not looked for in their reads: of a print anything, or the
// number that is looked for, written down once more and wrong. serials is that of what is no print alone.
func unused(prints [][]typing.Seen, pick func([]typing.Seen) int) (log, serials float64) {
	for _, more := range prints {
		first := pick(more)
		for k := range more {
			if k == first {
				continue
			}
			p := math.Log(unusedChance(more, k, first))
			if log += p; !printedNumber(&more[k]) {
				serials += p
			}
		}
	}
	return log, serials
}

// unusedChance is the probability of one of those.
func unusedChance(more []typing.Seen, k, first int) float64 {
	p := more[k].Floor
	if first >= 0 && more[k].Kind == more[first].Kind {
		p += typing.MeanErrors() * typing.SlipDigits([]byte(more[first].Digits), more[k].Digits)
	}
	return p
}

type seeker struct {
	u             *search
	rest, serials float64 // log of what else was seen, and of what of that is no print

	rows []int
	seen []typing.Seen
	// by bit: which of the first 64 of these reads have a 1
	columns []uint64
	words   [][4]uint64 // each of these reads
	most    int         // how many of their prints may be wrong

	leftRows []int // of reads left out as misreads
	leftSeen []typing.Seen
	fits     []typing.Fit // scratch
}

// mostSeen is how many of the first 64 may be wrong.
func (k *seeker) mostSeen() int { return min(k.most, typing.Allowed(min(64, len(k.rows)))) }

// planes is a target's numbers turned on their side, for up to 64 printed reads: a word for each bit from the lowest
// on.
type planes struct {
	at   [64]uint64
	over [65]uint64 // the reads whose number has more than so many bits
	all  uint64
}

func (k *seeker) planes(values []uint64) planes {
	var p planes
	for x, v := range values[:min(64, len(values))] {
		own := uint64(1) << uint(x)
		p.all |= own
		for w := v; w != 0; w &= w - 1 {
			p.at[bits.TrailingZeros64(w)] |= own
		}
		for n := range bits.Len64(v) {
			p.over[n] |= own
		}
	}
	return p
}

// seek looks for a target in every run of bits.
func (k *seeker) seek(t *target) {
	n := k.u.s.Length
	columns := k.columns
	most := k.mostSeen()
	p := k.planes(t.values)
	for _, inverse := range []bool{false, true} {
		flip := uint64(0)
		if inverse {
			flip = p.all
		}
		for end := n; end > 0; end-- {
			wrong, wrongLow := uint64(0), uint64(0)
			for j := 0; j < min(64, end); j++ {
				wrong |= columns[end-1-j] ^ flip ^ p.at[j]
				if bits.OnesCount64(wrong) <= most && bits.OnesCount64(wrong|p.over[j+1]) <= most {
					k.found(t, Place{From: end - 1 - j, To: end, Inverse: inverse})
				}
				if bits.OnesCount64(wrong) > most {
					break
				}
			}
			for j := 0; j < min(64, n-end+1); j++ { // last bit highest, from the index end-1 on
				wrongLow |= columns[end-1+j] ^ flip ^ p.at[j]
				if j > 0 && bits.OnesCount64(wrongLow) <= most && bits.OnesCount64(wrongLow|p.over[j+1]) <= most {
					k.found(t, Place{From: end - 1, To: end + j, Turn: LastHigh, Inverse: inverse})
				}
				if bits.OnesCount64(wrongLow) > most {
					break
				}
			}
		}
	}
	k.coded(t, &p)
}

// leastRun is how many bits each run of a number in two runs has, and leastRows how many cards it takes to look for
// what is in two places: anything fits fewer.
const leastRun, leastRows = 4, 6

// twoRuns looks for a target whose low bits are in one run and whose high bits are in another.
func (k *seeker) twoRuns(t *target) {
	n := k.u.s.Length
	columns := k.columns
	most := k.mostSeen()
	p := k.planes(t.values)
	if len(k.rows) < leastRows {
		return
	}
	for end := n; end > leastRun; end-- {
		wrong := uint64(0)
		for j := 0; j < min(48, end); j++ {
			if wrong |= columns[end-1-j] ^ p.at[j]; bits.OnesCount64(wrong) > most {
				break
			}
			if j+1 >= leastRun {
				k.highRun(t, &p, columns, wrong, end-1-j, end, most)
			}
		}
	}
}

// highRun looks for the high bits of a target whose low bits are in from..to-1.
func (k *seeker) highRun(t *target, p *planes, columns []uint64, wrong uint64, from, to, most int) {
	low := to - from
	for end := len(columns); end > 0; end-- {
		w := wrong
		for j := low; j < 64 && end-1-(j-low) >= 0; j++ {
			i := end - 1 - (j - low)
			if i >= from && i < to || end > from && end <= to {
				break
			}
			if w |= columns[i] ^ p.at[j]; bits.OnesCount64(w) > most {
				break
			}
			if j+1-low >= leastRun && bits.OnesCount64(w|p.over[j+1]) <= most && end != from {
				k.found(t, Place{From: from, To: to, High: [2]int{i, end}})
			}
		}
	}
}

// try weighs a place if no more prints than may be wrong are against it.
func (k *seeker) try(t *target, p Place) {
	wrong, most := 0, k.mostSeen()
	for x := range k.rows {
		if v, ok := p.Number(&k.words[x]); !ok || v != t.values[x] {
			if wrong++; wrong > most || wrong == typing.Hopeless && x+1 == typing.Hopeless {
				return
			}
		}
	}
	k.found(t, p)
}

// coded looks for a target in the orders of bytes and the codings of digits.
func (k *seeker) coded(t *target, binary *planes) {
	n := k.u.s.Length
	bcd, digits5 := k.digits(t.values, wiegand.BCD, 4), k.digits(t.values, wiegand.Digits5, 5)
	most := k.mostSeen()
	upTo := make([][4]int, n+1) // by the end of a place: how wide it can be
	changed := slices.Clone(k.columns)
	for i := range changed {
		changed[i] ^= bcd.all
	}
	for to := range upTo {
		upTo[to] = [4]int{binary.widest(Place{To: to, Turn: BitsInByte}, k.columns, most, to&^7),
			bcd.widest(Place{To: to}, k.columns, most, to), digits5.widest(Place{To: to}, k.columns, most, to),
			bcd.widest(Place{To: to}, changed, most, to)}
	}
	try := func(p Place, code *planes, widest int) {
		if p.Width() <= widest && code.near(p, k.columns, most) {
			k.try(t, p)
		}
	}
	for from := range n {
		widest := binary.widest(Place{From: from, Turn: BytesLast}, k.columns, most, (n-from)&^7)
		for width := 16; width <= min(64, n-from); width += 8 {
			try(Place{From: from, To: from + width, Turn: BytesLast}, binary, widest)
			try(Place{From: from, To: from + width, Turn: BitsInByte}, binary, upTo[from+width][0])
		}
		for width := 8; width <= min(64, n-from); width += 4 {
			p := Place{From: from, To: from + width, Coding: wiegand.BCD}
			try(p, &bcd, upTo[from+width][1])
			if width <= upTo[from+width][3] && bcd.near(p, changed, most) {
				p.Inverse = true
				k.try(t, p)
			}
		}
		for width := 10; width <= min(60, n-from); width += 5 {
			try(Place{From: from, To: from + width, Coding: wiegand.Digits5}, &digits5, upTo[from+width][2])
		}
	}
}

// digits is planes for numbers in a code that has so many bits for each digit.
func (k *seeker) digits(values []uint64, coding wiegand.Coding, each int) planes {
	codes := make([]uint64, min(64, len(values)))
	for x := range codes {
		codes[x], _ = Place{Coding: coding}.coded(values[x], 64/each*each)
	}
	p := k.planes(codes)
	p.over = [65]uint64{} // zeros have bits, too
	for x, v := range values[:len(codes)] {
		for n := 0; v > 0; n++ {
			for i := n * each; i < min((n+1)*each, len(p.over)); i++ {
				p.over[i] |= 1 << uint(x)
			}
			v /= 10
		}
	}
	return p
}

// widest returns how many of the lowest bits of the numbers, in a place with one end, the reads have there but for so
// many.
func (p *planes) widest(at Place, columns []uint64, most, room int) int {
	wrong := uint64(0)
	for j := range min(room, len(p.at)) {
		if wrong |= columns[at.bit(j)] ^ p.at[j]; bits.OnesCount64(wrong) > most {
			return j
		}
	}
	return room
}

// near reports whether no more than so many of the numbers are not what the reads have in a place.
func (p *planes) near(at Place, columns []uint64, most int) bool {
	wrong := p.over[at.Width()]
	for j := 0; j < at.Width() && bits.OnesCount64(wrong) <= most; j++ {
		wrong |= columns[at.bit(j)] ^ p.at[j]
	}
	return bits.OnesCount64(wrong) <= most
}

// leastTurned and mostTurned are the widths of numbers that are looked for the right way round in prints of all bits.
const leastTurned, mostTurned = 8, 48

// turnedWhole looks for prints that are facility and number as one number of so many bits, where the read has the
// number's bits or bytes in another order, or each of its bits changed.
func (k *seeker) turnedWhole(t *target) {
	if t.form != PrintFull {
		return
	}
	log := t.log + math.Log(wholeShare(t.base == 16)) - math.Ln2
	for width := leastTurned; width <= mostTurned; width++ {
		if !alikeAbove(t.values, width) {
			continue
		}
		whole := k.target(PrintWhole, 0, log, func(s *typing.Seen) (uint64, uint64) {
			v, _ := t.read(s)
			return v & (1<<width - 1), v >> width
		})
		if !fewValues(whole.highs) {
			continue
		}
		whole.width, whole.base, whole.filled = width, t.base, t.filled
		for _, turn := range []Turn{FirstHigh, LastHigh, BytesLast, BitsInByte} {
			for to := k.u.s.Length; to >= max(width, k.u.s.Length-2); to-- {
				if turn <= LastHigh || width%8 == 0 && width > 8 {
					k.try(&whole, Place{From: to - width, To: to, Turn: turn, Inverse: turn == FirstHigh})
				}
			}
		}
	}
}

// alikeAbove reports whether two of the first numbers are the same above so many bits, as those of one facility are.
func alikeAbove(values []uint64, width int) bool {
	for i := range values[:min(4, len(values))] {
		for _, v := range values[:i] {
			if v>>width == values[i]>>width {
				return true
			}
		}
	}
	return len(values) == 1
}

// found weighs a place against all prints.
func (k *seeker) found(t *target, p Place) {
	h := Hypothesis{Place: p, Print: t.form, Digits: t.digits}
	facility, ok := k.facility(t, p)
	if !ok {
		return
	}
	h.Facility = facility
	k.fits = append(k.fits[:0], make([]typing.Fit, len(k.rows))...)
	fits := k.fits
	paired := t.twoNumbers()
	var text [64]byte
	for x, r := range k.rows {
		v, ok := p.Number(&k.words[x])
		var high uint64
		if paired {
			high = t.high(&k.words[x], p, facility)
		}
		if ok && v == t.values[x] && (!paired || high == t.highs[x]) {
			fits[x] = typing.Fit{Styles: t.spelled(&k.seen[x]), Weight: t.share(&k.seen[x])}
			h.high = max(h.high, bits.Len64(high))
			continue
		}
		if t.form == PrintSerial {
			fits[x] = typing.Fit{Slip: k.seen[x].Astray() + t.serialSlip(&k.seen[x], v, t.values[x])}
		} else {
			fits[x] = typing.Fit{Slip: k.seen[x].Slip(t.text(text[:0], v, high))}
		}
		if h.Wrong = append(h.Wrong, r); len(h.Wrong) > k.most {
			return
		}
	}
	for x, r := range k.leftRows {
		w := k.u.s.left[r].Words()
		v, ok := p.Number(&w)
		want, high := t.read(&k.leftSeen[x])
		f := typing.Fit{Any: k.leftSeen[x].Floor}
		if ok && v == want && (facility[1] == 0 || t.high(&w, p, facility) == high) {
			f.Styles, f.Weight = 1<<typing.AsWritten, 0.5
		}
		fits = append(fits, f)
	}
	k.fits = fits
	h.log = t.log + typing.FitsLog(fits) - math.Log(typing.StylePrior[typing.AsWritten])
	if t.form == PrintFull && t.base == 10 && p.Coding == wiegand.Binary && t.filled > 1 &&
		t.filled == typing.DigitsOf(p.Width()) {
		h.log += math.Log1p(judgement.StyleAll / math.Exp(styleLog(true, t.filled)))
	}
	if h.value, ok = k.u.data.number(p); ok {
		k.u.add(&h)
		return
	}
	var left []int
	for r, b := range k.u.s.Reads {
		w := b.Words()
		if _, ok := p.Number(&w); !ok {
			left = append(left, r)
		}
	}
	k.u.spoilt = append(k.u.spoilt, left)
}

// facility returns where the facility that a pair shows is, before the number or else behind it, or else before it with
// something between: the widest run of bits that is wrong on the fewest cards; ok is false where it is nowhere.
func (k *seeker) facility(t *target, p Place) (at [2]int, ok bool) {
	if !t.twoNumbers() {
		return at, true
	}
	if p.High[1] > 0 {
		return at, false
	}
	least := k.most + 1
	try := func(from, to int) {
		if wrong := k.strange(t, p, [2]int{from, to}, least); wrong < least {
			at, ok, least = [2]int{from, to}, true, wrong
		}
	}
	before := func(end int) {
		if k.without(t, p, end, least) >= least {
			return
		}
		for width := min(32, end); width > 0; width-- {
			try(end-width, end)
		}
	}
	before(p.From)
	if ok || t.form == PrintWhole {
		return at, ok
	}
	for width := min(32, k.u.s.Length-p.To); width > 0; width-- {
		try(p.To, p.To+width)
	}
	for end := p.From - 1; end > 0 && !ok && len(k.rows) >= leastRows; end-- {
		before(end)
	}
	return at, ok
}

// high returns the facility in a read whose number has a place. Where every bit of that is changed, the wires are
// swapped, and so is the facility's; of prints that are all bits it is the right way round.
func (t *target) high(w *[4]uint64, p Place, at [2]int) uint64 {
	v := Value(w, at[0], at[1])
	if p.Inverse && t.form != PrintWhole {
		v = ^v & (math.MaxUint64 >> uint(64-(at[1]-at[0])))
	}
	return v
}

// without returns on how many cards the bits before an index are not the facility that is printed however many of them
// are taken, or so many where it is on no fewer.
func (k *seeker) without(t *target, p Place, end, most int) (wrong int) {
	for x := 0; x < len(k.rows) && wrong < most; x++ {
		if width := bits.Len64(t.highs[x]); width > end ||
			width > 0 && t.high(&k.words[x], p, [2]int{end - width, end}) != t.highs[x] {
			wrong++
		}
		if wrong == typing.Hopeless && x+1 == typing.Hopeless { // as strange has it, too
			return most
		}
	}
	return wrong
}

// strange returns on how many cards bits are not the facility that is printed, or so many where it is on no fewer.
func (k *seeker) strange(t *target, p Place, at [2]int, most int) (wrong int) {
	for x := 0; x < len(k.rows) && wrong < most; x++ {
		if t.high(&k.words[x], p, at) != t.highs[x] {
			wrong++
		}
		if wrong == typing.Hopeless && x+1 == typing.Hopeless {
			return most
		}
	}
	return wrong
}

// WholeReads returns how likely it is that the prints of a sample are the whole reads, if they follow from no number in
// them.
func (s *Sample) WholeReads() float64 {
	whole, none := s.wholeReads()
	return math.Exp(math.Log(judgement.PrintedRead) + whole - typing.UnrelatedLog(none, whole))
}

// wholeReads is that of the prints that are looked for in reads; none is the log of all prints if they have to do with
// nothing: the first ones of cards are one list, the second ones another.
func (s *Sample) wholeReads() (whole, none float64) {
	var reads []wiegand.Bits
	var seen []*typing.Seen
	var lists [][]*typing.Seen
	add := func(of []wiegand.Bits, prints [][]typing.Seen) {
		for r, more := range prints {
			first, at := firstPrint(more), [2]int{0, 1} // of decimal prints and of others
			for k := range more {
				if k == first {
					reads, seen = append(reads, of[r]), append(seen, &more[k])
				}
				if !printedNumber(&more[k]) {
					continue
				}
				list := &at[min(1, more[k].Kind^formats.Printed)]
				for len(lists) <= *list {
					lists = append(lists, nil)
				}
				lists[*list] = append(lists[*list], &more[k])
				*list += len(at)
			}
		}
	}
	add(s.Reads, s.Prints)
	add(s.left, s.leftPrints)
	if s.nothing == 0 {
		for _, list := range lists {
			s.nothing += typing.NothingLog(list)
		}
	}
	return typing.WholeReadsLog(reads, seen), s.nothing
}
