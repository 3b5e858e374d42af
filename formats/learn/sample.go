package learn

import (
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Read is a card as its reader sent it, and what is printed on it.
type Read struct {
	Line    int          // where it came from, for messages: a line of a file, or the position among arguments, from 1
	Bits    wiegand.Bits // 1 to 256 bits
	Printed string       // the number printed on the card, as it stands there; "" where it is not known
}

// printed is a printed number taken apart.
type printed struct {
	known  bool
	value  uint64 // all digits as one number
	digits int    // how many there are, leading zeros counted; 0 for hex
	low    int    // digits after the separator of a pair; 0 where there is none
	high   uint64 // of a pair: the number before the separator
	tail   uint64 // and the one after it
}

// maxPrinted is how many digits a printed number has at most: 19 always fit 64 bits.
const maxPrinted = 19

// parsePrinted reads a printed number: digits, two groups of digits with one of , - / or a space between, or hex: and hex
// digits.
func parsePrinted(where, text string) (printed, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return printed{}, nil
	}
	if hex, ok := strings.CutPrefix(text, "hex:"); ok {
		v, err := strconv.ParseUint(hex, 16, 64)
		if err != nil {
			return printed{}, fail(where, text, "is no printed number: hex of up to 64 bits follows hex:", ErrReads)
		}
		return printed{known: true, value: v}, nil
	}
	high, tail, pair := text, "", false
	if i := strings.IndexAny(text, ",-/ "); i >= 0 {
		high, tail, pair = text[:i], text[i+1:], true
	}
	for i, c := range high + tail {
		if c < '0' || c > '9' {
			return printed{}, fail(where, text, fmt.Sprintf("is no printed number: digit %d is %q; write digits, two groups of digits such as 150,46143, or hex: before a number in hex", i+1, c), ErrReads)
		}
	}
	if high == "" || pair && tail == "" {
		return printed{}, fail(where, text, "is no printed number: its separator has no digits beside it", ErrReads)
	}
	if len(high)+len(tail) > maxPrinted {
		return printed{}, fail(where, text, fmt.Sprintf("has more than %d digits; give the last ones, or learn without it", maxPrinted), ErrReads)
	}
	p := printed{known: true, digits: len(high) + len(tail), low: len(tail)}
	p.value, _ = strconv.ParseUint(high+tail, 10, 64) // digits, and few enough, as just seen
	p.high, _ = strconv.ParseUint(high, 10, 64)
	p.tail, _ = strconv.ParseUint("0"+tail, 10, 64)
	return p, nil
}

// sample is the distinct reads of one length, turned on its side: a column for each bit position.
type sample struct {
	length  int
	n       int // reads
	reads   []Read
	words   []mask // the reads
	printed []printed
	cols    []vec
	varying mask // positions that are not the same in all reads
	ones    mask // positions that are 1 in all reads
}

// newSample makes a sample of reads of one length.
func newSample(reads []Read, prints []printed) *sample {
	s := &sample{n: len(reads), reads: reads, printed: prints}
	if s.n == 0 {
		return s
	}
	s.length = reads[0].Bits.Len()
	s.words = make([]mask, s.n)
	s.cols = make([]vec, s.length)
	for i := range s.cols {
		s.cols[i] = newVec(s.n)
	}
	some, all := mask{}, mask{^uint64(0), ^uint64(0), ^uint64(0), ^uint64(0)}
	for r := range reads {
		w := mask(reads[r].Bits.Words())
		s.words[r] = w
		some, all = some.or(w), all.and(w)
		for _, i := range w.list() {
			s.cols[i].set(r)
		}
	}
	s.varying = some.without(all)
	s.ones = all.and(span(0, s.length-1))
	return s
}

// only returns the sample of the reads for which keep is true.
func (s *sample) only(keep func(r int) bool) *sample {
	var reads []Read
	var prints []printed
	for r := range s.reads {
		if keep(r) {
			reads = append(reads, s.reads[r])
			prints = append(prints, s.printed[r])
		}
	}
	return newSample(reads, prints)
}

// prints returns how many reads have a printed number.
func (s *sample) prints() int {
	n := 0
	for i := range s.printed {
		if s.printed[i].known {
			n++
		}
	}
	return n
}

// count returns how many reads have a 1 at position i.
func (s *sample) count(i int) int { return differ(s.cols[i], newVec(s.n)) }

// bits returns what the reads have in common at the positions of m.
func (s *sample) bits(m mask) wiegand.Bits {
	var b wiegand.Bits
	for _, i := range m.list() {
		v := uint(0)
		if s.ones.has(i) {
			v = 1
		}
		b, _ = b.Append(v) // a read has no more bits than Bits holds
	}
	return b
}

// sortReads puts reads into populations: by length, without repetitions. The remarks say what was left out. Two reads that are
// the same and two different numbers on them is an error that names both lines.
func sortReads(reads []Read) (groups []*sample, remarks []string, err error) {
	type entry struct{ at, line int }
	seen := map[wiegand.Bits]entry{}
	byLength := map[int][]Read{}
	prints := map[int][]printed{}
	repeated := 0
	for _, r := range reads {
		n := r.Bits.Len()
		if n == 0 {
			return nil, nil, fail(lineOf(r.Line), "", "a read without bits", ErrReads)
		}
		p, err := parsePrinted(lineOf(r.Line), r.Printed)
		if err != nil {
			return nil, nil, err
		}
		first, again := seen[r.Bits]
		if !again {
			seen[r.Bits] = entry{len(byLength[n]), r.Line}
			byLength[n] = append(byLength[n], r)
			prints[n] = append(prints[n], p)
			continue
		}
		repeated++
		switch old := &prints[n][first.at]; {
		case !old.known:
			*old = p
			byLength[n][first.at].Printed = r.Printed
		case p.known && p != *old:
			return nil, nil, fail(lineOf(r.Line), r.Printed, fmt.Sprintf("is printed on the card of the same read as line %d, which has %q; one of them is wrong",
				first.line, cutShort(byLength[n][first.at].Printed)), ErrReads)
		}
	}
	if len(reads) == 0 {
		return nil, nil, fail("", "", "no reads; give one READ or READ=PRINTED for each card", ErrReads)
	}
	if repeated > 0 {
		remarks = append(remarks, fmt.Sprintf("%s of a read seen before; a card presented twice says nothing new", plural(repeated, "repetition")))
	}
	for _, n := range sortedKeys(byLength) {
		groups = append(groups, newSample(byLength[n], prints[n]))
	}
	return groups, remarks, nil
}

func lineOf(n int) string { return fmt.Sprintf("line %d", n) }

func sortedKeys[V any](m map[int]V) []int { return slices.Sorted(maps.Keys(m)) }

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return strconv.Itoa(n) + " " + what + "s"
}
