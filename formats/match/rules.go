package match

import (
	"cmp"
	"fmt"
	"math"
	"math/bits"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/wiegand"
)

// A card of the events that is not on the list is either a stranger's, or a holder's whose number differs by a rule. By
// Bayes' theorem, with n holders, the probability that it is holder h by rule r is proportional to
//
//	weight(r) · 1/n · times(r)/variants(r)
//
// since the rule could have shown any holder in any of its variants (which bit, which digit), some of which show the
// same; and that it is a stranger to
//
//	weight(stranger) · P(number | stranger)
//
// where a stranger has a number at random: one of the site's own blocks (a card that was handed out and never put on
// the list), any of its facility, any at all, or one of another site's cards, until more is known (strangers.go). A
// bit misread or lost, or a digit copied wrong, by chance is seldom the same twice, so that every further event halves
// what speaks for it. A row of the list that was typed wrong was not seen at the door; it mostly can't be read, or its
// number is none that the others go with; and of all numbers that it can stand for each counts by how likely a card
// has it (typing.go). A holder has one card, so that what the events say of one holder's card speaks against all
// others (claim in weigh.go). A row that was not read, with whatever number, has a card like the others' too, which is
// at the door as often as theirs are; many of them have a form that is not known (weighForm). Another facility is any
// at all until cards with one of them were seen.
// Weights are learned from the cards themselves, each judged by all others, beginning with the weights below: if
// forty cards differ by their byte order, the forty-first most likely does too.

// Rule is one way in which the number in the events differs from the list's.
type Rule int8

// The rules, by place in the table of weights.
const (
	Form      Rule = iota // another form
	ByteOrder             // bytes the other way round
	BitOrder              // bits the other way round
	Swapped               // data lines swapped: every bit inverted
	Format                // the controller takes the read for another format
	Facility              // another facility than the list's
	Cut                   // only the low bits are shown
	Misread               // one bit read wrong
	Lost                  // one bit lost
	Digit                 // the shown number copied wrong: a digit lost, most often
	Typed                 // typed wrong in the list
	Stranger              // nobody's on the list
	Alike                 // the door shows the cards of several holders so
	Doubtful              // the holder's number on the list can be this card, or another
	Unread                // of a row of the list that was not read, whichever
	Ending                // the list has only the end of the number
)

var ruleNames = [...]string{
	Form: "another form", ByteOrder: "byte order", BitOrder: "bit order", Swapped: "lines swapped",
	Format: "another format", Facility: "another facility",
	Cut: "cut short", Misread: "one bit misread", Lost: "one bit lost",
	Digit: "copied wrong", Typed: "typed wrong", Stranger: "not on the list",
	Alike: "same at the door", Doubtful: "row in doubt", Unread: "row not read", Ending: "end on the list",
}

// String returns two or three words, such as "byte order".
func (r Rule) String() string { return ruleNames[r] }

// claims reports whether it says which card a holder has, and not only that a number was shown wrong.
func (r Rule) claims() bool { return r < Misread || r == Typed || r == Doubtful || r == Ending }

// right reports whether it says that the list has the card of a holder right.
func (r Rule) right() bool { return r != Typed && r != Facility }

// weights is how common the rules are before anything is seen: judgements, no count was found.
var weights = [...]float64{
	Form: 0.15, ByteOrder: 0.10, BitOrder: 0.03, Swapped: 0.03, Format: 0.08, Facility: 0.10, Cut: 0.12, Misread: 0.08,
	Lost: 0.03, Digit: 0.04, Typed: 0.06, Stranger: 0.25,
	Alike: 0.50, Doubtful: 0.50, Unread: 0.50, // the card is on the list: that is what most events are of
	Ending: 0.05,
}

