package learn

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// sampleOf makes a sample of reads written as 0s and 1s, with what is printed behind an =.
func sampleOf(t *testing.T, texts ...string) *sample {
	t.Helper()
	var reads []Read
	var prints []printed
	for i, text := range texts {
		text, print, _ := strings.Cut(text, "=")
		b, err := wiegand.ParseBits(text)
		require.NoError(t, err)
		p, err := parsePrinted("", print)
		require.NoError(t, err)
		reads, prints = append(reads, Read{Line: i + 1, Bits: b, Printed: print}), append(prints, p)
	}
	return newSample(reads, prints)
}

// frame26 is a read of the published 26-bit format: even parity over the first half, odd over the second.
func frame26(facility, number uint64) string {
	body := fmt.Sprintf("%08b%016b", facility, number)
	ones := func(s string) int { return strings.Count(s, "1") }
	return fmt.Sprint(ones(body[:12])%2) + body + fmt.Sprint(1-ones(body[12:])%2)
}

func flip(s string, i int) string {
	return s[:i] + string('0'+'1'-s[i]) + s[i+1:]
}

// TestRareBits: a read that differs from nearly all others in a bit is told, be it a 1 among zeros or a 0 among ones.
func TestRareBits(t *testing.T) {
	for _, one := range []bool{false, true} {
		for few := range 5 {
			var texts []string
			want := map[int]bool{}
			for r := range 40 {
				odd := r%9 == 3 && len(want) < few
				if odd {
					want[r] = true
				}
				bit := "0"
				if odd != one {
					bit = "1"
				}
				texts = append(texts, fmt.Sprintf("%06b", r)+bit)
			}
			if few > 2 { // more than one in twenty is not rare
				want = map[int]bool{}
			}
			bad := map[int]bool{}
			rare(sampleOf(t, texts...), 6, bad)
			assert.Equal(t, want, bad, "%d, %v", few, one)
		}
	}
	assert.Equal(t, []int{0, 2, 4}, positions(sampleOf(t, "00", "01", "10", "11", "11"), map[int]bool{1: true, 3: true}))
}

// TestPriceOfMisreads: a misread costs so much, and each further bit that is the same in all good reads more.
func TestPriceOfMisreads(t *testing.T) {
	good := sampleOf(t, "000101", "000111", "000001")
	all := sampleOf(t, "000101", "000111", "000001", "100101", "110101", "111011", "000011")
	p := posterior{s: good}
	for r, want := range map[int]float64{3: misreadBits, 4: misreadBits + flipBits, 5: misreadBits + 2*flipBits, 6: misreadBits} {
		assert.InDelta(t, want, p.price(all, []int{r}), 1e-9, r)
	}
	assert.InDelta(t, 3*misreadBits+flipBits, p.price(all, []int{3, 4, 6}), 1e-9)
	assert.Zero(t, p.price(all, nil))
}

// TestMisreadsAreFound: single reads with a wrong bit, a wrong print, or another frame are taken out, and nothing else is; cards of
// another facility stay.
func TestMisreadsAreFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(9, 9))
	for _, bit := range []int{0, 3, 8, 25, 12} {
		var reads []Read
		for i := range 40 {
			number := rng.Uint64N(1 << 16)
			text := frame26(150, number)
			if i == 17 {
				text = flip(text, bit)
			}
			b, err := wiegand.ParseBits(text)
			require.NoError(t, err)
			reads = append(reads, Read{Line: i + 1, Bits: b, Printed: fmt.Sprintf("150,%05d", number)})
		}
		groups, _, err := sortReads(reads)
		require.NoError(t, err)
		p, out := learn(groups[0], newPatternSet(26))
		require.Equal(t, []int{17}, out, "bit %d", bit+1)
		m := p.misread(reads[17], groups[0].printed[17])
		assert.Equal(t, 18, m.Line)
		check, parity := "even parity of bit 1", "odd parity of bit 26"
		switch {
		case bit < 13:
			parity = check
		}
		assert.Contains(t, m.Reason, "the "+parity+" fails")
		assert.Equal(t, bit == 12, strings.Contains(m.Reason, "the read says"), m.Reason)
		assert.Equal(t, bit == 3 || bit == 8, strings.Contains(m.Reason, "otherwise in all other reads"), m.Reason)
		fine := p.misread(reads[3], groups[0].printed[3])
		assert.Equal(t, "it fits, but fewer others do with it", fine.Reason)
	}
}

