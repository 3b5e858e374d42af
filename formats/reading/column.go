package reading

import (
	"cmp"
	"errors"
	"iter"
	"math"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/site"
)

// Column reads the texts of one column. A column is one question: its rows share the kinds of card, the forms, and what
// was done to them. So those are settled first, on a sample, and every text is then read by them. A Column does not
// change. Settle makes one: the zero Column is of no use.
type Column struct{ plan *Plan }

// Outcome is what a text of a column turned out to be.
type Outcome uint8

// The outcomes.
const (
	IsCard Outcome = iota // one card
	Doubt                 // two cards or more are written so
	NoCard                // blank, words, damaged, or no card of the site: Err says which
)

// Cell is what one text of a column is.
type Cell struct {
	Outcome Outcome
	Cards   []Weighed // one for IsCard, two or more for Doubt, none for NoCard
	Repair  string    // what was repaired in the text, "" where nothing was
	Err     *Error    // for Doubt and NoCard: the kind and the reason
}

// Weighed is a card that a text can be.
type Weighed struct {
	Card        formats.Card
	Form        string  // in which it is written
	Probability float64 // of all cards that the text can be
}

// Settle settles how a column is read, from some of its texts and the cards that are in use. Where neither opt nor a
// population says the form, it is that of [ShownForm]. The error says what is missing, or what does not fit.
func Settle(cat formats.Catalogue, cards []formats.Population, sample iter.Seq[string], opt Options) (Column, error) {
	var texts []string
	for text := range sample {
		texts = append(texts, text)
	}
	plan, err := New(cat, site.Site{Cards: Shown(cat, cards, texts, opt)}, opt)
	if err != nil {
		return Column{}, err
	}
	return Column{plan: plan.Settled(texts)}, nil
}

// Shown returns the cards in use with the form in which some texts of a list have those of which neither they nor opt
// say it; of the format of opt alone, which need not be among them. All kinds are one question: those forms are meant
// by which most texts are cards, but where others explain nearly as many, and make other cards of some. A kind of which
// the form is not seen beside others of which it is stays as it is, and comes once more in each form in which it can
// be.
func Shown(cat formats.Catalogue, cards []formats.Population, texts []string, opt Options) []formats.Population {
	if len(opt.Forms) > 0 {
		return cards
	}
	cards = slices.Clone(cards)
	is := func(p formats.Population) bool { return opt.Format == "" || p.Format == opt.Format }
	if opt.Format != "" && !slices.ContainsFunc(cards, is) {
		p := formats.Population{Format: opt.Format}
		if facility, err := strconv.ParseUint(opt.Facility, 10, 64); err == nil {
			p.Facilities = []uint64{facility}
		}
		cards = append(cards, p)
	}
	hex := func(p formats.Population) bool {
		return strings.Contains(p.Printed, "hex") || p.Printed == "uid" || p.Printed == "uid-reversed"
	}
	label := LabelOf(texts, slices.ContainsFunc(cards, hex), false)
	if label == "" && len(cards) > 1 {
		label = partLabel(texts)
	}
	texts = withoutLabel(texts, label)
	var kinds []int
	var ways [][]shown
	for i := range cards {
		if is(cards[i]) {
			kinds, ways = append(kinds, i), append(ways, waysOf(cat.Find(cards[i].Format), &cards[i], texts))
		}
	}
	known := false
	forms, also := meant(ways, texts)
	for k, form := range forms {
		if p := &cards[kinds[k]]; p.Printed == "" {
			p.Printed = form
		}
		known = known || cards[kinds[k]].Printed != ""
	}
	if !known {
		return cards
	}
	for k, i := range kinds {
		if len(also[k]) > 0 {
			cards = append(cards, cards[i])
			cards[len(cards)-1].Printed = ""
			for _, form := range also[k] {
				cards = append(cards, cards[i])
				cards[len(cards)-1].Printed = form
			}
		}
		if cards[i].Printed != "" {
			continue
		}
		for _, s := range ways[k] {
			if s.read >= min(fewShown, ways[k][0].read) && !s.digits {
				p := cards[i]
				p.Printed = s.form
				cards = append(cards, p)
			}
		}
	}
	return cards
}