// way is one way in which an unknown card can be a holder's.
type way struct {
	holder   int32
	rule     Rule
	form     int8       // by rule Form, and where other: which form, by its place among all
	other    bool       // by rules Typed and Digit: the door shows the card otherwise than was thought, too
	by       Rule       // where other: by which rule
	in       *shownCard // by rules Form, Doubtful and Typed: the card that is shown; nil where that is not known
	slip     int8       // by rules Typed and Digit: which of the slips
	variants int32      // that the rule has for such a number
	times    int32      // how many of them show just this number
	odds     float64    // by rule Typed: how many times as likely as another row the holder's is typed wrong; see byEnding
	high     uint64     // by rule Ending: what stands before the end, and of which end (they differ by 37)
	mass     float64    // how likely it is, beside that of all others
	share    float64    // that as a part of all, as learned

	of    *Unknown    // by rule Digit: the other card of the events whose number is shown, where holder is -1
	card  reading.Key // that the holder has then, where it is not just the one that the list says
	claim float64     // how much likelier it is than that the unknown card is anything else
	free  float64     // how likely nothing else that was seen says that the holder has another card
}

// ruleIndex finds holders by parts of their cards.
type ruleIndex struct {
	data   map[uint64][]int32              // data bits of a whole card
	number map[uint64][]int32              // card number
	low    map[dataBits][]int32            // the low bits of the data
	mixed  [len(orders)]map[uint64][]int32 // by order: card number of the data bits in that
	widths []int                           // of data bits, of the formats in use
	highs  map[highOf][]uint64             // what stands before the low bits
	cuts   []int                           // widths in bits to which doors cut cards short
	spans  map[*formats.Format]span

	beside
	sure  beside                      // the same of numbers that are surely cards of their format
	usual map[*formats.Format]float64 // how likely half of them are beside the others
	ends  map[*formats.Format]int     // how many of those on the list have none on it that is one higher

	facilities map[*formats.Format]map[uint64]int // how many holders have each
	inBlocks   map[facilityOf]int                 // of those, how many have a number in one of the site's blocks
}

// beside says where the numbers of the list lie.
type beside struct {
	numbers map[*formats.Format][]uint64           // some of those on the list, rising
	given   map[*formats.Format]*evidence.Given    // how likely one more is beside them, once that was asked
	known   map[*formats.Format]map[uint64]float64 // the same of each number that was asked about
}

func newBeside() beside {
	return beside{map[*formats.Format][]uint64{}, map[*formats.Format]*evidence.Given{},
		map[*formats.Format]map[uint64]float64{}}
}

// facilityOf is one facility of a format, 0 where it has none.
type facilityOf struct {
	format   *formats.Format
	facility uint64
}

// span is the lowest and the highest card number of a format on the list.
type span struct {
	low, high uint64
	holders   int
}

// sparse is how many numbers there are to a cardholder from which on they are no block that was handed out: chip
// serials are spread over billions. A judgement.
const sparse = 20

// maxFound is how many holders one variant of a rule may name: it is as good as none then.
const maxFound = 64