// TestFacilityBesideTheNumber: of the runs that hold what is printed before the number, the longest beside it is taken.
func TestFacilityBesideTheNumber(t *testing.T) {
	var texts []string
	for i := range uint64(8) {
		texts = append(texts, frame26(150+i%3, 46143+7*i)+fmt.Sprintf("=%d,%d", 150+i%3, 46143+7*i))
	}
	s := sampleOf(t, texts...)
	k := seeker{s: s, rows: []int{0, 1, 2, 3, 4, 5, 6, 7}}
	h := number{Number: Number{Print: PrintPair}, at: run(9, 16, wiegand.MSBFirst), cols: span(9, 24)}
	assert.Equal(t, wiegand.Spans{{From: 2, To: 9}}, k.facility(&h))
	assert.True(t, k.facilityAt(&h, 1, 8))
	assert.False(t, k.facilityAt(&h, 1, 7))
	assert.False(t, k.facilityAt(&h, 2, 7), "the highest bit is missing")
	joined := sampleOf(t, slices.Collect(func(yield func(string) bool) {
		for i := range uint64(8) {
			yield(frame26(150+i%3, 46143+7*i) + fmt.Sprintf("=%d%05d", 150+i%3, 46143+7*i))
		}
	})...)
	k.s, h.Print, h.Digits = joined, PrintJoined, 5
	assert.Equal(t, wiegand.Spans{{From: 2, To: 9}}, k.facility(&h))
	joined.words[2].drop(1) // one read in which it is not so
	k = seeker{s: joined, rows: k.rows}
	assert.Empty(t, k.facility(&h))
	k.slack = 1
	assert.True(t, k.facilityAt(&h, 1, 8))
}

// TestWindow: the cost of a number without prints is that of the span of its values, in the order of bits in which they lie nearest.
func TestWindow(t *testing.T) {
	var up, down []string
	for i := range 20 {
		up, down = append(up, fmt.Sprintf("1%012b0", 1000+3*i)), append(down, "1"+backwards(fmt.Sprintf("%012b", 1000+3*i), 1)+"0")
	}
	for _, c := range []struct {
		texts []string
		cost  float64
		order wiegand.Order
	}{
		{up, 24 + 20*math.Log2(58), wiegand.MSBFirst}, {down, 24 + costLSB + 20*math.Log2(58), wiegand.LSBFirst},
	} {
		s := sampleOf(t, c.texts...)
		f := newFinder(s, newPatternSet(14))
		h := f.window(1, 12, s.varying)
		assert.True(t, h.near)
		assert.InDelta(t, c.cost, h.cost, 1e-9)
		assert.Equal(t, c.order, h.Order)
		assert.Equal(t, wiegand.Spans{{From: 2, To: 13}}, h.Bits)
	}
	s := sampleOf(t, "1000", "0001", "0110", "1111")
	f := newFinder(s, newPatternSet(4))
	assert.InDelta(t, 4*4, f.window(0, 3, s.varying).cost, 1e-9, "spread all over")
	num, r := f.residual(mask{})
	assert.Nil(t, num)
	assert.True(t, r.cols.empty())
}

// TestDescribe: bits that take few values together are cheaper as a list, and the cost of either is that of writing it down.
func TestDescribe(t *testing.T) {
	rng := rand.New(rand.NewPCG(10, 10))
	var texts []string
	for i := range 60 {
		texts = append(texts, fmt.Sprintf("%08b%08b", []int{150, 77}[i/30], rng.IntN(256)))
	}
	s := sampleOf(t, texts...)
	f := newFinder(s, newPatternSet(16))
	few := f.describe(s.varying.and(span(0, 7)))
	assert.True(t, few.facility)
	assert.Equal(t, 2, few.values)
	lg, _ := math.Lgamma(61)
	half, _ := math.Lgamma(30)
	at := s.varying.and(span(0, 7)).list()
	assert.InDelta(t, 3+float64(max(8, at[len(at)-1]-at[0]+1))+(lg-2*half)/math.Ln2, few.bits, 1e-9)
	many := f.describe(span(8, 15))
	assert.False(t, many.facility)
	want := 0.0
	for i := 8; i < 16; i++ {
		want += strayBits + ktBits(s.count(i), 60)
	}
	assert.InDelta(t, want, many.bits, 1e-9)
	assert.Zero(t, f.describe(mask{}).bits)
}
