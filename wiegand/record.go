package wiegand

import (
	"fmt"
)

// Record is a read taken apart by a layout: the read itself, and which checks failed. Field values are taken out when
// asked for, by their position in the layout. It is a value, and comparable. The zero Record has no layout and no fields.
type Record struct {
	layout *Layout
	bits   Bits
	failed CheckSet
}

// Decode takes a read apart. A failed check is no error: it is in the record. The error is ErrLength where the read does
// not have the layout's length.
func (l *Layout) Decode(b Bits) (r Record, err error) {
	err = l.DecodeInto(&r, b)
	return r, err
}

// DecodeInto is [Layout.Decode] into a record that the caller has, for loops over many reads: copying a record out of a
// call costs as much as taking a 26-bit read apart. Where there is an error the record is left as it was.
func (l *Layout) DecodeInto(r *Record, b Bits) error {
	if int(b.n) != l.spec.Length {
		return l.wrongLength(b)
	}
	r.layout, r.failed = l, l.failed(&b.w)
	// Word by word: copied whole, the value would be read back in larger pieces than it was just written in, for which
	// the processor has to wait (measured: a third of the time).
	r.bits.w[0], r.bits.w[1], r.bits.w[2], r.bits.w[3], r.bits.n = b.w[0], b.w[1], b.w[2], b.w[3], b.n
	return nil
}

func (l *Layout) wrongLength(b Bits) error {
	return fail("decode", b.Hex(), fmt.Sprintf("%d bits where the layout has %d", b.n, l.spec.Length), ErrLength)
}

// Holds reports whether a read has the layout's length and every check holds: what Decode and OK would say, for trying many
// reads of which few are good. It stops at the first check that fails.
func (l *Layout) Holds(b Bits) bool {
	if int(b.n) != l.spec.Length {
		return false
	}
	w := &b.w
	for i := range w { // fixed bits first: of all checks they rule out the most
		if w[i]&l.fixedMask[i] != l.base[i] {
			return false
		}
	}
	for i := range l.single {
		p := &l.single[i]
		if onesParity(w[0]&p.mask[0]^w[1]&p.mask[1]^w[2]&p.mask[2]^w[3]&p.mask[3]) != p.want {
			return false
		}
	}
	for i := range l.shapes {
		if l.shapes[i].failed(w) != 0 {
			return false
		}
	}
	return len(l.digits) == 0 || l.digitsOver(w) == (words{})
}

// failed evaluates every check.
func (l *Layout) failed(w *words) CheckSet {
	if l.short {
		return l.failedShort(w[0])
	}
	var set CheckSet
	for i := range l.single {
		p := &l.single[i]
		x := w[0]&p.mask[0] ^ w[1]&p.mask[1] ^ w[2]&p.mask[2] ^ w[3]&p.mask[3]
		set |= CheckSet(onesParity(x)^p.want) << (p.check & 63)
	}
	for i := range l.shapes {
		set |= l.shapes[i].failed(w)
	}
	if w.and(l.fixedMask) != l.base {
		set |= l.failedFixed(w)
	}
	if len(l.digits) > 0 && l.digitsOver(w) != (words{}) {
		set |= l.failedDigits(w)
	}
	return set
}

// failedShort is failed for layouts of at most 64 bits with the usual few parity bits.
func (l *Layout) failedShort(w uint64) CheckSet {
	var set CheckSet
	for i := range l.single {
		p := &l.single[i]
		set |= CheckSet(onesParity(w&p.mask[0])^p.want) << (p.check & 63)
	}
	if w&l.fixedMask[0] != l.base[0] {
		set |= l.failedFixed(&words{w})
	}
	return set
}

// failedFixed tells which fixed patterns are not there. Like failedDigits it runs only when one is known to fail.
func (l *Layout) failedFixed(w *words) CheckSet {
	var set CheckSet
	for i := range l.fixed {
		if f := &l.fixed[i]; w.and(f.mask) != f.value {
			set |= 1 << (f.check & 63)
		}
	}
	return set
}

// digitsOver returns the bits of value 8 of the digits that are over 9.
func (l *Layout) digitsOver(w *words) (over words) {
	for i := range over {
		var left, right uint64 // the neighbouring words, for bits that cross over
		if i > 0 {
			left = w[i-1]
		}
		if i < len(w)-1 {
			right = w[i+1]
		}
		after := w[i]<<1 | right>>63 | w[i]<<2 | right>>62
		before := w[i]>>1 | left<<63 | w[i]>>2 | left<<62
		over[i] = w[i] & (after&l.digitsMSB[i] | before&l.digitsLSB[i])
	}
	return over
}

func (l *Layout) failedDigits(w *words) CheckSet {
	var set CheckSet
	over := l.digitsOver(w)
	for i := range l.digits {
		if d := &l.digits[i]; over.and(d.eights) != (words{}) {
			set |= 1 << (d.check & 63)
		}
	}
	return set
}

// failed evaluates all relations of one shape at once.
func (s *shape) failed(w *words) CheckSet {
	w0, w1, w2, w3 := w[0], w[1], w[2], w[3]
	var a0, a1, a2, a3 uint64
	for _, k := range s.offsets {
		k &= 63
		t := 63 - k // two shifts, of 1 and t, since one of 64 would need a test
		a0 ^= w0<<k | w1>>1>>t
		a1 ^= w1<<k | w2>>1>>t
		a2 ^= w2<<k | w3>>1>>t
		a3 ^= w3 << k
	}
	bad := words{a0, a1, a2, a3}.xor(s.want).and(s.at)
	var set CheckSet
	for bad != (words{}) { // seldom: only for reads whose checks fail
		i := first(bad)
		bad.flip(i)
		set |= 1 << (s.checks[i] & 63)
	}
	return set
}