func (m *Matcher) buildIndex() {
	x := &m.index
	x.data, x.number = map[uint64][]int32{}, map[uint64][]int32{}
	x.low, x.highs, x.cuts = map[dataBits][]int32{}, map[highOf][]uint64{}, slices.Clone(cut[:])
	for i := range x.mixed {
		x.mixed[i] = map[uint64][]int32{}
	}
	for _, f := range m.formats {
		if at := f.Number(); at >= 0 && f.Facility() >= 0 && !slices.Contains(x.cuts, bitsOf(f, at)) {
			x.cuts = append(x.cuts, bitsOf(f, at))
		}
	}
	x.spans, x.beside, x.sure = map[*formats.Format]span{}, newBeside(), newBeside()
	x.usual = map[*formats.Format]float64{}
	x.facilities, x.inBlocks = map[*formats.Format]map[uint64]int{}, map[facilityOf]int{}
	each := len(m.holders)/someNumbers + 1
	for i := range m.holders {
		h := &m.holders[i]
		if h.hasNum {
			s, ok := x.spans[h.format]
			if !ok {
				s.low = h.num
			}
			if i%each == 0 {
				x.sure.numbers[h.format] = append(x.sure.numbers[h.format], h.num)
			}
			x.spans[h.format] = span{min(s.low, h.num), max(s.high, h.num), s.holders + 1}
			if size, known := m.blocks(h.format, h.num); known && size > 0 {
				x.inBlocks[facilityOf{h.format, h.facility}]++
			}
		}
		if h.hasFacility {
			if x.facilities[h.format] == nil {
				x.facilities[h.format] = map[uint64]int{}
			}
			x.facilities[h.format][h.facility]++
		}
		x.put(&h.listed, int32(i), i%each == 0)
		for k := range h.can {
			x.put(&h.can[k], int32(i), i%each == 0)
		}
	}
	x.ends = map[*formats.Format]int{}
	for i := range m.holders {
		if h := &m.holders[i]; h.hasNum && !m.hasNumber(h.format, h.num+1) {
			x.ends[h.format]++
		}
	}
	for f, numbers := range x.numbers {
		slices.Sort(numbers)
		slices.Sort(x.sure.numbers[f])
	}
	m.mixAll()
}

func put[K comparable](to map[K][]int32, v K, i int32) {
	if len(to[v]) < maxFound && !slices.Contains(to[v], i) {
		to[v] = append(to[v], i)
	}
}

// put puts a holder's card in; near says that its number says where others lie.
func (x *ruleIndex) put(l *listed, i int32, near bool) {
	if l.hasNum {
		put(x.number, l.num, i)
		if near {
			x.numbers[l.format] = append(x.numbers[l.format], l.num)
		}
	}
	if !l.whole {
		return
	}
	put(x.data, l.data, i)
	if !slices.Contains(x.widths, l.width) {
		x.widths = append(x.widths, l.width)
	}
	for _, width := range x.cuts {
		if l.width > width {
			put(x.low, dataBits{l.data & (1<<width - 1), width}, i)
			x.putHigh(l, width)
		}
	}
}

// cut are the widths in bits to which doors cut cards short, beside that of the number, where the facility is left out.
// Common practice, no source.
var cut = [...]int{16, 24, 32}

// someNumbers is how many numbers of a list say where others lie.
const someNumbers = 200

// ways finds every holder that a card can be, by every rule. A holder comes once by each rule.
func (m *Matcher) ways(u *Unknown) {
	m.readShown(u)
	if u.Value == "" {
		return
	}
	if found := m.find([]byte(u.Value)); len(found) > 1 {
		m.add(u, Alike, 1, found)
		return
	}
	m.readForms(u)
	m.byCard(u)
	m.byTyping(u)
	for _, v := range m.dataOf(u.Value) {
		m.byData(u, v.value, v.width)
	}
	m.byBytes(u)
	m.byNumber(u)
	m.cards([]byte(u.Value), func(seen *reading.Seen) bool {
		m.byFacility(u, seen)
		m.byFormat(u, seen)
		return true
	})
	m.byEnding(u)
	m.byUnread(u)
	u.ways = slices.DeleteFunc(u.ways, func(w way) bool { // the whole card is there: nothing of it is lost
		return w.rule == Lost && u.way(w.holder, Form) != nil
	})
}

// byUnread weighs that the card is of a row that was not read, of which nothing is known: those have cards as the
// others have, near them. A row that has the same value, whatever kind of card has it, is that card's.
func (m *Matcher) byUnread(u *Unknown) {
	if m.read == 0 {
		return
	}
	for _, v := range valuesOf(reading.Plain(u.Value)) {
		m.add(u, Doubtful, 1, m.byValue[v])
	}
	for _, c := range u.cards {
		if !c.other {
			m.add(u, Doubtful, 1, m.byOther[m.opt.List.KeyOf(&c.card)])
		}
	}
	u.ways = append(u.ways, way{holder: -1, rule: Unread, variants: 1, times: 1})
}

