package formats

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"github.com/cardtell/cardtell/wiegand"
)

// Every way of writing a card down, with the examples of the manual.
func TestParseSighting(t *testing.T) {
	const read26 = "11001011010110100001111110"
	read := func(b, text string) Sighting { return Sighting{Kind: Read, Bits: wiegand.MustParseBits(b), Text: text} }
	serial := func(b, text string) Sighting {
		return Sighting{Kind: Serial, Bits: wiegand.MustParseBits(b), Text: text}
	}
	printed := func(text string) Sighting { return Sighting{Kind: Printed, Text: text} }
	for _, c := range []struct {
		text string
		want Sighting
	}{
		{"bits:" + read26, read(read26, "bits:"+read26)},
		{"bits:1", read("1", "bits:1")},
		{read26, read(read26, read26)},
		{"110010110101101000011111", read("110010110101101000011111", "110010110101101000011111")}, // 24 need no prefix
		{"1100 1011 0101_1010.0001 1111 10", read(read26, "1100 1011 0101_1010.0001 1111 10")},
		{"26:32D687E", read(read26, "26:32D687E")},
		{"26:32d687e", read(read26, "26:32d687e")},
		{"  26:32D687E\t", read(read26, "26:32D687E")},
		{"left:26:CB5A1F80", read(read26, "left:26:CB5A1F80")},
		{"24:96", read("24:96", "24:96")},

		{"uid:04A23B5C", serial("32:04A23B5C", "04A23B5C")},
		{"uid:04:a2:3b:5c", serial("32:04A23B5C", "04:a2:3b:5c")},
		{"uid:12-34-56-78", serial("32:12345678", "12-34-56-78")},
		{"04:A2:3B:5C:11:22:80", serial("56:04A23B5C112280", "04:A2:3B:5C:11:22:80")},
		{"04-A2-3B-5C", serial("32:04A23B5C", "04-A2-3B-5C")},
		{"06:00:12:59:E3", serial("40:06001259E3", "06:00:12:59:E3")},
		{"E0:04:01:50:76:D2:81:05", serial("64:E004015076D28105", "E0:04:01:50:76:D2:81:05")},
		{"12:34:56:78:90:12:34:56:78:90", serial("80:12345678901234567890", "12:34:56:78:90:12:34:56:78:90")},

		{"hex:96B43F", Sighting{Kind: Hex, Text: "96B43F"}},
		{"hex:" + strings.Repeat("F", 64), Sighting{Kind: Hex, Text: strings.Repeat("F", 64)}},
		{"hex:0096b43f", Sighting{Kind: Hex, Text: "0096B43F"}},

		{"0009876543", printed("0009876543")},
		{"150,46143", printed("150,46143")},
		{"150-46143", printed("150-46143")},
		{"150/46143", printed("150/46143")},
		{"150,90000", printed("150,90000")},
		{strings.Repeat("7", 80), printed(strings.Repeat("7", 80))},
		{"150 46143", printed("150 46143")},
		{"0032-0001-092446", printed("0032-0001-092446")},
		{"printed:150,46143", printed("150,46143")},
		{"printed:12-34-56-78", printed("12-34-56-78")},
		{"printed:" + read26, printed(read26)},
		{"11001011010110100001111", printed("11001011010110100001111")}, // 23 digits
		{"00320001092446011112223333112232", printed("00320001092446011112223333112232")},
	} {
		got, err := ParseSighting(c.text)
		require.NoError(t, err, c.text)
		assert.Equal(t, c.want, got, c.text)
	}
}

