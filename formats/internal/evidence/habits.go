package evidence

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Ways in which what is printed can follow from a card that are no form of its fields.

// Names of ways in which what is noted beside a card is its read, checks and all, or its facility alone.
const (
	WholeRead     = "read"
	FacilityAlone = "facility"
)

// asRead returns how a print fits the whole read as a number, in decimal or in hex, with or without a last byte that is
// full; left says that hex begins with the first bit, so that zeros follow on the last.
func (s *Seen) asRead(b wiegand.Bits, left bool) (f fit) {
	f.slip = s.astray()
	try := func(text []byte) {
		if set := s.stylesOf(text, true); set != 0 {
			f = fit{styles: f.styles | set, weight: 1}
		} else if f.styles == 0 {
			f.slip = s.slip(text)
		}
	}
	if v, ok := b.Uint64(); ok && s.Kind == formats.Printed {
		try(strconv.AppendUint(nil, v, 10))
	}
	if s.Kind != formats.Hex {
		return f
	}
	for _, unit := range [...]int{4, 8} {
		zeros, _ := wiegand.BitsFromUint(0, (unit-b.Len()%unit)%unit)
		whole, err := zeros.Concat(b)
		if left {
			whole, err = b.Concat(zeros)
		}
		if err == nil { // else it is too long for a read
			try(whole.AppendHex(nil))
		}
	}
	return f
}

// wholeReads returns the log probability of prints that are the whole reads, which some readers and panels show; never
// where none is. A card without a read can have any print.
func wholeReads(reads []wiegand.Bits, seen []*Seen) float64 {
	sum := newMix()
	for _, left := range []bool{false, true} {
		fits, some, filled := make([]fit, 0, hopeless), false, false
		for i, b := range reads {
			if i == hopeless && !some {
				break
			}
			one := fit{any: seen[i].floor}
			if b.Len() > 0 {
				one = seen[i].asRead(b, left)
			}
			fits, some, filled = append(fits, one), some || one.styles != 0, filled || b.Len()%8 != 0
		}
		switch {
		case !some || left && !filled: // the same as without left
		case left:
			sum.add(math.Log(readLeft) + fitsLog(fits))
		default:
			sum.add(math.Log1p(-readLeft) + fitsLog(fits))
		}
	}
	return sum.log()
}

// unrelated returns the log probability of prints that follow from no field of the card: the whole reads, or nothing
// that has to do with them, whose log is given.
func unrelated(none, whole float64) float64 {
	return LogAdd(math.Log(printUnrelated)+none, math.Log(printedRead)+whole)
}

// unrelated is unrelated for any kind of sighting: a chip serial is no read.
func (m *formatModel) unrelated(kind formats.SightingKind, none, whole float64) float64 {
	if kind == formats.Serial {
		return math.Log(m.serialApart) + none
	}
	return unrelated(none, whole)
}

// unrelatedShare is the chance of that.
func (m *formatModel) unrelatedShare(kind formats.SightingKind) float64 {
	if kind == formats.Serial {
		return m.serialApart
	}
	return printUnrelated + printedRead
}

// serialApart is the chance that a chip serial has nothing to do with a card of a format.
func serialApart(f *formats.Format) float64 {
	if at := f.Number(); f.Facility() >= 0 && at >= 0 {
		spec := f.Layout.Spec()
		if spec.Fields[at].Bits.Len()+spec.Fields[f.Facility()].Bits.Len() >= shortSerial {
			return serialInParts
		}
	}
	return serialUnrelated
}

// related is the log of the chance that a kind of sighting is what some form or part gives.
func (m *formatModel) related(kind formats.SightingKind) float64 {
	rest := 1 - m.unrelatedShare(kind)
	switch kind {
	case formats.Printed:
		rest -= printedOffset + printedFacility
	case formats.Hex:
		rest -= printedNumberHex
	}
	return math.Log(rest)
}

