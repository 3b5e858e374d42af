package formats

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// Lines as panels and people write them, made up here: the card in each, among times, doors, readers and events.
func TestFromLog(t *testing.T) {
	for line, want := range map[string]string{
		"26:0F241C3":          "26:0F241C3",
		"121,08417":           "121,08417",
		"FC 121 ID 8417":      "FC 121 ID 8417",
		"26:0F241C3;08417":    "26:0F241C3;08417",
		"0F241C3 08417":       "0F241C3 08417",
		"08417\t26:0F241C3":   "08417\t26:0F241C3",
		"26:0F241C3 # a fob":  "26:0F241C3 # a fob",
		"0007938273 121,8417": "0007938273 121,8417",

		"2026-03-02 08:14:22 North stair  UNKNOWN CARD 0F241C3":                    "0F241C3",
		"2026-03-02T08:14:22.250Z door=North event=unknown card=121,08417":         "121,08417",
		"03/02/2026 08:17 AM Yard gate: unknown card FC 121 ID 8419":               "121,8419",
		"2026-03-02 08:20:00 Yard gate: raw 26 bits 0F241C6 denied":                "26:0F241C6",
		"[08:14:22] reader 1: 26 bit data = 0F241C3":                               "26:0F241C3",
		"Mar  2 08:14:22 panel1 wiegand: 26 bits 0x0F241C3":                        "26:0F241C3",
		"2 Mar 2026, 08:14: 26-bit 00111100100100000111000011":                     "bits:00111100100100000111000011",
		"08:14 reader 2 26:0F241C3 no access":                                      "26:0F241C3",
		"2026-03-02 08:14:22,North stair,unknown card,\"121,08417\"":               "121,08417",
		"2026-03-02 08:14:22;3;Unknown;7938273":                                    "7938273",
		"02.03.2026 08:14 | Door 2 | Card No. 0007938273 | rejected":               "0007938273",
		"Rejected badge 8417 at Door 12, 08:14":                                    "8417",
		"08:14:22 tag 04:A2:3B:5C:11:22:80 read at Door 3":                         "04:A2:3B:5C:11:22:80",
		"08:14:22 UID: 04 A2 3B 5C reader 1":                                       "uid:04A23B5C",
		"Event 1001 at 2026-03-02 08:14:22 door 3 site code 121, card number 8417": "121,8417",
		"1  0F241C3  North stair":                                                  "0F241C3",
		"08:14:22 dead battery at door 3, last card 8417":                          "8417",
		"08:14:22.113 RX 00 F2 41 C3":                                              "00 F2 41 C3",
	} {
		got, err := FromLog(line)
		assert.NoError(t, err, line)
		assert.Equal(t, want, got, line)
	}
	for line, want := range map[string]error{
		"2026-03-02 08:14:22 Door 3 opened":      ErrMissing,
		"2026-03-02 08:14:22 Door forced":        ErrMissing,
		"08:14:22 read 0F241C3 then 0F241C6":     ErrAmbiguous,
		"08:14:22 from 0000008417 to 0000008420": ErrAmbiguous,
		"nothing of a card":                      ErrSyntax,
		"":                                       ErrSyntax,
	} {
		got, err := FromLog(line)
		assert.ErrorIs(t, err, want, line)
		assert.Empty(t, got, line)
	}
}