// ShownForm returns the only form in which the samples can be cards of a population, as far as its facilities and
// blocks tell; "" where any can be two cards, or more than half are none. A form that reads less than nine in ten of
// what the likeliest reads, as checks pass by chance, is no rival of it, nor is hex where none has a letter. Of forms
// that give the same cards, it is the one in which most are written.
func ShownForm(cat formats.Catalogue, p *formats.Population, samples []string) string {
	return shownForm(cat.Find(p.Format), p, samples)
}

func shownForm(of []*formats.Format, p *formats.Population, samples []string) string {
	any := *p
	any.Printed = ""
	samples = withoutLabel(samples, LabelOf(samples, false, false))
	forms, _ := meant([][]shown{waysOf(of, &any, samples)}, samples)
	return forms[0]
}

// shown is what samples are in a form.
type shown struct {
	form    string
	told    bool   // it is known that it is the form
	cards   []Seen // of each; no reading where it can't be read
	fits    []bool // of each: it is just as the form writes it
	read    int    // of those that can be
	written int    // that are just as the form writes them
	digits  bool   // it is hex, and none of them has a letter
	partly  bool   // it leaves a part of the cards out
	ofRead  bool   // it writes whole reads
}

// waysOf reads texts as cards of a population, in the form in which it is printed; where that is not known, in all that
// read some. Of forms that give the same cards it has the one that reads or writes most.
func waysOf(of []*formats.Format, p *formats.Population, texts []string) (ways []shown) {
	var all []shown
	for _, fm := range formats.Forms() {
		if p.Printed != "" && fm.Name != p.Printed {
			continue
		}
		if s, ok := showing(of, p, fm.Name, texts); ok {
			all = append(all, s)
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].read+all[i].written > all[j].read+all[j].written })
	for i := range all {
		if !slices.ContainsFunc(ways, func(s shown) bool { return s.has(&all[i]) }) {
			ways = append(ways, all[i])
		}
	}
	return ways
}

// showing reads texts in a form; ok is false where it is not one that they can be in.
func showing(of []*formats.Format, p *formats.Population, form string, texts []string) (s shown, ok bool) {
	s = shown{form: form, told: p.Printed != "", cards: make([]Seen, len(texts)), fits: make([]bool, len(texts))}
	fm, _ := formats.FormByName(form)
	s.ofRead = fm.OfRead()
	letters, hex, other := false, false, false
	for _, f := range of {
		r, why, err := newReading(f, form, p, Options{})
		if why != nil || err != nil {
			continue
		}
		hex = r.shape.Hex
		for i, text := range texts {
			c := &s.cards[i]
			if c.Reading != nil || r.shape.Second > 0 && !strings.ContainsAny(text, signs) {
				continue
			}
			err, short := r.try([]byte(text), &Plan{}, c), false
			if low, ok := r.Ending(text); ok && errors.Is(err, formats.ErrMissing) {
				short = r.shape.Second > 0 && r.short(stripped([]byte(text)))
				*c, err, s.partly = r.partly(low), nil, true
			}
			if err != nil || hex && c.Repair == ZerosBack {
				*c = Seen{}
				end := text[max(0, len(text)-r.shape.Width):] // behind a sign that does not belong there
				other = other || hex && isHex(end) && !digitsOnly(end)
				continue
			}
			s.read++
			one, n := candidate{seen: *c}, len(stripped([]byte(text)))
			whole := !short && (r.shape.Width == 0 || r.shape.Width == n) // a longer number is the same in many forms
			s.fits[i] = whole && one.fit(n)
			if s.fits[i] {
				s.written++
			}
			letters = letters || strings.ContainsAny(text, "ABCDEFabcdef")
		}
	}
	s.digits = hex && !letters
	return s, s.read > 0 && (letters || !hex || other || s.read < enoughHex)
}

// partly returns the card of which a text says the low 24 bits alone: nothing of it is known.
func (r *Reading) partly(low uint64) Seen {
	c, _ := r.Format.Blank().With(r.Format.Number(), strconv.FormatUint(low, 10)) // which is as wide at least
	c.Known = 0
	return Seen{Reading: r, card: c}
}

// isHex reports whether a text is digits of hex.
func isHex(text string) bool { return text != "" && strings.Trim(text, "0123456789ABCDEFabcdef") == "" }

