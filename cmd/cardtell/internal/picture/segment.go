// Package picture draws reads: the bits in a row, what each is for, what it says, and which checks hold; and the pulses
// of a recorded line. It draws text for a terminal, SVG, and a sheet in HTML that prints on one page size or another.
// Drawings need no other file, and say the same in black and white, to a screen reader, and to somebody who sees
// colours otherwise.
package picture

import (
	"fmt"
	"iter"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// Segment is a run of bits of a read that have one purpose.
type Segment struct {
	First, Last int    // bits, numbered from 1
	Label       string // a field's name; E, O, L or = for a check
	Value       string // of the field, at its first segment; "" for a check, or where not known
	Check       int    // the check that computes these bits, -1 for a field
	Field       int    // the field, -1 for a check
}

// labels are the signs of bits that belong to a check.
var labels = map[wiegand.CheckKind]string{wiegand.Even: "E", wiegand.Odd: "O", wiegand.LRC: "L", wiegand.Fixed: "="}

// Segments returns the purposes of all bits of a format's read, in the order of the bits. Characters of 5 bits keep
// their parity bit: it is a part of the character.
func Segments(c *formats.Card) []Segment {
	layout := c.Format.Layout
	owner := make([]Segment, layout.Len())
	for i := range owner {
		owner[i] = Segment{Label: "?", Check: -1, Field: -1}
	}
	for i, info := range layout.Checks() {
		for bit := range claimed(info) {
			owner[bit-1] = Segment{Label: labels[info.Kind], Check: i, Field: -1}
		}
	}
	for i, field := range layout.Spec().Fields {
		for bit := range field.Bits.Bits() {
			owner[bit-1] = Segment{Label: field.Name, Check: -1, Field: i}
		}
	}
	valued := map[int]bool{}
	var all []Segment
	for i, o := range owner {
		if last := len(all) - 1; last >= 0 && all[last].Check == o.Check && all[last].Field == o.Field {
			all[last].Last = i + 1
			continue
		}
		o.First, o.Last = i+1, i+1
		if o.Field >= 0 && !valued[o.Field] && o.Label != wiegand.FieldUnknown {
			o.Value, valued[o.Field] = c.Text(o.Field), true
		}
		all = append(all, o)
	}
	return all
}

// claimed yields the bits that a check computes or fixes, as against those it covers.
func claimed(info wiegand.CheckInfo) iter.Seq[int] {
	switch info.Kind {
	case wiegand.Even, wiegand.Odd:
		return wiegand.Spans{{From: info.Bit, To: info.Bit}}.Bits()
	case wiegand.Fixed:
		return info.Bits.Bits()
	case wiegand.LRC: // its character is the last five bits that it speaks of
		all := slices.Collect(info.Bits.Bits())
		return slices.Values(all[max(0, len(all)-5):])
	}
	return func(func(int) bool) {}
}

// kindWords are the kinds of check in words.
var kindWords = map[wiegand.CheckKind]string{
	wiegand.Even: "even parity", wiegand.Odd: "odd parity", wiegand.LRC: "longitudinal check",
	wiegand.Fixed: "fixed bits", wiegand.Digit: "digits 0 to 9 in bits",
}

// CheckWords describes a check in words: its kind and bits, such as "even parity, bits 1-13".
func CheckWords(info wiegand.CheckInfo) string {
	switch what := kindWords[info.Kind]; info.Kind {
	case wiegand.LRC:
		return what
	case wiegand.Fixed, wiegand.Digit:
		return what + " " + short(info.Bits)
	default:
		return what + ", bits " + short(info.Bits)
	}
}

// short writes spans, those with many parts by their ends.
func short(s wiegand.Spans) string {
	if text := s.String(); len(text) <= 24 {
		return text
	}
	return fmt.Sprintf("%d … %d (%d of them)", s[0].From, s[len(s)-1].To, s.Len())
}
