// Package reading turns the numbers of a list into cards, by what a site file or options say they are.
//
// # Where to start
//
// [Settle] settles how a column is read, and [Column.All] reads it: each text is a card, or in doubt, or none. [New]
// makes a [Plan] where all is known, for packages roster and match; [NewConverter] turns numbers into another form.
// [Clean] and [Mend] take away from a cell what spreadsheets put there.
package reading

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/quick"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Reading is one way to read a number: the format that its card has, and the form in which it is written. It comes from
// [Plan.Readings]: the zero Reading is of no use.
type Reading struct {
	Format *formats.Format
	Form   formats.Form

	second     bool // tried where no other reading gives a card of the site
	guessed    bool // the form is one of several in which the list can have its cards
	index      int  // in the plan
	first      int  // the first reading of the same format
	none       bool // the format is none of package quick's
	quick      quick.Format
	parse      quick.Parser
	write      quick.Appender
	facility   string              // for forms that leave it out; "" where not known
	only       bool                // cards that have another facility are not meant
	fill       uint64              // the same as a number
	cards      *formats.Population // that the card has to be of
	counted    bool                // the facilities of those are what the list has
	fields     string              // of its format, as evidence.FieldsOf has them
	values     evidence.Values     // of those cards
	population *formats.Population // as the site has it
	blocks     bool                // it is known which numbers they have
	weight     float64             // how usual the form is in this list
	numbers    []uint64            // of such cards in a sample of it, sorted; not many
	crowd      crowd               // of all of those
	perhaps    crowd               // of texts that are hardly all of such cards: one question, whatever each of them says
	shape      Shape
	habit      habit
	stranger   bool   // of the plan's strangers
	ofSite     bool   // of those, a kind that the site has
	end        string // of those, the format of the site whose cards end so
	cut        bool   // of those, the end is not one that a form writes
}

// Plan is all ways in which the numbers of a list can be written. It is immutable; share it freely. Make one with New:
// the zero Plan is of no use.
type Plan struct {
	readings []Reading
	asIs     bool   // no repair and no doubt of what spreadsheets do
	any      bool   // cards that are in none of the site's blocks too
	settled  bool   // a sample has said how usual what is
	sole     bool   // what the first reading clearly reads is its: see isSole
	signs    bool   // some have a sign between two
	plain    bool   // hardly any have, or a full stop: numbers stand by themselves
	pointed  bool   // some are written as 12345.0
	label    string // that all of them have before them, or some; "" where they have none
	partly   bool   // only those of some kinds have it
	wholly   bool   // none but such as all have is looked for
	places   string // decimal places that all of them have; "" where there are none
	hexPairs map[pairShape]bool
	grouped  int // so many of them have a sign between thousands, as all have that are long enough

	within    *Plan              // of a settled plan that takes any card: what reads those of the site
	catalogue *formats.Catalogue // where kinds are that the site file does not have; nil where none are looked for
	strangers []Reading          // of those, what a sample has
}

// Options say what a list's numbers are.
type Options struct {
	Format   string   // id; "" where the site file says
	Forms    []string // in which they can be written; none where the site file says
	Second   []string // forms to try where a number can't be read in those
	Facility string   // of all cards; "" where the list or the site file says. What says another one is refused
	Others   bool     // Facility is only for forms that leave it out: cards of others are taken
	AsIs     bool     // take cells as they stand
	Any      bool     // take cards that are in none of the site's blocks
}

// Kind is what is wrong with a number.
type Kind string

// The kinds. They are what JSON calls them.
const (
	Empty         Kind = "empty"
	Damaged       Kind = "damaged"        // by a spreadsheet
	Unreadable    Kind = "unreadable"     // not in any form that it can have
	OutOfRange    Kind = "out-of-range"   // does not fit its field
	WrongFacility Kind = "wrong-facility" // of no cards of the site
	OutOfBlock    Kind = "out-of-block"
	Ambiguous     Kind = "ambiguous" // two cards of the site are written so
	Several       Kind = "several"   // numbers in one cell: see Parts
	Impossible    Kind = "no-form"   // the card can't be written in the form asked for
)