// weigh returns the log of how probable those texts are in the form that are a kind's by whose; of some that are typed
// wrong, or of no kind, it is as if they were not read.
func (s *shown) weigh(kind int, whose []int, unread []float64) (log float64) {
	of := map[*Reading][]int{}
	var readings []*Reading
	odd, all := 0.0, 0.0
	for i, k := range whose {
		if k != kind {
			continue
		}
		r := s.cards[i].Reading
		if of[r] == nil {
			readings = append(readings, r)
		}
		of[r] = append(of[r], i)
		if all++; !s.fits[i] {
			odd++
		}
	}
	for _, r := range readings {
		core, others := s.core(of[r])
		if s.partly { // one end is as probable as the next
			log -= evidence.LowBits * math.Ln2 * float64(len(core))
		} else if len(core) > 0 {
			log += r.inList(core)
		}
		for _, i := range others {
			log += unread[i]
		}
	}
	return log + oddly(asMended, odd, all, 0, 0)
}

// core returns the cards of a list without those that lie by themselves, or have a facility that hardly any has: they
// are typed wrong, and say no more than what can't be read.
func (s *shown) core(texts []int) (core []Seen, others []int) {
	var cards []Seen
	counts := map[uint64]int{}
	for _, i := range texts {
		v, _ := s.cards[i].Facility()
		cards = append(cards, s.cards[i])
		counts[v]++
	}
	some := crowdOf(numbersOf(cards))
	for _, i := range texts {
		v, _ := s.cards[i].Facility()
		if n, ok := s.cards[i].Number(); (!ok || !some.alone(n)) && counts[v]*hardlyAny >= len(cards) {
			core = append(core, s.cards[i])
		} else {
			others = append(others, i)
		}
	}
	return core, others
}

// reads reports whether a text is a card in the form; none is where the list does not have the kind.
func (s *shown) reads(i int) bool { return s != nil && s.cards[i].Reading != nil }

// has reports whether a form reads all that another one reads, as the same cards.
func (s *shown) has(o *shown) bool {
	for i := range o.cards {
		if o.reads(i) && !(s.reads(i) && same(&s.cards[i], &o.cards[i])) {
			return false
		}
	}
	return true
}

// guess is a form for each kind; nil for one that a list does not have.
type guess struct {
	forms []*shown
	whose []int   // the kind of which each text is a card by it, by its place; -1 where it is none
	read  int     // texts that are cards by it
	log   float64 // of how probable the texts are by it
}

// guesses returns all that there are; none where they are too many to try.
func guesses(ways [][]shown) (all []guess) {
	all = []guess{{}}
	for _, of := range ways {
		var more []guess
		for _, g := range all {
			for i := range of {
				more = append(more, guess{forms: append(slices.Clip(g.forms), &of[i])})
			}
			if len(of) == 0 || !of[0].told {
				more = append(more, guess{forms: append(slices.Clip(g.forms), nil)})
			}
		}
		if all = more; len(all) > mostGuesses {
			return nil
		}
	}
	return all
}

// meant returns the form of each kind, "" where it is not seen; and in which others it can have some rows as well.
func meant(ways [][]shown, texts []string) (forms []string, also [][]string) {
	forms, also = make([]string, len(ways)), make([][]string, len(ways))
	if len(ways) == 0 {
		return forms, also
	}
	all := guesses(ways)
	unread := asOthers(texts)
	for i := range all {
		all[i].weigh(unread)
	}
	all = slices.DeleteFunc(all, func(g guess) bool { return g.read == 0 }) // of what would they all be slips?
	if len(all) == 0 {
		return forms, also
	}
	best := slices.MaxFunc(all, func(a, b guess) int { return cmp.Compare(a.log, b.log) })
	told, own := 0, make([]int, len(ways))
	for _, k := range best.whose {
		if k >= 0 {
			own[k]++
		}
		if k >= 0 && best.forms[k].told {
			told++
		}
	}
	if 2*(best.read-told) < len(texts)-told {
		return forms, also
	}
	for k, s := range best.forms {
		rival := func(g guess) bool { return g.read*10 >= best.read*9 && best.log-g.log < best.margin(&g, k) }
		enough := max(min(fewShown, best.read), (best.read+hardlyAny-1)/hardlyAny)
		if s != nil && own[k] >= enough && !slices.ContainsFunc(all, rival) {
			forms[k] = s.form
		}
		if forms[k] != "" && !s.told {
			also[k] = best.also(k, ways[k], unread)
		}
	}
	return forms, also
}

