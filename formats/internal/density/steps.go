package density

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Steps is how numbers lie in equal steps, as where every second card of a box was given out, or somebody made them up;
// the zero Steps where they do not.
type Steps struct {
	step      uint64 // from one to the next
	on, count int    // how many of all are in them; the others lie anyhow
	span      uint64 // from the first to the last of those that are
}

// leastSteps is how many numbers it takes to see steps.
const leastSteps = 5

// StepsOf looks for steps that three in four of sorted numbers are in.
func StepsOf(sorted []uint64) (s Steps) {
	n := len(sorted)
	if n < leastSteps {
		return s
	}
	mid := n / 2
	at, step := sorted[mid], sorted[mid]-sorted[mid-1]
	if step < 2 || sorted[mid+1]-at != step && sorted[mid-1]-sorted[mid-2] != step || !AllDifferent(sorted) {
		return s
	}
	first := uint64(0)
	for _, v := range sorted {
		if v%step == at%step {
			if s.on++; s.on == 1 {
				first = v
			}
			s.span = v - first
		}
	}
	if 4*s.on < 3*n {
		return Steps{}
	}
	s.step, s.count = step, n
	return s
}

// OrSteps returns the log probability of numbers, or that they lie in these steps: in a box of which only every so many
// are there. Larger steps are rarer.
func (n *Numbers) OrSteps(log float64, s Steps) float64 {
	if s.step == 0 {
		return log
	}
	step := float64(s.step)
	values := math.Ceil(n.limit / step)
	in := box(s.on, s.span/s.step, values, harmonic(values+1))
	steps := math.Log(judgement.Stepped*2/(step*(step+1)*step)) + in.Log()
	if others := s.count - s.on; others == 0 {
		steps += math.Log1p(-judgement.StepsAstray)
	} else {
		steps += math.Log(judgement.StepsAstray) + logp.Orders(s.on, others) - float64(others)*math.Log(n.limit)
	}
	return logp.Add(log+math.Log1p(-judgement.Stepped), steps)
}