// nothing returns the log probability of prints that have to do with nothing: each by itself, or as often numbers of a
// list of their own, which lie in boxes or are counted up. A list writes all of them with as many digits, or none with
// zeros before it.
func nothing(seen []*Seen) float64 {
	apart, values, width, alike, zeros := 0.0, make([]uint64, 0, len(seen)), 0, true, false
	for _, s := range seen {
		apart += math.Log(s.floor)
		if n := len(s.digits); s.Kind == formats.Printed && n == len(s.Text) && n < len(listNumbers) {
			values = append(values, number(s.digits))
			width, alike = max(width, n), alike && n == len(seen[0].digits)
			zeros = zeros || n > 1 && s.digits[0] == '0'
		}
	}
	if len(values) < max(2, len(seen)) || !alike && zeros {
		return apart
	}
	slices.Sort(values)
	return LogAdd(apart, math.Log((1-hexShare)*widthShare)+listNumbers[width].Log(values)) - math.Ln2
}

// listNumbers are the numbers of lists, by digits.
var listNumbers = func() (all [19]Numbers) {
	for digits := range all {
		limit := math.Pow10(digits)
		all[digits] = NewNumbers(bits.Len64(uint64(limit)-1), limit, numbersSpread)
	}
	return all
}()

// WholeReads returns how likely it is that the prints of a sample are the whole reads, if they follow from no number in
// them.
func (s *Sample) WholeReads() float64 {
	whole, none := s.wholeReads()
	return math.Exp(math.Log(printedRead) + whole - unrelated(none, whole))
}

// wholeReads is that of the prints that are looked for in reads; none is their log if they have to do with nothing.
func (s *Sample) wholeReads() (whole, none float64) {
	var reads []wiegand.Bits
	var seen []*Seen
	add := func(all []wiegand.Bits, prints [][]Seen) {
		for r, more := range prints {
			if k := firstPrint(more); k >= 0 {
				reads, seen = append(reads, all[r]), append(seen, &more[k])
			}
		}
	}
	add(s.Reads, s.Prints)
	add(s.left, s.leftPrints)
	return wholeReads(reads, seen), nothing(seen)
}

// added returns the constant that makes numbers what is printed on all of n cards but a few, given by how much each
// print is more; ok is false where there is none, or it is 0.
func added(n int, more func(i int) (c int64, ok bool)) (c int64, ok bool) {
	for first := range min(3, n) {
		if c, ok = more(first); !ok || c == 0 {
			continue
		}
		wrong := 0
		for i := 0; i < n && wrong <= allowed(n); i++ {
			if d, is := more(i); !is || d != c {
				wrong++
			}
		}
		if wrong <= allowed(n) {
			return c, true
		}
	}
	return 0, false
}

// printedMore returns what is printed less a number; ok is false where that is no single number in decimal.
func printedMore(v uint64, s *Seen) (c int64, ok bool) {
	if s.Kind != formats.Printed || s.pair || len(s.digits) > 18 || v >= 1<<62 {
		return 0, false
	}
	return int64(number(s.digits)) - int64(v), true
}

// cardMore is printedMore for the number of a card, in the field at an index.
func cardMore(c *formats.Card, at int, s *Seen) (more int64, ok bool) {
	if at < 0 || !c.Known.Has(at) {
		return 0, false
	}
	v, whole := c.Record.Uint64(at)
	if !whole {
		return 0, false
	}
	return printedMore(v, s)
}

// leastAdded is how many prints it takes to see that a constant is added: of two that makes little sense.
const leastAdded = 3

// addedLog is the log prior of a constant: any whole number, each length in bits getting rarer; or as often a round
// one, as where a badge has more digits in front: such a number and zeros behind it, each count of them alike.
func addedLog(c int64) float64 {
	size := uint64(max(c, -c))
	log := wholeLog(size) - math.Ln2
	for n, round := 1, size; n <= mostZeros && round%10 == 0; n++ {
		round /= 10
		log = LogAdd(log, wholeLog(round)-math.Log(mostZeros)-math.Ln2)
	}
	return log
}

