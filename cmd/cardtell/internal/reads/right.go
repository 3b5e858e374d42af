package reads

import (
	"slices"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// How many lost bits of one read are tried in every way, and beside how many good reads.
const mostLost, besideReads = 3, 64

// PutRight is a read with lost bits, and what it is taken for.
type PutRight struct{ Read, As wiegand.Bits }

// PutRight returns the cards that were read, those with lost pulses put right where their checks, and the other cards,
// leave one way, and which those are.
func (s *Seen) PutRight(ranker *rank.Ranker) (all []wiegand.Bits, right []PutRight, err error) {
	all = slices.Clone(s.Cards)
	for i, b := range all {
		p, ok := s.Open[b]
		if !ok || p.Open.OnesCount() > mostLost {
			continue
		}
		as, ok, err := s.putRight(ranker, p)
		if err != nil {
			return nil, nil, err
		}
		if ok {
			all[i], right = as, append(right, PutRight{b, as})
		}
	}
	return all, right, nil
}

// putRight weighs what the lost bits of a read can have been.
func (s *Seen) putRight(ranker *rank.Ranker, p Placed) (right wiegand.Bits, ok bool, err error) {
	ways := []wiegand.Bits{p.Bits}
	for i := range p.Bits.Len() {
		if p.Open.Bit(i) == 0 {
			continue
		}
		for k := range ways {
			ways = append(ways, ways[k].WithBit(i, 1-ways[k].Bit(i)))
		}
	}
	read := func(as string, b wiegand.Bits) formats.Spelling {
		return formats.Spelling{As: as, Sightings: formats.Sightings{{Kind: formats.Read, Bits: b}}, Weight: 1}
	}
	spelled := [][]formats.Spelling{{}}
	for _, b := range ways {
		spelled[0] = append(spelled[0], read(b.String(), b))
	}
	for _, b := range s.Cards {
		if s.Sound[b] && b.Len() == p.Bits.Len() && len(spelled) <= besideReads {
			spelled = append(spelled, []formats.Spelling{read("read", b)})
		}
	}
	ans, err := ranker.RankSpellings(spelled)
	if err != nil || ans.Taken[0].Probability < say.Surely || !answer.Fits(&ans.Answer) {
		return right, false, err
	}
	return ans.Taken[0].Cards[0][0].Bits, true, nil
}

// ByLength returns each read once, those of one length together, in the order in which they were first seen.
func ByLength(all []wiegand.Bits) [][]wiegand.Bits {
	var groups [][]wiegand.Bits
	seen := map[wiegand.Bits]bool{}
	for _, b := range all {
		if seen[b] {
			continue
		}
		seen[b] = true
		i := slices.IndexFunc(groups, func(g []wiegand.Bits) bool { return g[0].Len() == b.Len() })
		if i < 0 {
			i, groups = len(groups), append(groups, nil)
		}
		groups[i] = append(groups[i], b)
	}
	return groups
}
