package reading

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// What office programs leave in cells, in several languages. The cards were worked out by hand: 121 · 65536 + 17 is
// 7929873 (SIA AC-01-1996.10). That spreadsheets make dates of 5-12 is common practice, no source.
func TestCellsAsOfficesWriteThem(t *testing.T) {
	sample := []string{"121,00017", "121,00018", "121,00044"}
	p := settledOn(t, []formats.Population{kind("26-8-16", "pair", 121)}, sample, Options{})
	assert.Equal(t, []string{"26-8-16 121,00017", "26-8-16 121,00018"}, outcomes(p, "121,00017.", "121 00018."))
	for _, date := range []string{"12-Mai", "12. Dez. 2026", "3 févr. 2026", "12-Okt", "5 dic 2026", "01.12.2026"} {
		assert.Equal(t, []string{"damaged"}, outcomes(p, date), date)
	}

	// a number of ten digits is a card's as printed and as a door shows it: it is the same card
	both := []formats.Population{kind("34-0-32", "number10")}
	p = settledOn(t, both, []string{"0005000017", "0005000019"}, Options{Second: []string{"decimal10"}})
	var s Seen
	assert.NoError(t, p.Read([]byte("0005000017"), &s))
	assert.False(t, s.Reading.Second())
}

// A column in which every number is written with words or signs around it, as offices do: common practice, no source.
// The cards are made here: 121 · 65536 + 17 is 7929873 (SIA AC-01-1996.10), 790011 in hex.
func TestColumnsWithWordsAndSigns(t *testing.T) {
	pair, whole, hex := kind("26-8-16", "pair", 121), kind("26-8-16", "decimal", 121), kind("26-8-16", "hex", 121)
	for _, one := range []struct {
		cards formats.Population
		write string
	}{
		{pair, "FC 121 ID %d"}, {pair, "FC:121 CN:%d"}, {pair, "FC 121,%d"}, {pair, "FC121 %d"}, {pair, "#121,%d"},
		{pair, "No. 121 %d"}, {pair, "121:%d"}, {pair, "121 - %d"}, {pair, "121 / %d"}, {pair, "121\u2013%d"},
		{pair, "121 \u2014 %d"}, {pair, "%d FC 121"},
		{whole, "#%d"}, {whole, "No. %d"}, {whole, "N\u00B0 %d"}, {kind("26-8-16", "decimal10", 121), "Nr %010d"},
		{hex, "0x%06X"}, {hex, "%X:%X:%X"}, {hex, "%X-%X-%X"}, {hex, "%X %X %X"},
	} {
		var sample, want []string
		for i := range 30 {
			n := 4113 + 7*i // whose two bytes have two digits in hex
			numbers := []any{n}
			switch {
			case one.cards.Printed == "decimal" || one.cards.Printed == "decimal10" || strings.Contains(one.write, "06X"):
				numbers = []any{121<<16 + n}
			case one.cards.Printed == "hex":
				numbers = []any{121, n >> 8, 128 | n&127}
				n = n&^255 | 128 | n&127
			}
			sample = append(sample, fmt.Sprintf(one.write, numbers...))
			want = append(want, fmt.Sprintf("26-8-16 121,%05d", n))
		}
		p := settledOn(t, []formats.Population{one.cards}, sample, Options{})
		assert.Equal(t, want, outcomes(p, sample...), one.write)
	}

	// words of another meaning are no part of a number, and a read keeps its length
	p := settledOn(t, []formats.Population{pair}, []string{"121,00017", "121,00018", "121,00044"}, Options{})
	for _, text := range []string{"lost 121,00017", "old #121,00017", "ext 17", "FC 121,00017 (lost)", "26:0000017", "FC 121"} {
		assert.NotContains(t, outcomes(p, text)[0], "26-8-16", text)
	}
}

// What is only around a number says nothing of it: the row is as sure as without, also where cards of anybody can stand
// in the list. 597 · 65536 + 7952 is 39132944.
func TestWhatIsAroundANumber(t *testing.T) {
	cards := formats.Population{Format: "34-16-16", Printed: "number", Facilities: []uint64{597},
		Numbers: []formats.Range{{First: 7901, Last: 8000}}}
	var sample []string
	for i := range 50 {
		sample = append(sample, fmt.Sprint(7901+2*i))
	}
	p := settledOn(t, []formats.Population{cards}, sample, Options{Any: true, Others: true, Second: []string{"decimal10", "hex"}})
	for _, text := range []string{"7952", " 7952 ", `="7952"`, "'7952", "7952.", "No. 7952", "\uFF17\uFF19\uFF15\uFF12"} {
		assert.Equal(t, []string{"34-16-16 00597,07952"}, outcomes(p, text), text)
	}
	for text, why := range map[string]string{"see Ann": "there is no number in it", "7952 (lost)": "more than a card number",
		"7952 -> 7953": "more than a card number", "79O2": "is no digit"} {
		assert.ErrorContains(t, p.Read([]byte(text), &Seen{}), why, text)
	}
}
