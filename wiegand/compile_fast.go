package wiegand

import "math"

// What a layout knows twice, so that decoding is quick.

// core copies what the usual layout needs to where decoding finds it first.
func (c *compiler) core() {
	l := c.l
	l.length, l.quick, l.simple = uint16(l.spec.Length), math.MaxUint16, math.MaxUint8
	pieces := 0
	for i := range l.fields {
		f := &l.fields[i]
		if at := f.runs[0].at & 63; f.plain && int(at)+f.width <= 64 {
			l.pieces[i] = piece{mask: f.max64(), down: uint8(64 - int(at) - f.width), word: f.runs[0].at >> 6}
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