// What else stands in lines of panels, programs and people, made up here: lengths with their labels before the hex and
// behind it, labels the other way round, quotes, brackets, bytes with marks.
func TestCardAmongWords(t *testing.T) {
	for line, want := range map[string]string{
		"len=26 value=0F241C3":                                    "26:0F241C3",
		"2026-11-27 18:02:11 value=0F241C3 len=26":                "26:0F241C3",
		"[2026-11-27T08:14:22.113Z] door=3 bits=26 raw=0x0F241C3": "26:0F241C3",
		`{"raw":"0F241C3","bit_count":26}`:                        "26:0F241C3",
		`{"facility":121,"card":8417,"door":"North"}`:             "121,8417",
		`<event door="3" fc="121" cn="8417"/>`:                    "121,8417",
		"08:14:22 R1 26b 0F241C3":                                 "26:0F241C3",
		"0F241C3 (26 bits) at door 3":                             "26:0F241C3",
		"08:14 raw[26]=0F241C3":                                   "26:0F241C3",
		"+RAW: 26 3C9070C0":                                       "left:26:3C9070C0",
		"bits:00100101111001011000011101 shown as 4B-CB0E":        "bits:00100101111001011000011101",
		"reader 2, 26 bits 3C 90 70 C0":                           "left:26:3C9070C0",
		"1764231262.113 26 0F241C3":                               "26:0F241C3",
		"2026/11/27 08:14,Lobby,unknown,0F241C3,26":               "26:0F241C3",
		"UNKNOWN CARD 0F 24 1C 3":                                 "0F 24 1C 3",
		"Card: 121-08417 Granted":                                 "121-08417",
		"12:04:33 PM  North stair  Card: 121-08417  Granted":      "121-08417",
		"Card number 8417, facility 121, denied":                  "121,8417",
		"08:14 CN 8417 FC 121":                                    "121,8417",
		"Badge 08417 (FC 121) denied":                             "121,08417",
		"F:121 C:8417 at 08:14":                                   "121,8417",
		"wg26 fc=121 cn=8417":                                     "121,8417",
		"Wiegand 26: 121,08417":                                   "121,08417",
		"Access denied: card 121:08417 at door 3":                 "121:08417",
		"Reed, Alma 121,08417":                                    "121,08417",
		"08417 (north gate)":                                      "08417",
		"Door 3 26:0F241C3":                                       "26:0F241C3",
		"2026-11-27 08:14 Door 2 denied 26 bit 121 08417":         "121 08417",
		"Door 2: 26 bits: 121-8417":                               "121-8417",
	} {
		got, err := FromLog(line)
		assert.NoError(t, err, line)
		assert.Equal(t, want, got, line)
	}
	for line, want := range map[string]error{ // a facility, or a door: the heads of the columns would tell
		"27.11.2026 08:14:22;Nord;unbekannt;121;08417":     ErrAmbiguous,
		"11/27/2026 8:14 AM,Lobby,Card Not Found,121,8417": ErrAmbiguous,
		"08:14\t3\t08417":      ErrAmbiguous,
		"08:14:22 Door 3 held": ErrMissing,
	} {
		got, err := FromLog(line)
		assert.ErrorIs(t, err, want, line)
		assert.Empty(t, got, line)
	}
}

// Quotes, brackets and the signs of documents around a card, and labels of every kind; facility 121, number 8417.
func TestWrappedSpellings(t *testing.T) {
	for text, want := range map[string]string{
		`"26:0F241C3"`: "26:0F241C3", "`26:0F241C3`": "26:0F241C3", "<26:0F241C3>": "26:0F241C3", "26:0F241C3.": "26:0F241C3",
		`"121","8417"`: "121,8417", "'121,08417'": "121,08417", "(121) 8417": "121 8417", "121(8417)": "121 8417",
		"[121] [8417]": "121 8417", "121,08417;": "121,08417", "121\u201308417": "121-08417", "121.08417.": "121,08417",
		"Card number 8417, facility 121": "121,8417", "CN 8417 FC 121": "121,8417", "8417 (FC 121)": "121,8417",
		"7,938,273": "7938273", "7.938.273": "7938273", "0 007 938 273": "0007938273", "7'938'273": "7938273",
		"F:121 C:8417": "121,8417", "121  08417": "121 08417", "26 bit: 121 8417": "121,8417",
	} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, all[0].Sightings[0].Text, text)
		assert.Len(t, all[0].Sightings, 1, text)
	}
	for text, as := range map[string]string{
		"26:0F241C3 -> 08417": "a read of 26 bits, and a printed number", "26:0F241C3 | 08417": "a read of 26 bits, and a printed number",
		"26:0F241C3 (08417)": "a read of 26 bits, and a printed number", "26:0F241C3 printed 08417": "a read of 26 bits, and a printed number",
		"DEC: 0007938273 HEX: 7920E1": "a printed number, and a number in hex", "121,08417 0007938273": "a pair, and a printed number",
		"Bin 00111100100100000111000011": "a read of 26 bits", "0-01111001-0010000011100001-1": "a read of 26 bits",
		"raw[26]=0F241C3": "a read of 26 bits", "RAW(26): 0F241C3": "a read of 26 bits",
		"UID=04A23B5C112280": "a chip serial", "Serial number: 04A23B5C": "a chip serial", "uid 0x04A23B5C": "a chip serial",
		"UID (hex): 04 A2 3B 5C": "a chip serial", "Serial number: 0007938273": "a printed number",
	} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		assert.Equal(t, as, all[0].As, text)
	}
	_, err := Spellings("00111100100100000111000011 (10)")
	require.Error(t, err, "what is in brackets is no part of a read")
	for _, text := range []string{"0F241C3h", "$0F241C3", "0x0F 0x24 0x1C 0x3", "0x0F,0x24,0x1C,0x3", "hex:0x0F241C3"} {
		all, err := Spellings(text)
		require.NoError(t, err, text)
		assert.True(t, slices.ContainsFunc(all, func(s Spelling) bool {
			return s.Sightings[0].Bits == wiegand.MustParseBits("26:0F241C3")
		}), text)
	}
}
