package fuzz

import (
	"encoding/binary"
	"math/big"
	"strconv"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// FuzzDecodeEncode: no spec makes Compile panic; whatever compiles takes every read apart and puts it together again.
func FuzzDecodeEncode(f *testing.F) {
	catalogue := formats.Builtin()
	for format := range catalogue.All() { // every row of the catalogue, on its examples and on a read of no card
		for _, e := range format.Examples {
			f.Add(appendSpec(nil, format.Layout.Spec()), e.Read.AppendBytesLeft(nil))
		}
		f.Add(appendSpec(nil, format.Layout.Spec()), []byte(strings.Repeat("\xa5", 32)))
	}
	f.Add([]byte{}, []byte{})                                                      // an empty spec
	f.Add([]byte(strings.Repeat("\xff", 400)), []byte(strings.Repeat("\xff", 32))) // one that is out of all bounds
	f.Fuzz(func(t *testing.T, text, read []byte) {
		spec := readSpec(text)
		l, err := wiegand.Compile(spec)
		if err != nil {
			declared(t, err)
			return
		}
		p := append(read, make([]byte, 32)...)
		var w [4]uint64
		for i := range w {
			w[i] = binary.BigEndian.Uint64(p[8*i:])
		}
		takesApart(t, l, wiegand.BitsFromWords(w, l.Len()))
	})
}

// takesApart checks one read of one layout.
func takesApart(t *testing.T, l *wiegand.Layout, b wiegand.Bits) {
	r, err := l.Decode(b)
	if err != nil {
		t.Fatal(err)
	}
	good := r.Encode()
	if r.OK() && good != b {
		t.Fatalf("%s passes every check and encodes as %s", b, good)
	}
	again := must(l.Decode(good))
	if again.Encode() != good {
		t.Fatalf("%s encodes as %s", good, again.Encode())
	}
	for i, c := range l.Checks() {
		if again.Failed().Has(i) && c.Kind != wiegand.Digit {
			t.Fatalf("%s is encoded and fails check %d", good, i)
		}
	}
	for i, field := range l.Spec().Fields {
		if field.Constant == "" && r.Value(i) != again.Value(i) {
			t.Fatalf("field %s was %s and is %s", field.Name, r.Text(i), again.Text(i))
		}
		putsBack(t, &again, i, field)
	}
	for i := range l.Len() {
		flips(t, l, good, i)
	}
	if _, err := l.Decode(b.Slice(0, l.Len()-1)); err == nil {
		t.Fatal("a read that is too short decodes")
	}
	if short, ok := b.Append(0); ok {
		if _, err := l.Decode(short); err == nil {
			t.Fatal("a read that is too long decodes")
		}
	}
}

// putsBack sets a field to the value it has, in every way there is.
func putsBack(t *testing.T, r *wiegand.Record, i int, field wiegand.Field) {
	same := func(back wiegand.Record, err error) {
		if err != nil || back != *r {
			t.Fatalf("field %s of %s set to its own value %s: %s, %v", field.Name, r.Bits(), r.Text(i), back.Bits(), err)
		}
	}
	same(r.WithValue(i, r.Value(i)))
	text := r.Text(i)
	v, ok := r.Uint64(i)
	if ok && strings.TrimLeft(text, "0") != strings.TrimLeft(strconv.FormatUint(v, 10), "0") {
		t.Fatalf("field %s is %s and %d", field.Name, text, v)
	}
	if n, isNumber := new(big.Int).SetString(text, 10); isNumber || field.Coding == wiegand.Signs5 {
		same(r.WithText(i, text))
		if field.Coding == wiegand.Binary && n.String() != text {
			t.Fatalf("field %s is %s", field.Name, text)
		}
	}
	if ok && field.Coding != wiegand.Signs5 {
		same(r.WithUint64(i, v))
	}
}

// flips changes one bit of a read whose checks hold: those that touch the bit fail, and no other.
func flips(t *testing.T, l *wiegand.Layout, good wiegand.Bits, i int) {
	before := must(l.Decode(good))
	after := must(l.Decode(good.WithBit(i, 1-good.Bit(i))))
	touching := l.Touching(i)
	if (before.Failed()^after.Failed())&^touching != 0 {
		t.Fatalf("bit %d changes checks %s, touches %s", i+1, before.Failed()^after.Failed(), touching)
	}
	for k, c := range l.Checks() {
		if touching.Has(k) && c.Kind != wiegand.Digit && !after.Failed().Has(k) {
			t.Fatalf("bit %d is wrong and check %d holds", i+1, k)
		}
	}
}