// mostZeros is how many zeros there are at most behind a round number.
const mostZeros = 9

// wholeLog is the log prior of a whole number, positive or negative.
func wholeLog(size uint64) float64 {
	n := float64(bits.Len64(size))
	return -2*math.Log(n+1) - n*math.Ln2
}

// AddedName is the name of the way in which a constant is added to the number, such as number+1000 or number-7.
func AddedName(c int64) string { return fmt.Sprintf("number%+d", c) }

// Added returns the constant that a way of that name adds; ok is false for other ways.
func Added(how string) (c int64, ok bool) {
	rest, is := strings.CutPrefix(how, "number")
	if !is || rest == "" || rest[0] != '+' && rest[0] != '-' {
		return 0, false
	}
	c, err := strconv.ParseInt(rest, 10, 64)
	return c, err == nil
}

// explainOtherwise calls use with each way that is no form and in which a slot's prints follow from the cards, and the
// log of its probability.
func (w *Work) explainOtherwise(s *slot, use func(log float64, how string)) {
	if s.kind == formats.Serial {
		return
	}
	at := w.model.format.Number()
	if c, ok := w.addedTo(s, at); ok {
		w.fitAll(s, func(card *formats.Card, seen *Seen) fit { return w.addedFit(card, at, c, seen) })
		use(math.Log(printedOffset)+addedLog(c)+fitsLog(w.fits), AddedName(c))
	}
	for _, way := range otherWays {
		if s.kind == way.kind && w.fitAll(s, func(c *formats.Card, seen *Seen) fit { return way.fit(c, seen, w.text[:]) }) {
			use(math.Log(way.share)+fitsLog(w.fits), way.name)
		}
	}
}

// addedFit is how a print fits the number of a card with a constant added, written in any style.
func (w *Work) addedFit(card *formats.Card, at int, c int64, seen *Seen) fit {
	more, ok := cardMore(card, at, seen)
	if !ok || more != c {
		return fit{slip: seen.astray()}
	}
	return fit{styles: seen.numberStyles(), weight: 1}
}

// fitAll notes how the prints of a slot fit the cards in one way; some is whether any of them follows, or but for a
// slip.
func (w *Work) fitAll(s *slot, known func(*formats.Card, *Seen) fit) (some bool) {
	if s.hopeless(func(e slotEntry) bool { return w.fitOf(known, e.card, e.seen).styles != 0 }) {
		return false
	}
	w.fits = w.fits[:0]
	for _, e := range s.entries {
		f := w.fitOf(known, e.card, e.seen)
		w.fits = append(w.fits, f)
		some = some || f.styles != 0 || f.slip > e.seen.astray() || f.near.styles() != 0
	}
	return some
}

// looked is how many of many prints are looked at to see that a way explains none: one that explains a third of them
// explains one of these but for one time in 10^11.
const looked = 64

// hopeless reports whether a slot has so many prints that some are looked at first, evenly among all, and nothing holds
// of any of these.
func (s *slot) hopeless(holds func(slotEntry) bool) bool {
	for i := range looked {
		if len(s.entries) <= looked || holds(s.entries[i*len(s.entries)/looked]) {
			return false
		}
	}
	return true
}

// addedTo returns the constant that is added to the number in the field at an index.
func (w *Work) addedTo(s *slot, at int) (c int64, ok bool) {
	if s.kind != formats.Printed || at < 0 || len(s.entries) < leastAdded {
		return 0, false
	}
	return added(len(s.entries), func(i int) (int64, bool) {
		return cardMore(&w.cards[s.entries[i].card], at, s.entries[i].seen)
	})
}

// otherWay is a way in which a print follows from one field of a card, and that is no form.
type otherWay struct {
	name, words string
	kind        formats.SightingKind
	share       float64
	field       func(*formats.Format) int
	base        int
}

