package reading

import (
	"encoding/binary"
	"fmt"
	"math/bits"
	"math/rand/v2"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// Chip serials that lie anyhow are as likely to have their bytes in one order as in the other: nothing in a list tells
// that it is as printed and not as a door takes it, whatever a few short numbers of it have alike. The bytes are turned
// by math/bits.
func TestNothingTellsTheOrderOfBytes(t *testing.T) {
	for seed := range uint64(4) {
		rnd := rand.New(rand.NewPCG(41, seed))
		var printed, door []string
		for range 200 {
			n := 1<<26 + rnd.Uint32N(1<<32-1<<26)
			printed, door = append(printed, fmt.Sprint(n)), append(door, fmt.Sprint(bits.ReverseBytes32(n)))
		}
		for _, list := range [][]string{printed, door} {
			p := settledOn(t, []formats.Population{kind("34-0-32", "number")}, list,
				Options{Second: []string{"read-decimal", "uid-reversed-decimal", "hex"}})
			for _, text := range list[:5] {
				assert.Equal(t, []string{"ambiguous"}, outcomes(p, text), text)
			}
		}
	}
	// a number whose bytes are the same in both orders is the same card in both forms, and tells nothing, either
	rnd := rand.New(rand.NewPCG(47, 48))
	same := []string{fmt.Sprint(uint32(0x81595981))}
	require.Equal(t, uint32(0x81595981), bits.ReverseBytes32(0x81595981))
	for range 100 {
		same = append(same, fmt.Sprint(bits.ReverseBytes32(1<<26+rnd.Uint32N(1<<32-1<<26))))
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "number")}, same,
		Options{Second: []string{"read-decimal", "uid-reversed-decimal", "hex"}})
	assert.Equal(t, []string{"34-0-32 2170116481", "ambiguous"}, outcomes(p, same[0], same[1]))

	// where all have one byte alike and numbers count up, it does
	var counted []string
	for n := range uint32(60) {
		var b [4]byte
		binary.LittleEndian.PutUint32(b[:], 0x5B949D10+3*n)
		counted = append(counted, fmt.Sprint(binary.BigEndian.Uint32(b[:])))
	}
	p = settledOn(t, []formats.Population{kind("34-0-32", "uid-reversed-decimal")}, counted,
		Options{Second: []string{"number"}})
	assert.Equal(t, []string{"34-0-32 1536466192"}, outcomes(p, counted[0])) // 0x5B949D10, as any calculator has it
}

// Two kinds of serials that are written alike but for zeros before them are not told apart by those that have none: a
// part of those can be of each kind.
func TestNumbersOfTwoKindsWrittenAlike(t *testing.T) {
	rnd := rand.New(rand.NewPCG(43, 44))
	var list []string
	for i := range 240 {
		n := 1<<28 + rnd.Uint32N(1<<32-1<<28)
		list = append(list, fmt.Sprintf([...]string{"%d", "%010d", "%d"}[i%3], n))
	}
	p, err := New(formats.Builtin(), site.Site{Cards: []formats.Population{kind("34-0-32", "number"),
		kind("32-0-32", "number10")}}, Options{})
	require.NoError(t, err)
	lots, _ := p.lots(list)
	for _, l := range lots {
		if len(l.plain[0]) == 10 && l.plain[0][0] != '0' {
			assert.Less(t, slices.Max(l.shares), 0.9, l.plain[0])
		}
	}
	assert.Len(t, lots, 3)
}

// Small numbers filled up with zeros are of the kind that is printed so, and none of another one that has none of its
// own filled up: not half of them, either.
func TestPaddedNumbersAreOfThePaddedKind(t *testing.T) {
	rnd := rand.New(rand.NewPCG(49, 50))
	var padded, bare []string
	for range 120 {
		padded = append(padded, fmt.Sprintf("%010d", 100_000+rnd.IntN(900_000)))
		bare = append(bare, fmt.Sprint(1<<26+rnd.Uint32N(1<<32-1<<26)))
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "number"), kind("37-0-35", "number10")},
		append(padded, bare...), Options{})
	for _, text := range padded {
		n, _ := strconv.Atoi(text)
		assert.Equal(t, []string{fmt.Sprint("37-0-35 ", n)}, outcomes(p, text))
	}
	// nor is any number of serials that lie anyhow one of those, or what is left of one
	for _, text := range bare {
		assert.Equal(t, []string{"34-0-32 " + text}, outcomes(p, text))
	}
	assert.Equal(t, []string{"34-0-32 " + bare[0]}, outcomes(p, `="`+bare[0]+`"`)) // which repairs nothing in it
}

// Where two kinds are printed alike, which of them has the small numbers is one question for all of these: however many
// they are, each is in doubt as long as the others of the list could as well be the wider kind's.
func TestOneDoubtOfAllNumbersAlike(t *testing.T) {
	for seed := range uint64(4) {
		rnd := rand.New(rand.NewPCG(51, seed))
		var small, wide []string
		for i := range 30 {
			if small = append(small, fmt.Sprint(100_000+rnd.IntN(900))); i < 8 {
				wide = append(wide, fmt.Sprint(1<<30+rnd.Uint32N(3<<30)))
			}
		}
		p := settledOn(t, []formats.Population{kind("34-0-32", "number"), kind("37-0-35", "number")},
			append(small, wide...), Options{})
		assert.Equal(t, []string{"ambiguous", "ambiguous"}, outcomes(p, small[0], wide[0]), seed)
	}
}

// A number is in the midst of others where as many lie near it as near most of them, be it the smallest; slips that are
// all alike lie together as well, and are few.
func TestInTheMidst(t *testing.T) {
	var all []uint64
	for i := range uint64(100) {
		all = append(all, 1_000+10*i)
	}
	c := crowdOf(slices.Concat(all, []uint64{10_000, 10_001, 10_002, 10_004, 10_010, 10_016, 10_020}))
	assert.False(t, c.alone(10_004))
	assert.False(t, c.amid(10_004))
	assert.True(t, c.amid(1_000))
	assert.True(t, c.amid(1_995))
}

// What a list rejects that is more than 99 % sure says so: by itself that is sure enough.
func TestWhatIsSureByItselfIsSaid(t *testing.T) {
	rnd := rand.New(rand.NewPCG(45, 46))
	var list []string
	for range 30 {
		list = append(list, fmt.Sprintf("%08X", 1<<31|rnd.Uint32()), fmt.Sprintf("%010X", rnd.Uint64N(1<<35)))
	}
	p := settledOn(t, []formats.Population{kind("34-0-32", "hex"), kind("37-0-35", "hex")}, list, Options{})
	for _, text := range list {
		var s Seen
		if err := p.Read([]byte(text), &s); err != nil && len(text) == 8 {
			assert.Contains(t, err.Error(), "of format 34-0-32, written as hex (>99.9 %)")
			assert.Contains(t, err.Error(), "; a list takes a number from 99.9999 % on, since nobody looks at each")
			return
		}
	}
	t.Error("none is in doubt")
}
