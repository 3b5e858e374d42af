package wiegand

import (
	"fmt"
	"math/bits"
)

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
	if err := c.inside("over", over); err != nil {
		return mask, err
	}
	for bit := range over.Bits() {
		switch {
		case bit == own:
			return mask, fmt.Errorf("covers its own bit %d", bit)
		case mask.bit(bit-1) == 1:
			return mask, fmt.Errorf("covers bit %d twice", bit)
		case c.ready.bit(bit-1) == 0:
			return mask, fmt.Errorf("covers bit %d, which is computed later or claimed by nothing; "+
				"put the check that computes it first", bit)
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
	for k, w := range mask {
		for w != 0 {
			i := bits.LeadingZeros64(w)
			w &^= 1 << (63 - i)
			c.l.touch[64*k+i] |= 1 << check // a check over MaxChecks is refused in the end
		}
	}
}

func (c *compiler) relation(mask words, want uint64, target int, check uint8) {
	c.touches(mask, check)
	c.l.order = append(c.l.order, parity{mask: mask, want: want, target: uint8(target), check: check})
}
