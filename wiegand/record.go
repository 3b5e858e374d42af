package wiegand

import (
	"fmt"
	"math/bits"
	"strconv"
)

// Record is a read taken apart by a layout: the read itself, and which checks failed. Field values are taken out when
// asked for, by their position in the layout. It is a value, and comparable. The zero Record, and a nil one, has no
// layout and no fields. What only reads a record takes it by its address, since copying it costs more than taking a
// number out.
type Record struct {
	layout *Layout
	bits   Bits
	failed CheckSet
}

// OK reports whether every check holds.
func (r *Record) OK() bool { return r == nil || r.failed == 0 }

// Failed returns the checks that do not hold.
func (r *Record) Failed() CheckSet { return r.orZero().failed }

// Bits returns the read.
func (r *Record) Bits() Bits { return r.orZero().bits }

// Layout returns the layout; nil for the zero Record.
func (r *Record) Layout() *Layout { return r.orZero().layout }

// orZero returns r, or a zero Record for nil.
func (r *Record) orZero() *Record {
	if r == nil {
		return &Record{}
	}
	return r
}

// field returns the compiled field at index i, nil where there is none.
func (r *Record) field(i int) *field {
	if r == nil || r.layout == nil || i < 0 || i >= len(r.layout.fields) {
		return nil
	}
	return &r.layout.fields[i]
}

// Uint64 returns the value of the field at index i. ok is false where there is no such field, where its values can pass
// 64 bits (use [Record.Text] or [Record.Value]), or where it holds a sign that is no digit.
func (r *Record) Uint64(i int) (v uint64, ok bool) {
	if r != nil && r.layout != nil && uint(i) < MaxFields {
		if p := &r.layout.pieces[i]; p.mask != 0 {
			return r.bits.w[p.word&3] >> (p.down & 63) & p.mask, true
		}
	}
	if f := r.field(i); f != nil {
		return f.uint64(&r.bits.w)
	}
	return 0, false
}

// Value returns the bits of the field at index i in order of significance: a binary number, or 4 bits for each digit or
// sign. Empty where there is no such field.
func (r *Record) Value(i int) Bits {
	if r != nil && r.layout != nil && uint(i) < MaxFields {
		if p := &r.layout.pieces[i]; p.mask != 0 {
			return Bits{w: words{r.bits.w[p.word&3] >> (p.down & 63) & p.mask << bits.LeadingZeros64(p.mask)},
				n: uint16(bits.Len64(p.mask))}
		}
	}
	f := r.field(i)
	if f == nil {
		return Bits{}
	}
	return f.value(&r.bits.w)
}

// AppendField appends the value of the field at index i as text: a binary number in decimal without leading zeros,
// digits and signs at their full width (a digit that is no digit as one of :;<=>?). Nothing where there is no such
// field.
func (r *Record) AppendField(dst []byte, i int) []byte {
	f := r.field(i)
	if f == nil {
		return dst
	}
	return f.appendText(dst, &r.bits.w)
}

// Text returns what [Record.AppendField] appends.
func (r *Record) Text(i int) string { return string(r.AppendField(nil, i)) }

// WithUint64 returns r with the field at index i set to v, and the checks computed anew. The error is ErrRange where
// there is no such field or v does not fit it; the message gives the field's range.
func (r Record) WithUint64(i int, v uint64) (Record, error) {
	f := r.field(i)
	if f == nil {
		return r, r.noField(i)
	}
	if f.wide() || f.chars > 0 {
		return r.WithText(i, strconv.FormatUint(v, 10))
	}
	if v > f.max64() {
		return r, fail(r.fieldOp(i), strconv.FormatUint(v, 10), f.tooBig(), ErrRange)
	}
	b, _ := BitsFromUint(v, f.width) // it fits, as just seen
	return r.with(i, f, b)
}