// also returns in which other forms a kind, whose form the list alone tells, can have rows that are another kind's by
// the guess: some that are hardly less likely to be its, as a second list below a first one is.
func (g *guess) also(kind int, ways []shown, unread []float64) (forms []string) {
	for i := range ways {
		s := &ways[i]
		if s.digits || s.form == g.forms[kind].form {
			continue
		}
		for other, o := range g.forms {
			if other == kind || o == nil {
				continue
			}
			rest, taken, n, left := slices.Clone(g.whose), make([]int, len(g.whose)), 0, 0
			for text, k := range g.whose {
				taken[text] = -1
				if k == other && s.reads(text) {
					rest[text], taken[text] = -1, kind
					n++
				} else if k == other {
					left++
				}
			}
			if min(n, left) < fewShown {
				continue
			}
			as := o.weigh(other, rest, unread) + s.weigh(kind, taken, unread) + math.Log(mixed)
			if o.weigh(other, g.whose, unread)-as < farLikelier && !slices.Contains(forms, s.form) {
				forms = append(forms, s.form)
			}
		}
	}
	return forms
}

// kindOf returns of which kind a text is a card, that of the place first before others; -1 where it is of none.
func (g *guess) kindOf(text, first int) int {
	if g.forms[first].reads(text) {
		return first
	}
	return slices.IndexFunc(g.forms, func(s *shown) bool { return s.reads(text) })
}

// asOthers returns the log of how probable each text is where it is no card in any form that is looked at: typed
// wrong, where another text is a slip away, or else of a kind that nobody names. Of those, one that begins as another
// does says that, whichever it is, and the rest.
func asOthers(texts []string) (logs []float64) {
	whose := map[string]int{} // -1: of several
	for i, text := range texts {
		for key := range remains(text) {
			if o, there := whose[key]; there && o != i {
				whose[key] = -1
			} else if !there {
				whose[key] = i
			}
		}
	}
	sorted := slices.Clone(texts)
	slices.Sort(sorted)
	for _, text := range texts {
		alike, slip := 0, false
		for key := range remains(text) {
			slip = slip || whose[key] < 0
		}
		at, _ := slices.BinarySearch(sorted, text)
		for _, near := range [...]int{at - 1, at + 1} {
			if near >= 0 && near < len(sorted) {
				alike = max(alike, commonStart(sorted[near], text))
			}
		}
		log := max(-math.Ln10*float64(len(text)), -math.Ln10*float64(len(text)-alike)-math.Log(float64(len(texts))))
		if slip {
			log = max(log, justThis)
		}
		logs = append(logs, math.Log(typedWrong)+log)
	}
	return logs
}

// commonStart returns how many bytes two texts have alike from their beginning.
func commonStart(a, b string) (n int) {
	for n < len(a) && n < len(b) && a[n] == b[n] {
		n++
	}
	return n
}

// weigh works out of which kinds the texts are, and how probable they are: what several kinds have as a card is of
// one of them, whichever makes the list likeliest. The logs are those of the texts that are cards of none.
func (g *guess) weigh(unread []float64) {
	texts, others := len(unread), 0.0
	for text, log := range unread {
		if g.kindOf(text, 0) >= 0 {
			g.read++
		} else {
			others += log
		}
	}
	for first := range g.forms {
		whose, log := make([]int, texts), others
		for i := range whose {
			whose[i] = g.kindOf(i, first)
		}
		if slices.Equal(whose, g.whose) {
			continue
		}
		for k, s := range g.forms {
			if slices.Contains(whose, k) {
				log += s.weigh(k, whose, unread)
			}
		}
		log += g.byChance(whose)
		if g.whose == nil || log > g.log {
			g.whose, g.log = whose, log
		}
	}
}

