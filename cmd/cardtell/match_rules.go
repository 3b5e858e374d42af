package main

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/wiegand"
)

// A card of the events that is not on the list is either a stranger's, or a holder's whose number differs by a rule. By
// Bayes' theorem, with n holders, the probability that it is holder h by rule r is proportional to
//
//	weight(r) · 1/n · times(r)/variants(r)
//
// since the rule could have shown any holder in any of its variants (which bit, which digit), some of which show the same; and that
// it is a stranger to
//
//	weight(stranger) · P(number | stranger)
//
// where a stranger has a number at random: a third of them one of the site's own blocks (a card that was handed out and never
// put on the list), a third any of its facility, a third any at all, until more is known. A bit misread or lost by chance is seldom the same twice,
// so that every further event halves what speaks for it. Another facility is any at all until cards with one of them were seen.
// Weights are learned from the cards themselves, each judged by all others, beginning with the weights below: if forty cards
// differ by their byte order, the forty-first most likely does too.

// rule is one way in which the number in the events differs from the list's.
type rule struct {
	name   string  // as in "byte order"
	weight float64 // before anything is seen: judgements, no count was found
	sure   string  // what to do to make sure, after "present the card of NAME: "
}

// The rules, by place in the table.
const (
	ruleForm = iota
	ruleBytes
	ruleBits
	ruleFormat
	ruleFacility
	ruleCut
	ruleMisread
	ruleLost
	ruleTyped
	ruleStranger
)

var rules = []rule{
	ruleForm:     {"another form", 0.15, "if the door shows the same number, it shows another form than was thought; say which with --shown"},
	ruleBytes:    {"byte order", 0.10, "if the door shows the same number, its reader sends the bytes in the other order; check one more card"},
	ruleBits:     {"bit order", 0.03, "if the door shows the same number, the bits come in the other order; check one more card"},
	ruleFormat:   {"another format", 0.08, "if the door shows the same number, its controller is set to another format"},
	ruleFacility: {"another facility", 0.10, "read the facility off the card, or with a reader that shows it; the list may have the wrong one, or the card is another site's"},
	ruleCut:      {"cut short", 0.12, "if the door shows the same number, it keeps only a part; then other cards can look the same: run check"},
	ruleMisread:  {"one bit misread", 0.08, "do so three times; a number that changes means a bad cable or reader, one that stays means another card"},
	ruleLost:     {"one bit lost", 0.03, "do so three times; a number that changes means a bad cable or reader"},
	ruleTyped:    {"typed wrong", 0.06, "compare the number printed on it with the list"},
	ruleStranger: {"not on the list", 0.25, ""},
}

// way is one way in which an unknown card can be a holder's.
type way struct {
	holder   int32
	rule     int8
	variants int32   // that the rule has for such a number
	times    int32   // how many of them show just this number
	share    float64 // how likely it is that this is the way, as learned
}

// ruleIndex finds holders by parts of their cards.
type ruleIndex struct {
	data   map[uint64][]int32 // data bits of a whole card
	number map[uint64][]int32 // card number
	low16  map[uint64][]int32 // the low bits of the data
	low24  map[uint64][]int32
	low32  map[uint64][]int32
	widths []int // of data bits, of the formats in use
	spans  map[*formats.Format]span
}

// span is the lowest and the highest card number of a format on the list.
type span struct {
	low, high uint64
	holders   int
}

// sparse is how many numbers there are to a cardholder from which on they are no block that was handed out: chip serials are
// spread over billions. A judgement.
const sparse = 20

// maxFound is how many holders one variant of a rule may name: it is as good as none then.
const maxFound = 64

func (m *matcher) buildIndex() {
	x := &m.index
	x.data, x.number = map[uint64][]int32{}, map[uint64][]int32{}
	x.low16, x.low24, x.low32 = map[uint64][]int32{}, map[uint64][]int32{}, map[uint64][]int32{}
	x.spans = map[*formats.Format]span{}
	put := func(to map[uint64][]int32, v uint64, i int) {
		if len(to[v]) < maxFound {
			to[v] = append(to[v], int32(i))
		}
	}
	for i := range m.holders {
		h := &m.holders[i]
		if h.hasNum {
			put(x.number, h.num, i)
			s, ok := x.spans[h.format]
			if !ok {
				s.low = h.num
			}
			x.spans[h.format] = span{min(s.low, h.num), max(s.high, h.num), s.holders + 1}
		}
		if !h.whole {
			continue
		}
		put(x.data, h.data, i)
		if !slices.Contains(x.widths, h.width) {
			x.widths = append(x.widths, h.width)
		}
		for _, low := range []struct {
			to    map[uint64][]int32
			width int
		}{{x.low16, 16}, {x.low24, 24}, {x.low32, 32}} {
			if h.width > low.width {
				put(low.to, h.data&(1<<low.width-1), i)
			}
		}
	}
}

