package wiegand

import (
	"fmt"
	"math"
	"math/bits"
	"regexp"
	"slices"
)

// compiler collects a layout and says what is wrong with the spec.
type compiler struct {
	l     *Layout
	used  words // bits that something claims
	ready words // bits whose value is known at this point of computing
}

var fieldName = regexp.MustCompile(`^[a-z][a-z0-9-]*$`)

// Compile checks a spec and makes a layout of it. The error is ErrLayout and says which field or check is at fault: bits
// out of bounds, claimed twice or by nothing, a check that covers itself or a bit computed after it, a constant that does
// not fit, more than MaxFields fields or MaxChecks checks.
func Compile(spec Spec) (*Layout, error) {
	if spec.Length < 1 || spec.Length > MaxBits {
		return nil, fail("layout", "", fmt.Sprintf("a length of %d; 1 to %d are possible", spec.Length, MaxBits), ErrLayout)
	}
	if len(spec.Fields) > MaxFields {
		return nil, fail("layout", "", fmt.Sprintf("%d fields; %d are possible", len(spec.Fields), MaxFields), ErrLayout)
	}
	c := compiler{l: &Layout{spec: cloneSpec(spec)}}
	for i := range spec.Fields {
		if err := c.field(spec.Fields[i]); err != nil {
			return nil, fail(fmt.Sprintf("field %d", i+1), spec.Fields[i].Name, err.Error(), ErrLayout)
		}
	}
	if err := c.fixedChecks(spec.Checks); err != nil {
		return nil, err
	}
	for i := range spec.Checks {
		if err := c.check(spec.Checks[i]); err != nil {
			return nil, fail(fmt.Sprintf("check %d", i+1), spec.Checks[i].Kind.String(), err.Error(), ErrLayout)
		}
	}
	if free := head(spec.Length).and(c.used.xor(head(MaxBits))); free != (words{}) {
		return nil, fail("layout", "", fmt.Sprintf("bits %s are claimed by nothing; give them to a field or a check, or to a field named %s",
			spansOf(free), FieldUnknown), ErrLayout)
	}
	if n := len(c.l.infos); n > MaxChecks {
		return nil, fail("layout", "", fmt.Sprintf("%d checks; %d are possible", n, MaxChecks), ErrLayout)
	}
	c.groupShapes()
	c.l.facility, c.l.number = c.l.find(FieldFacility)+1, c.l.find(FieldNumber)+1
	c.core()
	return c.l, nil
}

// core copies what the usual layout needs to where decoding finds it first.
func (c *compiler) core() {
	l := c.l
	l.length, l.quick, l.simple = uint16(l.spec.Length), math.MaxUint16, math.MaxUint8
	pieces := 0
	for i := range l.fields {
		f := &l.fields[i]
		if at := f.runs[0].at & 63; f.plain && f.width < 64 && int(at)+f.width <= 64 {
			l.pieces[i] = piece{word: f.runs[0].at >> 6, up: at, down: uint8(64 - f.width)}
			pieces++
		}
	}
	l.short = l.length <= 64 && len(l.shapes) == 0 && len(l.digits) == 0 && len(l.single) <= len(l.masks)
	if !l.short {
		return
	}
	l.quick, l.few = l.length, uint8(len(l.single))
	for i, p := range l.single {
		l.masks[i] = mask{bits: p.mask[0], want: p.want, fails: 1 << p.check}
	}
	if pieces == len(l.fields) {
		l.simple = uint8(pieces)
	}
}

func cloneSpec(s Spec) Spec {
	s.Fields = slices.Clone(s.Fields)
	for i := range s.Fields {
		s.Fields[i].Bits = slices.Clone(s.Fields[i].Bits)
	}
	s.Checks = slices.Clone(s.Checks)
	for i := range s.Checks {
		s.Checks[i].Over = slices.Clone(s.Checks[i].Over)
		s.Checks[i].Bits = slices.Clone(s.Checks[i].Bits)
	}
	return s
}

// claim marks the bits of spans as used and returns them as a list of indices from 0.
func (c *compiler) claim(spans Spans) ([]int, error) {
	if len(spans) == 0 {
		return nil, fmt.Errorf("has no bits")
	}
	var at []int
	for _, span := range spans {
		if err := span.check(); err != nil {
			return nil, fmt.Errorf("bits %s: %w", span, err)
		}
		if span.To > c.l.spec.Length {
			return nil, fmt.Errorf("bits %s: the read has %d bits", span, c.l.spec.Length)
		}
	}
	for bit := range spans.Bits() {
		if c.used.bit(bit-1) == 1 {
			return nil, fmt.Errorf("bit %d is claimed twice", bit)
		}
		c.used.set(bit-1, 1)
		at = append(at, bit-1)
	}
	return at, nil
}

