package reading

import (
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// readOf34 returns the read of a serial of 32 bits in 34: even parity over the first 16 before it, odd parity over the
// last 16 behind it (common practice, no source; the rule is that of 26 bits in SIA AC-01-1996.10).
func readOf34(serial uint32) uint64 {
	even, odd := bits.OnesCount32(serial>>16)%2, 1-bits.OnesCount32(serial&0xFFFF)%2
	return uint64(even)<<33 | uint64(serial)<<1 | uint64(odd)
}

// A list has one writing for all cards of a kind. Numbers of which some would be reads of other cards, as a door takes
// them, are what the others are, even where there are few; and so are digits among numbers in hex.
func TestOneWritingForAllCards(t *testing.T) {
	rnd := rand.New(rand.NewPCG(61, 62))
	var numbers, hex []string
	for len(numbers) < 12 {
		n := rnd.Uint32()
		if isRead := uint64(n) == readOf34(n>>1); isRead == (len(numbers)%4 == 0) {
			numbers = append(numbers, fmt.Sprint(n))
		}
		if len(hex) < 12 {
			hex = append(hex, fmt.Sprintf("%08X", n|0xA000))
		}
	}
	hex = append(hex, "93260710") // as a number it is one of 32 bits
	p := settledOn(t, []formats.Population{kind("34-0-32", "number")}, numbers, Options{Second: []string{"read-decimal"}})
	for _, text := range numbers {
		assert.Equal(t, []string{"34-0-32 " + text}, outcomes(p, text))
	}
	p = settledOn(t, []formats.Population{kind("34-0-32", "hex")}, hex, Options{Second: []string{"decimal"}})
	assert.Equal(t, []string{"34-0-32 2468742928"}, outcomes(p, "93260710")) // 0x93260710, as any calculator has it

	// a decimal place that all of them have is no sign that one of them is written otherwise
	var pointed []string
	for range 12 {
		pointed = append(pointed, fmt.Sprintf("%d.0", rnd.Uint32()|1<<31))
	}
	pointed = append(pointed, "96028953.0", "none")
	p = settledOn(t, []formats.Population{kind("32-0-32", "number")}, pointed, Options{Second: []string{"uid-reversed"}})
	assert.Equal(t, []string{"32-0-32 96028953"}, outcomes(p, "96028953.0"))
}

// Numbers by themselves may be typed wrong: 21128971 and 21628183 are no cards of another kind among which 211,28182
// would be one, too.
func TestSlipsVouchForNoOtherCards(t *testing.T) {
	own := kind("26-8-16", "joined", 211)
	own.Numbers = []formats.Range{{First: 28_087, Last: 28_287}}
	texts := []string{"21128971", "21628183", "2112820"}
	for n := range 45 {
		texts = append(texts, fmt.Sprint(21_128_090+4*n), fmt.Sprint(374_400+19*n))
	}
	p := settledOn(t, []formats.Population{own, kind("37-0-35", "number")}, texts, Options{Second: []string{"hex", "decimal"}})
	assert.Equal(t, []string{"26-8-16 211,28182", "37-0-35 374419", "damaged"},
		outcomes(p, "21128182", "374419", "21628183"))
}

// A digit too many is one in ten, or the one beside it twice: so many serials, as reads of 34 bits in decimal, are not
// those of 32 bits, of which there are more, typed wrong.
func TestReadsOfTwoLengthsAreNoSlips(t *testing.T) {
	rnd := rand.New(rand.NewPCG(63, 64))
	var texts, serials []string
	for range 40 {
		n := rnd.Uint32() | 1<<31
		serials, texts = append(serials, fmt.Sprintf("34-0-32 %d", n)), append(texts, fmt.Sprint(readOf34(n)))
	}
	long := texts
	for range 200 {
		texts = append(texts, fmt.Sprint(rnd.Uint32()))
	}
	p := settledOn(t, []formats.Population{kind("32-0-32", "read-decimal"), kind("34-0-32", "read-decimal")}, texts,
		Options{})
	doubts := 0
	for i, got := range outcomes(p, long...) {
		if got == "damaged" { // one that lies at the edge
			doubts++
			continue
		}
		assert.Equal(t, serials[i], got)
	}
	assert.LessOrEqual(t, doubts, 2)
}

// Where many of a list are typed wrong in the same way, a digit left out or a zero too many, those are no cards of a
// kind that the site does not have, of which all the others would be as well.
func TestManySlipsAreNoOtherKind(t *testing.T) {
	var texts []string
	for n := range 100 {
		texts = append(texts, fmt.Sprintf("%010d", 86_855+2*n), fmt.Sprintf("%010d", 117<<16+462+n)) // facility · 65536 + number
		if n%7 == 0 {
			texts = append(texts, fmt.Sprintf("%09d", 8_691+n/7), fmt.Sprintf("%011d", 86_956+2*n))
		}
	}
	cards := []formats.Population{kind("36-0-34", "decimal10"), kind("26-8-16", "decimal10", 117, 119)}
	cards[1].Numbers = []formats.Range{{First: 362, Last: 562}}
	p := settledOn(t, cards, texts, Options{})
	assert.Equal(t, []string{"36-0-34 86987", "26-8-16 117,00475"}, outcomes(p, "0000086987", "0007668187"))
}

// What makes a spreadsheet leave a number as it is stands before the label of the second of two columns, too.
func TestApostropheBeforeALabel(t *testing.T) {
	var texts []string
	for n := range 20 {
		texts = append(texts, fmt.Sprintf("6,N%05d", 4_700+3*n))
	}
	p := settledOn(t, []formats.Population{kind("26-8-16", "pair")}, append(texts, "6,'N4716"), Options{})
	assert.Equal(t, []string{"26-8-16 006,04716", "26-8-16 006,04703"}, outcomes(p, "6,'N04716", "6,N04703"))
}

// A form that nothing tells is said to be that, and not that its facility is hardly ever on the list: 61421 · 524288 +
// 80676 is 32202373924, all of whose neighbours have that facility, too.
func TestFormThatNothingTellsHasNoOddFacility(t *testing.T) {
	rnd := rand.New(rand.NewPCG(65, 66))
	texts := []string{"12202373970"} // typed wrong, with a facility of its own
	for n := range uint64(30) {
		v := rnd.Uint32()
		texts = append(texts, fmt.Sprint(32_202_373_924+7*n),
			fmt.Sprintf("%02X:%02X:%02X:%02X", v>>24, v>>16&0xFF, v>>8&0xFF, v&0xFF))
	}
	cat := formats.Builtin()
	cards := Shown(cat, []formats.Population{kind("34-0-32", "uid"), kind("37-16-19", "")}, texts, Options{})
	p := settledOn(t, cards, texts, Options{}).Counted(slices.Values(texts))
	var s Seen
	assert.ErrorContains(t, p.Read([]byte("32202373924"), &s), "neither the site file nor the list tells")
	assert.ErrorContains(t, p.Read([]byte("12202373970"), &s), "is hardly ever on this list")
}

// One number typed wrong that is a card just as a door has it throws no doubt on the others: 19790820762 is a good read
// of 37 bits, and 19790823827 is 37748 · 524288 + 403 as well as another one.
func TestASlipIsNoFormOfADoor(t *testing.T) {
	texts := []string{"19790820762"} // 19790823762
	for n := range uint64(24) {
		texts = append(texts, fmt.Sprint(37_748<<19+210+33*n), fmt.Sprint(142+2*n), fmt.Sprint(143+2*n))
	}
	p := settledOn(t, []formats.Population{kind("37-16-19", "decimal10", 37_748), kind("37-0-35", "number")}, texts,
		Options{Second: []string{"read-decimal"}})
	assert.Equal(t, []string{"37-0-35 143", "37-0-35 171", "37-16-19 37748,000210", "37-16-19 37748,000243"},
		outcomes(p, "143", "171", texts[1], texts[4]))
}

// A power of ten with all its digits may be one of hex without a letter, where the list has such: 2166 as hex is 8550.
func TestPowerOfTenBesideHex(t *testing.T) {
	var texts []string
	for n := range 20 {
		texts = append(texts, fmt.Sprintf("%010d", 744+9*n), fmt.Sprintf("%010X", 8_500+7*n))
	}
	hex := kind("37-0-35", "hex")
	hex.Numbers = []formats.Range{{First: 8_000, Last: 9_000}}
	p := settledOn(t, []formats.Population{kind("36-0-34", "number10"), hex}, append(texts, "2.166E+03", "7.53E+02"), Options{})
	assert.Equal(t, []string{"damaged", "damaged"}, outcomes(p, "2.166E+03", "7.53E+02"))
	p = settledOn(t, []formats.Population{kind("36-0-34", "number10")}, append(texts, "7.53E+02"), Options{})
	assert.Equal(t, []string{"36-0-34 753"}, outcomes(p, "7.53E+02"))
}

// Numbers of another kind that have all lost their last digit lie together, and are no cards of this one.
func TestSlipsThatLieTogether(t *testing.T) {
	texts := []string{"1579425", "1579433", "1579434"}
	for n := range 24 {
		texts = append(texts, fmt.Sprint(15_794_186+9*n), fmt.Sprint(61+41*n), fmt.Sprint(5_000+7*n))
	}
	cards := []formats.Population{kind("26-8-16", "decimal", 241), kind("37-0-35", "decimal")}
	cards[0].Numbers = []formats.Range{{First: 1, Last: 300}} // 241 · 65536 is 15794176
	p := settledOn(t, cards, texts, Options{})
	assert.Equal(t, []string{"26-8-16 241,00010", "damaged", "damaged"}, outcomes(p, "15794186", "1579425", "1579433"))
}

// Pairs are as long as hex that lacks the zero before it, and are none: 062,30258 has nine signs, and the first is a
// zero. Facility and number of 35 bits fill nine digits of hex, which are written as ten.
func TestPairsAreNoShortHex(t *testing.T) {
	var texts []string
	for n := range uint64(20) {
		texts = append(texts, fmt.Sprintf("062,%05d", 30_258+3*n))
		if n%3 == 0 {
			texts = append(texts, fmt.Sprintf("%010X", 31_621<<19+1000+7*n))
		}
	}
	p := settledOn(t, []formats.Population{kind("37-16-19", "hex", 31_621), kind("26-8-16", "pair", 62)}, texts, Options{})
	assert.Equal(t, []string{"26-8-16 062,30258", "37-16-19 31621,001000"}, outcomes(p, texts[0], texts[1]))
}