// ways finds every holder that a card can be, by every rule. A holder comes once by each rule.
func (m *matcher) ways(u *unknownCard) {
	m.stray(u)
	if u.value == "" {
		return
	}
	m.byForm(u)
	m.byTyping(u)
	for _, v := range m.dataOf(u.value) {
		m.byData(u, v.value, v.width)
	}
	m.shown.Each([]byte(u.value), func(seen *reading.Seen) bool {
		m.byFacility(u, seen)
		m.byFormat(u, seen)
		return true
	})
}

// byFacility looks for cards with the number and another facility. Facility 0 is more likely one that was left out.
func (m *matcher) byFacility(u *unknownCard, seen *reading.Seen) {
	number, hasNumber := seen.Number()
	facility, hasFacility := seen.Facility()
	if !hasNumber || !hasFacility || facility == 0 || len(m.index.number[number]) == 0 {
		return
	}
	largest, _ := seen.Reading.LargestFacility()
	u.facility = facility
	m.add(u, ruleFacility, int(min(largest, math.MaxInt32)), m.index.number[number])
}

func (m *matcher) add(u *unknownCard, rule int8, variants int, holders []int32) {
	for _, h := range holders {
		if u.way(h, rule) == nil {
			u.ways = append(u.ways, way{holder: h, rule: rule, variants: int32(max(variants, 1)), times: 1})
		}
	}
}

// way returns the way in which a card is a holder's by a rule, nil where there is none.
func (u *unknownCard) way(holder int32, rule int8) *way {
	for i := range u.ways {
		if w := &u.ways[i]; w.holder == holder && w.rule == rule {
			return w
		}
	}
	return nil
}

// addLost counts one of the bits, of as many as the card has, without which a holder's card is the shown one: in a run of equal
// bits each of them is.
func (m *matcher) addLost(u *unknownCard, width int, holders []int32) {
	for _, h := range holders {
		if w := u.way(h, ruleLost); w != nil {
			w.times++
		} else {
			m.add(u, ruleLost, width, []int32{h})
		}
	}
}

// byForm reads the number in every form that the formats have.
func (m *matcher) byForm(u *unknownCard) {
	forms := formats.Forms()
	for _, f := range m.formats {
		for _, fm := range forms {
			c, err := fm.Parse(f, u.value)
			if err != nil {
				continue
			}
			if i, ok := m.byKey[m.list.KeyOf(&c)]; ok {
				m.add(u, ruleForm, len(forms), []int32{i})
			}
		}
	}
}

// dataBits is a number as the data bits of a card.
type dataBits struct {
	value uint64
	width int
}

// dataOf returns the data bits that a number as shown can be: as the plan reads it, and as one decimal.
func (m *matcher) dataOf(value string) []dataBits {
	var all []dataBits
	m.shown.Each([]byte(value), func(seen *reading.Seen) bool {
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

func decimalValue(s string) (v uint64, ok bool) {
	if s == "" || len(s) > 19 {
		return 0, false
	}
	for i := range len(s) {
		if !isDigitByte(s[i]) {
			return 0, false
		}
		v = 10*v + uint64(s[i]-'0')
	}
	return v, true
}

// byData looks for cards whose data bits are the shown ones in another order, with one wrong, with one more, or of which they
// are the last.
func (m *matcher) byData(u *unknownCard, v uint64, width int) {
	x := &m.index
	if width%8 == 0 {
		m.add(u, ruleBytes, 1, x.data[bits.ReverseBytes64(v)>>(64-width)])
	}
	m.add(u, ruleBits, 1, x.data[bits.Reverse64(v)>>(64-width)])
	for i := range width {
		m.add(u, ruleMisread, width, x.data[v^1<<i])
	}
	for i := 0; i < width && bits.Len64(v) < width; i++ {
		low := v & (1<<i - 1)
		high := v >> i << (i + 1)
		m.addLost(u, width, x.data[high|low])
		m.addLost(u, width, x.data[high|1<<i|low])
	}
	for i, to := range []map[uint64][]int32{x.low16, x.low24, x.low32} {
		if bits.Len64(v) <= 16+8*i {
			m.add(u, ruleCut, 3, to[v])
		}
	}
}

// byFormat takes the number for one of another format of the same length, as a controller set to that would show the read.
func (m *matcher) byFormat(u *unknownCard, seen *reading.Seen) {
	fm := seen.Reading.Form
	length := seen.Reading.Format.Layout.Len()
	others := m.cat.OfLength(length)
	for _, at := range others {
		f := m.cat.At(at)
		if f == seen.Reading.Format || f.Kind == formats.KindKeypad {
			continue
		}
		c, err := fm.Parse(f, u.value)
		if err != nil || !c.Whole() {
			continue
		}
		m.add(u, ruleFormat, len(others), m.asRead(c.Record.Encode()))
	}
}

// asRead returns the holders whose card sends a read.
func (m *matcher) asRead(read wiegand.Bits) []int32 {
	var found []int32
	for _, f := range m.formats {
		if f.Layout.Len() != read.Len() {
			continue
		}
		c, err := f.Read(read)
		if err != nil {
			continue
		}
		if i, ok := m.byKey[m.list.KeyOf(&c)]; ok {
			found = append(found, i)
		}
	}
	return found
}
