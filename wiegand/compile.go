package wiegand

import (
	"fmt"
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

// Compile checks a spec and makes a layout of it. The error is ErrLayout and says which field or check is at fault:
// bits out of bounds, claimed twice or by nothing, a check that covers itself or a bit computed after it, a constant
// that does not fit, more than MaxFields fields or MaxChecks checks.
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
	if free := head(spec.Length).without(c.used); free != (words{}) {
		return nil, fail("layout", "", fmt.Sprintf("bits %s are claimed by nothing; "+
			"give them to a field or a check, or to a field named %s", spansOf(free), FieldUnknown), ErrLayout)
	}
	if n := len(c.l.infos); n > MaxChecks {
		return nil, fail("layout", "", fmt.Sprintf("%d checks; %d are possible", n, MaxChecks), ErrLayout)
	}
	c.groupShapes()
	c.l.facility, c.l.number = c.l.find(FieldFacility)+1, c.l.find(FieldNumber)+1
	c.core()
	c.l.blank = c.l.compute(c.l.base)
	c.l.blankFailed = c.l.failed(&c.l.blank)
	return c.l, nil
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

// inside refuses spans that are none, or not of this read.
func (c *compiler) inside(what string, spans Spans) error {
	for _, span := range spans {
		if err := span.check(); err != nil {
			return fmt.Errorf("%s %s: %w", what, span, err)
		}
		if span.To > c.l.spec.Length {
			return fmt.Errorf("%s %s: the read has %d bits", what, span, c.l.spec.Length)
		}
	}
	return nil
}

// claim marks the bits of spans as used and returns them as a list of indices from 0.
func (c *compiler) claim(spans Spans) ([]int, error) {
	if len(spans) == 0 {
		return nil, fmt.Errorf("has no bits")
	}
	if err := c.inside("bits", spans); err != nil {
		return nil, err
	}
	var at []int
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

func maskOf(at []int) words {
	var m words
	for _, i := range at {
		m.set(i, 1)
	}
	return m
}
