package fuzz

import (
	"fmt"
	"testing"

	"github.com/google/go-cmp/cmp"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// A spec as bytes, for the fuzzer to change: a number is one byte, a list its length and its members. Bytes that are
// missing are 0. Every value that a spec can be wrong by is within reach.

type specReader []byte

// next returns the next byte as a number below n; n of 0 means any.
func (r *specReader) next(n int) int {
	if len(*r) == 0 {
		return 0
	}
	v := int((*r)[0])
	*r = (*r)[1:]
	if n > 0 {
		v %= n
	}
	return v
}

// Limits of what can be read: a little more than a layout can have.
const (
	maxFields = wiegand.MaxFields + 2
	maxChecks = wiegand.MaxChecks + 2
	maxSpans  = 40
)

func readSpec(text []byte) wiegand.Spec {
	r := specReader(text)
	s := wiegand.Spec{Length: 1 + r.next(0)}
	for i := range r.next(maxFields) {
		f := wiegand.Field{Name: fmt.Sprintf("f%d", i)}
		if r.next(2) == 1 {
			f.Name = wiegand.FieldUnknown
		}
		f.Bits, f.Order, f.Coding, f.Constant = r.spans(), wiegand.Order(r.next(3)), wiegand.Coding(r.next(5)), r.digits()
		s.Fields = append(s.Fields, f)
	}
	for range r.next(maxChecks) {
		c := wiegand.Check{Kind: wiegand.CheckKind(r.next(6)), Bit: 1 + r.next(0), Over: r.spans(), Bits: r.spans()}
		c.Value = r.bits()
		c.Repeat, c.Step = r.next(wiegand.MaxChecks+3)-1, r.next(0)-1
		s.Checks = append(s.Checks, c)
	}
	return s
}

func (r *specReader) spans() wiegand.Spans {
	var all wiegand.Spans
	for range r.next(maxSpans) {
		all = append(all, wiegand.Span{From: 1 + r.next(0), To: 1 + r.next(0), Step: r.next(0) - 1})
	}
	return all
}

func (r *specReader) digits() string {
	b := make([]byte, r.next(80))
	for i := range b {
		b[i] = '0' + byte(r.next(17)) // one character too many
	}
	return string(b)
}

func (r *specReader) bits() wiegand.Bits {
	var b wiegand.Bits
	for range r.next(0) {
		b, _ = b.Append(uint(r.next(2)))
	}
	return b
}

// appendSpec is the inverse, for specs that fit.
func appendSpec(dst []byte, s wiegand.Spec) []byte {
	put := func(values ...int) {
		for _, v := range values {
			dst = append(dst, byte(v))
		}
	}
	spans := func(all wiegand.Spans) {
		put(len(all))
		for _, s := range all {
			put(s.From-1, s.To-1, s.Step+1)
		}
	}
	put(s.Length-1, len(s.Fields))
	for _, f := range s.Fields {
		unknown := 0
		if f.Name == wiegand.FieldUnknown {
			unknown = 1
		}
		put(unknown)
		spans(f.Bits)
		put(int(f.Order), int(f.Coding), len(f.Constant))
		for _, c := range f.Constant {
			put(int(c - '0'))
		}
	}
	put(len(s.Checks))
	for _, c := range s.Checks {
		put(int(c.Kind), max(c.Bit-1, 0))
		spans(c.Over)
		spans(c.Bits)
		put(c.Value.Len())
		for i := range c.Value.Len() {
			put(int(c.Value.Bit(i)))
		}
		put(c.Repeat+1, c.Step+1)
	}
	return dst
}

// The seeds are what they say: a spec comes back from its bytes, but for the names of its fields.
func TestSpecBytes(t *testing.T) {
	catalogue := formats.Builtin()
	for i := range catalogue.Len() {
		want := catalogue.At(i).Layout.Spec()
		got := readSpec(appendSpec(nil, want))
		if _, err := wiegand.Compile(got); err != nil {
			t.Fatalf("%s: %v", catalogue.At(i).ID, err)
		}
		names := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Name" }, cmp.Ignore())
		// 0 where there is none
		bit := cmp.FilterPath(func(p cmp.Path) bool { return p.Last().String() == ".Bit" }, cmp.Ignore())
		value := cmp.Comparer(func(a, b wiegand.Bits) bool { return a == b })
		if diff := cmp.Diff(want, got, names, bit, value); diff != "" {
			t.Errorf("%s: %s", catalogue.At(i).ID, diff)
		}
	}
}