// Error says why a number can't be read.
type Error struct {
	Kind    Kind
	Reason  string
	Card    formats.Card // that it would be: for OutOfBlock and WrongFacility, and Damaged where it is most likely right
	Form    string
	Settles []string // which [Options] would settle it, by their fields: Forms, Format, Facility, AsIs; may be none

	missing bool // see LeavesOut
}

// Error returns the reason.
func (e *Error) Error() string { return e.Reason }

// LeavesOut reports whether the number is as its form writes a card, of which that leaves a part out.
func (e *Error) LeavesOut() bool { return e.missing }

func leavesOut(err error) bool {
	e, ok := errors.AsType[*Error](err)
	return ok && e.missing
}

// Readings returns the ways in which numbers are read.
func (p *Plan) Readings() []Reading { return p.readings }

// Place returns which of [Plan.Readings] it is, from 0.
func (r *Reading) Place() int { return r.index }

// Fixed reports whether numbers have a fixed count of digits in the form, so that a missing one is seen.
func (r *Reading) Fixed() bool { return r.shape.Width+r.shape.Second > 0 }

// Second reports whether the form is only one of those to try where a number can't be read in the others.
func (r *Reading) Second() bool { return r.second }

// Guessed reports whether the form is only one of those that the list can have the cards in: nothing tells which, so
// that the reading throws doubt on others and gives no card.
func (r *Reading) Guessed() bool { return r.guessed }

// AsIs returns the plan with cells taken as they stand: for numbers that no spreadsheet has touched.
func (p *Plan) AsIs() *Plan {
	q := *p
	if q.asIs = true; p.within != nil {
		q.within = p.within.AsIs()
	}
	return &q
}

