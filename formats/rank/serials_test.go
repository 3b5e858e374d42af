package rank

import (
	"encoding/hex"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
)

// chips draws the serials of chips of 4 or 7 bytes, those of 7 beginning with 04, a maker's code of ISO/IEC 7816-6.
func chips(rng *rand.Rand, n, bytes int) [][]byte {
	all := make([][]byte, n)
	for i := range all {
		for range bytes {
			all[i] = append(all[i], byte(rng.Uint32()))
		}
		if bytes == 7 {
			all[i][0] = 4
		}
	}
	return all
}

func turned(serial []byte) []byte {
	serial = slices.Clone(serial)
	slices.Reverse(serial)
	return serial
}

// A card has one chip, so that another number beside its serial is no serial, and the serial written down twice says
// no more than once. The numbers are drawn here, and the bytes turned by the standard library.
func TestOneChip(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(seed, 91))
	t.Logf("seed %d, 91", seed)

	var texts []string
	for _, serial := range chips(rng, 6, 4) {
		texts = append(texts, fmt.Sprintf("%08X=uid:%x", rng.Uint32(), serial))
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	for _, way := range ans.Taken {
		for _, as := range way.As {
			assert.Less(t, strings.Count(as, "serial"), 2, texts)
		}
	}

	// A reader shows the first four bytes, last byte first, or the whole serial so: nothing tells which.
	texts = nil
	for _, serial := range chips(rng, 3, 7) {
		texts = append(texts, fmt.Sprintf("uid:%x=%X=%X", serial, turned(serial[:4]), turned(serial)))
	}
	ans, err = r.RankTexts(texts)
	require.NoError(t, err)
	for i := range ans.Candidates {
		assert.Less(t, ans.Candidates[i].Probability, 0.9, texts)
	}
}

// Serials that have nothing to do with the reads, each written down twice, do not make a format unlikely.
func TestSerialsTwiceBesideReads(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	rng := rand.New(rand.NewPCG(seed, 92))
	t.Logf("seed %d, 92", seed)
	format := formats.Builtin().Find("40-8-16")[0]
	var texts []string
	for i, serial := range chips(rng, 12, 4) {
		read, err := format.Encode(map[string]string{"facility": "212", "number": fmt.Sprint(20 + 7*i)})
		require.NoError(t, err)
		text := strings.ToUpper(hex.EncodeToString(serial))
		if i%2 == 0 {
			text = "uid:" + strings.ToLower(text) + "=" + text
		}
		texts = append(texts, "bits:"+read.String()+"="+text)
	}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Candidates, texts)
	assert.Equal(t, "40-8-16", ans.Candidates[0].Format.ID)
	assert.Greater(t, ans.Candidates[0].Probability, 0.9, texts)
}

// What is noted of a card mostly is noted in one order: where both texts can be the read, the first one is, as on the
// other cards. 34 bits with a serial last byte first; the reads are put together here, as FORMATS of
// testdata/independent/layouts.py does it.
func TestReadsAndPrintsInOneOrder(t *testing.T) {
	r, err := New(formats.Builtin())
	require.NoError(t, err)
	texts := []string{"4995434848=uid:b024e094=2955206804=B024E094", "15702605631", "3879958484=EABBA173",
		"16033198417=2828587997"}
	ans, err := r.RankTexts(texts)
	require.NoError(t, err)
	require.NotEmpty(t, ans.Candidates)
	number, ok := ans.Candidates[0].Cards[3].Number()
	assert.True(t, ok)
	assert.Equal(t, uint64(2828587997), number)
}