// byChance returns the log of how probable it is that just those texts are whole reads of a kind that other kinds have
// as cards too: some are whose checks happen to hold.
func (g *guess) byChance(whose []int) (log float64) {
	for k, s := range g.forms {
		if s == nil || !s.ofRead {
			continue
		}
		own, others := 0.0, 0.0
		for i, w := range whose {
			also := slices.ContainsFunc(g.forms, func(o *shown) bool { return o != s && o.reads(i) })
			switch {
			case also && w == k:
				own++
			case also && !s.reads(i):
				others++
			}
		}
		if own > 0 {
			log += apart(own, others)
		}
	}
	return log
}

// margin returns by how much a guess has to be the likelier one, as a log, so that another one of a kind is out of the
// question; 0 where they agree. Digits in hex always are in question: where they lie says nothing of the letters. That
// numbers lie together with their bytes in one order, and not in the other, says which is meant where two bytes are
// alike: one is in serials of any kind.
func (g *guess) margin(o *guess, kind int) float64 {
	switch n := g.differ(o, kind); {
	case n == 0:
		return 0
	case g.digits() || o.digits():
		return math.Inf(1)
	case g.leavesOut(kind) != o.leavesOut(kind): // what the one does not read is no slip of it, where the other does
		return farLikelier + float64(max(0, o.read-g.read))*-g.log/float64(g.read)
	case g.turned() != o.turned():
		return max(farLikelier, twoBytes*float64(n))
	}
	return farLikelier
}

// leavesOut reports whether a kind is in a form that leaves a part of its cards out.
func (g *guess) leavesOut(kind int) bool { return g.forms[kind] != nil && g.forms[kind].partly }

// digits reports whether a kind is in hex of which none has a letter.
func (g *guess) digits() bool {
	return slices.ContainsFunc(g.forms, func(s *shown) bool { return s != nil && s.digits })
}

// turned returns how many kinds have forms with their bytes in the other order.
func (g *guess) turned() (kinds int) {
	for _, s := range g.forms {
		if s != nil && strings.Contains(s.form, "reversed") {
			kinds++
		}
	}
	return kinds
}

// differ returns how many texts are cards by both, but not the same of a kind.
func (g *guess) differ(o *guess, kind int) (n int) {
	for i, k := range g.whose {
		other := o.whose[i]
		if k >= 0 && other >= 0 && (k == kind || other == kind) &&
			(k != other || !same(&g.forms[k].cards[i], &o.forms[k].cards[i])) {
			n++
		}
	}
	return n
}

// OtherForm returns a form that is none of the plan's, and in which those texts of a list that the plan can't read can
// be cards of it, as [ShownForm] finds it; "" where there is none.
func (p *Plan) OtherForm(texts []string) string {
	var unread []string
	for _, text := range texts {
		read := len(unread) == mostUnread
		p.Each([]byte(text), func(*Seen) bool { read = true; return false })
		if !read {
			unread = append(unread, text)
		}
	}
	for i := range p.readings {
		r := &p.readings[i]
		form := shownForm([]*formats.Format{r.Format}, r.population, unread)
		if form != "" && !slices.ContainsFunc(p.readings, func(o Reading) bool { return o.Form.Name == form && !o.second }) {
			return form
		}
	}
	return ""
}

// Plan returns the ways in which the column is read.
func (c Column) Plan() *Plan { return c.plan }

// Read reads one text.
func (c Column) Read(text string) Cell {
	var seen Seen
	err := c.plan.Read([]byte(text), &seen)
	if err == nil {
		return Cell{Cards: []Weighed{{seen.Card(), seen.Reading.Form.Name, 1}}, Repair: seen.Repair}
	}
	cell := Cell{Outcome: NoCard}
	if !errors.As(err, &cell.Err) || cell.Err.Kind != Ambiguous {
		return cell
	}
	cell.Outcome = Doubt
	whole, _ := c.plan.whole([]byte(text))
	all, _ := c.plan.candidates(whole, nil)
	for i := range all {
		cell.Cards = append(cell.Cards, Weighed{all[i].seen.Card(), all[i].seen.Reading.Form.Name, all[i].share})
	}
	return cell
}

// All reads the texts of a column as they come.
func (c Column) All(texts iter.Seq[string]) iter.Seq2[string, Cell] {
	return func(yield func(string, Cell) bool) {
		for text := range texts {
			if !yield(text, c.Read(text)) {
				return
			}
		}
	}
}