func (c *compiler) field(f Field) error {
	if !fieldName.MatchString(f.Name) {
		return fmt.Errorf("a name is lower-case letters, digits and dashes")
	}
	for i := range c.l.fields {
		if f.Name != FieldUnknown && c.l.spec.Fields[i].Name == f.Name {
			return fmt.Errorf("the name is used twice")
		}
	}
	if int(f.Coding) >= len(codingNames) || int(f.Order) >= len(orderNames) {
		return fmt.Errorf("no such coding or order")
	}
	at, err := c.claim(f.Bits)
	if err != nil {
		return err
	}
	n := f.Coding.charBits()
	if n > 0 {
		if err := charsContiguous(at, n); err != nil {
			return err
		}
	}
	if n == 5 && f.Order != MSBFirst {
		return fmt.Errorf("5-bit characters are least significant bit first by their standard; leave the order out")
	}
	c.l.fields = append(c.l.fields, newField(f, at))
	mask := maskOf(at)
	c.ready = c.ready.or(mask)
	c.implied(f, at)
	if f.Constant == "" {
		return nil
	}
	return c.constant(len(c.l.fields)-1, f, mask)
}

// charsContiguous refuses a digit whose bits do not follow one another.
func charsContiguous(at []int, n int) error {
	if len(at)%n != 0 {
		return fmt.Errorf("%d bits are not whole characters of %d", len(at), n)
	}
	for i, bit := range at {
		if i%n > 0 && bit != at[i-1]+1 {
			return fmt.Errorf("the bits of the character at bit %d do not follow one another", at[i-i%n]+1)
		}
	}
	return nil
}

// implied adds the checks that a coding brings with it: character parity and digits.
func (c *compiler) implied(f Field, at []int) {
	n := f.Coding.charBits()
	if n == 5 {
		for i := 0; i < len(at); i += n {
			check := c.newCheck(Odd, at[i+4]+1, maskOf(at[i:i+n]))
			c.relation(maskOf(at[i:i+n]), 1, at[i+4], check)
		}
	}
	if f.Coding != BCD && f.Coding != Digits5 {
		return
	}
	d := digitSet{check: c.newCheck(Digit, 0, maskOf(at))}
	msb := n == 4 && f.Order == MSBFirst
	var upper words // the bits of values 8, 4 and 2: that of value 1 takes no digit over 9
	for i := 0; i < len(at); i += n {
		if msb {
			d.eights.set(at[i], 1)
			c.l.digitsMSB.set(at[i], 1)
			upper = upper.or(maskOf(at[i : i+3]))
		} else {
			d.eights.set(at[i]+3, 1)
			c.l.digitsLSB.set(at[i]+3, 1)
			upper = upper.or(maskOf(at[i+1 : i+4]))
		}
	}
	c.touches(upper, d.check)
	c.l.digits = append(c.l.digits, d)
}

// constant puts a field's constant value into the base and adds the check that it is there.
func (c *compiler) constant(i int, f Field, mask words) error {
	r, err := Record{layout: c.l, bits: Bits{n: uint16(c.l.spec.Length)}}.WithText(i, f.Constant)
	if err != nil {
		return err
	}
	c.l.fields[i].constant, c.l.fields[i].value0 = true, r.Value(i)
	c.addFixed(mask, r.bits.w.and(mask))
	return nil
}

// fixedChecks adds the fixed patterns first, since a parity bit may cover them wherever they stand in the list.
func (c *compiler) fixedChecks(checks []Check) error {
	for i, ch := range checks {
		if ch.Kind != Fixed {
			continue
		}
		at, err := c.claim(ch.Bits)
		if err == nil && ch.Value.Len() != len(at) {
			err = fmt.Errorf("%d bits have a value of %d bits", len(at), ch.Value.Len())
		}
		if err != nil {
			return fail(fmt.Sprintf("check %d", i+1), ch.Kind.String(), err.Error(), ErrLayout)
		}
		var value words
		for j, bit := range at {
			value.set(bit, uint64(ch.Value.Bit(j)))
		}
		c.addFixed(maskOf(at), value)
		c.ready = c.ready.or(maskOf(at))
	}
	return nil
}

func (c *compiler) addFixed(mask, value words) {
	check := c.newCheck(Fixed, 0, mask)
	c.touches(mask, check)
	c.l.fixed = append(c.l.fixed, fixed{mask: mask, value: value, check: check})
	c.l.fixedMask = c.l.fixedMask.or(mask)
	c.l.base = c.l.base.or(value)
}

func (c *compiler) check(ch Check) error {
	switch ch.Kind {
	case Fixed:
		return nil // done before
	case Even, Odd:
		if ch.Repeat < 0 || ch.Repeat > MaxChecks {
			return fmt.Errorf("repeats %d times; %d are possible", ch.Repeat, MaxChecks)
		}
		if ch.Repeat > 1 && ch.Step < 1 {
			return fmt.Errorf("repeats every %d bits; a step is 1 or more", ch.Step)
		}
		for k := range max(ch.Repeat, 1) {
			if err := c.parityBit(ch.Kind, ch.Bit+k*ch.Step, ch.Over.shift(k*ch.Step)); err != nil {
				return err
			}
		}
		return nil
	case LRC:
		return c.lrc(ch)
	}
	if ch.Kind != Digit {
		return fmt.Errorf("is no kind of check")
	}
	return fmt.Errorf("is implied by a field's coding and not written as a check")
}

