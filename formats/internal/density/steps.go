package density

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Steps is how numbers lie in equal steps, as where every second card of a box was given out, or somebody made them up.
type Steps struct {
	step        uint64 // from one to the next; 0 where they do not
	on, count   int    // how many different ones of all are in them; the others lie anyhow
	again       int    // or are one of those once more
	least, most uint64 // of those that are
}

// leastSteps is how many numbers it takes to see steps, and stepsSeen is how many of them next to one another show
// what the step of most is, at so many places at most.
const leastSteps, stepsSeen, stepsPlaces = 5, 4, 8

// largestStep is the largest that people make. Larger ones are those of a box whose bits or bytes are taken in the
// wrong order; numbers in those are in the steps that divide them, too.
const largestStep = 100

// StepsOf looks for steps that all of sorted numbers are in, or three in four.
func StepsOf(sorted []uint64) Steps {
	n := len(sorted)
	s := Steps{count: n}
	if n < leastSteps {
		return s
	}
	step := stepOf(sorted)
	within := min(step, largestStep)
	for within > 1 && step%within > 0 {
		within--
	}
	if within > 1 {
		return stepsFrom(sorted, sorted[0]%within, within)
	}
	places := min(stepsPlaces, n-stepsSeen+1)
	for k := range places {
		some := sorted[k*(n-stepsSeen)/places:][:stepsSeen]
		step := stepOf(some)
		if step < 2 || step <= s.step || step > largestStep {
			continue
		}
		if t := stepsFrom(sorted, some[0]%step, step); 4*(t.on+t.again) >= 3*n {
			s = t
		}
	}
	return s
}

// stepOf returns the largest step that all of sorted numbers are in.
func stepOf(sorted []uint64) (step uint64) {
	for i := 1; i < len(sorted) && step != 1; i++ {
		for d := sorted[i] - sorted[i-1]; d != 0; {
			step, d = d, step%d
		}
	}
	return step
}

// stepsFrom counts the numbers that are in steps, until one in four is not.
func stepsFrom(sorted []uint64, rest, step uint64) Steps {
	s := Steps{step: step}
	for i, v := range sorted {
		s = s.with(v, v%step == rest, i > 0 && v == sorted[i-1])
		if 4*(s.count-s.on-s.again) > len(sorted) {
			break
		}
	}
	return s
}

// with returns the steps of one more number, which is in them or not, and there already or not.
func (s Steps) with(v uint64, on, there bool) Steps {
	s.count++
	switch {
	case !on:
		return s
	case there:
		s.again++
		return s
	}
	if s.on++; s.on == 1 {
		s.least, s.most = v, v
	}
	s.least, s.most = min(s.least, v), max(s.most, v)
	return s
}

// stepsWith returns the steps of the values with one more, of which there is the same already or not.
func (o *Others) stepsWith(v uint64, there bool) Steps {
	switch {
	case o.steps.step > 0:
		return o.steps.with(v, v%o.steps.step == o.steps.least%o.steps.step, there)
	case len(o.Sorted)+1 == leastSteps:
		return StepsOf(o.With(v))
	}
	return Steps{count: o.steps.count + 1}
}

// OrSteps returns the log probability of numbers, or that they lie in these steps: in a box of which only every so many
// are there. Larger steps are rarer.
func (n *Numbers) OrSteps(log float64, s Steps) float64 {
	if s.count < leastSteps {
		return log
	}
	log += math.Log1p(-judgement.Stepped)
	if s.step == 0 {
		return log
	}
	step := float64(s.step)
	values := math.Ceil(n.limit / step)
	in := box(s.on, (s.most-s.least)/s.step, values, harmonic(values+1))
	steps := math.Log(judgement.Stepped*2/(step*(step+1)*step)) + in.Log()
	if others := s.count - s.on; others == 0 {
		steps += math.Log1p(-judgement.StepsAstray)
	} else {
		steps += math.Log(judgement.StepsAstray) + logp.Orders(s.on, others) -
			float64(others-s.again)*math.Log(2*n.limit) - float64(s.again)*math.Log(2*float64(s.on))
	}
	return logp.Add(log, steps)
}