// OK reports whether every check holds.
func (r *Record) OK() bool { return r.failed == 0 }

// Failed returns the checks that do not hold.
func (r *Record) Failed() CheckSet { return r.failed }

// Bits returns the read.
func (r *Record) Bits() Bits { return r.bits }

// Layout returns the layout; nil for the zero Record.
func (r *Record) Layout() *Layout { return r.layout }

// field returns the compiled field at index i, nil where there is none.
func (r *Record) field(i int) *field {
	if r.layout == nil || i < 0 || i >= len(r.layout.fields) {
		return nil
	}
	return &r.layout.fields[i]
}

// Uint64 returns the value of the field at index i. ok is false where there is no such field, where its values can pass
// 64 bits (use [Record.Text] or [Record.Value]), or where it holds a sign that is no digit.
func (r *Record) Uint64(i int) (v uint64, ok bool) { return r.layout.uint64(&r.bits.w, i) }

func (l *Layout) uint64(w *words, i int) (v uint64, ok bool) {
	if l == nil || uint(i) >= uint(len(l.fields)) {
		return 0, false
	}
	f := &l.fields[i]
	if f.plain {
		return w.window(f.runs[0]), true
	}
	return f.uint64(w)
}

// Value returns the bits of the field at index i in order of significance: a binary number, or 4 bits for each digit or
// sign. Empty where there is no such field.
func (r *Record) Value(i int) Bits {
	f := r.field(i)
	if f == nil {
		return Bits{}
	}
	return f.value(&r.bits.w)
}

// AppendField appends the value of the field at index i as text: a binary number in decimal without leading zeros, digits
// and signs at their full width (a digit that is no digit as one of :;<=>?). Nothing where there is no such field.
func (r *Record) AppendField(dst []byte, i int) []byte {
	f := r.field(i)
	if f == nil {
		return dst
	}
	return f.appendText(dst, &r.bits.w)
}

// Text returns what [Record.AppendField] appends.
func (r *Record) Text(i int) string { return string(r.AppendField(nil, i)) }

// WithUint64 returns r with the field at index i set to v, and the checks computed anew. The error is ErrRange where there
// is no such field or v does not fit it; the message gives the field's range.
func (r Record) WithUint64(i int, v uint64) (Record, error) {
	f := r.field(i)
	if f == nil {
		return r, r.noField(i)
	}
	if f.wide() || f.chars > 0 {
		return r.WithText(i, fmt.Sprint(v))
	}
	if v > f.max64() {
		return r, fail(r.fieldOp(i), fmt.Sprint(v), f.tooBig(), ErrRange)
	}
	b, _ := BitsFromUint(v, f.width) // it fits, as just seen
	return r.with(i, f, b)
}

// WithText returns r with the field at index i set to the value that s spells, as [Record.AppendField] writes it; leading
// zeros may be left out, but not of a field of signs. The error is ErrRange where there is no such field or the value does
// not fit, ErrSyntax where s has a character that is no digit or sign.
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

// WithValue returns r with the field at index i set to the bits that [Record.Value] returns. The error is ErrRange where
// there is no such field, ErrLength where b does not have its width.
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
		return r, fail(r.fieldOp(i), "", fmt.Sprintf("is always %s in this layout", r.layout.spec.Fields[i].Constant), ErrRange)
	}
	f.setValue(&r.bits.w, b)
	r.bits.w = r.layout.compute(r.bits.w)
	r.failed = r.layout.failed(&r.bits.w)
	return r, nil
}

// compute puts the fixed bits in place and computes every parity bit in its order.
func (l *Layout) compute(w words) words {
	for i := range l.fixed {
		m := l.fixed[i].mask
		w = words{w[0] &^ m[0], w[1] &^ m[1], w[2] &^ m[2], w[3] &^ m[3]}.or(l.fixed[i].value)
	}
	for i := range l.order {
		p := &l.order[i]
		if w.and(p.mask).parity() != p.want {
			w.flip(int(p.target))
		}
	}
	return w
}

// Encode returns the read as it should be: the record's fields, unknown bits included, with fixed bits in place and every
// check computed. For a read whose checks hold it is that read. Empty for the zero Record.
func (r *Record) Encode() Bits {
	if r.layout == nil {
		return Bits{}
	}
	return Bits{w: r.layout.compute(r.bits.w), n: r.bits.n}
}

// Blank returns a record whose fields are 0 but for constants, with its checks computed: what to set values on.
func (l *Layout) Blank() Record {
	w := l.compute(l.base)
	return Record{layout: l, bits: Bits{w: w, n: uint16(l.spec.Length)}, failed: l.failed(&w)}
}

// Encode returns the read with these values, one for each field in the layout's order. The error is ErrRange where a value
// does not fit its field (the message gives the range) or a constant field is given another value, ErrLength where there
// are more or fewer values than fields.
func (l *Layout) Encode(values ...uint64) (Bits, error) {
	if len(values) != len(l.fields) {
		return Bits{}, fail("encode", "", fmt.Sprintf("%d values for %d fields", len(values), len(l.fields)), ErrLength)
	}
	b := Bits{w: l.base, n: uint16(l.spec.Length)}
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
