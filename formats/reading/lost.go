package reading

import (
	"bytes"
	"iter"
	"maps"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// habit is what a sample says of how a column treats the zeros before the numbers of a reading.
type habit struct {
	zeros [2]float64 // how usual it is that they are lost, where there are any; those of the second of two numbers apart
	long  float64    // of strangers, how usual it is that they are longer than their form writes them
	loose [2]bool    // the whole column has lost them, and so nothing else
	rare  bool       // few numbers of the list are read so
}

// leftOf returns the card that a text can be what is left of, in this reading, after a digit or two were lost, and the
// log of how probable that is: the sum over all cards that it can be left of. The card is the likeliest.
func (r *Reading) leftOf(v string, p *Plan) (one candidate, ok bool) {
	first, second := r.guarded()
	if p.asIs || !p.settled || !r.Fixed() || !first && !second || r.second && r.habit.rare {
		return one, false
	}
	l := r.left(r.numbers)
	if n := r.shape.Width; n > 0 {
		l.whole = filled(v, n)
		l.complete("", v, "", n)
	} else if i := strings.IndexAny(v, signs); i >= 0 {
		a, b := v[:i], v[i+1:]
		if l.whole = filled(a, r.shape.First) + "," + b; first {
			l.complete("", a, ","+b, r.shape.First)
		}
		if first && len(a)+1 < r.shape.First { // its zeros are lost besides
			l.complete("", a, ","+b, len(a)+1)
		}
		if l.whole = a + "," + filled(b, r.shape.Second); r.shape.oddZeros([]byte(v)) {
			l.whole = "" // the card with one more zero is not read then: it is one that the text can be left of
		}
		if second {
			l.complete(a+",", b, "", r.shape.Second)
		}
	}
	one = candidate{seen: l.seen, weight: r.weight, log: l.sum, lost: true}
	return one, !math.IsInf(l.sum, -1)
}

// guarded reports whether the digits that are missing from a number, or from the first and the second of two, may be
// others than zeros before it: those are not where such zeros are lost throughout.
func (r *Reading) guarded() (first, second bool) {
	return !r.habit.loose[0], r.shape.Second > 0 && !r.habit.loose[1]
}

// filled returns a number with zeros before it, up to a width.
func filled(number string, width int) string {
	return strings.Repeat("0", max(0, width-len(number))) + number
}

// left adds up the cards that a text can be left of.
type left struct {
	reading   *Reading
	numbers   []uint64        // of others, sorted
	given     *evidence.Given // of these numbers, once it is asked for
	own       bool            // the text is a card as it stands, whose number is by itself
	whole     string          // the text with its zeros put back, which is no other card
	sum, best float64         // logs
	seen      Seen            // the best
	far       float64         // log of a card that lies far from all that were seen; NaN until there is one
}

// left returns the sum of none yet; numbers are those of other cards, sorted.
func (r *Reading) left(numbers []uint64) left {
	return left{reading: r, numbers: numbers, sum: math.Inf(-1), best: math.Inf(-1), far: math.NaN()}
}

// complete tries all digits that can be missing from a part of a text, so that it has so many again.
func (l *left) complete(before, part, after string, width int) {
	digits := l.reading.digits()
	if part == "" || strings.Trim(part, digits+strings.ToLower(digits[10:])) != "" {
		return
	}
	switch missing := width - len(part); {
	case missing == 1:
		for whole := range typing.Lengthened(part, digits) {
			if whole[0] != '0' || part[0] == '0' || width >= l.reading.shape.First { // else it is the same number
				l.add(before+string(whole)+after, oneLost/float64(width))
			}
		}
		for _, d := range digits {
			l.add(before+part+string(d)+after, lastLost)
		}
	case missing == 2:
		for lost := range anyTwo(digits) {
			l.add(before+part+lost+after, twoLost)
		}
	case missing > 2 && before != "": // of what a spreadsheet took for a fraction
		l.add(before+part+strings.Repeat("0", missing)+after, twoLost)
	}
}

// typed returns the card that a text can be that was typed wrong, in this reading, and the log of how probable that is:
// the sum over all cards that are one slip away.
func (r *Reading) typed(v []byte, p *Plan) (one candidate, ok bool) {
	if p.asIs || !p.settled || r.second || len(v) > maxDigits {
		return one, false
	}
	if r.shape.Second > 0 {
		v = bytes.Replace(v, []byte(" "), []byte(","), 1) // which is read fast
	}
	l := r.left(r.numbers)
	var own Seen
	if r.plainly(v, &own) && r.inBlocks(&own) { // a number that may be wrong says nothing of others
		l.own = true
		if n, ok := own.Number(); ok {
			l.numbers = slices.DeleteFunc(slices.Clone(r.numbers), func(o uint64) bool { return o == n })
		}
	}
	l.slips(v)
	if l.own && r.alone(&own) {
		l.cutOff(string(v))
	}
	one = candidate{seen: l.seen, weight: r.weight, log: l.sum, typed: true}
	return one, !math.IsInf(l.sum, -1)
}

// slips tries all slips that make a text of a number: a digit wrong, two swapped, one too many, one too few, no sign
// between two.
func (l *left) slips(v []byte) {
	r, digits, text := l.reading, l.reading.digits(), string(bytes.ToUpper(v))
	n := float64(len(v))
	all := func(slip typing.Slip, share float64) {
		for was := range slip(text, digits) {
			l.try(was, share)
		}
	}
	all(typing.Replaced, oneWrong/n/float64(len(digits)-1))
	all(typing.Swapped, twoSwapped/n)
	all(typing.Shortened, oneMore*(1-typedTwice)/n/float64(len(digits)))
	for i := 1; i < len(v); i++ {
		if text[i] == text[i-1] {
			l.try([]byte(text[:i]+text[i+1:]), oneMore*typedTwice/(n-1))
		}
	}
	l.signs(v, make([]byte, 0, len(v)+1))
	at := strings.IndexAny(text, signs) + 1
	for part, ends := range [...][2]int{{0, max(0, at-1)}, {at, len(text)}} {
		if at == 0 && part == 0 || r.Fixed() && !r.habit.loose[min(part, at)] &&
			(r.shape.Width == 0 || len(v) < r.shape.Width) {
			continue // for which lacks see leftOf
		}
		for was := range typing.Lengthened(text[ends[0]:ends[1]], digits) {
			l.try(slices.Concat([]byte(text[:ends[0]]), was, []byte(text[ends[1]:])), oneLost/(n+1))
		}
	}
}

// cutOff tries the numbers that lost their last two digits, where leftOf does not: those have any count of digits.
func (l *left) cutOff(text string) {
	r := l.reading
	if r.Fixed() && !r.habit.loose[min(1, r.shape.Second)] {
		return
	}
	for lost := range anyTwo(r.digits()) {
		l.try([]byte(text+lost), twoLost)
	}
}

// anyTwo are all that two digits can be.
func anyTwo(digits string) iter.Seq[string] {
	return func(yield func(string) bool) {
		for _, d := range digits {
			for _, e := range digits {
				if !yield(string([]rune{d, e})) {
					return
				}
			}
		}
	}
}

// signs tries what a text may have been before the sign between two numbers was lost, moved, or typed into one.
func (l *left) signs(v, text []byte) {
	at, digits, n := bytes.IndexAny(v, signs), v, float64(len(v))
	if at >= 0 {
		digits = slices.Concat(v[:at], v[at+1:])
	}
	if l.reading.shape.Second == 0 {
		if at >= 0 {
			l.try(digits, oneMore/n)
		}
		return
	}
	for i := 1; i < len(digits); i++ {
		if i != at {
			l.try(append(append(append(text[:0], digits[:i]...), ','), digits[i:]...), oneLost/n)
		}
	}
}

// upper returns a letter of hex in upper case.
func upper(c byte) byte {
	if c >= 'a' && c <= 'f' {
		return c - 'a' + 'A'
	}
	return c
}

// digits returns the digits that the reading's numbers have.
func (r *Reading) digits() string {
	if r.shape.Hex || r.withLength() {
		return "0123456789ABCDEF"
	}
	return "0123456789"
}

// withLength reports whether numbers are whole reads in hex, with their length before them.
func (r *Reading) withLength() bool { return r.Form.Name == "bits-hex" }

// try is add for a column that may have lost the zeros before its numbers.
func (l *left) try(text []byte, share float64) {
	r := l.reading
	s := Seen{Reading: r}
	read := (Sound(text, r.shape) || r.withLength()) && r.plainly(text, &s) || r.habit.loose[0] && r.withZeros(text, &s)
	if read && r.inBlocks(&s) && (!l.own || !r.alone(&s)) { // by itself another number is no likelier than the text's own
		l.count(&s, share)
	}
}

// add adds a text that may have been there, before a share of such texts lost their digits.
func (l *left) add(text string, share float64) {
	if text == l.whole {
		return
	}
	s := Seen{}
	if r := l.reading; r.plainly([]byte(text), &s) && r.inBlocks(&s) {
		l.count(&s, share)
	}
}

// plainly reads a text that nothing is done to.
func (r *Reading) plainly(text []byte, s *Seen) bool {
	if r.parse != nil {
		return r.fast(text, s)
	}
	c, err := r.Form.Parse(r.Format, string(text))
	*s = Seen{Reading: r, card: c}
	return err == nil
}

// count adds a card of which a share of the texts would be this one.
func (l *left) count(s *Seen, share float64) {
	log := math.Log(share) + l.among(s)
	l.sum = logp.Add(l.sum, log)
	if log > l.best {
		l.best, l.seen = log, *s
	}
}

// among returns the log of how probable a card is. Those far from all that were seen are all as probable.
func (l *left) among(s *Seen) float64 {
	r := l.reading
	n, ok := s.Number()
	m := len(l.numbers)
	near := !ok || r.blocks || m > 0 && n+nearby >= l.numbers[0] && n <= l.numbers[m-1]+nearby
	if !near && !math.IsNaN(l.far) {
		return l.far
	}
	c := s.Card()
	if l.given == nil {
		l.given = r.values.Given(l.numbers)
	}
	log := l.given.Log(&c)
	if !near {
		l.far = log
	}
	return log
}

// have takes from the cards of a sample which facilities and numbers the kind has, where that was not known. A facility
// that hardly any of them have vouches for no other card.
func (r *Reading) have(cards []Seen) {
	counts := map[uint64]int{}
	for i := range cards {
		if f, ok := cards[i].Facility(); ok {
			counts[f]++
		}
	}
	maps.DeleteFunc(counts, func(_ uint64, n int) bool { return n < 2 || n*hardlyAny < len(cards) })
	if len(r.cards.Facilities) == 0 && r.Format.Facility() >= 0 && len(counts) > 0 {
		q := *r.cards
		q.Facilities = slices.Sorted(maps.Keys(counts))
		r.values = evidence.NewValues(r.Format, &q)
	}
	if r.blocks {
		return
	}
	r.numbers = nil
	cards = r.apartFromSlips(cards)
	for i := range cards {
		f, has := cards[i].Facility()
		if n, ok := cards[i].Number(); ok && (!has || counts[f] > 0) {
			r.numbers = append(r.numbers, n)
		}
	}
	slices.Sort(r.numbers)
	r.numbers = slices.Compact(r.numbers)
	r.crowd = crowdOf(slices.Clone(r.numbers))
	r.numbers = thinned(slices.DeleteFunc(r.numbers, r.crowd.alone)) // which may be slips, and vouch for no other
}

// learn learns the habits of all readings from a sample. p has what the sample says of forms and numbers.
func (p *Plan) learn(sample []string) {
	type parts = [2]int // of a number, or of the first of two; and of the second
	n := len(p.readings)
	rows, short, kept := make([]int, n), make([]parts, n), make([]parts, n)
	count := func(text string, least float64, of []parts) {
		all, _ := p.candidates([]byte(text), nil)
		if len(all) == 0 || all[0].share < least || all[0].refused() {
			return
		}
		all[0].fit(len(text))
		r := all[0].seen.Reading
		i, lost := r.index, all[0].written > len(text)
		rows[i]++
		if r.shape.Second > 0 {
			second, keeps := r.zeros(text, true)
			if lost = strings.IndexAny(text, signs) < r.shape.First; second {
				of[i][1]++
			} else if keeps {
				kept[i][1]++
			}
		}
		if lost {
			of[i][0]++
		} else if text[0] == '0' {
			kept[i][0]++
		}
	}
	for _, text := range sample {
		count(text, 0, short)
	}
	for i := range p.readings {
		for part := range short[i] {
			lost, all := float64(short[i][part]), float64(short[i][part]+kept[i][part])
			p.readings[i].habit.zeros[part] = (lost + asMended*usual) / (all + usual)
		}
	}
	p.settled = true
	clear(rows)
	clear(kept)
	lost := make([]parts, n)
	for _, text := range sample {
		count(text, likely, lost)
	}
	for i := range p.readings {
		for part, n := range lost[i] {
			p.readings[i].habit.loose[part] = losing*n > rows[i] || n >= known && kept[i][part] == 0
		}
	}
}

// lostPart returns which part of a text has lost its zeros: 1 for the second of two numbers.
func (r *Reading) lostPart(text string) int {
	if lost, _ := r.zeros(text, true); lost {
		return 1
	}
	return 0
}

// LosesZeros reports whether a column whose numbers have this shape has lost the zeros before them throughout, as it
// does where a spreadsheet takes them for numbers. In any other column a number with fewer digits may have lost any.
func (s Shape) LosesZeros(sample []string) bool {
	const alike = 3 // digits that a number has as one before the other does, where it is left of one such
	begin := map[string]bool{}
	for _, text := range sample {
		if len(text) == s.Width && len(text) > alike {
			begin[text[:alike]] = true
		}
	}
	short, kept := 0, 0
	for _, text := range sample {
		switch {
		case len(text) < s.Width && text != "" && text[0] != '0' && !begin[text[:min(len(text), alike)]]:
			short++
		case len(text) == s.Width && text != "" && text[0] == '0':
			kept++
		}
	}
	return losing*short > len(sample) || short >= known && kept == 0
}

// zerosKept reports whether a number, or one of two, has zeros before it.
func zerosKept(text string) bool {
	return text[0] == '0' || strings.Contains(text, ",0")
}

// short reports whether one of two numbers has fewer digits than its form, of cards of which it is not known which
// numbers they have.
func (r *Reading) short(value []byte) bool {
	at := bytes.LastIndexAny(value, signs)
	return len(value)-at-1 < r.shape.Second || at < r.shape.First
}
