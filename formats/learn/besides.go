package learn

import (
	"fmt"
	"math"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// besides weighs that prints have more on them than the card's number, where most of a kind have nothing to do with the
// reads as they stand, or there are several kinds by that. The results are those of the likeliest way, by how probable
// that is. Cards of several lengths are printed in as many ways.
func besides(model *evidence.Model, reads []Read, all []Result) ([]Result, error) {
	length := all[0].Length
	if slices.ContainsFunc(all, func(r Result) bool { return r.Length != length }) || len(all) == 1 && !astray(&all[0]) {
		return all, nil
	}
	prints, places := numberPrints(reads)
	ways := append([]typing.Besides{{Prints: prints}}, typing.BesidesOf(prints)...)
	if len(ways) == 1 {
		return all, nil
	}
	some := min(sampled, len(reads))
	logs, err := weigh(model, reads[:some], places, ways)
	if some < len(reads) && err == nil {
		total := logp.Sum(logs)
		left := ways[:1]
		for k := 1; k < len(ways); k++ {
			if logs[k]-total > remote {
				left = append(left, ways[k])
			}
		}
		ways = left
		logs, err = weigh(model, reads, places, ways)
	}
	if err != nil {
		return nil, err
	}
	best := slices.Index(logs, slices.Max(logs))
	p := math.Exp(logs[best] - logp.Sum(logs))
	if best > 0 {
		if all, err = learnFrom(model, withPrints(reads, places, ways[best].Prints)); err != nil {
			return nil, err
		}
		all[0].Warnings = append(all[0].Warnings, fmt.Sprintf("what is printed is taken for %s, with probability %s",
			ways[best].Words, decimals(p)))
	}
	for i := range all {
		all[i].Probability *= p
	}
	return all, nil
}

// sampled is how many reads show which ways are out of the question, and remote the log of the probability below which
// one is.
const sampled, remote = 8, -20

// weigh returns the log of the probability of each way, and of some reads in it.
func weigh(model *evidence.Model, reads []Read, places []int, ways []typing.Besides) ([]float64, error) {
	memory, logs := new(evidence.Memory), make([]float64, len(ways))
	printed, _ := slices.BinarySearch(places, len(reads)) // of these reads
	for k, w := range ways {
		s, err := sortReads(withPrints(reads, places, w.Prints))
		if err != nil {
			return nil, err
		}
		log, err := model.Apart(s.sightings, memory)
		if err != nil {
			return nil, err
		}
		logs[k] = log + w.Log(printed)
	}
	return logs, nil
}

// astray reports whether the prints of a kind have to do with nothing, or more of them than are slips.
func astray(r *Result) bool {
	wrong := 0
	for i := range r.Misreads {
		wrong += min(1, len(r.Misreads[i].Printed))
	}
	return r.Printed > 0 && (r.Unrelated >= 0.5 || 4*wrong >= r.Printed)
}

// numberPrints returns the prints, and whose they are, but for serials.
func numberPrints(reads []Read) (prints []string, places []int) {
	for i, r := range reads {
		if print, known, err := printOf(r.Line, r.Printed); err == nil && known && print.Kind != formats.Serial {
			prints, places = append(prints, typing.PrintText(print)), append(places, i)
		}
	}
	return prints, places
}

func withPrints(reads []Read, places []int, prints []string) []Read {
	reads = slices.Clone(reads)
	for k, i := range places {
		if i < len(reads) {
			reads[i].Printed = prints[k]
		}
	}
	return reads
}
