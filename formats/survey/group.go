package survey

import (
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/rank"
)

// group is numbers that are of one kind, and how else they may be parted.
type group struct {
	texts     []string
	apart     bool // they begin alike, and go less with numbers that are anything
	otherwise []otherwise
}

// otherwise is another way to part numbers of a group, and others.
type otherwise struct {
	parts       [][]string
	probability float64
}

// formats returns what Formats does of the group, weighed with what it would of each other way to part its numbers: a
// number of it is of any part, as many as that has. asked has what was found of parts, which several groups share.
func (g *group) formats(cat formats.Catalogue, r *rank.Ranker, forms []string, asked map[string][]Likely) (all []Likely,
	err error) {
	left := 1.0
	for _, o := range g.otherwise {
		left -= o.probability
	}
	for _, o := range append([]otherwise{{[][]string{g.texts}, max(0, left)}}, g.otherwise...) {
		n := 0
		for _, part := range o.parts {
			n += len(part)
		}
		for _, part := range o.parts {
			key := strings.Join(part, "\n")
			likely, known := asked[key]
			if !known {
				if likely, err = Formats(cat, r, part, forms); err != nil {
					return nil, err
				}
				asked[key] = likely
			}
			for _, l := range likely {
				l.Probability *= o.probability / max(1, 1-left) * float64(len(part)) / float64(n)
				k := slices.IndexFunc(all, func(k Likely) bool {
					is := k.Format == l.Format || slices.Contains(k.Alike, l.Format)
					return is && k.Form == l.Form && k.Part == l.Part
				})
				if k < 0 {
					all = append(all, l)
					continue
				}
				all[k].Probability += l.Probability
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Probability > all[j].Probability })
	return all, nil
}

// parted parts a group in numbers that begin alike and others, where these are likelier two kinds: Kinds parts what
// does not look alike, and numbers of two kinds do in one form. What is not likelier is another way to part them.
func (g *group) parted(m *evidence.Model, memory *evidence.Memory) []*group {
	n := len(g.texts)
	log := func(texts []string) float64 {
		v, err := m.Evidence(sightings(texts), memory)
		if err != nil { // as of those of a shape that is none of prints
			return math.Inf(1)
		}
		return v
	}
	gain, last, whole := math.Inf(-1), 0, math.NaN()
	var both [][]string
	for digits := 2; digits < len(g.texts[0])-1 && digits <= mostBeginning && n >= 2*leastOfKind; digits++ {
		begin := func(text string) string { return text[:min(digits, len(text))] }
		most := mostFrequent(g.texts, begin)
		var alike, others []string
		for _, text := range g.texts {
			if begin(text) == most {
				alike = append(alike, text)
			} else {
				others = append(others, text)
			}
		}
		deal := math.Log(judgement.SeveralKinds/(1-judgement.SeveralKinds)/float64(n)) - logp.Choose(n, len(alike))
		byChance := float64(len(alike)-1)*float64(digits)*math.Ln10+deal < 0
		if byChance || min(len(alike), len(others)) < leastOfKind || len(alike) == last { // the same ones once more
			continue
		}
		if last = len(alike); math.IsNaN(whole) {
			whole = log(g.texts)
		}
		if more := log(alike) + log(others) - whole + deal; more > gain {
			gain, both = more, [][]string{alike, others}
		}
	}
	p := 1 / (1 + math.Exp(-gain))
	switch {
	case p < 0.5 && p > unlikely:
		g.otherwise = append([]otherwise{{both, p}}, g.otherwise...)
		fallthrough
	case !(p >= 0.5):
		return []*group{g}
	}
	var all []*group
	for i, part := range both {
		so := append([]otherwise{{[][]string{g.texts}, 1 - p}}, g.otherwise...)
		all = append(all, (&group{part, i == 0, so}).parted(m, memory)...)
	}
	return all
}

// mostBeginning is how many digits show that numbers begin alike, and unlikely the probability of another way to part
// numbers that says nothing.
const mostBeginning, unlikely = 8, 2e-3
