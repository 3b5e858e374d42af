package learn

import (
	"encoding/binary"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// framed is a read of data bits between two parities, even before them and odd behind, each over its half.
func framed(t *testing.T, data string) wiegand.Bits {
	half := len(data) / 2
	even, odd := strings.Count(data[:half], "1")%2, 1-strings.Count(data[half:], "1")%2
	bits, err := wiegand.ParseBits(fmt.Sprintf("%d%s%d", even, data, odd))
	require.NoError(t, err)
	return bits
}

// TestPrintsWithMoreOnThem: an order number behind the card's, as badges have it (common practice, no source), hides
// nothing of a layout in no table: 9 bits of facility and 19 of number between two parities, each over its half
// (arithmetic).
func TestPrintsWithMoreOnThem(t *testing.T) {
	var reads []Read
	for i := range 14 {
		n := 30511 + 911*i + 37*i*i
		bits := framed(t, fmt.Sprintf("%09b%019b", 301, n))
		reads = append(reads, Read{Line: i + 1, Bits: bits, Printed: fmt.Sprintf("%d-%d", n, 1+i%4)})
	}
	all, err := Learn(reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, PrintFull, all[0].Number.Print)
	assert.Equal(t, "11-29", all[0].Number.Bits.String())
	assert.Greater(t, all[0].Probability, 0.8)
	assert.Contains(t, strings.Join(all[0].Warnings, "\n"), "a number with another behind it")
}

// TestNumberBeforeItsFacility: the second number of each pair is the same on all cards, and the first is not, so that
// it is no facility before a number (16 and 8 bits of the published 26: arithmetic).
func TestNumberBeforeItsFacility(t *testing.T) {
	var reads []Read
	for i := range 10 {
		n := 6177 + 31*i + 5*i*i
		bits := framed(t, fmt.Sprintf("%08b%016b", 163, n))
		reads = append(reads, Read{Line: i + 1, Bits: bits, Printed: fmt.Sprintf("%d,163", n)})
	}
	all, err := Learn(reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, "26-8-16", all[0].Known[0].ID)
	assert.Equal(t, "10-25", all[0].Number.Bits.String())
	assert.Greater(t, all[0].Probability, 0.9)
}

// TestLongerNumbers: fobs show 32 bits in ten digits, of which the last 24 are the published format's facility and
// number (common practice, no source; the numbers are arithmetic).
func TestLongerNumbers(t *testing.T) {
	var reads []Read
	for i := range 12 {
		n := 6177 + 31*i + 5*i*i
		reads = append(reads, Read{Line: i + 1, Bits: framed(t, fmt.Sprintf("%08b%016b", 163, n)),
			Printed: fmt.Sprintf("%010d", uint64(11+17*i)<<24|163<<16|uint64(n))})
	}
	all, err := Learn(reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, "26-8-16", all[0].Known[0].ID)
	assert.Greater(t, all[0].Probability, 0.9)
	assert.Contains(t, all[0].Evidence,
		"what is printed on 12 cards is a longer number, in binary all data bits at its end")
}

// twoPrints is cards of two kinds, by arithmetic: facility and number of the published 26 bits, as a pair, and another
// facility's 24 bits in hex, which can as well be one number.
func twoPrints(t *testing.T) (first, second []Read) {
	for i := range 12 {
		n := 15606 + 7*i + i*i
		bits := framed(t, fmt.Sprintf("%08b%016b", 5, n))
		first = append(first, Read{Line: i + 1, Bits: bits, Printed: fmt.Sprintf("005,%d", n)})
	}
	for i := range 5 {
		n := 0x3B6FE8 + 9*i*i
		second = append(second, Read{Line: 13 + i, Bits: framed(t, fmt.Sprintf("%024b", n)), Printed: fmt.Sprintf("hex:%06X", n)})
	}
	return first, second
}

// TestAKindBesideAnother: beside cards of a format others that are told apart from them are likelier of another format
// than they are alone (the law of total probability).
func TestAKindBesideAnother(t *testing.T) {
	first, second := twoPrints(t)
	both, err := Learn(append(first, second...), formats.Builtin())
	require.NoError(t, err)
	require.Len(t, both, 2)
	alone, err := Learn(second, formats.Builtin())
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", both[1].Known[0].ID)
	assert.Less(t, both[1].Probability, alone[0].Probability-0.02)
	assert.Greater(t, both[1].Several, 0.999)
}

// TestTwoKindsPrintedAlike: serials of seven bytes of which one lot is sent last byte first, and numbers that are
// counted up: that each lot shows its decimal is far likelier than that the numbers of one are turned (arithmetic).
func TestTwoKindsPrintedAlike(t *testing.T) {
	rng := rand.New(rand.NewPCG(6, 1))
	var reads []Read
	for i := range 11 {
		serial, turned := rng.Uint64()>>8, [8]byte{}
		binary.LittleEndian.PutUint64(turned[:], serial)
		for k, read := range []string{fmt.Sprintf("56:%X", turned[:7]), fmt.Sprintf("56:%014X", 12+i)} {
			bits, err := wiegand.ParseBits(read)
			require.NoError(t, err)
			print := []string{fmt.Sprint(serial), fmt.Sprintf("%017d", 12+i)}[k]
			reads = append(reads, Read{Line: len(reads) + 1, Bits: bits, Printed: print})
		}
	}
	all, err := Learn(reads, formats.Builtin())
	require.NoError(t, err)
	require.Len(t, all, 2)
	assert.Equal(t, "56-0-56-reversed", all[0].Known[0].ID)
	assert.Equal(t, "56-0-56", all[1].Known[0].ID)
	assert.Greater(t, all[1].Probability, 0.9)
	assert.NotContains(t, strings.Join(all[0].Warnings, "\n"), "last byte first")
}

// TestLearnAgreesWithRank: of each kind of card in a question learn says what rank says, as far as the two say the
// same: of formats of the catalogue. The cards are arithmetic, two kinds of 26 bits, each printed in a way or not.
func TestLearnAgreesWithRank(t *testing.T) {
	const seed = 11
	rng := rand.New(rand.NewPCG(seed, 3))
	ways := []string{"", "%[2]d", "%[1]d,%[2]d", "%[3]d", "%010[3]d", "hex:%06[3]X", "%[2]d-40", "A%[2]d"}
	ranker, err := rank.New(formats.Builtin())
	require.NoError(t, err)
	compared := 0
	for n := range 40 {
		var reads []Read
		var texts []string
		for range 2 {
			facility, number, way := rng.IntN(256), rng.IntN(60000), ways[rng.IntN(len(ways))]
			for i := range 3 + rng.IntN(8) {
				bits := framed(t, fmt.Sprintf("%08b%016b", facility, number+3*i))
				one := Read{Line: len(reads) + 1, Bits: bits}
				if way != "" {
					one.Printed = strings.SplitN(fmt.Sprintf(way, facility, number+3*i, facility<<16|(number+3*i)), "%!", 2)[0]
				}
				reads = append(reads, one)
				texts = append(texts, strings.TrimSuffix(bits.Hex()+"="+one.Printed, "="))
			}
		}
		all, err := Learn(reads, formats.Builtin())
		require.NoError(t, err, texts)
		ans, err := ranker.RankTexts(texts)
		require.NoError(t, err, texts)
		k, answers, err := ranker.Divide(ans.Taken[0].Cards, &ans.Answer)
		require.NoError(t, err, texts)
		if answers == nil {
			answers = []rank.Answer{ans.Answer}
		}
		require.Len(t, all, len(k.Groups), "seed %d, question %d: %v", seed, n, texts)
		for g := range k.Groups {
			at := slices.IndexFunc(all, func(r Result) bool { return slices.Contains(r.Lines, k.Groups[g][0]+1) })
			require.NotEqual(t, -1, at)
			said := 0.0
			for _, c := range answers[g].Candidates {
				if slices.ContainsFunc(all[at].Known, func(k Known) bool { return k.ID == c.Format.ID }) {
					said += c.Probability
				}
			}
			if said > 0.5 {
				compared++
				assert.InDelta(t, said, all[at].Probability, 0.1, "seed %d, question %d: %v", seed, n, texts)
			}
		}
	}
	assert.Greater(t, compared, 30)
}

// TestPrintsOfAllSorts: whatever stands beside reads, there is an answer for every one of them, or an error that names
// a line; nothing is more than certain.
func TestPrintsOfAllSorts(t *testing.T) {
	const seed = 20
	rng := rand.New(rand.NewPCG(seed, 1))
	prints := []func() string{
		func() string { return "" },
		func() string { return fmt.Sprint(rng.Uint64() >> rng.IntN(64)) },
		func() string { return fmt.Sprintf("%d,%05d", rng.IntN(300), rng.IntN(70000)) },
		func() string { return fmt.Sprintf("%X", rng.Uint32()) },
		func() string { return fmt.Sprintf("hex:%X", rng.Uint32()) },
		func() string { return fmt.Sprintf("%02X:%02X:%02X:%02X", rng.IntN(99), rng.IntN(99), 11, rng.IntN(99)) },
		func() string { return fmt.Sprintf("F-%04X", rng.IntN(65536)) },
		func() string { return fmt.Sprintf("Key %d", rng.IntN(900)) },
		func() string {
			return []string{"?", "A", "1.5", "  ", "-", "7;8", "=", "1,2,3", "uid:", "\x00", "é"}[rng.IntN(11)]
		},
	}
	answered := 0
	for n := range 120 {
		var reads []Read
		length, sorts := 8+rng.IntN(60), 1+rng.IntN(len(prints))
		if rng.IntN(3) > 0 {
			sorts = min(sorts, len(prints)-1)
		}
		for i := range 1 + rng.IntN(8) {
			bits := wiegand.BitsFromWords([4]uint64{rng.Uint64() >> rng.IntN(8)}, length)
			reads = append(reads, Read{Line: i + 1, Bits: bits, Printed: prints[rng.IntN(sorts)]()})
		}
		all, err := Learn(reads, formats.Builtin())
		if err != nil {
			require.ErrorIs(t, err, ErrReads, "seed %d, question %d", seed, n)
			continue
		}
		answered++
		lines, different := map[int]bool{}, map[wiegand.Bits]bool{}
		for _, r := range reads {
			different[r.Bits] = true
		}
		for i := range all {
			p := all[i].Probability
			assert.True(t, p >= 0 && p <= 1+1e-9, "seed %d, question %d: %v", seed, n, reads)
			for _, l := range all[i].Lines {
				assert.False(t, lines[l], "seed %d, question %d: %v", seed, n, reads)
				lines[l] = true
			}
		}
		assert.Len(t, lines, len(different), "seed %d, question %d: %v", seed, n, reads)
	}
	assert.Greater(t, answered, 60)
}

// TestKindsThatAreTheSame: of kinds that are the same nothing is left beside one another, and each is what it is alone.
func TestKindsThatAreTheSame(t *testing.T) {
	first, _ := twoPrints(t)
	s, err := sortReads(first)
	require.NoError(t, err)
	model, err := evidence.New(formats.Builtin(), nil)
	require.NoError(t, err)
	var kinds []*posterior
	for range 2 {
		p, _, err := s.together(model)
		require.NoError(t, err)
		p.entries, p.total = p.entries[:1], p.entries[0].Log // nothing else is possible
		p.choose()
		kinds = append(kinds, p)
	}
	apart(kinds)
	for _, p := range kinds {
		assert.Equal(t, "26-8-16", p.answer().format.ID)
		assert.InDelta(t, 1, p.prob, 1e-9)
	}
}