// leastValue is how large a number is at least of which the value alone says that two texts are of one card. A
// judgement.
const leastValue = 1 << 20

// valuesOf returns what a text can be as one number: decimal, hex, or two decimals of which the second has 16 bits.
func valuesOf(text string) (all []uint64) {
	add := func(v uint64, err error) {
		if err == nil && v >= leastValue {
			all = append(all, v)
		}
	}
	if high, low, two := strings.Cut(text, ","); two {
		a, err := strconv.ParseUint(high, 10, 48)
		b, other := strconv.ParseUint(low, 10, 16)
		add(a<<16|b, cmp.Or(err, other))
		return all
	}
	add(strconv.ParseUint(text, 10, 64))
	add(strconv.ParseUint(text, 16, 64))
	return all
}

// unreadShares is how likely a card of a row that was not read is of each kind; unknownShares is the same where rows
// have a form that is not known: those can be of a box or a facility of which none was read. Judgements.
var (
	unreadShares  = strays{fromBlock: 0.9, fromFacility: 0.09, fromAnywhere: 0.01}
	unknownShares = strays{fromBlock: 0.5, fromFacility: 0.1, fromAnywhere: 0.1, fromElsewhere: 0.3}
)

// mostlyTyped and mostlyNone are how likely a row that was not read has a card that has nothing to do with what it
// says: where that is a number, it is mostly the card's, typed wrong, and where it is nothing, there is mostly no
// card. Judgements.
const mostlyTyped, mostlyNone = 0.1, 0.3

// unreadShare is how likely a row that was not read has any card.
func (m *Matcher) unreadShare(number string) float64 {
	switch {
	case number == "":
		return mostlyNone
	case isTyped(m.plain(number)):
		return mostlyTyped + (1-mostlyTyped)*m.unknownForm
	}
	return 1
}

// isTyped reports whether a row has something like a number.
func isTyped(number string) bool {
	return strings.Trim(number, "0123456789ABCDEFabcdef,-/ ") == "" && strings.ContainsAny(number, "0123456789")
}

// unknownForms is how likely some rows of a list have a form that is not known, of whatever share of the rows that
// is. One row in typedBadly is typed so that it can't be read, at a list as others are. Judgements.
const unknownForms, typedBadly = 0.1, 30

// weighForm finds how likely the numbers that were not read are of a form that is not known, rather than typed wrong:
// the more there are, the likelier, since no list has most of its rows typed wrong. Either share is integrated over,
// that of typing with density typedBadly·(1-x)^(typedBadly-1) and that of the form evenly.
func (m *Matcher) weighForm() {
	numbers := 0
	for i := range m.unread {
		if isTyped(m.plain(m.unread[i].Number)) {
			numbers++
		}
	}
	if m.unknownForm = 0; numbers == 0 {
		return
	}
	read := len(m.holders) - len(m.unread)
	typed := (1 - unknownForms) * typedBadly / float64(read+numbers+typedBadly)
	for k := range numbers {
		typed *= float64(read+numbers-k) / float64(read+numbers-k+typedBadly-1)
	}
	form := unknownForms / float64(read+numbers+1)
	m.unknownForm = form / (form + typed)
}

// kindCards is how many cards those shares count for. A judgement.
const kindCards = 2

// unreadMass is how many cards of a kind show this number that are of rows that were not read.
func (m *Matcher) unreadMass(u *Unknown, kind int) float64 {
	return m.unreadRate(kind) * m.strayAt(u, kind)
}

// unreadRate is how many cards of a kind there are that are of rows that were not read.
func (m *Matcher) unreadRate(kind int) float64 {
	if m.read == 0 {
		return 0
	}
	share := (1-m.unknownForm)*unreadShares[kind] + m.unknownForm*unknownShares[kind]
	share = (kindCards*share + m.learned.unread[kind]) / (kindCards + m.learned.rules[Unread])
	return m.unreadShown() * m.unreadAll * share
}

