package formats

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/cardtell/cardtell/wiegand"
)

// A prefix, or a length with all digits of the hex, leaves one spelling.
func TestPrefixesSettle(t *testing.T) {
	for text, as := range map[string]string{
		"26:32D687E": "a read of 26 bits", "left:26:CB5A1F80": "a read of 26 bits", "bits:1": "a read of 1 bits",
		"26: 32D687E":  "a read of 26 bits",
		"uid:04A23B5C": "a chip serial", "04:A2:3B:5C": "a chip serial", "printed:9876543210": "a printed number",
		"150,46143":           "a printed number",
		"26:32D687E=15046143": "a read of 26 bits, and a printed number", "FC 150 ID 46143": "a facility and a number",
		"0009876543 150,46143": "a printed number, and a pair",
		"150,46143/0009876543": "a pair, and a printed number",
	} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		require.Len(t, all, 1, "%s: %v", text, all)
		assert.Equal(t, as, all[0].As, text)
	}
}

// A text that says less has several, and each of them is a card; a frame without its length is every length that it can
// have.
// A card has one read: what is a length and decimal digits beside another one is two numbers.
func TestSpellingsOfPairBesideRead(t *testing.T) {
	all, err := Spellings("30:33EF335=25:1014170")
	require.NoError(t, err)
	require.Len(t, all, 1)
	assert.Equal(t, Sighting{Kind: Printed, Text: "25,1014170"}, all[0].Sightings[1])
	all, err = Spellings("26:1234567=26:1234567")
	require.NoError(t, err)
	assert.Equal(t, Read, all[0].Sightings[1].Kind)
}

func TestSpellingsOfHex(t *testing.T) {
	all, err := Spellings("0F241C3") // 0x0F241C3 has 7 digits: 25 to 28 bits
	require.NoError(t, err)
	var as []string
	for _, s := range all {
		as = append(as, s.As)
		if s.As == "a read of 26 bits in hex" {
			assert.Equal(t, wiegand.MustParseBits("26:0F241C3"), s.Sightings[0].Bits)
		}
	}
	assert.ElementsMatch(t, []string{"a number in hex", "a read of 25 bits in hex", "a read of 26 bits in hex",
		"a read of 27 bits in hex", "a read of 28 bits in hex"}, as)
	// By hand: facility 6 in 16 bits behind an even parity bit, number 6975 in 16, is a read of 34 bits whose value is
	// 6·2^17 + 6975·2 + 1 = 800383 = 0xC367F: four of its nine digits are zeros in front.
	all, err = Spellings("0xC367F")
	require.NoError(t, err)
	assert.True(t, slices.ContainsFunc(all, func(s Spelling) bool { return s.As == "a read of 34 bits in hex" }))
	for text, hex := range map[string]bool{"BAFF": true, "effe": true, "BAD": false, "0xBAD": true} { // letters alone
		all, err = Spellings(text)
		assert.Equal(t, hex, err == nil && all[0].As == "a number in hex", text)
	}
	all, err = Spellings("46-2BE") // 0x46 is 70, and 0x2BE is 702; bc, a general-purpose program, says so too
	require.NoError(t, err)
	assert.Equal(t, Sighting{Kind: Printed, Text: "70,702"}, all[0].Sightings[0])
	all, err = Spellings("03C90 70C0") // five and four digits: nothing
	assert.Error(t, err, "%v", all)
	for text, want := range map[string]SightingKind{ // who fills a length with zeros? a facility often is; a key is a read
		"017:00766": Printed, "037:02119": Printed, "37:0000012345": Read, "17:00766": Read, "8:87": Read,
	} {
		all, err = Spellings(text)
		require.NoError(t, err)
		assert.Equal(t, want, all[0].Sightings[0].Kind, text)
	}
	for _, text := range []string{"96:B4:3F", "96-b4-3f", "96:04:30"} { // 0x96B43F is 9876543: facility 150, number 46143
		all, err = Spellings(text)
		require.NoError(t, err)
		assert.Equal(t, Hex, all[0].Sightings[0].Kind, text)
	}
	all, err = Spellings("03C9070C") // 26 bits, left-justified: 0x0F241C3 << 2
	require.NoError(t, err)
	assert.NotEmpty(t, all)
}

