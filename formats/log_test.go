package formats

import (
	"testing"

	"github.com/stretchr/testify/assert"
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
		"2026-03-02 08:14:22 Door 3 opened":               ErrMissing,
		"02.03.2026;08:14:22;North;Unknown card;121;8417": ErrMissing, // which of them the heads would say
		"2026-03-02 08:14:22 Door forced":                 ErrMissing,
		"08:14:22 read 0F241C3 then 0F241C6":              ErrAmbiguous,
		"08:14:22 from 0000008417 to 0000008420":          ErrAmbiguous,
		"nothing of a card":                               ErrSyntax,
		"":                                                ErrSyntax,
	} {
		got, err := FromLog(line)
		assert.ErrorIs(t, err, want, line)
		assert.Empty(t, got, line)
	}
}
