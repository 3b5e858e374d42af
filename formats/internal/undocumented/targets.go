package undocumented

import (
	"fmt"
	"math"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// target is a number that each printed read shows, in one way of reading the print.
type target struct {
	form   PrintForm
	digits int
	values []uint64 // by printed read
	highs  []uint64 // PrintPair, PrintJoined, PrintWhole: the facility
	width  int      // PrintWhole: bits of the number
	base   int      // in which a number is printed, 10 or 16
	log    float64  // of the form and its style
	filled int      // digits to which a number is filled with zeros, 0 where none has zeros
	parts  [2]int   // PrintPair, PrintJoined: digits that most facilities have, and of a pair most numbers
	zeros  bool     // PrintPair: some begin with zeros
	sign   byte     // PrintPair: what stands between most
	read   func(*typing.Seen) (v, high uint64)
}

// targets returns the ways of reading what is printed as one number: whole, the part after the separator, or the last
// digits after a facility.
func (k *seeker) targets() []target {
	hex, pairs, wide, zeros := 0, 0, 0, 0
	width := commonWidth(k.seen, func(s *typing.Seen) string { return s.Digits })
	for i := range k.seen {
		s := &k.seen[i]
		if s.Kind == formats.Hex {
			hex++
		}
		if s.Pair {
			pairs++
		}
		if zeroFirst(s.Digits) {
			zeros++
		}
		wide = max(wide, len(s.Digits))
	}
	var all []target
	if k.u.hex = 2*hex > len(k.seen); hex > 0 {
		t := k.target(PrintFull, 0, math.Log(judgement.PrintedFull)+math.Log(judgement.PrintedHex), inHex)
		if t.base = 16; k.slips(zeros) {
			t.log -= math.Ln2
			all = append(all, t.filledTo(1))
		}
		all = append(all, t.filledTo(width))
	}
	switch {
	case hex == len(k.seen):
		return all
	case pairs > len(k.seen)/2:
		return append(all, k.pairs()...)
	}
	t := k.target(PrintFull, 0, math.Log(judgement.PrintedFull)+styleLog(false, 0), inDecimal)
	if k.slips(zeros) {
		all = append(all, t.filledTo(1))
	}
	if zeros > 0 {
		t = k.target(PrintFull, 0, math.Log(judgement.PrintedFull)+styleLog(true, width), inDecimal).filledTo(width)
	}
	all = append(all, t)
	for d, div := 1, uint64(10); d < wide; d, div = d+1, div*10 {
		log := math.Log(judgement.PrintedJoined) - math.Log(float64(wide))
		t := k.target(PrintJoined, d, log, func(s *typing.Seen) (uint64, uint64) {
			v, high := inDecimal(s)
			if v != noNumber {
				v, high = v%div, v/div
			}
			return v, high
		})
		t.parts[0] = width - d
		if few := fewValues(t.highs); few {
			all = append(all, t)
		}
	}
	return all
}

// noNumber stands for the number that a print in another way than the others shows: no place has it.
const noNumber = math.MaxUint64

// inDecimal and inHex return the number of a print in decimal and of one in hex, and no facility.
func inDecimal(s *typing.Seen) (v, high uint64) {
	if s.Kind == formats.Hex {
		return noNumber, noNumber
	}
	return typing.Number(s.Digits), 0
}

func inHex(s *typing.Seen) (v, high uint64) {
	if s.Kind != formats.Hex {
		return noNumber, noNumber
	}
	v, _ = strconv.ParseUint(s.Digits, 16, 64)
	return v, 0
}

// pairs returns facility and number of pairs; none where those cannot be facilities.
func (k *seeker) pairs() []target {
	t := k.target(PrintPair, 0, math.Log(judgement.PrintedPair)-math.Ln2, func(s *typing.Seen) (uint64, uint64) {
		high, low := typing.Number(s.High), typing.Number(s.Low)
		if !s.Pair {
			high, low = noNumber, noNumber
		}
		return low, high
	})
	if different(t.highs) > different(t.values) {
		return nil // that is no facility before a number
	}
	zeros := 0
	for i := range t.parts {
		t.parts[i] = commonWidth(k.seen, func(s *typing.Seen) string { return s.Part(i) })
	}
	for i := range k.seen {
		if s := &k.seen[i]; zeroFirst(s.Part(0)) || zeroFirst(s.Part(1)) {
			zeros++
		}
	}
	t.zeros = zeros > 0
	alike := slices.DeleteFunc(slices.Clone(k.seen), func(s typing.Seen) bool { return t.otherParts(&s) })
	t.sign = mostUsual(alike, (*typing.Seen).Sign)
	if !k.slips(zeros) {
		return []target{t}
	}
	bare := t
	bare.parts = [2]int{1, 1}
	return []target{t, bare}
}

// zeroFirst reports whether a number has zeros before it.
func zeroFirst(digits string) bool { return len(digits) > 1 && digits[0] == '0' }

// slips reports whether some prints have zeros before their number, and so few that those can be slips.
func (k *seeker) slips(zeros int) bool { return zeros > 0 && zeros <= typing.Allowed(len(k.seen)) }

// serialTargets returns the parts of chip serials that can be numbers: what is the same on all cards is none.
func (k *seeker) serialTargets() (all []target) {
	for i := range judgement.Parts {
		fits := true
		t := k.target(PrintSerial, i, math.Log(judgement.Parts[i].Weight), func(s *typing.Seen) (v, _ uint64) {
			b, ok := judgement.Parts[i].Take(s.Serial)
			if v, fits = 0, fits && ok && b.Len() <= 64; fits {
				v, _ = b.Uint64()
			}
			return v, 0
		})
		if fits && (len(t.values) == 1 || different(t.values) > 1) {
			all = append(all, t)
		}
	}
	return all
}

// styleLog is the log prior of how numbers were written of which most have so many digits.
func styleLog(zeros bool, width int) float64 {
	switch {
	case !zeros:
		return math.Log(judgement.StyleExact + judgement.StyleDropped)
	case width == 10:
		return math.Log(0.15)
	case width >= typing.Fewest && width < typing.LastDigits-typing.Filled+typing.Fewest:
		return math.Log(judgement.StyleFilled * judgement.FilledTo(width))
	}
	return math.Log(judgement.StyleFilled / (typing.LastDigits - typing.Filled) * 3)
}

// share is the probability of what is seen of a card beside the number that it shows: of the other bytes of a serial.
func (t *target) share(s *typing.Seen) float64 {
	if n := s.Serial.Len(); t.form == PrintSerial && judgement.Parts[t.digits].Bytes > 0 {
		return math.Ldexp(1, 8*judgement.Parts[t.digits].Bytes-n)
	}
	return 1
}

// serialSlip is the probability of a serial that was copied wrong, of which one part is got where the card has v.
func (t *target) serialSlip(s *typing.Seen, v, got uint64) float64 {
	width := s.Serial.Len() / 4
	if n := judgement.Parts[t.digits].Bytes; n > 0 {
		width = 2 * n
	}
	return t.share(s) * typing.SlipDigits(fmt.Appendf(nil, "%0*X", width, v), fmt.Sprintf("%0*X", width, got))
}

// spelled returns in which style a print is that shows the right number: as the others, or with other zeros than they,
// or another sign between.
func (t *target) spelled(s *typing.Seen) typing.StyleSet {
	other := t.filled > 0 && otherZeros(s.Digits, t.filled)
	if t.form == PrintPair {
		other = s.Sign() != t.sign || t.otherParts(s)
	}
	if other {
		return 1 << typing.OtherSeparator
	}
	return 1 << typing.AsWritten
}

// otherParts reports whether the numbers of a pair have other zeros than those of most.
func (t *target) otherParts(s *typing.Seen) bool {
	return t.zeros && (otherZeros(s.Part(0), t.parts[0]) || otherZeros(s.Part(1), t.parts[1]))
}

// otherZeros reports whether digits are not those of a number that is filled with zeros up to a width.
func otherZeros(digits string, width int) bool {
	return len(digits) < width || len(digits) > width && digits[0] == '0'
}

// different returns how many different numbers there are.
func different(values []uint64) int {
	sorted := slices.Clone(values)
	slices.Sort(sorted)
	return len(slices.Compact(sorted))
}

// fewValues reports whether facilities are one of a few numbers, and 0 on no more cards than may be wrong.
func fewValues(values []uint64) bool {
	seen := map[uint64]bool{}
	zeros := 0
	for _, v := range values {
		if v == noNumber {
			continue
		}
		if seen[v] = true; v == 0 {
			zeros++
		}
		if len(seen) > 1+len(values)/4 {
			return false
		}
	}
	return zeros <= typing.Allowed(len(values))
}

// commonWidth returns how many digits most prints have, or what part takes of them, the first of equals.
func commonWidth(seen []typing.Seen, part func(*typing.Seen) string) int {
	return mostUsual(seen, func(s *typing.Seen) int { return len(part(s)) })
}

// mostUsual returns what most prints have, the first of equals.
func mostUsual[T comparable](seen []typing.Seen, of func(*typing.Seen) T) (most T) {
	counts := map[T]int{}
	for i := range seen {
		v := of(&seen[i])
		if counts[v]++; counts[v] > counts[most] {
			most = v
		}
	}
	return most
}

func (k *seeker) target(form PrintForm, digits int, log float64, read func(*typing.Seen) (v, high uint64)) target {
	n := len(k.seen)
	t := target{form: form, digits: digits, base: 10, log: log, read: read}
	t.values, t.highs = make([]uint64, n), make([]uint64, n)
	for i := range k.seen {
		t.values[i], t.highs[i] = read(&k.seen[i])
	}
	return t
}

// filledTo returns a target whose numbers are filled with zeros up to so many digits; with 1 no zeros are before them.
func (t target) filledTo(digits int) target {
	t.filled = digits
	return t
}

// wholeShare is how usual it is that all data bits are printed as one number, against the number alone.
func wholeShare(hex bool) float64 {
	if hex {
		return judgement.PrintedWholeHex
	}
	return judgement.PrintedWhole
}

// text is what is printed for a number and a facility, written into memory of 64 bytes.
func (t *target) text(text []byte, v, high uint64) []byte {
	if t.form == PrintWhole {
		v |= high << t.width
	}
	low := appendNumber(make([]byte, 0, 20), v, t.base)
	switch t.form {
	case PrintPair:
		return fmt.Appendf(text, "%0*d,%0*d", t.parts[0], high, t.parts[1], v)
	case PrintJoined:
		text = fmt.Appendf(text, "%0*d", max(0, t.parts[0]), high)
	}
	for range max(0, t.digits-len(low), t.filled-len(low)) {
		text = append(text, '0')
	}
	return append(text, low...)
}

// twoNumbers reports whether a print shows the facility too.
func (t *target) twoNumbers() bool {
	return t.form == PrintPair || t.form == PrintJoined || t.form == PrintWhole
}