// byCard takes the number for each card that it can be, of those who have it by the list: surely, or as one of several.
func (m *Matcher) byCard(u *Unknown) {
	for _, c := range u.cards {
		rule, variants := Doubtful, int32(1)
		if c.other {
			rule, variants = Form, m.forms
		}
		for _, h := range c.listed {
			w := u.way(h, rule)
			if w == nil {
				u.ways = append(u.ways, way{holder: h, rule: rule, variants: variants, times: 1})
				w = &u.ways[len(u.ways)-1]
			} else if !c.exact {
				continue
			}
			if w.form, w.in = c.form, c; m.holders[h].cards > 1 {
				w.card = m.opt.List.KeyOf(&c.card)
			}
		}
	}
	m.add(u, Doubtful, 1, m.mayShow[partOf(u.Value)])
}

// byFacility looks for cards with the number and another facility. Facility 0 is more likely one that was left out.
func (m *Matcher) byFacility(u *Unknown, seen *reading.Seen) {
	number, hasNumber := seen.Number()
	facility, hasFacility := seen.Facility()
	if !hasNumber || !hasFacility || facility == 0 {
		return
	}
	largest, _ := seen.Reading.LargestFacility()
	u.facility, u.facilities = facility, int32(min(largest, math.MaxInt32))
	for _, h := range m.index.number[number] {
		m.add(u, Facility, int(u.facilities), []int32{h})
		if m.holders[h].hasFacility {
			u.way(h, Facility).card = m.opt.List.KeyOfSeen(seen)
		}
	}
}

// endDigits are how many digits at its end a list has of a number that is longer, endBits how many bits, as numbers
// beside a facility have, and endings how many ways to cut one there are. Common practice, no source.
var (
	endDigits = [...]int{4, 5, 6}
	endBits   = [...]int{16, 19, 20}
)

const endings = len(endDigits) + len(endBits)

// byEnding looks for rows of the list that have only the end of the number, with the zeros before it or without. odds
// is then how likely it is, of all numbers that end so, that it is this one. A number that is none of the cards of the
// list can be one of a kind of which the list has nothing but ends.
func (m *Matcher) byEnding(u *Unknown) {
	some := false
	for _, c := range u.cards {
		n, ok := c.card.Number()
		if !ok || c.other {
			continue
		}
		some = true
		// the ends don't say where others lie
		m.endOf(u, n, max(c.p.own(), c.p[fromFacility], c.p[fromAnywhere]), m.opt.List.KeyOf(&c.card))
	}
	if some || len(u.Value) > longest {
		return
	}
	number := u.Value[strings.LastIndexAny(u.Value, ",-/ ")+1:]
	if n, ok := decimalValue(number); ok {
		m.endOf(u, n, u.anything, reading.Key{})
	} else if n, err := strconv.ParseUint(strings.ReplaceAll(u.Value, ":", ""), 16, 64); err == nil {
		m.endOf(u, n, u.anything, reading.Key{})
	}
}

// endOf looks for rows that have the end of a number, which a card of theirs has as likely as own says.
func (m *Matcher) endOf(u *Unknown, n uint64, own float64, card reading.Key) {
	try := func(end, limit uint64, width int) {
		if n < limit || end < limit/endsFrom {
			return
		}
		for _, text := range [...]string{fmt.Sprintf("%0*d", width, end), strconv.FormatUint(end, 10)} {
			i, ok := m.byText[text]
			if ok && u.way(i, Ending) == nil {
				u.ways = append(u.ways, way{holder: i, rule: Ending, variants: int32(endings), times: 1,
					odds: own / (own + 1/float64(limit)), card: card, high: n/limit<<6 | limit%37})
			}
		}
	}
	for _, bits := range endBits {
		limit := uint64(1) << bits
		try(n&(limit-1), limit, len(strconv.FormatUint(limit, 10)))
	}
	limit := uint64(1)
	for digits := range endDigits[len(endDigits)-1] {
		if limit *= 10; slices.Contains(endDigits[:], digits+1) {
			try(n%limit, limit, digits+1)
		}
	}
}

