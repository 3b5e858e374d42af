package worlds

import (
	"cmp"
	"fmt"
	"hash/fnv"
	"math"
	"math/rand/v2"
	"slices"
	"strings"
	"sync"
	"sync/atomic"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/calibration"
)

// Engine is what is judged: the two questions that can be asked of a sample. An error is an answer that states nothing.
type Engine struct {
	Identify func(cards []formats.Sightings) ([]Group, error)
	Learn    func(cards []formats.Sightings) ([]Learned, error)
}

// The series of a world: what is asked, and of what a statement is.
const (
	Identify = "identify"
	Cards    = "cards" // identify, a card that does not fit the others
	Learn    = "learn"
)

// SeriesNames returns the series in the order of the table.
func SeriesNames() []string { return []string{Identify, Cards, Learn} }

// Score is the verdicts of one series of a world.
type Score struct {
	calibration.Forecasts
	Above90, Wrong90 int // stated above 0.9, and how many of them are wrong
	Above99, Wrong99 int
	Worst            []Example // what was wrong, the surest first
	Timid            []Example // what was right, the least sure first
}

// Example is a statement, and where it came from.
type Example struct {
	Verdict
	Sample int // its place among the samples of the world
}

func (s *Score) add(v Verdict, sample int) {
	s.Add(v.Stated, v.True)
	if v.Stated > 0.9 {
		s.Above90++
	}
	if v.Stated > 0.99 {
		s.Above99++
	}
	if v.True {
		s.Timid = append(s.Timid, Example{v, sample})
		return
	}
	if v.Stated > 0.9 {
		s.Wrong90++
	}
	if v.Stated > 0.99 {
		s.Wrong99++
	}
	s.Worst = append(s.Worst, Example{v, sample})
}

// Measured is what an engine's statements about one world are worth, by series.
type Measured struct {
	World  World
	Scores map[string]*Score // those that have any verdict
}

// Sample draws the sample at a place, from 0, of those of a seed: each by itself, so that one can be looked at without
// the others.
func (w *World) Sample(seed uint64, at int) Sample {
	h := fnv.New64a()
	fmt.Fprintf(h, "%s %d", w.Name, at)
	return w.Draw(rand.New(rand.NewPCG(seed, h.Sum64())))
}

type verdicts map[string][]Verdict

// Measure asks an engine about n samples of a world, several at a time, and judges the answers. They come out the same
// for any number of workers.
func Measure(w World, seed uint64, n, workers int, e Engine) Measured {
	n = max(1, n/max(1, w.OneIn))
	all := make([]verdicts, n)
	var wait sync.WaitGroup
	var taken atomic.Int64 // some samples take a hundred times as long as others
	for range workers {
		wait.Go(func() {
			for i := int(taken.Add(1)) - 1; i < n; i = int(taken.Add(1)) - 1 {
				s := w.Sample(seed, i)
				all[i] = ask(&s, e, rand.New(rand.NewPCG(seed, uint64(i))))
			}
		})
	}
	wait.Wait()
	m := Measured{World: w, Scores: map[string]*Score{}}
	for i, v := range all {
		for _, name := range SeriesNames() {
			for _, one := range v[name] {
				if m.Scores[name] == nil {
					m.Scores[name] = &Score{}
				}
				m.Scores[name].add(one, i)
			}
		}
	}
	for _, s := range m.Scores {
		slices.SortStableFunc(s.Worst, func(a, b Example) int { return cmp.Compare(b.Stated, a.Stated) })
		slices.SortStableFunc(s.Timid, func(a, b Example) int { return cmp.Compare(a.Stated, b.Stated) })
	}
	return m
}

func ask(s *Sample, e Engine, rng *rand.Rand) verdicts {
	v := verdicts{}
	if groups, err := e.Identify(s.Cards); err == nil {
		v[Identify], v[Cards] = s.Identify(groups), s.Doubted(groups)
	}
	if learned, err := e.Learn(s.Cards); err == nil {
		v[Learn] = s.Learn(learned, rng)
	}
	return v
}

// Limits of what is honest: how much of what is stated that high may be wrong, and how far stated and true may be
// apart.
const (
	limit90      = 0.05
	limit99      = 0.01
	limitBin     = 0.05
	limitOutside = 0.10
	leastBin     = 30 // of fewer forecasts in a tenth nothing is said
)

// chanceTail is the chance that an honest engine fails one criterion by the luck of the draw, at most. There are some
// 200 in a table.
const chanceTail = 0.0005

// WorstBin returns the tenth, of those with enough forecasts, in which stated and true are furthest apart, and stated
// minus true there; ok is false where there is none.
func (s *Score) WorstBin() (tenth int, gap float64, ok bool) {
	for i := range calibration.Bins {
		b := s.Bin(i)
		if b.N < leastBin {
			continue
		}
		if d := (b.Stated - float64(b.True)) / float64(b.N); !ok || math.Abs(d) > math.Abs(gap) {
			tenth, gap, ok = i, d, true
		}
	}
	return tenth, gap, ok
}

// Fails returns the criteria that a series does not meet, beyond what the luck of the draw makes of so many samples:
// "0.9", "0.99" or "gap".
func (s *Score) Fails(outside bool) []string {
	var fails []string
	if low, _ := band(s.Wrong90, s.Above90); low > limit90 {
		fails = append(fails, "0.9")
	}
	if low, _ := band(s.Wrong99, s.Above99); low > limit99 {
		fails = append(fails, "0.99")
	}
	limit := limitBin
	if outside {
		limit = limitOutside
	}
	for i := range calibration.Bins {
		b := s.Bin(i)
		if b.N < leastBin {
			continue
		}
		said := b.Stated / float64(b.N)
		if low, high := band(b.True, b.N); said > high+limit || said < low-limit {
			return append(fails, "gap")
		}
	}
	return fails
}

// band returns bounds of the probability of something that came k times in n, of which each is wrong at most once in
// 1/chanceTail times.
func band(k, n int) (low, high float64) { return calibration.Within(k, n, chanceTail) }

// Head is the head of the table.
func Head() []string {
	return []string{"world", "series", "n", "right", "stated", "above90", "wrong90", "above99", "wrong99", "worst_from",
		"worst_gap", "log_bits", "fails"}
}

// Rows returns the rows of the table for a world, one for each series.
func (m *Measured) Rows() calibration.Table {
	var t calibration.Table
	for _, name := range SeriesNames() {
		s := m.Scores[name]
		if s == nil {
			continue
		}
		from, worst := "", ""
		if tenth, gap, ok := s.WorstBin(); ok {
			from, worst = fmt.Sprintf("%.1f", float64(tenth)/calibration.Bins), calibration.Cells(gap)[0]
		}
		t = append(t, append([]string{m.World.Name, name}, calibration.Cells(s.N(), float64(s.True())/float64(s.N()),
			s.Stated(),
			s.Above90, share(s.Wrong90, s.Above90), s.Above99, share(s.Wrong99, s.Above99), from, worst, s.Log(),
			strings.Join(s.Fails(m.World.Outside), " "))...))
	}
	return t
}

func share(k, n int) float64 {
	if n == 0 {
		return 0
	}
	return float64(k) / float64(n)
}
