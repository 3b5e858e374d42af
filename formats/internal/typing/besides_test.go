package typing

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The digit that makes 7992739871 a whole of ISO/IEC 7812-1, annex B, is 3: an example of many texts on that formula,
// from memory; the others are worked by hand: 1: 2, and 8; 18: 1 + 1+6, and 2.
func TestCheckDigit(t *testing.T) {
	assert.Equal(t, byte('3'), checkDigit("7992739871"))
	assert.Equal(t, byte('8'), checkDigit("1"))
	assert.Equal(t, byte('2'), checkDigit("18"))
	assert.Equal(t, byte('0'), checkDigit(""))
}

func TestBesidesOf(t *testing.T) {
	of := func(prints ...string) map[string][]string {
		all := map[string][]string{}
		for _, b := range BesidesOf(prints) {
			assert.Negative(t, b.Log(len(prints)))
			require.Len(t, b.Prints, len(prints))
			all[b.Words] = b.Prints
		}
		return all
	}
	assert.Empty(t, of())
	assert.Equal(t, map[string][]string{lastByteFirst: {"458752"}}, of("7"), "a digit is nothing with another behind it")
	assert.Equal(t, map[string][]string{
		"a number with another behind it": {"10983", "10990"},
		"a number with another before it": {"2", "1"},
		"a number, then its facility":     {"2,10983", "1,10990"},
	}, of("10983-2", "10990-1"))
	assert.Equal(t, map[string][]string{
		prefixedWords: {"7398713"}, // or less
		checkedWords:  {"7992739871"}, "a number and one more digit": {"7992739871"}, "a number in hex": {"hex:79927398713"},
		lastByteFirst: {"246172851218"}, // 79927398713 is 129C095139 in hex, and 3951099C12 is 246172851218
	}, of("79927398713"))
	assert.NotContains(t, of("79927398713", "79927398714"), checkedWords)
	assert.Equal(t, []string{"983", "990"}, of("10983", "10990")[prefixedWords])
	assert.NotContains(t, of("10983", "20990", "30991", "40992"), prefixedWords)
	assert.Equal(t, []string{"10983", "10990"}, of("10983-2", "10990")["a number with another behind it"],
		"some have nothing beside")
}

// The bytes of 9 876 543, which is 96B43F in hex, turned round are 3FB496, which is 4 175 000: bc, a general-purpose
// program, says so too. Chip serials have forms with their bytes turned round, so 4 bytes in decimal stay as they are.
func TestBytesTurned(t *testing.T) {
	for print, want := range map[string]string{
		"9876543": "4174998", "hex:96B43F": "hex:3FB496", "hex:0001": "", "hex:00BEEF": "hex:EFBE00", "16909060": "67305985", "1234567890123": "",
		"12-345": "", "hex:96B43": "", "1": "65536",
	} {
		s := seenOf(print)
		number, _, ok := bytesTurned(&s)
		assert.Equal(t, want != "", ok, print)
		assert.Equal(t, want, number, print)
	}
}

// What stands beside numbers is as likely as if it were printed alone: one digit, any, on each of a hundred cards is
// some hundred digits; the same on all is one.
func TestBesidesCostWhatTheySay(t *testing.T) {
	log := func(digit func(i int) byte) float64 {
		var prints []string
		for i := range 100 {
			prints = append(prints, "10983-"+string(digit(i)))
		}
		return BesidesOf(prints)[0].Log(len(prints))
	}
	same := log(func(int) byte { return '2' })
	assert.Greater(t, same, -12.0)
	each := log(func(i int) byte { return '0' + byte(i*7%10) })
	assert.InDelta(t, -100*math.Log(10), each, 120, "and how many digits they have")
	assert.Less(t, each, -100*math.Log(10))
}

// Decimals with zeros before them that have their bytes turned round show no more how they are filled, so that it is
// said beside them: two of 20 without theirs are as unlikely there as where nothing was turned.
func TestTurnedBytesAreFilledAsTheyWere(t *testing.T) {
	log := func(lost int) float64 {
		var prints []string
		for i := range 20 {
			text := fmt.Sprintf("%010d", 94817320+i*40061977)
			if i < lost {
				text = strings.TrimLeft(text, "0")
			}
			prints = append(prints, text)
		}
		all := BesidesOf(prints)
		at := slices.IndexFunc(all, func(b Besides) bool { return b.Words == lastByteFirst })
		require.GreaterOrEqual(t, at, 0)
		return all[at].Log(len(prints))
	}
	assert.Greater(t, log(0)-log(2), 5.0)
	assert.InDelta(t, 0, log(0)-log(20), 4, "all without zeros are as usual as all with them")
}
