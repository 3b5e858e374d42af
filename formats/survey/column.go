package survey

import (
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/reading"
)

// ColumnSample is how many different numbers [Column] looks at.
const ColumnSample = 64

// Column returns the formats that the numbers of a column can have in any of the forms, likeliest first; none where the
// numbers do not tell. Numbers that are written otherwise than most are damaged, or typed, and would speak for formats
// that the column does not have: they do not count.
func Column(cat formats.Catalogue, samples, forms []string) ([]Likely, error) {
	numbers := readable(cat, usualShape(samples), forms)
	if len(numbers) == 0 {
		return nil, nil
	}
	ranker, err := rank.New(cat)
	if err != nil {
		return nil, err
	}
	return Formats(cat, ranker, numbers[:min(len(numbers), ColumnSample)], forms)
}

// mostFrequent returns what most texts have in common; of two that are as frequent, what was there first.
func mostFrequent[K comparable](texts []string, of func(string) K) (usual K) {
	counts := map[K]int{}
	for _, s := range texts {
		k := of(s)
		if counts[k]++; counts[k] > counts[usual] {
			usual = k
		}
	}
	return usual
}

// usualShape returns the samples that are written like most, without what is around them: digits alone, or two
// numbers with the same sign between.
func usualShape(samples []string) (same []string) {
	label := reading.LabelOf(samples, false, false)
	for _, s := range samples {
		same = append(same, reading.WithoutLabel(reading.Clean(s).Text, label))
	}
	usual := mostFrequent(same, shape)
	return slices.DeleteFunc(same, func(s string) bool { return shape(s) != usual })
}