var otherWays = [...]otherWay{
	{FacilityAlone, "the facility alone", formats.Printed, printedFacility, (*formats.Format).Facility, 10},
	{"number-hex", "the card number in hex", formats.Hex, printedNumberHex, (*formats.Format).Number, 16},
}

// fit returns how a print fits a card in this way. A format without a facility has its number in hex as a form.
func (o *otherWay) fit(c *formats.Card, s *Seen, buf []byte) fit {
	at := o.field(c.Format)
	if at < 0 || c.Format.Facility() < 0 || !c.Known.Has(at) {
		return fit{slip: s.astray()}
	}
	v, ok := c.Record.Uint64(at)
	if !ok {
		return fit{slip: s.astray()}
	}
	text := strconv.AppendUint(buf[:0], v, o.base)
	if o.base == 16 { // every digit that the field can need
		text = c.Record.Value(at).AppendHex(buf[:0])
	}
	if set := s.stylesOf(text, true); set != 0 {
		return fit{styles: set, weight: 1}
	}
	return fit{slip: s.slip(text)}
}

// formWords says what is printed in a form.
var formWords = map[string]string{
	"pair": "facility and card number", "joined": "facility and card number, nothing between",
	"number": "the card number", "number10": "the card number in ten digits",
	"decimal": "all data bits as one decimal", "decimal10": "all data bits as one decimal of ten digits",
	"hex": "all data bits in hex", "words": "all data bits as two halves",
	"pair24": "the low 24 bits as 3 and 5 digits", "joined24": "the low 24 bits as 3 and 5 digits, nothing between",
	"number24": "the low 24 bits as one decimal",
	"uid":      "the chip serial", "uid-reversed": "the chip serial, last byte first",
	"uid-decimal":          "the chip serial as one decimal",
	"uid-reversed-decimal": "the chip serial, last byte first, as one decimal",
}

// WayWords says in which way a print follows from a card: by the name of a form, or of one that is none.
func WayWords(how string) string {
	more, ok := Added(how)
	switch {
	case how == WholeRead:
		return "the whole read, checks and all"
	case ok && more > 0:
		return fmt.Sprintf("the card number and %d added to it", more)
	case ok:
		return fmt.Sprintf("the card number less %d", -more)
	}
	for i := range otherWays {
		if otherWays[i].name == how {
			return otherWays[i].words
		}
	}
	return formWords[how] + " (" + how + ")"
}

// Follows reports whether a sighting follows from a card and its read in the way that has this name.
func Follows(how string, c *formats.Card, read wiegand.Bits, s *Seen) bool {
	if how == WholeRead {
		return s.asRead(read, false).styles|s.asRead(read, true).styles != 0
	}
	if c.Format == nil { // nothing can be told of it
		return false
	}
	if more, ok := Added(how); ok {
		got, is := cardMore(c, c.Format.Number(), s)
		return is && got == more
	}
	for i := range otherWays {
		if o := &otherWays[i]; o.name == how {
			return s.Kind == o.kind && o.fit(c, s, nil).styles != 0
		}
	}
	form, _ := formats.FormByName(how)
	opt := inForm(&form)
	for i := range parts {
		if parts[i].name == how {
			opt = ofPart(&parts[i], c.Format)
		}
	}
	buf := make([]byte, 0, 96)
	if opt.of(s.Kind) && opt.leavesOut(c.Format) && !c.Known.Has(c.Format.Number()) {
		_, _, ok := opt.low(c.Format, s, buf)
		return ok
	}
	return opt.of(s.Kind) && opt.follows(c, s, buf)
}

// FollowsSomehow reports whether a sighting follows from a card and its read in any way that cards of its format have.
func FollowsSomehow(c *formats.Card, read wiegand.Bits, s *Seen) bool {
	for _, form := range formats.Forms() {
		if ok, _ := form.Fits(c.Format); ok && Follows(form.Name, c, read, s) {
			return true
		}
	}
	for i := range otherWays {
		if Follows(otherWays[i].name, c, read, s) {
			return true
		}
	}
	return Follows(WholeRead, c, read, s)
}
