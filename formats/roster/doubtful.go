package roster

import (
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// doubtful is what rows have that could not be read: digits, without the zeros before them and the signs between. A
// card may be theirs that some form writes with such digits, or with those and one slip: a digit wrong, two swapped,
// one too many or too few, a sign anywhere. So nothing is said of what the row is: it may be anything that is wrong.
type doubtful struct {
	exact  map[string]bool // numbers, or two or all of them, that stand in a row
	whole  map[string]bool // all digits of a row that slips may have made
	near   map[string]bool // the same with a slip undone
	powers []power
	dates  bool // a row has a date
}

// power is a number that a spreadsheet shows with so many digits behind the point of a power of ten.
type power struct {
	value  float64
	digits int
}

// doubtfulOf returns that of the texts of rows.
func doubtfulOf(texts []string, plan *reading.Plan) (d doubtful) {
	d.exact, d.whole, d.near = map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, text := range texts {
		slips := !isCard(text, plan)
		d.add(text, slips)
		if m := reading.Mend([]byte(text), reading.Shape{Decimal: true}); m.Repair != "" {
			d.add(string(m.Value), slips)
		}
	}
	return d
}

// isCard reports whether a text is a card of the plan but for what is around it and the sign between two numbers, so
// that no other slip was made.
func isCard(text string, plan *reading.Plan) (is bool) {
	digits := strings.FieldsFunc(text, notDigit)
	ways := []string{text, strings.TrimFunc(text, notDigit), strings.TrimFunc(text, notHex), strings.Join(digits, ",")}
	if len(digits) == 1 {
		for i := range digits[0] {
			ways = append(ways, digits[0][:i]+","+digits[0][i:])
		}
	}
	for _, way := range ways {
		plan.Each([]byte(way), func(s *reading.Seen) bool { is = is || !s.Reading.Guessed(); return !is })
	}
	return is
}

func notDigit(r rune) bool { return r < '0' || r > '9' }

func notHex(r rune) bool { return notDigit(r) && (r < 'A' || r > 'F') && (r < 'a' || r > 'f') }

// add adds the text of a row, which slips may have made.
func (d *doubtful) add(text string, slips bool) {
	text = strings.ToUpper(text)
	digits, hex := strings.FieldsFunc(text, notDigit), strings.FieldsFunc(text, notHex)
	for _, runs := range [][]string{digits, hex} {
		for i, run := range runs {
			if d.exact[bare(run)] = true; i > 0 {
				d.exact[bare(runs[i-1]+run)] = true
			}
		}
		all := bare(strings.Join(runs, ""))
		if d.exact[all] = true; slips {
			d.slips(all)
		}
	}
	if d.dates = d.dates || reading.LooksLikeDate(text); reading.LooksLikeDate(text) {
		for _, run := range digits { // a year may have lost its century
			d.exact["19"+run], d.exact["20"+run] = true, true
		}
	}
	text = strings.ReplaceAll(strings.TrimSpace(text), ",", ".")
	if mantissa, _, found := strings.Cut(text, "E"); found {
		if value, err := strconv.ParseFloat(text, 64); err == nil {
			_, behind, _ := strings.Cut(mantissa, ".")
			d.powers = append(d.powers, power{value, len(behind)})
		}
	}
}

// bare returns digits without the zeros before them.
func bare(digits string) string { return strings.TrimLeft(digits, "0") }

// slips adds what one slip may have made digits of: a key has a ? where another digit may stand.
func (d *doubtful) slips(digits string) {
	d.whole[digits] = true
	for i := range digits {
		d.near[digits[:i]+"?"+digits[i+1:]] = true
		d.near[bare(digits[:i]+digits[i+1:])] = true
		if i > 0 {
			d.near[bare(digits[:i-1]+digits[i:i+1]+digits[i-1:i]+digits[i+1:])] = true
		}
	}
}

// slipped reports whether one slip may have made those of a row of digits.
func (d *doubtful) slipped(digits string) bool {
	if d.near[digits] {
		return true
	}
	for i := range digits {
		if d.near[digits[:i]+"?"+digits[i+1:]] || d.whole[bare(digits[:i]+digits[i+1:])] {
			return true
		}
	}
	return false
}

// may reports whether a card may be that of a row.
func (d *doubtful) may(card *formats.Card) bool {
	if len(d.exact) == 0 {
		return false
	}
	for _, fm := range formats.Forms() {
		text, err := fm.Text(card)
		if err == nil && d.mayBe(text) {
			return true
		}
	}
	return false
}

// mayBe reports whether a row may have a text that a form writes.
func (d *doubtful) mayBe(text string) bool {
	digits := bare(strings.Map(func(r rune) rune {
		if notHex(r) {
			return -1
		}
		return r
	}, text))
	if d.exact[digits] || d.dates && len(digits) < 3 || d.slipped(digits) {
		return true
	}
	value, err := strconv.ParseFloat(text, 64)
	return err == nil && slices.ContainsFunc(d.powers, func(p power) bool {
		shown, _ := strconv.ParseFloat(strconv.FormatFloat(value, 'E', p.digits, 64), 64)
		return shown == p.value
	})
}