// Letters before a decimal number are a label, and where they are from A to F perhaps hex.
func TestSpellingsAfterLetters(t *testing.T) {
	for text, hex := range map[string]bool{"N46143": false, "ID46143": false, "A-46143": false, "A46143": true, "BE46143": true,
		"BE-6143": true, "A461": true, "A46": true, "A4": true} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		assert.Equal(t, hex, len(all) > 1, text)
		at := slices.IndexFunc(all, func(s Spelling) bool { return s.As == "a printed number after letters" })
		require.GreaterOrEqual(t, at, 0, text)
		assert.Equal(t, text[strings.IndexAny(text, "46"):], all[at].Sightings[0].Text)
	}
	// 4B is 75, and CB0E is 51982; bc, a general-purpose program, says so too.
	for text, want := range map[string][2]string{
		"4B-CB0E": {"75,51982", "4BCB0E"}, "4B-1234": {"75,4660", "4B1234"}, "hex:12-3456": {"18,13398", "123456"},
		"BE,EF00": {"190,61184", "BEEF00"},
	} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		require.Len(t, all, 2, text)
		assert.Equal(t, Sighting{Kind: Hex, Text: want[1]}, all[0].Sightings[0])
		assert.Equal(t, Sighting{Kind: Printed, Text: want[0]}, all[1].Sightings[0])
	}
	// Spreadsheets write whole numbers with .0 behind them (common practice, no source).
	for text, want := range map[string]string{"2119.0": "2119", "0007143607.00": "0007143607"} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		assert.Equal(t, Sighting{Kind: Printed, Text: want}, all[0].Sightings[0])
		assert.Equal(t, "a pair", all[1].As)
	}
	// Beside a read, what could be a read of a length that no card has is a print in hex, on whichever side: 0x0B0000 is no
	// read of four bits, and 0x199 and 0x55E0 none of 199.
	const read = "26:1D5683B"
	for text, as := range map[string]string{"0B0000": "a number in hex", "199:55E0": "a number in hex", "11:005B": "a number in hex",
		"560:14523": "a pair", "24:15": "a pair", "196_44451": "a pair", "196|44451": "a pair", "196+44451": "a pair"} {
		for _, text := range []string{read + "=" + text, text + "=" + read} {
			all, err := Spellings(text)
			require.NoError(t, err, text)
			assert.Contains(t, all[0].As, as, text)
			assert.Contains(t, all[0].As, "a read of 26 bits", text)
		}
	}
	// A small number can have letters before it there as well.
	for text, hex := range map[string]bool{"A7": true, "A70": true, "N7": false, "ID70": false} {
		all, err := Spellings("26:1D5683B=" + text)
		require.NoError(t, err, text)
		require.Len(t, all, map[bool]int{false: 1, true: 2}[hex], text)
		assert.Equal(t, strings.TrimLeft(text, "ADIN"), all[len(all)-1].Sightings[1].Text)
	}
	for _, text := range []string{"W26", "FC150", "door101", "26:1D5683B=FC15"} { // a length, a facility, a name
		all, err := Spellings(text)
		assert.False(t, err == nil && slices.ContainsFunc(all, func(s Spelling) bool {
			return s.As == "a printed number after letters"
		}), text)
	}
}

// Whatever is written, each spelling is a good card of a weight above 0, the most usual first, and the error of a text
// that can be nothing says what would do.
func TestSpellingsOfAnything(t *testing.T) {
	word := rapid.OneOf(
		rapid.SampledFrom([]string{"26", "FC", "ID", "uid:", "hex:", "bits:", "left:", "printed:", "0x", "0b", "#", "=", ":",
			" ", "121", "08417", "0F241C3", "No.", "\t", ";"}),
		rapid.StringOfN(rapid.RuneFrom([]rune("0123456789ABCDEFabcdefgx:;=#,.-/ \té")), 0, 8, -1),
	)
	rapid.Check(t, func(t *rapid.T) {
		text := strings.Join(rapid.SliceOfN(word, 0, 6).Draw(t, "words"), "")
		all, err := Spellings(text)
		if err != nil {
			require.NotEmpty(t, err.Error())
			return
		}
		require.NotEmpty(t, all)
		for i, s := range all {
			require.Positive(t, s.Weight)
			require.NotEmpty(t, s.As)
			require.LessOrEqual(t, s.Weight, all[max(i-1, 0)].Weight)
			for k := range s.Sightings {
				require.NoError(t, s.Sightings[k].Check(), text)
			}
		}
	})
}

// Sightings made by hand are good or an error.
func TestMadeSightings(t *testing.T) {
	read, err := ReadOf(wiegand.MustParseBits("26:32D687E"))
	require.NoError(t, err)
	assert.Equal(t, Read, read.Kind)
	serial, err := SerialOf(wiegand.MustParseBits("32:04A23B5C"))
	require.NoError(t, err)
	assert.Equal(t, "04:A2:3B:5C", serial.Text)
	hex, err := HexOf("96b43f")
	require.NoError(t, err)
	assert.Equal(t, "96B43F", hex.Text)
	print, err := PrintedOf("150,46143")
	require.NoError(t, err)
	assert.Equal(t, Printed, print.Kind)
	for _, made := range []func() (Sighting, error){
		func() (Sighting, error) { return ReadOf(wiegand.Bits{}) },
		func() (Sighting, error) { return SerialOf(read.Bits) },
		func() (Sighting, error) { return HexOf("") },
		func() (Sighting, error) { return PrintedOf("1:2") },
	} {
		s, err := made()
		assert.ErrorIs(t, err, ErrSyntax)
		assert.Zero(t, s)
	}
	var zero Sighting
	assert.Error(t, zero.Check())
}

// Digits of any count are read or refused: those that are too many for hex too.
func TestSpellingsOfManyDigits(t *testing.T) {
	for n := 1; n <= 400; n++ {
		all, err := Spellings(strings.Repeat("23456789", 50)[:n])
		if err == nil {
			assert.NotEmpty(t, all, n)
		}
	}
}

// What words say of a number is the same in a list, which takes them away, and in a card by itself.
func TestUnlabelled(t *testing.T) {
	for text, want := range map[string]string{
		"No. 17": "17", "no 17": "17", "Nr. 17": "17", "Nr 17": "17", "N\u00b0 17": "17", "#17": "17", "ID: 17": "17", "Card #17": "17",
		"#121,17": "121,17", "No. 121:17": "121,17", "# 121 17": "121,17", "No. 121 / 17": "121,17",
		"FC 121 ID 17": "121,17", "FC:121 CN:17": "121,17", "FC121 17": "121,17", "FC 121,17": "121,17", "17 (FC 121": "121,17",
	} {
		number, ok := Unlabelled(text)
		assert.True(t, ok, text)
		assert.Equal(t, want, number, text)
		all, err := Spellings(text)
		require.NoError(t, err, text)
		require.Len(t, all, 1, text)
		assert.Equal(t, want, all[0].Sightings[0].Text, text)
	}
	for _, text := range []string{"", "17", "121,17", "FC 121", "ext 17", "No. 5-12-2024", "lost 17", "No. 17 (lost)", "#", "26:32D687E"} {
		_, ok := Unlabelled(text)
		assert.False(t, ok, text)
	}
}