func (c *compiler) parityBit(kind CheckKind, bit int, over Spans) error {
	target, err := c.claim(Spans{{From: bit, To: bit}})
	if err != nil {
		return err
	}
	mask, err := c.covered(over, bit)
	if err != nil {
		return err
	}
	mask.set(target[0], 1)
	want := uint64(0)
	if kind == Odd {
		want = 1
	}
	c.relation(mask, want, target[0], c.newCheck(kind, bit, mask))
	c.ready.set(target[0], 1)
	return nil
}

// covered returns the bits that a check is computed over, and refuses those that are not known yet.
func (c *compiler) covered(over Spans, own int) (words, error) {
	var mask words
	if len(over) == 0 {
		return mask, fmt.Errorf("covers no bits")
	}
	for _, span := range over {
		if err := span.check(); err != nil {
			return mask, fmt.Errorf("over %s: %w", span, err)
		}
		if span.To > c.l.spec.Length {
			return mask, fmt.Errorf("over %s: the read has %d bits", span, c.l.spec.Length)
		}
	}
	for bit := range over.Bits() {
		switch {
		case bit == own:
			return mask, fmt.Errorf("covers its own bit %d", bit)
		case mask.bit(bit-1) == 1:
			return mask, fmt.Errorf("covers bit %d twice", bit)
		case c.ready.bit(bit-1) == 0:
			return mask, fmt.Errorf("covers bit %d, which is computed later or claimed by nothing; put the check that computes it first", bit)
		}
		mask.set(bit-1, 1)
	}
	return mask, nil
}

func (c *compiler) lrc(ch Check) error {
	at, err := c.claim(ch.Bits)
	if err != nil {
		return err
	}
	mask, err := c.covered(ch.Over, 0)
	if err != nil {
		return err
	}
	var over []int
	for bit := range ch.Over.Bits() {
		over = append(over, bit-1)
	}
	if len(at) != 5 || len(over)%5 != 0 {
		return fmt.Errorf("%d bits over %d; it is one character of 5 bits over whole characters", len(at), len(over))
	}
	check := c.newCheck(LRC, 0, mask.or(maskOf(at)))
	for column := range 4 {
		var m words
		for i := column; i < len(over); i += 5 {
			m.set(over[i], 1)
		}
		m.set(at[column], 1)
		c.relation(m, 0, at[column], check)
	}
	c.relation(maskOf(at), 1, at[4], check)
	c.ready = c.ready.or(maskOf(at))
	return nil
}

// newCheck adds a check that speaks of the bits of mask and returns its index.
func (c *compiler) newCheck(kind CheckKind, bit int, mask words) uint8 {
	c.l.infos = append(c.l.infos, CheckInfo{Kind: kind, Bit: bit, Bits: spansOf(mask)})
	return uint8(len(c.l.infos) - 1)
}

// touches notes that a change of any one of these bits can change whether the check holds.
func (c *compiler) touches(mask words, check uint8) {
	for i := range c.l.touch { // a check over MaxChecks is refused in the end
		c.l.touch[i] |= CheckSet(mask.bit(i)) << check
	}
}

func (c *compiler) relation(mask words, want uint64, target int, check uint8) {
	c.touches(mask, check)
	c.l.order = append(c.l.order, parity{mask: mask, want: want, target: uint8(target), check: check})
}

// groupShapes sorts the relations into those worth evaluating together and the rest. Four copies are where it begins to
// pay; a shape wider than a word would need longer shifts.
func (c *compiler) groupShapes() {
	groups := map[words][]parity{}
	var keys []words // in order of first appearance, so that the layout is the same every time
	for _, p := range c.l.order {
		key := p.mask.shl(first(p.mask))
		if _, ok := groups[key]; !ok {
			keys = append(keys, key)
		}
		groups[key] = append(groups[key], p)
	}
	for _, key := range keys {
		group := groups[key]
		if len(group) < 4 || key.and(head(64)) != key {
			c.l.single = append(c.l.single, group...)
			continue
		}
		var s shape
		for i := range 64 {
			if key.bit(i) == 1 {
				s.offsets = append(s.offsets, uint8(i))
			}
		}
		for _, p := range group {
			at := first(p.mask)
			s.at.set(at, 1)
			s.want.set(at, p.want)
			s.checks[at] = p.check
		}
		c.l.shapes = append(c.l.shapes, s)
	}
}

// first returns the index of the first bit that is set, or 256.
func first(w words) int {
	for i, v := range w {
		if v != 0 {
			return 64*i + bits.LeadingZeros64(v)
		}
	}
	return MaxBits
}

func maskOf(at []int) words {
	var m words
	for _, i := range at {
		m.set(i, 1)
	}
	return m
}
