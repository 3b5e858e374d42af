package evidence

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// ofNoTable is the log probability of what was seen, if no table has its layout.
func ofNoTable(t *testing.T, cards string) (log float64) {
	t.Helper()
	m, err := New(formats.Builtin(), nil)
	require.NoError(t, err)
	var all []formats.Sightings
	for _, text := range strings.Fields(cards) {
		card, err := formats.ParseSightings(text)
		require.NoError(t, err)
		all = append(all, card)
	}
	require.NoError(t, m.Weigh(all, func(w *Work) { log = w.Unknown }))
	return log
}

// overlapping are nine good cards of 30 bits, facility 2721 in bits 2-13, the number in bits 14-29; bit 1 is even over
// bits 2-16, bit 30 odd over bits 15-29.
const overlapping = "30:35423DB1=2721,07896 30:35423DD8=2721,07916 30:35423DDE=2721,07919 30:35438A3C=2721,50462 " +
	"30:154330E9=2721,39028 30:35438A2D=2721,50454 30:154330E3=2721,39025 30:35423DD1=2721,07912 " +
	"30:35438A50=2721,50472 "

// A bit that is wrong in one read of ten, beside the card's own print, costs what a misread costs, though ten reads are
// too few for its checks to show it. By hand, from the misread rates: one bad read of ten is .8*.001*.991 +
// .13*.02*.834 + .055*.08*.472 + .015*.25*.075 = .0053, none .8*.990 + .13*.817 + .055*.434 + .015*.056 = .923; a wrong
// bit is .36 of it, this one of 30: log(.0053/.923*.36/30) = -9.6.
func TestMisreadThatItsPrintShows(t *testing.T) {
	good := ofNoTable(t, overlapping+"30:154330C7=2721,39011")
	bad := ofNoTable(t, overlapping+"30:154331C7=2721,39011")
	assert.InDelta(t, -9.6, bad-good, 0.3)
}

// Two digits swapped in the print of one card of ten cost what a slip costs, also among zeros that are printed before a
// number. By hand, from the rates of typing errors: one of ten is .5*.003*.973 + .25*.02*.834 + .15*.07*.520 +
// .1*.2*.134 = .0138, none .5*.970 + .25*.817 + .15*.484 + .1*.107 = .773; .15 of slips are swaps, this one of the nine
// neighbours: log(.0138/.773*.15/9) = -8.1.
func TestSlipInAPairWithZeros(t *testing.T) {
	for _, c := range []struct{ right, wrong string }{
		{"2721,07912", "2721,07192"}, {"2721,07912", "2721,70912"}, {"2721,07912", "7221,07912"},
	} {
		right := ofNoTable(t, overlapping+"30:154330C7=2721,39011")
		wrong := ofNoTable(t, strings.Replace(overlapping, c.right, c.wrong, 1)+"30:154330C7=2721,39011")
		assert.InDelta(t, -8.1, wrong-right, 0.1, c.wrong)
	}
}

// A digit that was typed as a 0 at the beginning of a print is a slip like any other: among three cards it may cost no
// more than another digit there.
func TestSlipToAZeroInFront(t *testing.T) {
	log := func(wrong string) (log float64) {
		var cards []formats.Sightings
		for _, c := range []string{"37:000CF0004A=207,37", "37:000CF0001A=207,13", "37:000CFF1111=" + wrong} {
			var card formats.Sightings
			for text := range strings.SplitSeq(c, "=") {
				s, err := formats.ParseSighting(text)
				require.NoError(t, err)
				card = append(card, s)
			}
			cards = append(cards, card)
		}
		m, err := New(formats.Builtin(), nil)
		require.NoError(t, err)
		require.NoError(t, m.Weigh(cards, func(w *Work) {
			for i := range w.Results {
				if r := &w.Results[i]; r.Format.ID == "37-16-19" && r.Wiring == None {
					log = r.Log
				}
			}
		}))
		return log
	}
	assert.InDelta(t, log("307,493704"), log("007,493704"), 0.1)
}

// Two bad reads of 24 are found though one shows in its print alone and the other in checks alone: facility 45 in bits
// 2-9, an issue level in bits 10-13, which alone varies of what the checks in bits 1 and 30 cover, the number in bits
// 14-29. By hand, from the misread rates: two of 24 are .8*1e-6*.978 + .13*.0004*.641 + .055*.0064*.160 +
// .015*.0625*.0018 = 9.2e-5, none .8*.976 + .13*.616 + .055*.135 + .015*.001 = .868; a wrong bit is .36 of a
// misread, this one of 30; the second went wrong as the first, of which (4*.36+1)/5 are:
// log(9.2e-5/.868*.36/30*.488/30) = -17.7.
func TestMisreadsThatShowInDifferentWays(t *testing.T) {
	rng := rand.New(rand.NewPCG(4, 12))
	var good, bad strings.Builder
	for i := range 24 {
		number, issue := 39000+rng.Uint64N(1000), rng.Uint64N(16)
		body := fmt.Sprintf("%08b%04b%016b", 45, issue, number)
		text := fmt.Sprintf("%d%s%d", strings.Count(body[:12], "1")%2, body, 1-strings.Count(body[8:12], "1")%2)
		read, err := wiegand.ParseBits(text)
		require.NoError(t, err)
		fmt.Fprintf(&good, "bits:%s=%d ", read, number)
		switch i {
		case 7:
			read = read.WithBit(19, 1-read.Bit(19)) // of the number
		case 13:
			read = read.WithBit(0, 1-read.Bit(0)) // a check
		}
		fmt.Fprintf(&bad, "bits:%s=%d ", read, number)
	}
	assert.InDelta(t, -17.7, ofNoTable(t, bad.String())-ofNoTable(t, good.String()), 1)
}
