package fuzz

import (
	"errors"
	"slices"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// declaredLearn is declared for errors of package learn, which may wrap one of package formats.
func declaredLearn(t *testing.T, err error) {
	t.Helper()
	var own *formats.Error
	if !errors.As(err, &own) {
		declared(t, err)
		return
	}
	if s := err.Error(); strings.ContainsAny(s, "\n\r") || len(s) > longest || !utf8.ValidString(s) {
		t.Fatalf("error is no short line: %d bytes, %q", len(s), s)
	}
}

// FuzzLearnExplains learns from any reads. A learned layout keeps all its checks on every read of its length that it
// did not name as a misread, gives back what is printed on it, and can be written to a definition file and read again.
//
// The input is a length and reads packed one after the other, each with a byte that says what is printed: nothing, the
// low bits, or these and one.
func FuzzLearnExplains(f *testing.F) {
	f.Add(byte(26), []byte{})                                                           // no reads
	f.Add(byte(8), []byte{1, 0x55, 0, 1, 0x55, 0, 1, 0x55, 0})                          // the same three times
	f.Add(byte(16), []byte{1, 1, 2, 1, 3, 4, 1, 5, 6, 1, 7, 8, 1, 9, 10, 1, 11, 12})    // numbers as they are printed
	f.Add(byte(12), []byte{0, 1, 0, 0, 2, 0, 0, 3, 0, 0, 4, 0, 0, 5, 0, 0, 6, 0, 0})    // counting up, nothing printed
	f.Add(byte(64), []byte("0123456789abcdefghijklmnopqrstuvwxyz0123456789abcdefghij")) // text
	f.Add(byte(200), make([]byte, 200))
	catalogue := formats.Builtin()
	f.Fuzz(func(t *testing.T, length byte, data []byte) {
		reads := unpackReads(int(length), data)
		results, err := learn.Learn(reads, catalogue)
		if err != nil {
			declaredLearn(t, err)
			return
		}
		for i := range results {
			explained(t, &results[i], reads)
		}
	})
}

// unpackReads makes at most 64 reads of the same length.
func unpackReads(n int, data []byte) []learn.Read {
	size := (n + 7) / 8
	var reads []learn.Read
	for len(data) > size && len(reads) < 64 && n > 0 {
		var b wiegand.Bits
		for i := range n {
			b, _ = b.Append(uint(data[1+i/8] >> (7 - uint(i%8)) & 1))
		}
		r := learn.Read{Line: len(reads) + 1, Bits: b}
		low, _ := b.Slice(max(0, n-16), n).Uint64()
		switch data[0] % 4 {
		case 1, 2:
			r.Printed = string(appendDecimal(nil, low))
		case 3:
			r.Printed = string(appendDecimal(nil, low+1))
		}
		reads = append(reads, r)
		data = data[1+size:]
	}
	return reads
}

func appendDecimal(dst []byte, v uint64) []byte {
	if v >= 10 {
		dst = appendDecimal(dst, v/10)
	}
	return append(dst, '0'+byte(v%10))
}

func explained(t *testing.T, r *learn.Result, reads []learn.Read) {
	if r.Probability < 0 || r.Probability > 1 {
		t.Fatalf("a probability of %v", r.Probability)
	}
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		t.Fatalf("%v: %+v", err, r.Spec)
	}
	misread := map[wiegand.Bits]bool{} // a card that is there again is named once
	for _, m := range r.Misreads {
		misread[m.Read] = true
	}
	for _, read := range reads {
		if !slices.Contains(r.Lines, read.Line) || misread[read.Bits] { // of another kind, or there before
			continue
		}
		b := read.Bits
		if r.Swapped {
			b = b.Invert()
		}
		rec, err := layout.Decode(b)
		if err != nil || !rec.OK() {
			t.Fatalf("line %d, %s: %v %v in %+v", read.Line, b, err, rec.Failed(), r.Spec)
		}
		if again := rec.Encode(); again != b {
			t.Fatalf("line %d: %s is written back as %s", read.Line, b, again)
		}
		number := layout.Field(wiegand.FieldNumber)
		if r.Number.Print == learn.PrintFull && read.Printed != "" && len(r.Known) == 0 && rec.Text(number) != read.Printed &&
			!zerosBefore(rec.Text(number), read.Printed) {
			t.Fatalf("line %d: number %s, printed %s", read.Line, rec.Text(number), read.Printed)
		}
	}
	text, err := r.Definition("learned")
	if err != nil {
		t.Fatalf("%v: %+v", err, r.Spec)
	}
	if _, err := formats.ParseDefinitions("learned.toml", text); err != nil {
		t.Fatalf("%v in\n%s", err, text)
	}
}

// zerosBefore reports whether two texts are the same number, since decimal digits in a read keep their zeros.
func zerosBefore(a, b string) bool {
	for len(a) > len(b) && a[0] == '0' {
		a = a[1:]
	}
	return a == b
}
