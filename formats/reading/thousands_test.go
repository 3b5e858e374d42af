package reading

import (
	"fmt"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/formats"
)

// Two groups of digits are one number where the list has numbers by themselves and this one goes with them; and are
// refused where they can be facility and number, or 27 with three decimal places. The numbers are counted up here; that
// spreadsheets write them so is common practice, no source.
func TestASignBetweenThousandsAmongBareNumbers(t *testing.T) {
	var sample, pairs, column, short, places, partly, fractions []string
	for i := range 40 {
		sample = append(sample, strconv.Itoa(26_900+17*i))
		pairs = append(pairs, fmt.Sprintf("27,%d", 100+i))
		column = append(column, fmt.Sprintf("%d,%03d", 25+i/10, 25*(i+1)-1))
		places = append(places, fmt.Sprintf("%d,00", 26_900+17*i))
		fractions = append(fractions, fmt.Sprintf("%d.0", 26_900+17*i))
		partly = append(partly, fmt.Sprintf("%d,%02d", 26_900+17*i, i%2))
		short = append(short, fmt.Sprintf("27,%d", 1+25*i))
	}
	site := func(printed string, facility, first, last uint64) []formats.Population {
		one := kind("26-8-16", printed, facility)
		one.Numbers = []formats.Range{{First: first, Last: last}}
		return []formats.Population{one}
	}
	texts := []string{"27,217", "27.218", "27'219", "27,217,1", "27,000", "31,217"}
	tests := []struct {
		name   string
		cards  []formats.Population
		sample []string
		texts  []string
		want   []string
	}{
		{"blocks", site("number", 44, 26_000, 28_000), append(sample, "27,217"), texts, []string{
			"26-8-16 044,27217", "26-8-16 044,27218", "26-8-16 044,27219", "unreadable", "unreadable", "unreadable"}},
		{"its first group is the facility", site("number", 27, 26_000, 28_000), sample, texts[:1], []string{"unreadable"}},
		{"a neighbour's pairs", site("number", 44, 26_000, 28_000), append(sample, pairs...), texts[:1],
			[]string{"unreadable"}},
		{"numbers that lie too far apart", site("number", 44, 1, 60_000), sample, texts[:1], []string{"unreadable"}},
		{"a whole column, in blocks", site("number", 44, 25_000, 28_999), column, []string{"27,217", "27.018"}, []string{
			"26-8-16 044,27217", "26-8-16 044,27018"}},
		{"a whole column, blocks not known", []formats.Population{kind("26-8-16", "number", 44)}, column,
			[]string{"27,599", "26,324"}, []string{"26-8-16 044,27599", "26-8-16 044,26324"}},
		{"a whole column of another's pairs", site("number", 44, 26_000, 28_000), pairs, texts[:1], []string{"unreadable"}},
		{"pairs of few digits and of many", site("number", 44, 26_000, 28_000), short, texts[:1], []string{"unreadable"}},
		{"decimal places", site("number", 44, 26_000, 28_000), []string{"26,000", "27,000", "27,100", "27,200", "27,300",
			"27,400", "27,500", "27,600"}, texts[:1], []string{"unreadable"}},
		{"two decimal places in all of a column", site("number", 44, 26_000, 28_000), places,
			[]string{"27217,00", "27218", "27219,05"}, []string{"26-8-16 044,27217", "26-8-16 044,27218", "unreadable"}},
		{"a slip among fractions", []formats.Population{kind("26-8-16", "number", 44)}, fractions,
			[]string{"27217.0", "57217.0"}, []string{"26-8-16 044,27217", "damaged"}},
		{"decimal places of a few numbers", site("number", 44, 26_000, 28_000), places[:4], []string{"27217,00"},
			[]string{"unreadable"}},
		{"other digits behind the comma", site("number", 44, 26_000, 28_000), partly, []string{"27217,00"},
			[]string{"unreadable"}},
		{"decimal places where pairs are printed", site("pair", 44, 26_000, 28_000), places, []string{"27217,00"},
			[]string{"damaged"}},
		{"a whole column where pairs are printed", site("pair", 44, 25_000, 28_999), column, texts[:1],
			[]string{"wrong-facility"}},
		{"pairs are printed", site("pair", 44, 26_000, 28_000), sample, texts[:1], []string{"wrong-facility"}},
	}
	for _, tt := range tests {
		p := settledOn(t, tt.cards, tt.sample, Options{})
		assert.Equal(t, tt.want, outcomes(p, tt.texts...), tt.name)
	}
}
