package reading

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// What spreadsheets do to numbers: 15 digits and zeros after, a power of ten where a cell is narrow, dates from what
// looks like one, zeros dropped (ECMA-376 stores numbers as IEEE 754 doubles; common practice otherwise, no source).
func TestDamageIsRepairedOrDoubted(t *testing.T) {
	pair, number, ten, hex := Shape{}, Shape{Decimal: true}, Shape{Decimal: true, Width: 10}, Shape{Hex: true, Width: 6}
	tests := []struct {
		cell          string
		shape         Shape
		value, repair string // value "": in doubt
		doubt         string
	}{
		{"150,46143", pair, "150,46143", "", ""},
		{"150-46143", pair, "150-46143", "", ""},
		{" 150,46143\u00a0", pair, "150,46143", "white space taken away", ""},
		{`="0012345"`, number, "0012345", `="…" taken away`, ""},
		{"'0012345", number, "0012345", "an apostrophe taken away", ""},
		{"１２３４５", number, "12345", "full-width digits made plain", ""},
		{"9876543", ten, "0009876543", "leading zeros put back", ""},
		{"0009876543", ten, "0009876543", "", ""},
		{"79002A", hex, "79002A", "", ""},
		{"9002", hex, "009002", "leading zeros put back", ""},
		{"12345.0", number, "12345", "a decimal point taken away", ""},
		{"1234.00", number, "1234", "a decimal point taken away", ""},
		{"27.000", number, "", "", "or 27000 with a sign between thousands"}, // 27.000 is 27 here, 27000 there
		{"27000.000", number, "27000", "a decimal point taken away", ""},
		{"1234.50", number, "1234.50", "", ""}, // left for the form to refuse
		{"9,876,543", number, "9876543", "signs between thousands taken away", ""},
		{"9.876.543", number, "9876543", "signs between thousands taken away", ""},
		{"9 876 543", number, "9876543", "signs between thousands taken away", ""},
		{"9,876", number, "9,876", "", ""}, // may be a pair: left for the form to refuse
		{"1.5046143E+07", number, "15046143", "a power of ten written out", ""},
		{"1,5046143E+7", number, "15046143", "a power of ten written out", ""},
		{"5E+0", number, "5", "a power of ten written out", ""},
		{"1.2E+10", number, "", "", "dropped digits: 2 are left of 11"},
		{"1.23457E+11", number, "", "", "dropped digits"},
		{"1.2345678901234567E+16", number, "", "", "dropped digits"},
		{"1.5E-3", number, "", "", "fraction"},
		{"1.55E+1", number, "", "", "dropped digits"},
		{"1.2E+06", hex, "", "", "hex that a spreadsheet took for a power of ten"},
		{"1E1412", hex, "1E1412", "", ""},
		{"12E5", hex, "0012E5", "leading zeros put back", ""},
		{"12-May", pair, "", "", "looks like a date"},
		{"May-12", pair, "", "", "looks like a date"},
		{"12.05.2024", pair, "", "", "looks like a date"},
		{"2024-05-12", pair, "", "", "looks like a date"},
		{"5/12/2024", pair, "", "", "looks like a date"},
		{"2024-05-12 00:00:00", pair, "", "", "looks like a date"},
		{"5-12", pair, "5-12", "", ""},
		{"5/12", pair, "5/12", "", ""},
		{"5-12", number, "", "", "looks like a date"},
		{"12345678901234500", number, "", "", "all digits after the 15th are 0"},
		{"1234567890123450", number, "1234567890123450", "", ""},
		{"12345678901234567", number, "12345678901234567", "", ""},
		{"11001011010110100000000000", number, "11001011010110100000000000", "", ""}, // a read
		{"", pair, "", "", "the cell is empty"},
		{" \t", pair, "", "", "the cell is empty"},
		{"#N/A", pair, "#N/A", "", ""}, // left for the form to refuse
	}
	for _, tt := range tests {
		m := Mend([]byte(tt.cell), tt.shape)
		assert.Equal(t, tt.value, string(m.Value), "%q", tt.cell)
		assert.Equal(t, tt.repair, m.Repair, "%q", tt.cell)
		if tt.doubt == "" {
			assert.Empty(t, m.Doubt, "%q", tt.cell)
		} else {
			assert.Contains(t, m.Doubt, tt.doubt, "%q", tt.cell)
		}
	}
}

// The fast look at a cell lets nothing through that the slow one would repair or doubt.
func TestSoundCellsNeedNothing(t *testing.T) {
	signs := []byte("0195,-/.E+ 'Ae\"")
	for _, shape := range []Shape{{}, {Decimal: true}, {Decimal: true, Width: 3}, {Hex: true}, {Hex: true, Width: 4}} {
		cell := make([]byte, 0, 5)
		var try func(int)
		try = func(n int) {
			if Sound(cell, shape) {
				m := mend(cell, shape)
				assert.Equal(t, Mended{Value: cell}, m, "%q %+v", cell, shape)
			}
			if n == 0 {
				return
			}
			for _, c := range signs {
				cell = append(cell, c)
				try(n - 1)
				cell = cell[:len(cell)-1]
			}
		}
		try(4)
	}
	assert.False(t, Sound([]byte("12345678901234500"), Shape{Decimal: true}), "long numbers are looked at")
}

// A full stop between facility and number is a sign where the number has all its digits. Where it has fewer, a
// spreadsheet may have taken zeros from its end: 2236.10036 is left of 2236.1003600, too.
func TestFullStopBetween(t *testing.T) {
	var texts []string
	for n := range 30 {
		texts = append(texts, fmt.Sprintf("2236.%07d", 1003600+n))
	}
	p := settledOn(t, []formats.Population{kind("35-12-20", "pair", 2236)}, texts, Options{})
	assert.Equal(t, []string{"35-12-20 2236,1003620", "unreadable", "unreadable"},
		outcomes(p, "2236.1003620", "2236.10036", "2236.100362"))
}
