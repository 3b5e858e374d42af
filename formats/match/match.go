// Package match finds whose the unknown cards of an event log are.
//
// # Where to start
//
// [ForSite] makes the options for a site's door, and [New] a [Matcher] of them. It is given the rows of a list of
// cardholders, then the events of a door, and [Matcher.Weigh] says for every card that is not on the list whose it can
// be, and by which rule its number differs from the list's.
//
// # The model
//
// A card is a stranger's, or a holder's whose number differs by one of the rules. Each rule's weight is learned from
// all cards of the log, so that one door's habit counts for all; file rules.go has the formulas, and every judgement of
// the package beside them. Packages rank and reading do not know the list, which is evidence here; how usual each slip
// in typing is, all have in common.
package match

import (
	"bytes"
	"cmp"
	"errors"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// Options say how the list and the events have their numbers.
type Options struct {
	Catalogue formats.Catalogue // both plans are made of this very one: [formats.Builtin] reads it anew each time
	Site      site.Site         // the cards in use, where they are known
	List      *reading.Plan     // made with Any and Others, so that a card of another facility is one to explain
	Shown     *reading.Plan     // of the events, made likewise

	// Rule, where it is not nil, makes a number of the list what the door shows for it. ok is false where it can't.
	Rule func(number []byte) (shown []byte, ok bool)
}

// ForSite returns the options for a site: list says how the list has the numbers, as far as the site does not, and
// shown in which forms the door shows them, in order; none for the forms of any door. The error is that of
// [reading.New].
func ForSite(cat formats.Catalogue, s site.Site, list reading.Options, shown ...string) (Options, error) {
	list.Any, list.Others = true, true
	if len(list.Forms) == 0 {
		list.Second = s.DoorForms()
	}
	opt := Options{Catalogue: cat, Site: s}
	var err error
	if opt.List, err = reading.New(cat, s, list); err != nil {
		return Options{}, err
	}
	if list.Second = s.DoorForms(); len(shown) > 0 {
		list.Forms, list.Second = shown, nil
	}
	opt.Shown, err = reading.New(cat, s, list)
	return opt, err
}

// Row is what a list or a log of events has about one card. Its texts are copied where they are kept.
type Row struct {
	Line  int    // where it stands, from 1
	Name  string // of the holder, "" where the list has none; events have none
	Value []byte // the number, as the cell has it
}

// Holder is a cardholder of the list.
type Holder struct {
	Name   string
	Number string // as the list has it
	Line   int
	Same   []int // places in [Matcher.Holders] of others with the same card; of the first of them alone
	Doubt  int   // how many cards the number can be, where it is not one

	cards int // how many of the site's cards the number can be: its facility may be left out, too
	sorts int // the same, but that all that have the number at their end count once for a format
	key   reading.Key
	listed
	can []listed // the cards that a number in doubt can be
}

// listed is a card of the list.
type listed struct {
	format *formats.Format
	data   uint64 // data bits, where whole
	width  int
	whole  bool
	num    uint64 // card number
	hasNum bool

	facility    uint64
	hasFacility bool
}

func listedOf(s *reading.Seen) (l listed) {
	l.format = s.Reading.Format
	l.data, l.width, l.whole = s.Data()
	l.num, l.hasNum = s.Number()
	l.facility, l.hasFacility = s.Facility()
	return l
}

// Unknown is a card of events that is not on the list.
type Unknown struct {
	Value  string // the number as shown, "" for events without one
	Events int
	First  int     // line of its first event
	Last   int     // and of its last
	Err    error   // why it can't be read, a [*reading.Error]; nil where it can
	Own    bool    // the number is in one of the site's blocks
	Best   Verdict // after [Matcher.Weigh]
	Second Verdict // the next likeliest; its probability is 0 where there is none

	ways       []way
	anything   float64      // how likely the number is where it has to do with no card
	cards      []*shownCard // that it can be
	facility   uint64       // as the door shows the card; for the rule of another facility, and strangers from elsewhere
	facilities int32        // how many there are
	strange    strays       // how likely it is that the card is a stranger's, as learned
	unread     strays       // the same for that of a row that was not read
}

// Verdict is who an unknown card most likely is.
type Verdict struct {
	Holder      int // place in [Matcher.Holders]; -1: nobody on the list, or by rule Unread a row that was not read
	Rule        Rule
	Form        string // by rule Form: in which the door shows the card
	Probability float64
}

// Matcher matches one log of events with one list. It is not safe for concurrent use. Make one with New: the
// zero Matcher is of no use.
type Matcher struct {
	opt     Options
	byShown map[string]int32 // by what the rule makes of the list's numbers, without zeros before it
	holders []Holder         // after weighing those of unread too
	read    int              // how many there were before, where there were any of those
	byKey   map[reading.Key]int32
	mayBe   map[reading.Key][]int32 // holders whose number can be several cards, by each of them
	mayShow map[string][]int32      // the same by what the door shows, as in byPart
	byEnd   map[ending][]int32      // holders whose number leaves a part of the card out
	byText  map[string]int32        // by the card as the list writes it, with all its zeros, and as it has it
	unread  []Holder                // whose number can't be read: it may be typed wrong
	byValue map[uint64][]int32      // those, by each value that it can be as one number
	byOther map[reading.Key][]int32 // those, by the cards that they are in forms which the list does not have
	// by what the door shows of the card, where it leaves something out; no zeros before it
	byPart  map[string][]int32
	index   ruleIndex
	formats []*formats.Format // of the list
	forms   int32             // how many a number can be written in
	cache   map[string]int32  // events repeat themselves
	known   int
	events  int
	seen    map[int32]bool // holders who were seen
	unknown map[string]*Unknown
	order   []*Unknown // most events first
	learned learned

	asIs        *reading.Plan // that of the list, for numbers that no spreadsheet has touched
	boxes       [][]inBox
	slipped     map[int32]float64 // how likely each holder's row would be what it is, typed wrong
	claims      [][]claim         // of each holder
	unreadAll   float64           // how many rows that were not read have any card
	unknownForm float64           // how likely rows that were not read have a form that is not known
	mistypedAll float64           // of how many rows typed wrong all rows speak
}

// New makes a Matcher without a list.
func New(opt Options) *Matcher {
	return &Matcher{
		opt: opt, byShown: map[string]int32{}, byKey: map[reading.Key]int32{}, byText: map[string]int32{},
		cache: map[string]int32{},
		mayBe: map[reading.Key][]int32{}, mayShow: map[string][]int32{}, byPart: map[string][]int32{},
		byEnd: map[ending][]int32{}, seen: map[int32]bool{},
		unknown: map[string]*Unknown{}, forms: int32(len(formats.Forms())),
	}
}

// SettleList has the list read by a plan that knows more of it: that of the options after [reading.Plan.Settled]. It is
// for before the first holder.
func (m *Matcher) SettleList(plan *reading.Plan) { m.opt.List = plan }

// AddHolder adds a row of the list. The error is a [*reading.Error]; nothing is added then, unless the number can be
// several cards: that row is a holder in doubt, who is looked for behind unknown cards.
func (m *Matcher) AddHolder(row Row) error {
	var seen reading.Seen
	if err := m.opt.List.Read(row.Value, &seen); err != nil {
		m.addDoubtful(row, err)
		return err
	}
	h := Holder{Name: row.Name, Number: strings.TrimSpace(string(row.Value)), Line: row.Line, key: seen.Key(),
		listed: listedOf(&seen)}
	h.cards = m.facilitiesOf(&h.listed)
	h.sorts = h.cards
	i := int32(len(m.holders))
	m.holders = append(m.holders, h)
	m.asTyped(h.Number, i)
	if _, ok := m.byKey[h.key]; !ok {
		m.byKey[h.key] = i
		c := seen.Card()
		if text, err := seen.Reading.Text(&c); err == nil {
			m.byText[reading.Plain(text)] = i
		}
		m.eachPart(&c, func(text string) { m.byPart[text] = append(m.byPart[text], i) })
	} else {
		m.holders[m.byKey[h.key]].Same = append(m.holders[m.byKey[h.key]].Same, int(i))
	}
	if m.opt.Rule != nil {
		if shown, ok := m.opt.Rule(row.Value); ok {
			m.byShown[strings.TrimLeft(string(shown), "0")] = i
		}
	}
	m.hasFormat(seen.Reading.Format)
	return nil
}

// card is the card of which the list says so much. ok is false where it says too little, or it is longer than 64 bits.
func (l *listed) card() (c formats.Card, ok bool) {
	if l.format == nil || !l.hasNum {
		return c, false
	}
	c, err := l.format.Blank().With(l.format.Number(), strconv.FormatUint(l.num, 10))
	if err == nil && l.hasFacility {
		c, err = c.With(l.format.Facility(), strconv.FormatUint(l.facility, 10))
	}
	return c, err == nil
}

func (m *Matcher) hasFormat(f *formats.Format) {
	if !slices.Contains(m.formats, f) {
		m.formats = append(m.formats, f)
	}
}

// eachPart calls use with what the door shows of a card, without zeros before it, in each form that leaves something
// out which the list says.
func (m *Matcher) eachPart(c *formats.Card, use func(text string)) {
	for _, r := range m.opt.Shown.Readings() {
		if r.Format != c.Format || r.Second() {
			continue
		}
		text, err := r.Form.Text(c)
		if err != nil {
			continue
		}
		said, err := r.Form.Parse(r.Format, text)
		if errors.Is(err, formats.ErrMissing) || err == nil && m.opt.List.KeyOf(&said) != m.opt.List.KeyOf(c) {
			use(partOf(text))
		}
	}
}

// asTyped notes a number as the list has it, where no other number is meant by that.
func (m *Matcher) asTyped(number string, i int32) {
	number = m.plain(number)
	if _, ok := m.byText[number]; !ok {
		m.byText[number] = i
	}
}

// plain returns a number of the list without what all of its numbers have, and what is around them.
func (m *Matcher) plain(number string) string {
	plain := reading.WithoutLabel(reading.Plain(number), m.opt.List.Label())
	if digits := strings.ReplaceAll(plain, ":", ""); isTyped(digits) { // with a digit lost, it is no bytes
		return digits
	}
	return plain
}

// addDoubtful adds a holder whose number can be several cards, or one in a form that nothing tells or that leaves a
// part of it out, or one that stands among words.
func (m *Matcher) addDoubtful(row Row, err error) {
	h := Holder{Name: row.Name, Number: strings.TrimSpace(string(row.Value)), Line: row.Line}
	e, ok := errors.AsType[*reading.Error](err)
	whole := ok && e.Kind == reading.Damaged && e.Card.Format != nil
	numbers := []string{h.Number}
	if !whole && (!ok || e.Kind != reading.Ambiguous && !slices.Contains(e.Settles, "Forms") && !e.LeavesOut()) {
		numbers = m.numbersIn(h.Number)
	}
	i := int32(len(m.holders))
	for _, number := range numbers {
		m.can(&h, number, i)
	}
	if len(h.can) == 0 && h.Doubt == 0 && !slices.Contains(numbers, h.Number) {
		m.unread = append(m.unread, h)
		return
	}
	for k := range h.can {
		h.cards += m.facilitiesOf(&h.can[k])
	}
	h.sorts += h.cards
	h.cards += h.Doubt
	h.Doubt += len(h.can)
	m.holders = append(m.holders, h)
	m.asTyped(h.Number, i)
}

// ending is the low 24 bits of a card's number, of which the list or a door shows no more.
type ending struct {
	format *formats.Format
	low    uint64
}

// mostBits is of how many bits, at most, that are left out a number is thought to be any.
const mostBits = 30

// ends notes that a number leaves a part of a holder's card out, and returns of how many cards, of how many formats, it
// can be one.
func (m *Matcher) ends(number string, holder int32) (cards, sorts int) {
	number = m.plain(number)
	for _, r := range m.opt.List.Readings() {
		low, ok := r.Ending(number)
		if r.Second() || !ok {
			continue
		}
		cards, sorts = cards+endsOf(r.Format), sorts+1
		m.hasFormat(r.Format)
		put(m.byEnd, ending{r.Format, low}, holder)
		if c, err := r.Format.Blank().With(r.Format.Number(), strconv.FormatUint(low, 10)); err == nil {
			m.eachPart(&c, func(text string) { put(m.mayShow, text, holder) })
		}
	}
	return cards, sorts
}

// endsOf returns how many cards of a format have the same low bits.
func endsOf(f *formats.Format) int { return 1 << min(bitsOf(f, f.Number())-evidence.LowBits, mostBits) }

// endsSo returns the holders of whose number the list shows the end alone, which a card has.
func (m *Matcher) endsSo(c *formats.Card) []int32 {
	n, _ := c.Number()
	return m.byEnd[ending{c.Format, n & (1<<evidence.LowBits - 1)}]
}

// Find returns the place of the holder of a card as it is shown, -1 where nobody on the list has it, or where the door
// shows the cards of several holders so.
func (m *Matcher) Find(value []byte) int {
	if found := m.find(value); len(found) == 1 {
		return int(found[0])
	}
	return -1
}

// facilitiesOf is how many facilities of the site a card of the list can have: more than one where the list leaves it
// out and the site has several.
func (m *Matcher) facilitiesOf(l *listed) int {
	if l.format.Facility() < 0 || l.hasFacility {
		return 1
	}
	usual, all := m.opt.Site.Facilities(l.format.ID)
	if !all {
		return 1
	}
	return max(len(usual), 1)
}

// find returns the holders whose cards are shown so; of several with the same card the first.
func (m *Matcher) find(value []byte) (found []int32) {
	if m.opt.Rule != nil {
		if i, ok := m.byShown[strings.TrimLeft(strings.TrimSpace(string(value)), "0")]; ok {
			return []int32{i}
		}
	}
	m.cards(value, func(s *reading.Seen) bool {
		if i, ok := m.byKey[m.opt.List.KeyOfSeen(s)]; ok && !slices.Contains(found, i) {
			found = append(found, i)
		}
		return true
	})
	for _, i := range m.byPart[partOf(string(value))] {
		if !slices.Contains(found, i) {
			found = append(found, i)
		}
	}
	return found
}

// cards calls use with every card that is shown so, until it says no. Where no form writes as many zeros before a
// number, the door has filled it up with more.
func (m *Matcher) cards(value []byte, use func(*reading.Seen) bool) {
	some := false
	m.opt.Shown.Each(value, func(s *reading.Seen) bool {
		some = true
		return use(s)
	})
	value = bytes.TrimSpace(value)
	if less := bytes.TrimLeft(value, "0"); !some && len(less) > 0 && len(less) < len(value) {
		m.opt.Shown.Each(less, use)
	}
}

// partOf is a number as shown, as eachPart has it.
func partOf(shown string) string { return strings.TrimLeft(strings.TrimSpace(shown), "0") }

// maxCached is how many different cards are remembered.
const maxCached = 1 << 20

// AddEvent adds an event, after the list.
func (m *Matcher) AddEvent(row Row) {
	m.events++
	at, ok := m.cache[string(row.Value)]
	if !ok {
		if at = int32(m.Find(row.Value)); at < 0 {
			m.addUnknown(row)
			return
		}
		if len(m.cache) < maxCached {
			m.cache[string(row.Value)] = at
		}
	}
	m.known++
	m.seen[at] = true
}

func (m *Matcher) addUnknown(row Row) {
	value := strings.TrimSpace(string(row.Value))
	u := m.unknown[value]
	if u == nil {
		u = &Unknown{Value: value, First: row.Line}
		readable := false
		m.cards([]byte(value), func(*reading.Seen) bool { readable = true; return false })
		if !readable {
			var seen reading.Seen
			u.Err = m.opt.Shown.Read([]byte(value), &seen)
		}
		m.unknown[value] = u
	}
	u.Events++
	u.Last = row.Line
}

// Holders returns the cardholders of the list, in its order. The caller must not change them.
func (m *Matcher) Holders() []Holder { return m.holders }

// Known returns how many events have a card of the list.
func (m *Matcher) Known() int { return m.known }

// Seen returns how many cards of the list are in the events.
func (m *Matcher) Seen() int { return len(m.seen) }

// Unknown returns an unknown card by its number as shown; nil where there is none.
func (m *Matcher) Unknown(value string) *Unknown { return m.unknown[value] }

// Weigh works out for every unknown card whose it most likely is, and returns them, those with most events first.
func (m *Matcher) Weigh() []*Unknown {
	m.order = m.order[:0]
	for _, u := range m.unknown {
		u.ways, u.cards, u.strange, u.unread = nil, nil, strays{}, strays{}
		m.order = append(m.order, u)
	}
	sort.SliceStable(m.order, func(i, j int) bool {
		a, b := m.order[i], m.order[j]
		return cmp.Or(cmp.Compare(b.Events, a.Events), cmp.Compare(a.First, b.First), cmp.Compare(a.Value, b.Value)) < 0
	})
	m.weigh()
	return m.order
}
