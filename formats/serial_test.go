package formats

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// What a serial is, by ISO/IEC 14443-3 (cascade tag 88, random ones begin with 08, BCC is the XOR of four bytes, the
// first of 7 and 10 bytes is the maker's), ISO/IEC 15693-3 (E0 first, sent last) and ISO/IEC 18092. 04 A9 DB A2 85 32
// 80 and EC E5 86 73 with its BCC FC are of public answers that quote the first; E0 04 01 50 76 D2 81 05 is shown both
// ways round in another.
func TestSerialFacts(t *testing.T) {
	for text, says := range map[string][]string{
		"04A23B5C":   {"single size UID"},
		"08A23B5C":   {"single size UID", "08 says that it is random"},
		"8804A9DB":   {"single size UID", "88 is the cascade tag CT"},
		"5C3BA208":   {"single size UID", "is it written last byte first?"},
		"ECE58673FC": {"125 kHz", "check byte BCC"},
		"0102030405": {"125 kHz"},
		"04A9DBA2853280": {"double size UID",
			"04 is the maker of the chip (ISO/IEC 7816-6), the same on many cards, and no facility"},
		"E00401507 6D28105":    {"ISO/IEC 15693-3: E0, the maker of the chip (04, ISO"},
		"0581D276500104E0":     {"last byte first: E0 belongs in front"},
		"8804A9DBA2853280":     {"7 bytes after it are the double size UID"},
		"01FE020304050607":     {"NFCID2 of ISO/IEC 18092 that begins with 01 FE"},
		"0203040506070809":     {"NFCID2"},
		"04A9DBA2853280112233": {"triple size UID", "04 is the maker"},
		"88A9DBA2853280112233": {"triple size UID", "no part of a UID"},
	} {
		digits := strings.ReplaceAll(text, " ", "")
		facts := SerialFacts(wiegand.MustParseBits(fmt.Sprintf("%d:%s", 4*len(digits), digits)))
		require.Len(t, facts, len(says), "%s: %q", text, facts)
		for i := range says {
			assert.Contains(t, facts[i], says[i], text)
		}
	}
	assert.Empty(t, SerialFacts(wiegand.MustParseBits("26:0")))
	assert.Empty(t, SerialFacts(wiegand.MustParseBits("48:0")))
}

// What readers send of a serial. 3685287048 is what a public answer quotes of a reader that sends the first cascade
// level of 04 A9 DB A2 85 32 80, tag included, reversed. 3974465139 and 1938220524 are EC E5 86 73 both ways round, 04
// 39 BA 6A is 70892138 and 1790589188 (Python: int.from_bytes). The parities of 26 bits are those of SIA AC-01.
func TestSerialReads(t *testing.T) {
	find := func(serial string, bits int, part string) SerialRead {
		for _, r := range SerialReads(wiegand.MustParseBits(serial), Builtin()) {
			if r.Bits.Len() == bits && r.Part == part {
				return r
			}
		}
		t.Fatalf("%s: nothing of %d bits from %s", serial, bits, part)
		return SerialRead{}
	}
	for _, test := range []struct {
		serial string
		bits   int
		part   string
		number string
	}{
		{"32:ECE58673", 32, "all bytes", "3974465139"},
		{"32:ECE58673", 34, "all bytes", "3974465139"},
		{"32:ECE58673", 34, "all bytes, reversed", "1938220524"},
		{"32:0439BA6A", 32, "all bytes, reversed", "1790589188"},
		{"32:0439BA6A", 56, "all bytes", "70892138"},
		{"32:0439BA6A", 64, "all bytes, reversed", "1790589188"},
		{"56:04A9DBA2853280", 32, "88 and first 3, reversed", "3685287048"},
		{"56:04A9DBA2853280", 34, "88 and first 3, reversed", "3685287048"},
		{"56:04A9DBA2853280", 56, "all bytes", "1312660696412800"},
	} {
		r := find(test.serial, test.bits, test.part)
		assert.Equal(t, test.number, r.Card.Text(r.Card.Format.Number()), "%+v", test)
		assert.True(t, r.Card.Format.Layout.Holds(r.Bits), "%+v", test)
	}
	// ECE586: 1110 1100 1110 and 0101 1000 0110, 8 and 5 ones: even parity 0 before, odd parity 0 after. 0xEC = 236,
	// 0xE586 = 58758.
	r := find("32:ECE58673", 26, "first 3 bytes")
	assert.Equal(t, "01110110011100101100001100", r.Bits.String())
	assert.Equal(t, "236 58758", r.Card.Text(0)+" "+r.Card.Text(1))
	assert.Equal(t, "86E5EC", fmt.Sprintf("%06X", must24(t, find("32:ECE58673", 26, "first 3 bytes, reversed"))))
	assert.Equal(t, "E58673", fmt.Sprintf("%06X", must24(t, find("32:ECE58673", 26, "last 3 bytes"))))
	assert.Equal(t, "7386E5", fmt.Sprintf("%06X", must24(t, find("32:ECE58673", 26, "last 3 bytes, reversed"))))
	assert.Empty(t, SerialReads(wiegand.MustParseBits("26:0"), Builtin()))
	assert.Empty(t, SerialReads(wiegand.MustParseBits("32:0"), Catalogue{}))
}

func must24(t *testing.T, r SerialRead) uint64 {
	v, ok := r.Bits.Slice(1, 25).Uint64()
	require.True(t, ok)
	return v
}