// What fits two kinds is refused, and both spellings that would work are named; they do.
func TestAmbiguousSightings(t *testing.T) {
	for _, c := range []struct{ text, message string }{
		{"12-34-56-78",
			`card "12-34-56-78": can be a chip serial or a printed number; write uid:12-34-56-78 or printed:12-34-56-78`},
		{"96B43F",
			`card "96B43F": has letters: if it is a number in hex write hex:96B43F, a chip serial uid:96B43F, a read LENGTH:96B43F`},
		{"04A23B5C",
			`card "04A23B5C": has letters: if it is a number in hex write hex:04A23B5C, a chip serial uid:04A23B5C, a read LENGTH:04A23B5C`},
	} {
		_, err := ParseSighting(c.text)
		assert.ErrorIs(t, err, ErrAmbiguous)
		assert.EqualError(t, err, c.message)
	}
	for _, text := range []string{"uid:12-34-56-78", "printed:12-34-56-78", "hex:04A23B5C", "uid:04A23B5C",
		"32:04A23B5C"} {
		_, err := ParseSighting(text)
		assert.NoError(t, err)
	}
}

// Every spelling error names the spelling that would work.
func TestSightingErrors(t *testing.T) {
	const nothing = ": can be no card; write digits as printed, such as 150,46143, a read as LENGTH:HEX or bits:…, a chip serial as uid:04A23B5C"
	for _, c := range []struct {
		text    string
		kind    error
		message string
	}{
		{"", ErrSyntax, `card: nothing there; write a read, a printed number or a chip serial`},
		{" \t", ErrSyntax, `card: nothing there; write a read, a printed number or a chip serial`},
		{"150é", ErrSyntax, `card "150é"` + nothing},
		{"card", ErrSyntax, `card "card"` + nothing},
		{"150,,46143", ErrSyntax, `card "150,,46143"` + nothing},
		{"-150", ErrSyntax, `card "-150"` + nothing},
		{"150,", ErrSyntax, `card "150,"` + nothing},
		{strings.Repeat("7", 81), ErrSyntax,
			`card "` + strings.Repeat("7", 48) + `…": 81 characters are no printed number; a longer read needs bits: before it`},
		{"printed:", ErrSyntax, `card: has no digits; write the number as it is printed`},
		{"printed:12a", ErrSyntax, `card "12a"` + nothing},

		{"bits:", ErrSyntax, `card "bits:": a read without bits`},
		{"bits:1021", wiegand.ErrSyntax,
			`parse bits "bits:1021": character 8 is '2'; write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},
		{"26:25810777", wiegand.ErrRange, // a digit too many
			`parse bits "26:25810777": 25810777 needs more than 26 bits; give the number of bits the reader sent`},
		{"26:", wiegand.ErrSyntax, `parse bits "26:": no hex digits after the length`},
		{"26:CB5A1F80", wiegand.ErrRange,
			`parse bits "26:CB5A1F80": CB5A1F80 needs more than 26 bits; if it is left-justified in whole bytes, write left:26:CB5A1F80`},
		{"257:F", wiegand.ErrRange, `parse bits "257:F": 257 bits; a read has at most 256`},
		{strings.Repeat("1", 257), wiegand.ErrRange,
			`parse bits "` + strings.Repeat("1", 48) + `…": more than 256 bits; no card format is that long`},
		{"left:26:CB5A1F8", wiegand.ErrSyntax, `parse bits "left:26:CB5A1F8": 7 hex digits are not whole bytes`},
		{"26:32:xyz", wiegand.ErrSyntax, `parse bits "26:32:xyz": ':' is no hex digit; write 0-9 and A-F`},
		{"26:32D687E xyz", ErrSyntax,
			`card "26:32D687E xyz": what is "xyz" behind the read? write what is printed on the card as 26:32D687E=46143, a remark behind #`},
		{"FC 121", ErrSyntax, `card "FC 121": is a facility and no card; write the number too, as in FC 121 ID 8417`},
		{"crd:12", wiegand.ErrSyntax,
			`parse bits "crd:12": the length "crd" before the colon is no number; write LENGTH:HEX such as 26:32D687E`},

		{"uid:", ErrSyntax, `chip serial: 0 bytes; a chip serial has 4, 5, 7, 8 or 10`},
		{"uid:04A23B5", ErrSyntax, `chip serial "04A23B5": 7 hex digits are not whole bytes`},
		{"uid:04A23B", ErrSyntax, `chip serial "04A23B": 3 bytes; a chip serial has 4, 5, 7, 8 or 10`},
		{"uid:04A23B5G", ErrSyntax, `chip serial "04A23B5G": 'G' is no hex digit; write bytes in hex`},
		{"uid:04:A23:B5C", ErrSyntax, `chip serial "04:A23:B5C": "A23" is no byte; write two hex digits for each`},
		{"uid:04::A2:3B:5C", ErrSyntax, `chip serial "04::A2:3B:5C": "" is no byte; write two hex digits for each`},
		{"uid::04:A2:3B:5C", ErrSyntax, `chip serial ":04:A2:3B:5C": "" is no byte; write two hex digits for each`},
		{"uid:04:A2-3B:5C", ErrSyntax, `chip serial "04:A2-3B:5C": is not bytes joined by one kind of sign`},
		{"uid:04:A2-3B-5C", ErrSyntax, `chip serial "04:A2-3B-5C": is not bytes joined by one kind of sign`},
		{"04:A2:3B:5C:11:22", ErrSyntax, `chip serial "04:A2:3B:5C:11:22": 6 bytes; a chip serial has 4, 5, 7, 8 or 10`},
		{"04:A2:3B", ErrSyntax, `chip serial "04:A2:3B": 3 bytes; a chip serial has 4, 5, 7, 8 or 10`},
		{"04:A2:3B:5C:", ErrSyntax, `chip serial "04:A2:3B:5C:": "" is no byte; write two hex digits for each`},

		{"hex:", ErrSyntax, `hex number: 0 digits; 1 to 64 are possible`},
		{"hex:96B43G", ErrSyntax, `hex number "96B43G": 'G' is no hex digit; write 0-9 and A-F`},
		{"hex:9G", ErrSyntax, `hex number "9G": 'G' is no hex digit; write 0-9 and A-F`},
		{"hex:" + strings.Repeat("F", 65), ErrSyntax,
			`hex number "` + strings.Repeat("F", 48) + `…": 65 digits; 1 to 64 are possible`},
	} {
		got, err := ParseSighting(c.text)
		assert.ErrorIs(t, err, c.kind, c.text)
		assert.EqualError(t, err, c.message, c.text)
		assert.Zero(t, got, c.text)
	}
}

func TestParseSightings(t *testing.T) {
	got, err := ParseSightings("26:32D687E=46143=uid:04A23B5C")
	require.NoError(t, err)
	require.Len(t, got, 3)
	assert.Equal(t, []SightingKind{Read, Printed, Serial}, []SightingKind{got[0].Kind, got[1].Kind, got[2].Kind})
	for _, text := range []string{"26:32D687E=", "=46143", "="} {
		_, err = ParseSightings(text)
		assert.EqualError(t, err, "card: nothing there; write a read, a printed number or a chip serial", text)
	}
}

// What is read is read again from what it says of itself.
func TestSightingsAgain(t *testing.T) {
	prefix := map[SightingKind]string{Printed: "printed:", Serial: "uid:", Hex: "hex:"}
	start := rapid.SampledFrom([]string{"", "", "uid:", "hex:", "printed:", "bits:", "32:", "04:"})
	rest := rapid.StringOfN(rapid.RuneFrom([]rune("00112233456789ABCDEFabcdef:-,/ ")), 1, 12, -1)
	rapid.Check(t, func(t *rapid.T) {
		s, err := ParseSighting(start.Draw(t, "start") + rest.Draw(t, "rest"))
		if err != nil {
			return
		}
		again, err := ParseSighting(prefix[s.Kind] + s.Text)
		require.NoError(t, err)
		require.Equal(t, s, again)
	})
}
