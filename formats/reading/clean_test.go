package reading

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// What is cleaned is said, and only what is certain is done.
func TestClean(t *testing.T) {
	for cell, want := range map[string]Cleaned{
		"9876543":            {Text: "9876543"},
		" 9876543\u00A0":     {"9876543", []string{"white space taken away"}, ""},
		"\uFEFF121,43\u200B": {"121,43", []string{"white space taken away"}, ""},
		"\u202B121,43\u202C": {"121,43", []string{"white space taken away"}, ""},
		"\u2067121,43\u2069": {"121,43", []string{"white space taken away"}, ""},
		"9\u00A0876\u00A0543": {"9876543", []string{"no-break spaces between groups of three digits taken away"},
			""},
		"9\u202F876\u202F543 ": {"9876543", []string{"white space taken away",
			"narrow no-break spaces between groups of three digits taken away"}, ""},
		"9\u2009876\u2009543.": {"9876543", []string{"a full stop at the end taken away",
			"thin spaces between groups of three digits taken away"}, ""},
		"9876543.":               {"9876543", []string{"a full stop at the end taken away"}, ""},
		"1B33008D.":              {"1B33008D", []string{"a full stop at the end taken away"}, ""},
		"Anna.":                  {"Anna.", nil, ""},
		"121.043":                {"121.043", nil, "121043, with the sign between groups of three digits"},
		"121\u00A0043":           {"121\u00A0043", nil, "121043, with the sign between groups of three digits"},
		"121.00043":              {"121,00043", []string{"a sign between two numbers made a comma"}, ""},
		"121.0043":               {Text: "121.0043"},
		"1.21.00043":             {Text: "1.21.00043"},
		"121, 043":               {"121,043", []string{"white space between two numbers taken away"}, ""},
		"121  043":               {"121 043", []string{"white space between two numbers taken away"}, ""},
		"121, 043, 044":          {"121, 043, 044", nil, ""},
		"(121) 00043":            {"121,00043", []string{"brackets around the first of two numbers made a comma"}, ""},
		"(121)43":                {"121,43", []string{"brackets around the first of two numbers made a comma"}, ""},
		"(121)":                  {Text: "(121)"},
		"(old) 121":              {Text: "(old) 121"},
		"9.876.543":              {"9.876.543", nil, "9876543, with full stops between groups of three digits"},
		"12\u00A03456":           {Text: "12\u00A03456"},
		"1234\u00A0567\u00A0890": {Text: "1234\u00A0567\u00A0890"},
		"x.":                     {Text: "x."},
		"":                       {},
		"\u00A0":                 {"", []string{"white space taken away"}, ""},
		"9\u00A0876\u202F543":    {Text: "9\u00A0876\u202F543"},
		"12\u00A0345\u00A0678\u00A0901": {"12345678901",
			[]string{"no-break spaces between groups of three digits taken away"}, ""},
	} {
		assert.Equal(t, want, Clean(cell), "%q", cell)
	}
	for cell, want := range map[string][]string{
		"1,2 and 3,4": {"1,2", "3,4"}, "1;2;3": {"1", "2", "3"}, "1,2\n3,4": {"1,2", "3,4"}, "1 & 2": {"1", "2"}, "1;2;": {"1", "2"},
		"121,08417 / 121,08418": {"121,08417", "121,08418"}, "121,08417, 121,08418": {"121,08417", "121,08418"},
		"121/8417 121/8418": {"121/8417", "121/8418"}, "0007929979 0007929980": {"0007929979", "0007929980"},
		"0007929979/0007929980": nil, "121,43": nil, "121 43": nil, "121 / 43": nil, "121, 43": nil, "8417, 8418": nil,
		"121,43 -> 121,44": nil, "121,43 (was 121,44)": nil, "Ann and 1": nil, "1 and": nil, ";": nil, "": nil,
		"9 876 543": nil, "123 456 789 012": nil, "1;": nil,
		"D1FB00E8 / D1FC00E0": {"D1FB00E8", "D1FC00E0"}, "4A:C2:E4:92; 29:C2:E4:92": {"4A:C2:E4:92", "29:C2:E4:92"},
		"D1FB00E8 + 11223344": {"D1FB00E8", "11223344"}, "4A C2 E4 92": nil,
		"26:38E0010 + 26:38E028B": {"26:38E0010", "26:38E028B"}, "see deface 2": nil, "2024-05-12 121,5": nil,
	} {
		assert.Equal(t, want, Parts(cell), "%q", cell)
	}
	for v, want := range map[string]bool{"0009876543": true, "3907E7": true, "9876543": false, "121,00043": false,
		"5-12": true, "1234567890123456": true, "0": false, "96B43F": false, "26:32D687E": false} {
		assert.Equal(t, want, Fragile([]byte(v)), v)
	}
}