// endShare is how likely a card whose end is on the list is just this one, of all that end so: those of one facility
// have the same before their ends, and serials do not, each as likely.
func (m *Matcher) endShare(w *way) float64 {
	alike := (w.odds + m.learned.highs[w.high]) / (1 + m.learned.rules[Ending])
	return (w.odds + alike) / 2
}

// endsFrom is as which part of all ends, at least, one counts: small numbers are too many.
const endsFrom = 100

func (m *Matcher) add(u *Unknown, rule Rule, variants int, holders []int32) {
	for _, h := range holders {
		if u.way(h, rule) == nil {
			u.ways = append(u.ways, way{holder: h, rule: rule, variants: int32(max(variants, 1)), times: 1})
		}
	}
}

// way returns the way in which a card is a holder's by a rule, nil where there is none.
func (u *Unknown) way(holder int32, rule Rule) *way {
	for i := range u.ways {
		if w := &u.ways[i]; w.holder == holder && w.rule == rule {
			return w
		}
	}
	return nil
}

// addLost counts one of the bits, of as many as the card has, without which a holder's card is the shown one: in a run
// of equal bits each of them is.
func (m *Matcher) addLost(u *Unknown, width int, holders []int32) {
	for _, h := range holders {
		if w := u.way(h, Lost); w != nil {
			w.times++
		} else {
			m.add(u, Lost, width, []int32{h})
		}
	}
}

// readForms reads the number in every form that the formats have. Of several forms that give the same card one counts.
func (m *Matcher) readForms(u *Unknown) {
	known := len(u.cards)
	for _, f := range m.formats {
		for at, fm := range formats.Forms() {
			c, err := fm.Parse(f, u.Value)
			if err != nil {
				continue
			}
			text, err := fm.Text(&c)
			exact := err == nil && text == u.Value // with all its zeros
			i := slices.IndexFunc(u.cards[known:], func(o *shownCard) bool {
				return o.card.Format == c.Format && o.card.Known == c.Known && o.card.Record == c.Record
			})
			if i < 0 {
				p, beside, _ := m.strayAs(&c)
				u.cards = append(u.cards, &shownCard{form: int8(at), other: true, exact: exact, card: c, kind: kindOf(&c),
					p: p, beside: beside, listed: m.of(&c)})
			} else if o := u.cards[known+i]; exact {
				o.form, o.exact = int8(at), true
			}
		}
	}
}

// of returns the holders who can have a card: by its number where the list leaves the facility out of a card of the
// site, or the door does.
func (m *Matcher) of(c *formats.Card) []int32 {
	key, f := m.opt.List.KeyOf(c), c.Format
	if i, ok := m.byKey[key]; ok {
		return []int32{i}
	}
	found := slices.Concat(m.mayBe[key], m.endsSo(c))
	n, ok := c.Number()
	if !ok || f.Facility() < 0 {
		return found
	}
	facility, shown := c.Facility()
	usual, _ := m.opt.Site.Facilities(f.ID)
	own := slices.Contains(usual, facility)
	is := func(l listed) bool { return l.format == f && l.num == n && (!shown || own && !l.hasFacility) }
	for _, i := range m.index.number[n] {
		if h := &m.holders[i]; (is(h.listed) || slices.ContainsFunc(h.can, is)) && !slices.Contains(found, i) {
			found = append(found, i)
		}
	}
	return found
}

// dataBits is a number as the data bits of a card.
type dataBits struct {
	value uint64
	width int
}

