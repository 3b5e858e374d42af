package rank

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// TestNumbersInSteps: badges are numbered by tens (common practice, no source), of which some were given out, so that
// the lowest bit is the same on all and a field could be thought to end before it; of some reads a bit was misread.
// The reads are arithmetic.
func TestNumbersInSteps(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, misread := range []int{0, 4} {
		var cards []formats.Sightings
		for i := range 30 {
			n := uint64(40540 + 10*(i*i%61))
			read := readAs(t, "26-8-16", 170, n)
			if i < misread {
				read = read.WithBit(8+3*i, 1-read.Bit(8+3*i))
			}
			cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: read}})
		}
		ans, err := r.Rank(cards)
		require.NoError(t, err)
		assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
		assert.Greater(t, ans.Candidates[0].Probability, 0.8, "%d misread", misread)
	}
}

// TestLettersBeforeANumber: badges with a letter before their number (common practice, no source), which can be hex:
// A46143 is 10772803 too. What stands beside a read says which.
func TestLettersBeforeANumber(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	for _, letters := range []string{"A", "N", "BE", "A-"} {
		read := readAs(t, "26-8-16", 150, 46143)
		ans, err := r.RankTexts([]string{fmt.Sprintf("bits:%s=%s46143", read, letters)})
		require.NoError(t, err)
		assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID, letters)
		assert.Greater(t, ans.Candidates[0].Probability, 0.95, letters)
	}
	hex := readAs(t, "26-8-16", 0xA4, 0x6143)
	ans, err := r.RankTexts([]string{fmt.Sprintf("bits:%s=A46143", hex)})
	require.NoError(t, err)
	assert.Equal(t, "26-8-16", ans.Candidates[0].Format.ID)
	assert.Contains(t, ans.Taken[0].As[0], "a number in hex")
	assert.Greater(t, ans.Taken[0].Probability, 0.95)
}

// TestLostBitsAmongSteps: of numbers by tens two reads lost a bit, each of which can be another card's number that is
// not there: what the first one was taken for must not take the number of the second. The reads are arithmetic.
func TestLostBitsAmongSteps(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	var texts []string
	for i, n := range []uint64{1165297982, 1165297942, 1165298142, 1165298282, 1165298052, 1165298242, 1165298152,
		1165298302, 1165298062, 1165297972, 1165298072, 1165297962, 1165298122, 1165298172, 1165298092, 1165298222,
		1165298262} {
		read := readAs(t, "34-0-32", n)
		switch i {
		case 15:
			read, _ = read.Delete(3)
		case 16:
			read, _ = read.Delete(24)
		}
		texts = append(texts, fmt.Sprintf("bits:%s=%d", read, n))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	assert.Equal(t, "34-0-32", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.8)
}

// TestStepsTakenBackwards: chip serials of 32 bits behind eight zeros, which read backwards are numbers in steps of
// 256: all of them are as much in steps of 64 as they would be with one of them misread. They were drawn at random.
func TestStepsTakenBackwards(t *testing.T) {
	m, err := New(formats.Builtin())
	require.NoError(t, err)
	var cards []formats.Sightings
	for hex := range strings.FieldsSeq(`62FB0956 739AEB1D F7AF6EE5 9CBFC6CC CB10E4F5 653B2C2E 8CC2397C 8713D500 FC4BC309 7240A4B0
		04743F5B E884C484 09E35A78 C115119D 7B0BAF4B 302B482E 51862F8D 55ED4ED5 26A9139D C4D85E1C`) {
		cards = append(cards, formats.Sightings{{Kind: formats.Read, Bits: wiegand.MustParseBits("40:00" + hex)}})
	}
	ans, err := m.Rank(cards)
	require.NoError(t, err)
	assert.Equal(t, None, ans.Candidates[0].Fault)
	assert.Greater(t, ans.Candidates[0].Probability, 0.6) // layouts in no table could have eight fixed bits, too
}
