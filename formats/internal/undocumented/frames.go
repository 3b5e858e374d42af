package undocumented

import (
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/wiegand"
)

// Frame is the length and the checks of formats of the catalogue, whatever their data bits are.
type Frame struct {
	Format   *formats.Format // the commonest format that has it
	Layout   *wiegand.Layout // that format's
	From, To int             // indices of the data bits, which lie together

	Log     float64  // prior of the frame with parts that no table has
	Numbers [][2]int // where its formats have their numbers
	listed  float64  // how much of the prior of places those have
}

// FramesOf returns the frames of a catalogue by length; what stands for the prior is a weight, beside those of formats.
func FramesOf(cat formats.Catalogue) map[int][]Frame {
	all := map[int][]Frame{}
	weights := map[int][]float64{}
	for i := range cat.Len() {
		f := cat.At(i)
		from, to, ok := dataRun(f)
		if !ok {
			continue
		}
		n := f.Layout.Len()
		at := slices.IndexFunc(all[n], func(g Frame) bool {
			return g.From == from && g.To == to &&
				sameChecks(g.Layout, f.Layout)
		})
		other := f.Weight * judgement.UnlistedSplit
		if f.Standing == formats.FromMemory {
			other += f.Weight * judgement.MemorySplit
		}
		var number [2]int
		if i := f.Number(); i >= 0 {
			if spans := f.Layout.Spec().Fields[i].Bits; len(spans) == 1 && spans[0].Step < 2 &&
				f.Layout.Spec().Fields[i].Order == wiegand.MSBFirst {
				number = [2]int{spans[0].From - 1, spans[0].To}
			}
		}
		if at < 0 {
			all[n] = append(all[n], Frame{Format: f, Layout: f.Layout, From: from, To: to, Log: other + judgement.UnlistedAnyway,
				Numbers: [][2]int{number}})
			weights[n] = append(weights[n], f.Weight)
			all[n][len(all[n])-1].listed = listedPlace(number, from, to)
			continue
		}
		if !slices.Contains(all[n][at].Numbers, number) {
			all[n][at].Numbers = append(all[n][at].Numbers, number)
			all[n][at].listed += listedPlace(number, from, to)
		}
		if all[n][at].Log += other; f.Weight > weights[n][at] {
			all[n][at].Format, all[n][at].Layout, weights[n][at] = f, f.Layout, f.Weight
		}
	}
	return all
}

// listedPlace is the prior of a number's place in an undocumented layout; 0 for none.
func listedPlace(number [2]int, from, to int) float64 {
	if number[1] == 0 {
		return 0
	}
	return plainPlace * usualPlace(Place{From: number[0], To: number[1]}, from, to)
}

// dataRun returns the indices of a format's data bits where they are plain bits that lie together, and nothing but
// parity is beside them.
func dataRun(f *formats.Format) (from, to int, ok bool) {
	if f.Kind == formats.KindKeypad || f.Layout.Len() < judgement.UnknownLow || f.Layout.Len() > 2*judgement.UnknownHigh {
		return 0, 0, false
	}
	from, to = f.Layout.Len(), 0
	count := 0
	for _, field := range f.Layout.Spec().Fields {
		if field.Coding != wiegand.Binary || field.Name == wiegand.FieldUnknown || field.Constant != "" {
			return 0, 0, false
		}
		for bit := range field.Bits.Bits() {
			from, to = min(from, bit-1), max(to, bit)
			count++
		}
	}
	for _, c := range f.Layout.Checks() {
		if c.Kind != wiegand.Even && c.Kind != wiegand.Odd {
			return 0, 0, false
		}
	}
	return from, to, count == to-from && count >= 4
}

// sameChecks reports whether two layouts of one length have the same parity checks.
func sameChecks(a, b *wiegand.Layout) bool {
	return slices.EqualFunc(a.Spec().Checks, b.Spec().Checks, func(x, y wiegand.Check) bool {
		return x.Kind == y.Kind && x.Bit == y.Bit && x.Over.String() == y.Over.String()
	})
}