// WithText returns r with the field at index i set to the value that s spells, as [Record.AppendField] writes it;
// leading zeros may be left out, but not of a field of signs. The error is ErrRange where there is no such field or the
// value does not fit, ErrSyntax where s has a character that is no digit or sign.
func (r Record) WithText(i int, s string) (Record, error) {
	f := r.field(i)
	if f == nil {
		return r, r.noField(i)
	}
	b, reason, kind := f.parseText(s)
	if kind != nil {
		return r, fail(r.fieldOp(i), s, reason, kind)
	}
	return r.with(i, f, b)
}

// WithValue returns r with the field at index i set to the bits that [Record.Value] returns. The error is ErrRange
// where there is no such field, ErrLength where b does not have its width.
func (r Record) WithValue(i int, b Bits) (Record, error) {
	f := r.field(i)
	if f == nil {
		return r, r.noField(i)
	}
	if b.Len() != f.width {
		return r, fail(r.fieldOp(i), b.Hex(), fmt.Sprintf("%d bits where the field has %d", b.Len(), f.width), ErrLength)
	}
	return r.with(i, f, b)
}

func (r *Record) noField(i int) error {
	return fail("field", "", fmt.Sprintf("the layout has no field %d", i), ErrRange)
}

func (r *Record) fieldOp(i int) string { return r.layout.spec.Fields[i].Name }

// with puts value bits into a field and computes the checks.
func (r Record) with(i int, f *field, b Bits) (Record, error) {
	if f.constant && b != f.value0 {
		return r, fail(r.fieldOp(i), "", fmt.Sprintf("is always %s in this layout", r.layout.spec.Fields[i].Constant),
			ErrRange)
	}
	f.setValue(&r.bits.w, b)
	r.bits.w = r.layout.compute(r.bits.w)
	r.failed = r.layout.failed(&r.bits.w)
	return r, nil
}

// compute puts the fixed bits in place and computes every parity bit in its order.
func (l *Layout) compute(w words) words {
	for i := range l.fixed {
		w = w.without(l.fixed[i].mask).or(l.fixed[i].value)
	}
	for i := range l.order {
		p := &l.order[i]
		if w.and(p.mask).parity() != p.want {
			w.flip(int(p.target))
		}
	}
	return w
}

// Encode returns the read as it should be: the record's fields, unknown bits included, with fixed bits in place and
// every check computed. For a read whose checks hold it is that read. Empty for the zero Record.
func (r *Record) Encode() Bits {
	if r == nil || r.layout == nil {
		return Bits{}
	}
	return Bits{w: r.layout.compute(r.bits.w), n: r.bits.n}
}

// Blank returns a record whose fields are 0 but for constants, with its checks computed: what to set values on.
func (l *Layout) Blank() Record {
	l = l.orZero()
	return Record{layout: l, bits: Bits{w: l.blank, n: l.length}, failed: l.blankFailed}
}

// Encode returns the read with these values, one for each field in the layout's order. The error is ErrRange where a
// value does not fit its field (the message gives the range) or a constant field is given another value, ErrLength
// where there are more or fewer values than fields.
func (l *Layout) Encode(values ...uint64) (Bits, error) {
	l = l.orZero()
	if len(values) != len(l.fields) {
		return Bits{}, fail("encode", "", fmt.Sprintf("%d values for %d fields", len(values), len(l.fields)), ErrLength)
	}
	b := Bits{w: l.base, n: l.length}
	for i, v := range values {
		f := &l.fields[i]
		if f.chars > 0 || f.constant || f.lsb || f.wide() || v > f.max64() {
			r, err := Record{layout: l, bits: b}.WithUint64(i, v)
			if err != nil {
				return Bits{}, err
			}
			b = r.bits
			continue
		}
		width := uint(f.width)
		for _, run := range f.runs {
			width -= uint(run.width)
			b.w.put(run, v>>width)
		}
	}
	b.w = l.compute(b.w)
	return b, nil
}
