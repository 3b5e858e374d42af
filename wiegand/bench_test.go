package wiegand

import (
	"math/bits"
	"math/rand/v2"
	"strconv"
	"testing"
)

// Where benchmarks leave their sums, so that no work is left out.
var (
	benchSum uint64
	benchRec Record
)

// benchReads is how many reads the benchmarks of decoding go round: enough that the processor can't learn them by
// heart, few enough to stay in its fastest memory.
const benchReads = 256

// BenchmarkDecode takes reads apart, fields and checks, as numbers and by way of a record, beside two references on the
// same reads: a decoder written by hand for the one format, with masks, shifts and population counts, and the standard
// library's reading of the read's hex. One operation is one read; each loop does what a caller would: it looks at every
// error and every check, and adds the numbers up. No loop calls a helper of the tests. For ratios: -bench Decode -count
// 5, and medians.
func BenchmarkDecode(b *testing.B) {
	l := MustCompile(spec26)
	random := rand.New(rand.NewPCG(seedOfReads, 26))
	var reads [benchReads]Bits
	var words [benchReads]uint32
	var texts [benchReads]string
	for i := range reads {
		reads[i] = must(l.Encode(random.Uint64N(1<<8), random.Uint64N(1<<16)))
		v, _ := reads[i].Uint64()
		words[i], texts[i] = uint32(v), string(reads[i].AppendHex(nil))
	}
	b.Run("26_bits_record", func(b *testing.B) {
		var sum uint64
		r := &benchRec
		for i := range b.N {
			if err := l.DecodeInto(r, &reads[i&(benchReads-1)]); err != nil || !r.OK() {
				b.Fatal(err)
			}
			facility, _ := r.Uint64(0)
			number, _ := r.Uint64(1)
			sum += facility + number
		}
		benchSum = sum
	})
	b.Run("26_bits_numbers", func(b *testing.B) {
		var sum uint64
		var v [2]uint64
		for i := range b.N {
			if failed, err := l.Uint64s(v[:], &reads[i&(benchReads-1)]); err != nil || failed != 0 {
				b.Fatal(err)
			}
			sum += v[0] + v[1]
		}
		benchSum = sum
	})
	b.Run("26_bits_by_hand", func(b *testing.B) {
		var sum uint64
		for i := range b.N {
			facility, number, ok := decode26(words[i&(benchReads-1)])
			if !ok {
				b.Fatal("a parity fails")
			}
			sum += uint64(facility) + uint64(number)
		}
		benchSum = sum
	})
	b.Run("26_bits_ParseUint", func(b *testing.B) {
		var sum uint64
		for i := range b.N {
			v, err := strconv.ParseUint(texts[i&(benchReads-1)], 16, 64)
			if err != nil {
				b.Fatal(err)
			}
			sum += v
		}
		benchSum = sum
	})
	fascn, read := MustCompile(specFASCN), MustParseBits(fascnTIG)
	b.Run("200_bits_record", func(b *testing.B) {
		r := &benchRec
		for range b.N {
			if err := fascn.DecodeInto(r, &read); err != nil || !r.OK() {
				b.Fatal(err)
			}
		}
	})
	b.Run("200_bits_record_and_32_digits", func(b *testing.B) {
		var sum uint64
		r := &benchRec
		for range b.N {
			if err := fascn.DecodeInto(r, &read); err != nil || !r.OK() {
				b.Fatal(err)
			}
			for i := range len(specFASCN.Fields) {
				v, _ := r.Uint64(i)
				sum += v
			}
		}
		benchSum = sum
	})
}

// decode26 is the 26-bit format of SIA AC-01-1996.10 by hand, of a read in the low 26 bits of a word. The test below
// holds it to the slow twin's answers.
func decode26(v uint32) (facility uint8, number uint16, ok bool) {
	even := bits.OnesCount32(v & 0x3FFE000)
	odd := bits.OnesCount32(v & 0x1FFF)
	return uint8(v >> 17), uint16(v >> 1), even&1 == 0 && odd&1 == 1
}

// The hand-written reference decodes: a reference that does something else measures nothing.
func TestDecodeByHand(t *testing.T) {
	l := MustCompile(spec26)
	random := rand.New(rand.NewPCG(seedOfReads, 27))
	for range 10_000 {
		v := random.Uint32N(1 << 26)
		r := must(l.Decode(must(BitsFromUint(uint64(v), 26))))
		facility, number, ok := decode26(v)
		if r.Text(0) != strconv.Itoa(int(facility)) || r.Text(1) != strconv.Itoa(int(number)) || r.OK() != ok {
			t.Fatalf("%07X by hand: %d %d %v, by the layout: %s %s %v; seed %d", v, facility, number, ok, r.Text(0), r.Text(1),
				r.OK(), seedOfReads)
		}
	}
}

func BenchmarkEncode26(b *testing.B) {
	l := MustCompile(spec26)
	for b.Loop() {
		if _, err := l.Encode(150, 46143); err != nil {
			b.Fatal(err)
		}
	}
}
