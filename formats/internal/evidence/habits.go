package evidence

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
	"github.com/cardtell/cardtell/wiegand"
)

// Ways in which what is printed can follow from a card that are no form of its fields.

// Names of ways in which what is noted beside a card is its read, checks and all, or its facility alone.
const (
	WholeRead     = "read"
	FacilityAlone = "facility"
)

// unrelated is unrelated for any kind of sighting: a chip serial is no read.
func (m *formatModel) unrelated(kind formats.SightingKind, none, whole float64) float64 {
	if kind == formats.Serial {
		return math.Log(m.serialApart) + none
	}
	return typing.UnrelatedLog(none, whole)
}

// unrelatedShare is the chance of that.
func (m *formatModel) unrelatedShare(kind formats.SightingKind) float64 {
	if kind == formats.Serial {
		return m.serialApart
	}
	return judgement.PrintUnrelated + judgement.PrintedRead
}

// serialApart is the chance that a chip serial has nothing to do with a card of a format.
func serialApart(f *formats.Format) float64 {
	if at := f.Number(); f.Facility() >= 0 && at >= 0 {
		spec := f.Layout.Spec()
		if spec.Fields[at].Bits.Len()+spec.Fields[f.Facility()].Bits.Len() >= judgement.ShortSerial {
			return judgement.SerialInParts
		}
	}
	return judgement.SerialUnrelated
}

// related is the log of the chance that a kind of sighting is what some form or part gives.
func (m *formatModel) related(kind formats.SightingKind) float64 {
	rest := 1 - m.unrelatedShare(kind)
	switch kind {
	case formats.Printed:
		rest -= judgement.PrintedOffset + judgement.PrintedFacility + judgement.PrintedLonger
	case formats.Hex:
		rest -= judgement.PrintedNumberHex + judgement.PrintedLonger
	}
	return math.Log(rest)
}

// valueOf returns what a card has in the field at an index, as far as that is known and a word holds it.
func valueOf(c *formats.Card, at int) (v uint64, ok bool) {
	if at < 0 || !c.Known.Has(at) {
		return 0, false
	}
	return c.Record.Uint64(at)
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
		w.fitAll(s, func(card *formats.Card, seen *typing.Seen) typing.Fit { return addedFit(card, at, c, seen) })
		use(math.Log(judgement.PrintedOffset)+typing.AddedLog(c)+typing.FitsLog(w.fits), AddedName(c))
	}
	for _, way := range otherWays {
		fit := func(c *formats.Card, seen *typing.Seen) typing.Fit { return way.fit(c, seen, w.text[:]) }
		if s.kind == way.kind && w.fitAll(s, fit) {
			use(math.Log(way.share)+typing.FitsLog(w.fits), way.name)
		}
	}
	w.longer(s, use)
	w.wholeAsMeant(s, func(log float64) { use(log, WholeRead) })
}

// wholeAsMeant weighs that what is noted beside reads is the whole read of each as it should have been, as another
// reader shows it, where some were misread.
func (w *Work) wholeAsMeant(s *slot, use func(log float64)) {
	misread := func(e slotEntry) bool { return len(w.mends[e.card]) > 0 }
	if math.IsInf(s.whole, -1) || !slices.ContainsFunc(s.entries, misread) {
		return
	}
	for _, left := range []bool{false, true} {
		share := math.Log((1 - judgement.ReadLeft) * judgement.PrintedRead)
		if left {
			share = math.Log(judgement.ReadLeft * judgement.PrintedRead)
		}
		fit := func(c *formats.Card, seen *typing.Seen) typing.Fit { return meantFit(c, seen, left) }
		if w.fitAll(s, fit) {
			use(share + typing.FitsLog(w.fits))
		}
	}
}

// meantFit is how a sighting fits the whole read of a card as it should be.
func meantFit(c *formats.Card, seen *typing.Seen, left bool) typing.Fit {
	if !c.Whole() {
		return typing.Fit{Slip: seen.Astray()}
	}
	return seen.AsRead(c.Record.Encode(), left)
}

// fitNamed returns how sightings fit a card in the way of that name; nil where they follow in none.
func (w *Work) fitNamed(s *slot, how string) func(*formats.Card, *typing.Seen) typing.Fit {
	for o := range w.model.forms {
		if opt := &w.model.forms[o]; opt.name() == how && opt.of(s.kind) {
			return func(c *formats.Card, seen *typing.Seen) typing.Fit { return opt.fit(c, seen, w.text[:]) }
		}
	}
	if how == WholeRead {
		return func(c *formats.Card, seen *typing.Seen) typing.Fit {
			if f := meantFit(c, seen, false); f.Styles != 0 {
				return f
			}
			return meantFit(c, seen, true)
		}
	}
	return fitOther(how, w.text[:])
}

// fitOther returns how a sighting fits a card, of which the format is known, in the way of that name that follows from
// its fields and is no form; nil where there is none. buf is memory to write in.
func fitOther(how string, buf []byte) func(*formats.Card, *typing.Seen) typing.Fit {
	if l := longerNamed(how); l != nil {
		return l.fit
	}
	if added, ok := Added(how); ok {
		return func(c *formats.Card, s *typing.Seen) typing.Fit { return addedFit(c, c.Format.Number(), added, s) }
	}
	for i := range otherWays {
		if o := &otherWays[i]; o.name == how {
			return func(c *formats.Card, s *typing.Seen) typing.Fit { return o.fit(c, s, buf) }
		}
	}
	return nil
}

