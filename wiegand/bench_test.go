package wiegand

import (
	"strconv"
	"testing"
)

// BenchmarkDecode takes reads apart, fields and checks, beside the standard library's reading of the same read's hex text.
func BenchmarkDecode(b *testing.B) {
	b.Run("26 bits", func(b *testing.B) {
		l, read := MustCompile(spec26), MustParseBits("26:32D687E")
		var sum uint64
		var r Record
		b.ReportAllocs()
		for b.Loop() {
			err := l.DecodeInto(&r, read)
			if err != nil || !r.OK() {
				b.Fatal(err, r.Failed())
			}
			f, _ := r.Uint64(0)
			n, _ := r.Uint64(1)
			sum += f + n
		}
		_ = sum
	})
	b.Run("200 bits FASC-N, 49 checks", func(b *testing.B) {
		l, read := MustCompile(specFASCN), MustParseBits(fascnTIG)
		var r Record
		b.ReportAllocs()
		for b.Loop() {
			if err := l.DecodeInto(&r, read); err != nil || !r.OK() {
				b.Fatal(err, r.Failed())
			}
		}
	})
	b.Run("200 bits FASC-N, 49 checks and 32 digits", func(b *testing.B) {
		l, read := MustCompile(specFASCN), MustParseBits(fascnTIG)
		fields := len(l.spec.Fields)
		var r Record
		b.ReportAllocs()
		for b.Loop() {
			err := l.DecodeInto(&r, read)
			if err != nil || !r.OK() {
				b.Fatal(err, r.Failed())
			}
			for i := range fields {
				if _, ok := r.Uint64(i); !ok {
					b.Fatal(i)
				}
			}
		}
	})
	b.Run("strconv.ParseUint", func(b *testing.B) {
		for b.Loop() {
			if _, err := strconv.ParseUint("32D687E", 16, 64); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkEncode26(b *testing.B) {
	l := MustCompile(spec26)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := l.Encode(150, 46143); err != nil {
			b.Fatal(err)
		}
	}
}