// dataOf returns the data bits that a number as shown can be: as the plan reads it, and as one decimal.
func (m *Matcher) dataOf(value string) []dataBits {
	var all []dataBits
	m.cards([]byte(value), func(seen *reading.Seen) bool {
		v, width, ok := seen.Data()
		if d := (dataBits{v, width}); ok && slices.Contains(m.index.widths, width) && !slices.Contains(all, d) {
			all = append(all, d)
		}
		return true
	})
	if v, ok := decimalValue(value); ok {
		for _, width := range m.index.widths {
			if d := (dataBits{v, width}); bits.Len64(v) <= width && !slices.Contains(all, d) {
				all = append(all, d)
			}
		}
	}
	return all
}

// byBytes looks for cards whose data bits are no whole bytes, which were filled up to those and turned round.
func (m *Matcher) byBytes(u *Unknown) {
	for _, base := range []int{10, 16} { // digits alone can be either
		v, err := strconv.ParseUint(u.Value, base, 64)
		if err != nil {
			continue
		}
		for _, width := range m.index.widths {
			if turned, ok := turn(v, width); ok && bits.Len64(v) <= (width+7)/8*8 {
				m.add(u, ByteOrder, 1, m.index.data[turned])
			}
		}
	}
}

// byNumber looks for cards of which the door shows the number alone, with a bit of it wrong, or of their bits in
// another order.
func (m *Matcher) byNumber(u *Unknown) {
	number, ok := decimalValue(u.Value)
	if !ok {
		return
	}
	for k := range orders {
		m.add(u, orders[k].rule, 1, m.index.mixed[k][number])
	}
	for _, r := range m.opt.Shown.Readings() {
		if largest, ok := r.Largest(); ok && !r.Second() && r.Bare() {
			for bit := uint64(1); bit <= largest && bit != 0; bit <<= 1 {
				m.add(u, Misread, dataWidth(r.Format), m.index.number[number^bit])
			}
		}
	}
}

func decimalValue(s string) (v uint64, ok bool) {
	v, err := strconv.ParseUint(s, 10, 64)
	return v, err == nil && len(s) <= 19
}

// byData looks for cards whose data bits are the shown ones in another order or inverted, with one wrong, with one
// more, or of which they are the last.
func (m *Matcher) byData(u *Unknown, v uint64, width int) {
	x := &m.index
	for k := range orders {
		if other, ok := orders[k].of(v, width); ok {
			m.add(u, orders[k].rule, 1, x.data[other])
		}
	}
	for i := range width {
		m.add(u, Misread, width, x.data[v^1<<i])
	}
	for i := 0; i < width && bits.Len64(v) < width; i++ {
		low := v & (1<<i - 1)
		high := v >> i << (i + 1)
		m.addLost(u, width, x.data[high|low])
		m.addLost(u, width, x.data[high|1<<i|low])
	}
	for _, width := range x.cuts {
		m.add(u, Cut, len(x.cuts), x.low[dataBits{v, width}])
	}
}

// byFormat takes the number for one of another format of the same length, as a controller set to that would show the
// read.
func (m *Matcher) byFormat(u *Unknown, seen *reading.Seen) {
	fm := seen.Reading.Form
	others := slices.Collect(m.opt.Catalogue.OfLength(seen.Reading.Format.Layout.Len()))
	for _, f := range others {
		if f == seen.Reading.Format || f.Kind == formats.KindKeypad {
			continue
		}
		c, err := fm.Parse(f, u.Value)
		if err != nil || !c.Whole() {
			continue
		}
		m.add(u, Format, len(others), m.asRead(c.Record.Encode()))
	}
}

// asRead returns the holders whose card sends a read.
func (m *Matcher) asRead(read wiegand.Bits) []int32 {
	var found []int32
	for _, f := range m.formats {
		if f.Layout.Len() != read.Len() {
			continue
		}
		c, err := f.Read(read)
		if err != nil {
			continue
		}
		if i, ok := m.byKey[m.opt.List.KeyOf(&c)]; ok {
			found = append(found, i)
		}
	}
	return found
}