// addedFit is how a print fits the number of a card with a constant added.
func addedFit(card *formats.Card, at int, c int64, seen *typing.Seen) typing.Fit {
	v, ok := valueOf(card, at)
	if !ok {
		return typing.Fit{Slip: seen.Astray()}
	}
	return seen.AddedFit(v, c)
}

// fitAll notes how the prints of a slot fit the cards in one way; some is whether any of them follows, or but for a
// slip.
func (w *Work) fitAll(s *slot, known func(*formats.Card, *typing.Seen) typing.Fit) (some bool) {
	if s.hopeless(func(e slotEntry) bool { return w.fitOf(known, e.card, e.seen).Styles != 0 }) {
		return false
	}
	w.fits = w.fits[:0]
	for _, e := range s.entries {
		f := w.fitOf(known, e.card, e.seen)
		w.fits = append(w.fits, f)
		some = some || f.Styles != 0 || f.Slip > e.seen.Astray() || f.Near.Styles() != 0
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
	if s.kind != formats.Printed || at < 0 || len(s.entries) < typing.LeastAdded {
		return 0, false
	}
	return typing.Added(len(s.entries), func(i int) (int64, bool) {
		v, ok := valueOf(&w.cards[s.entries[i].card], at)
		if !ok {
			return 0, false
		}
		return typing.PrintedMore(v, s.entries[i].seen)
	})
}

// supposeLikewise supposes that a way which is no form, and in which the prints of a slot follow from the cards that
// are known, is that of the others, too. Of a format that a site has, all of which nothing is known can be so.
func (w *Work) supposeLikewise(s *slot, use func(log float64, how string)) {
	if s.kind == formats.Serial || !w.someTold(s) && !w.model.ofSite {
		return
	}
	w.longer(s, use)
	at := w.model.format.Number()
	known := *s
	known.entries = slices.DeleteFunc(slices.Clone(s.entries), func(e slotEntry) bool { return !w.told(e.card) })
	c, ok := w.addedTo(&known, at)
	if !ok {
		return
	}
	saved := slices.Clone(w.cards)
	for _, e := range s.entries {
		if v, ok := typing.PrintedMore(0, e.seen); ok && v >= c && !w.told(e.card) {
			if card, err := w.model.format.Blank().With(at, strconv.FormatInt(v-c, 10)); err == nil {
				w.cards[e.card] = card
			}
		}
	}
	if w.fitAll(s, func(card *formats.Card, seen *typing.Seen) typing.Fit { return addedFit(card, at, c, seen) }) {
		use(math.Log(judgement.PrintedOffset)+typing.AddedLog(c)+typing.FitsLog(w.fits), AddedName(c))
	}
	copy(w.cards, saved)
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
	{FacilityAlone, "the facility alone", formats.Printed, judgement.PrintedFacility, (*formats.Format).Facility, 10},
	{"number-hex", "the card number in hex", formats.Hex, judgement.PrintedNumberHex, (*formats.Format).Number, 16},
}

// fit returns how a print fits a card in this way. A format without a facility has its number in hex as a form.
func (o *otherWay) fit(c *formats.Card, s *typing.Seen, buf []byte) typing.Fit {
	at := o.field(c.Format)
	v, ok := valueOf(c, at)
	if !ok || s.Kind != o.kind || c.Format.Facility() < 0 {
		return typing.Fit{Slip: s.Astray()}
	}
	text := strconv.AppendUint(buf[:0], v, o.base)
	if o.base == 16 { // every digit that the field can need
		text = c.Record.Value(at).AppendHex(buf[:0])
	}
	if set := s.StylesOf(text, true); set != 0 {
		return typing.Fit{Styles: set, Weight: 1}
	}
	return typing.Fit{Slip: s.Slip(text)}
}

// formWords says what is printed in a form.
var formWords = map[string]string{
	"pair": "facility and card number", "joined": "facility and card number, nothing between",
	"number": "the card number", "number10": "the card number in ten digits or more",
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
	case IsLonger(how):
		return longerNamed(how).words
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
func Follows(how string, c *formats.Card, read wiegand.Bits, s *typing.Seen) bool {
	if how == WholeRead {
		whole := func(b wiegand.Bits) bool { return s.AsRead(b, false).Styles|s.AsRead(b, true).Styles != 0 }
		return whole(read) || c.Format != nil && c.Whole() && whole(c.Record.Encode()) // as another reader shows it
	}
	if c.Format == nil { // nothing can be told of it
		return false
	}
	if fit := fitOther(how, nil); fit != nil {
		return fit(c, s).Styles != 0
	}
	form, _ := formats.FormByName(how)
	opt := inForm(&form)
	for i := range judgement.Parts {
		if judgement.Parts[i].Name == how {
			opt = ofPart(&judgement.Parts[i], c.Format)
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
// A digit or two do so in some form by accident, and count as the number or the facility alone.
func FollowsSomehow(c *formats.Card, read wiegand.Bits, s *typing.Seen) bool {
	if s.Kind != formats.Serial && len(s.Digits) < typing.Fewest {
		return Follows("number", c, read, s) || Follows(FacilityAlone, c, read, s)
	}
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