// FirstForms returns the names of the forms that numbers are written in, with commas between; not those of second rank.
func (p *Plan) FirstForms() string {
	var names []string
	for i := range p.readings {
		if name := p.readings[i].Form.Name; !p.readings[i].second && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	return strings.Join(names, ",")
}

// Seen is a number that was read. The zero Seen is for [Plan.Read] to fill; its methods are for afterwards, where that
// gave no error.
type Seen struct {
	Reading *Reading
	Repair  string // what was repaired in the cell, "" where nothing was

	quick bool             // the card is v and known, otherwise card
	v     uint64           // its data bits
	known formats.FieldSet // which of its fields are known
	card  formats.Card
}

// Card returns the card.
func (s *Seen) Card() formats.Card {
	if !s.quick {
		return s.card
	}
	c, err := s.Reading.quick.Card(s.v, s.known)
	if err != nil {
		return formats.Card{Format: s.Reading.Format} // not reached: the fields come from v
	}
	return c
}

// Number returns the card's number; ok is false where it has none of 64 bits, or it is not known.
func (s *Seen) Number() (v uint64, ok bool) { return s.field(s.Reading.Format.Number()) }

// Facility returns the card's facility; ok is false where it has none, or it is not known.
func (s *Seen) Facility() (v uint64, ok bool) { return s.field(s.Reading.Format.Facility()) }

func (s *Seen) field(i int) (uint64, bool) {
	switch {
	case !s.quick:
		return field(&s.card, i)
	case !s.known.Has(i):
		return 0, false
	}
	return s.Reading.quick.Field(s.v, i), true
}

func same(a, b *Seen) bool {
	if a.Reading.Format != b.Reading.Format {
		return false
	}
	if a.quick && b.quick {
		return a.v == b.v && a.known == b.known
	}
	x, y := a.Card(), b.Card()
	return x.Known == y.Known && x.Record.Bits() == y.Record.Bits()
}

// Read reads a cell's value as the card that it is. The error is an [*Error].
func (p *Plan) Read(value []byte, s *Seen) (err error) {
	if p.within != nil {
		if err = p.within.Read(value, s); err == nil || !outside(err) {
			return err
		}
	}
	whole, repair := p.whole(value)
	err = p.readWhole(whole, s)
	s.Repair = cmp.Or(s.Repair, repair)
	return err
}

// outside reports whether a number can't be read because it is that of a card that the site does not have.
func outside(err error) bool {
	e, ok := errors.AsType[*Error](err)
	return ok && (e.Kind == OutOfBlock || e.Kind == WrongFacility)
}

func (p *Plan) readWhole(value []byte, s *Seen) (err error) {
	if r := &p.readings[0]; p.sole && r.clearly(value, s) {
		return nil
	} else if len(p.readings) > 1 {
		err = p.several(value, s)
	} else if err = r.read(value, p, s); err == nil && p.settled && r.mayBeOther(value, p, s) {
		err = p.several(value, s)
	}
	if e, ok := errors.AsType[*Error](err); ok && (e.Kind == Unreadable || e.Kind == OutOfRange) {
		if n := len(p.Parts(string(value))); n > 1 {
			return &Error{Kind: Several, Reason: fmt.Sprintf("%s%d numbers in one cell; give each card a row of its own",
				quoted(value), n)}
		}
	}
	return err
}

// mayBeOther reports whether the card that the only reading gives has to be weighed against others: strangers, and what
// the text can be left of.
func (r *Reading) mayBeOther(value []byte, p *Plan, s *Seen) bool {
	if len(p.strangers) > 0 || p.hexPairs != nil || r.alone(s) || r.zeroBefore(value) || s.Repair == pointTaken {
		return true
	}
	first, second := r.guarded()
	return (first || second) &&
		(s.Repair == ZerosBack || r.shape.Second > 0 && r.short(stripped(value)))
}

// Each calls use with every card that a value can be, in the order of the readings, until it says no.
func (p *Plan) Each(value []byte, use func(*Seen) bool) {
	var s Seen
	value, _ = p.whole(value)
	for i := range p.readings {
		if p.readings[i].try(value, p, &s) == nil && !use(&s) {
			return
		}
	}
}

// several tries all readings. Those that give the same card are one; of several cards it takes one that is certain.
func (p *Plan) several(value []byte, s *Seen) error {
	var memory [2]candidate
	all, err := p.candidates(value, memory[:0])
	switch {
	case len(all) == 0:
		return err
	case !sure(all):
		return ambiguous(value, all)
	case all[0].seen.oddlyShort():
		return &Error{Kind: Damaged, Form: all[0].seen.Reading.Form.Name, Reason: quoted(value) +
			"has too few digits, and few numbers of this list are written so; write it with all its digits"}
	}
	*s = all[0].seen
	return nil
}

// oddlyShort reports whether a number has lost its zeros, and few of the list are written so, or none lies near it
// where the others have theirs: it may be anything.
func (s *Seen) oddlyShort() bool {
	r := s.Reading
	return s.Repair == ZerosBack && (r.habit.rare && !r.blocks || !r.habit.loose[0] && r.alone(s))
}

// sure reports whether the first card that a text can be is the one.
func sure(all []candidate) bool {
	return !all[0].refused() && enoughOf(all, func(c *candidate) bool { return c == &all[0] })
}

// enoughOf reports whether some of the cards that a text can be are probable enough to take one of those, beside cards
// that are hardly in a list, those that would be typed wrong, and those that would be by themselves.
func enoughOf(all []candidate, taken func(*candidate) bool) bool {
	share, strange, typed, alone := 0.0, 0.0, 0.0, 0.0
	for i := range all {
		switch c := &all[i]; {
		case taken(c):
			share += c.share
		case c.slipBeside(&all[0]):
			typed += c.share
		case c.untold(): // it is the site's, and as usual as any other
		case c.seen.Reading.cut: // there are many such numbers, that lie anywhere
			alone += c.share
		case c.err != nil:
			strange += c.share
		case c.seen.Reading.perhaps.has(&c.seen):
			return false
		case c.aloneBeside(&all[0]):
			alone += c.share
		}
	}
	return share >= certain*(1-strange-typed-alone) && strange < stranger && typed < all[0].asSlip() && alone < oneAlone
}

// slipBeside reports whether a text would be a slip of the card's, beside one that it is with nothing repaired.
func (c *candidate) slipBeside(one *candidate) bool { return c.typed || c.lost && one.isClear() }

// untold reports whether the card is the site's, of a kind of which nothing tells the form.
func (c *candidate) untold() bool {
	r := c.seen.Reading
	return r.guessed && !c.typed && c.written > 0 && r.inBlocks(&c.seen)
}

// aloneBeside reports whether the card would be by itself, beside one that is in the midst of others: it is a doubt of
// each text, and none that those have alike.
func (c *candidate) aloneBeside(one *candidate) bool {
	return !c.lost && c.seen.Reading.alone(&c.seen) && one.isClear()
}

// isClear reports whether nothing was repaired in a text, and its card is in the midst of the others: slips that are
// all alike lie together beside them.
func (c *candidate) isClear() bool {
	n, ok := c.seen.Number()
	r := c.seen.Reading
	return ok && !c.mended && r.among(&c.seen) && (r.blocks || r.crowd.amid(n))
}

// asSlip returns the share from which it throws doubt on a card that a text may be another one typed wrong. A slip of
// a card beside this one would not be seen, so that no other slip has to be less usual.
func (c *candidate) asSlip() float64 {
	if c.isClear() {
		return oneWrong + twoSwapped + oneMore + oneLost
	}
	return mistyped
}

// ambiguous says that a value can be two cards or more, the likelier first.
func ambiguous(value []byte, all []candidate) error {
	e := &Error{Kind: Ambiguous}
	doubts := func(c candidate) bool { return !c.slipBeside(&all[0]) || c.share >= all[0].asSlip() }
	one, other := &all[0], &all[1+max(0, slices.IndexFunc(all[1:], doubts))]
	switch {
	case one.lost || other.lost || one.typed || other.typed:
		if e.Kind = Damaged; !one.refused() {
			e.Card = one.seen.Card()
		}
	default:
		e.Settles = one.seen.Reading.apartFrom(other.seen.Reading)
	}
	e.Reason = fmt.Sprintf("%scan be two cards: %s, or %s", quoted(value), one.describe(), other.describe())
	if e.Kind == Ambiguous && !one.refused() && one.share > sureAlone {
		e.Reason += fmt.Sprintf("; a list takes a number from %g %% on, since nobody looks at each", 100*certain)
	}
	if e.Kind == Damaged {
		e.Reason += "; compare it with the card, and write it with all its digits"
	}
	return e
}

// apartFrom returns which options tell a reading from another one.
func (r *Reading) apartFrom(o *Reading) (options []string) {
	if r.Form.Name != o.Form.Name {
		options = append(options, "Forms")
	}
	if r.Format != o.Format {
		options = append(options, "Format")
	}
	if options == nil {
		options = []string{"Facility"}
	}
	return options
}

// describe names the card, how it is written, and how probable that is.
func (c *candidate) describe() string {
	card := c.seen.Card()
	what := fmt.Sprintf("%s of format %s, written as %s (%s)", Describe(&card), card.Format.ID, c.seen.Reading.Form.Name,
		percent(c.share))
	switch {
	case c.lost:
		return "what is left of one such as " + what
	case c.typed:
		return "one such as " + what + ", typed wrong"
	case c.err != nil && c.seen.Reading.end != "":
		return fmt.Sprintf("the end of a card of format %s, written as %s (%s)", c.seen.Reading.end,
			c.seen.Reading.Form.Name, percent(c.share))
	case c.err != nil && c.seen.Reading.stranger && c.seen.Reading.ofSite:
		return what + ", a form in which this site's cards are not written"
	case c.err != nil && c.err.Kind == Damaged:
		return what + ", with zeros before it"
	case c.err != nil && c.seen.Reading.guessed && c.err.Settles != nil:
		return what + ", if that is how they are written"
	case c.err != nil:
		return what + ", which is none of this site's"
	case c.seen.Reading.second:
		return what + ", as a door takes it"
	}
	return what
}

func percent(share float64) string {
	switch {
	case share > 0.999:
		return ">99.9 %"
	case share < 0.001:
		return "<0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*share)
}

// nearer returns the error that says more, the first of two that say as much.
func nearer(a, b error) error {
	var x, y *Error
	if !errors.As(a, &x) || errors.As(b, &y) && y.near() > x.near() {
		return b
	}
	return a
}

// near is how near a text is to a card of the site: one that is only in no block is nearer than one that can't be read
// at all, and one of which a part is left out is written as the site's are.
func (e *Error) near() int {
	switch {
	case e.missing:
		return 7
	case e.Kind == Unreadable && e.Settles != nil: // it is one, if it is written so
		return 3
	}
	return nearness[e.Kind]
}

// nearness is near by the kind of an error alone.
var nearness = map[Kind]int{Unreadable: 1, Empty: 1, OutOfRange: 2, Damaged: 4, WrongFacility: 5, OutOfBlock: 6}

// read reads a value. The error is a [*Error].
func (r *Reading) read(value []byte, p *Plan, s *Seen) error {
	return r.told(value, r.try(value, p, s))
}

// try reads a value fast where that can be done. The error is a [*Error], or else one of package formats, which read
// tells in words: most values are tried in readings that are none of theirs.
func (r *Reading) try(value []byte, p *Plan, s *Seen) error {
	if r.parse != nil && (p.asIs || Sound(value, r.shape)) && !(r.second && r.Form.Name == "words") &&
		r.fast(value, s) && (p.any || r.inBlocks(s)) {
		return nil
	}
	if r.parse != nil && !p.asIs && r.withZeros(value, s) && (p.any || r.inBlocks(s)) {
		return nil
	}
	c, repair, err := r.card(value, p)
	s.Reading, s.Repair, s.quick, s.card = r, repair, false, c
	return err
}

// withZeros reads digits that have lost the zeros before them, as [Mend] puts these back; it says no to others.
func (r *Reading) withZeros(value []byte, s *Seen) bool {
	var whole [maxDigits + 1]byte
	n, w := len(value), r.shape.Width
	if n < r.shape.Least || n >= w || w > len(whole) || n == 0 || value[0] == '0' ||
		strings.Trim(strings.ToUpper(string(value)), r.digits()) != "" {
		return false
	}
	copy(whole[:w-n], "0000000000000000")
	copy(whole[w-n:], value)
	ok := r.fast(whole[:w], s)
	s.Repair = ZerosBack
	return ok
}

// fast reads a value that nothing is wrong with; it says no to others.
func (r *Reading) fast(value []byte, s *Seen) bool {
	v, known, ok := r.parse(value)
	if !ok {
		return false
	}
	facility := r.Format.Facility()
	switch {
	case r.facility == "" || facility < 0:
	case !known.Has(facility):
		v, ok = r.quick.WithField(v, facility, r.fill)
		known |= 1 << facility
	case r.only:
		ok = r.quick.Field(v, facility) == r.fill
	}
	s.Reading, s.Repair, s.quick, s.v, s.known = r, "", true, v, known
	return ok
}

// inBlocks reports whether a card is of the population of its reading.
func (r *Reading) inBlocks(s *Seen) bool {
	if len(r.cards.Facilities) > 0 {
		if v, ok := s.Facility(); ok && !slices.Contains(r.cards.Facilities, v) {
			return false
		}
	}
	blocks := r.cards.Numbers
	if len(blocks) == 0 {
		return true
	}
	v, ok := s.Number()
	return !ok || blocks[0].Has(v) || len(blocks) > 1 && r.cards.HasNumber(v)
}

// card reads a value with everything that can be wrong with it.
func (r *Reading) card(value []byte, p *Plan) (c formats.Card, repair string, err error) {
	m := Mended{Value: value}
	if !p.asIs {
		m = r.inThousands(Mend(value, r.shape), p)
	}
	if m.Doubt != "" {
		kind := Damaged
		if len(strings.TrimSpace(string(value))) == 0 {
			kind = Empty
		}
		e := &Error{Kind: kind, Reason: quoted(value) + m.Doubt}
		if m.Stands {
			e.Settles = []string{"AsIs"}
		}
		return c, "", e
	}
	if c, err = r.Form.Parse(r.Format, string(m.Value)); err != nil {
		var ok bool
		if c, ok = r.values.Completed(r.Form, string(m.Value)); !ok {
			return c, "", err
		}
	}
	if err = r.asWritten(&c, value, m.Value, p.asIs); err != nil {
		return c, "", err
	}
	if r.facility != "" && r.Format.Facility() >= 0 {
		if c, err = r.withFacility(c, value); err != nil {
			return c, "", err
		}
	}
	if !p.any {
		err = r.belongs(&c)
	}
	if err != nil && r.shape.Second > 0 && !bytes.ContainsAny(m.Value, signs) { // its facility is not what was written
		err = &Error{Kind: Unreadable, Reason: quoted(value) + signless, Form: r.Form.Name}
	}
	return c, m.Repair, err
}

// Text returns a card as the column has it. The error is that of [formats.Form.Text].
func (r *Reading) Text(c *formats.Card) (string, error) {
	text, err := r.Form.Text(c)
	switch {
	case r.shape.Hex && r.shape.Width > 0 && r.shape.Width < len(text):
		text = text[len(text)-r.shape.Width:]
	case r.shape.Decimal && err == nil:
		text = filled(text, r.shape.Width)
	}
	return text, err
}

// asWritten returns an error for a text that the form can be read from and is never written as. Words have five digits
// each: 58,2120 is a facility and a number, which is not looked for as words, and 1 018 a number with a sign between
// thousands. Ten digits are ten. A door shows no signs between the bytes of a number in hex.
func (r *Reading) asWritten(c *formats.Card, value, mended []byte, asIs bool) error {
	text, exact := strings.TrimSpace(string(mended)), false
	switch {
	case r.Form.Name == "words":
		_, groups, _ := words.Ungrouped(text)
		exact = r.second || groups > 1 && !asIs
	case r.shape.Decimal && strings.ContainsAny(text, ","):
		exact = true
	case r.second && r.shape.Hex && r.shape.Width > 0 && bytes.IndexByte(value, ':') >= 0: // no door shows hex so
		exact, text = true, string(value)
	case r.shape.Decimal || r.shape.Hex:
		exact = r.shape.Width > 0 && len(text) > r.shape.Width || r.shape.Hex && len(text) < r.shape.Least
	case r.Form.Name == "bits-hex" && !asIs:
		exact = text[0] >= '1' && text[0] <= '9' && strings.Contains(text, ":")
	}
	if !exact {
		return nil
	}
	written, err := r.Text(c)
	if err != nil || len(written) == len(text) {
		return nil
	}
	return &Error{Kind: Unreadable, Form: r.Form.Name, Reason: fmt.Sprintf("%sform %s has %d characters, such as %s",
		quoted(value), r.Form.Name, len(written), written)}
}

// withFacility fills in the facility where the text leaves it out. Where it says another one than that of all cards,
// the card of neither may be meant.
func (r *Reading) withFacility(c formats.Card, value []byte) (formats.Card, error) {
	filled, err := c.WithFacility(r.facility)
	i := r.Format.Facility()
	switch {
	case err != nil:
		return c, err
	case !c.Known.Has(i):
		return filled, nil
	case r.only && c.Record.Value(i) != filled.Record.Value(i):
		return c, &Error{Kind: WrongFacility, Card: c, Form: r.Form.Name, Reason: fmt.Sprintf(
			"%sfacility %s, not %s as all cards should have", quoted(value), c.Text(i), r.facility),
			Settles: []string{"Facility"}}
	}
	return c, nil
}

func quoted(value []byte) string {
	if len(value) == 0 {
		return ""
	}
	return strconv.Quote(words.Cut(string(value))) + ": "
}

// told makes an [*Error] of that of try.
func (r *Reading) told(value []byte, err error) error {
	if _, is := errors.AsType[*Error](err); is || err == nil {
		return err
	}
	kind := Unreadable
	if errors.Is(err, wiegand.ErrRange) {
		kind = OutOfRange
	}
	reason := err.Error()
	if other := noNumber(string(value)); other != "" && kind == Unreadable {
		reason = other
	}
	if !strings.Contains(reason, strconv.Quote(words.Cut(string(value)))) {
		reason = quoted(value) + reason
	}
	return &Error{Kind: kind, Reason: reason, Form: r.Form.Name,
		missing: errors.Is(err, formats.ErrMissing) && !r.zeroBefore(value)}
}

// noNumber says of a text that is words, or has words beside a number, that it is no card number in whatever form; ""
// of others.
func noNumber(text string) string {
	text, _ = strip(text)
	switch {
	case !strings.ContainsAny(text, "0123456789"):
		return "there is no number in it"
	case strings.ContainsAny(text, " \t\r\n()[]>") && strings.Trim(text, "0123456789 ,-/.:") != "":
		return "more than a card number; leave there just the card in use, if any"
	}
	return ""
}

// belongs returns an error for a card that is of no population of its reading.
func (r *Reading) belongs(c *formats.Card) error {
	if len(r.cards.Facilities) > 0 {
		if v, ok := field(c, r.Format.Facility()); ok && !r.cards.HasFacility(v) {
			e := &Error{Kind: WrongFacility, Card: *c, Form: r.Form.Name,
				Reason: fmt.Sprintf("facility %d is not one of this site's cards, which have %s", v, numbers(r.cards.Facilities))}
			if r.counted {
				e.Settles = []string{"Any"}
				e.Reason = fmt.Sprintf("facility %d is hardly ever on this list, whose other cards have %s; is it typed wrong?", v,
					numbers(r.cards.Facilities))
			}
			return e
		}
	}
	if len(r.cards.Numbers) > 0 {
		if v, ok := field(c, r.Format.Number()); ok && !r.cards.HasNumber(v) {
			return &Error{Kind: OutOfBlock, Card: *c, Form: r.Form.Name,
				Reason: fmt.Sprintf("number %d is in none of this site's blocks: %s", v,
					words.Cut(formats.FormatRanges(r.cards.Numbers)))}
		}
	}
	return nil
}

func field(c *formats.Card, i int) (uint64, bool) {
	if !c.Known.Has(i) {
		return 0, false
	}
	return c.Record.Uint64(i)
}

func numbers(all []uint64) string {
	return strings.Trim(strings.ReplaceAll(fmt.Sprint(all[:min(len(all), 8)]), " ", ", "), "[]")
}

// Describe names a card to people: facility and number, or the number, or all fields.
func Describe(c *formats.Card) string {
	for _, name := range []string{"pair", "number", "fields"} {
		fm, _ := formats.FormByName(name)
		if text, err := fm.Text(c); err == nil {
			return text
		}
	}
	return c.Record.Encode().Hex()
}
