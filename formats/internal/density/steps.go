package density

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Steps is how numbers lie in equal steps, as where every second card of a box was given out, or somebody made them up:
// all of them, and most of them in larger ones.
type Steps struct {
	all, most lattice
	count     int // of the numbers
}

// lattice is numbers in equal steps.
type lattice struct {
	step        uint64 // from one to the next; 0 where there are none
	on          int    // how many different ones of all are in them; the others lie anyhow
	again       int    // or are one of those once more
	least, most uint64 // of those that are
}

// leastSteps is how many numbers it takes to see steps, and stepsSeen is how many of them next to one another show
// what the step of most is, at so many places at most.
const leastSteps, stepsSeen, stepsPlaces = 2, 4, 8

// StepsOf looks for steps that all of sorted numbers are in, and for larger ones that three in four are in.
func StepsOf(sorted []uint64) Steps {
	n := len(sorted)
	s := Steps{count: n}
	if n < leastSteps {
		return s
	}
	if step := stepOf(sorted); step > 1 {
		s.all, _ = latticeOf(sorted, sorted[0]%step, step)
	}
	places := min(stepsPlaces, n-stepsSeen+1)
	for k := range places {
		some := sorted[k*(n-stepsSeen)/places:][:stepsSeen]
		step := stepOf(some)
		if step < 2 || step <= max(s.all.step, s.most.step) {
			continue
		}
		if l, ok := latticeOf(sorted, some[0]%step, step); ok {
			s.most = l
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

// latticeOf counts the numbers that are in steps; ok is false where more than one in four is not.
func latticeOf(sorted []uint64, rest, step uint64) (l lattice, ok bool) {
	l.step = step
	for i, v := range sorted {
		l.take(v, v%step == rest, i > 0 && v == sorted[i-1])
		if 4*(i+1-l.on-l.again) > len(sorted) {
			return l, false
		}
	}
	return l, true
}

// take counts one more number, which is in the steps or not, and there already or not.
func (l *lattice) take(v uint64, on, there bool) {
	switch {
	case !on:
		return
	case there:
		l.again++
		return
	}
	if l.on++; l.on == 1 {
		l.least, l.most = v, v
	}
	l.least, l.most = min(l.least, v), max(l.most, v)
}

// stepsWith returns the steps of the values with one more, of which there is the same already or not.
func (o *Others) stepsWith(v uint64, there bool) Steps {
	s := o.steps
	if len(o.Sorted)+1 == leastSteps {
		return StepsOf(o.With(v))
	}
	s.count++
	for _, l := range [...]*lattice{&s.all, &s.most} {
		if l.step > 0 {
			l.take(v, v%l.step == l.least%l.step, there)
		}
	}
	return s
}

// OrSteps returns the log probability of numbers, or that they lie in these steps: in a box of which only every so many
// are there. Larger steps are rarer, and none is too large: numbers in steps of 256 would be in steps of 64, too, as
// soon as one of them were misread.
func (n *Numbers) OrSteps(log float64, s Steps) float64 {
	if s.count < leastSteps {
		return log
	}
	log += math.Log1p(-judgement.Stepped)
	for _, l := range [...]*lattice{&s.all, &s.most} {
		if l.step > 0 {
			log = logp.Add(log, n.inSteps(l, s.count))
		}
	}
	return log
}

// inSteps is the log probability of that, and of so many numbers.
func (n *Numbers) inSteps(l *lattice, count int) float64 {
	step := float64(l.step)
	values := math.Ceil(n.limit / step)
	in := box(l.on, (l.most-l.least)/l.step, values, harmonic(values+1))
	log := math.Log(judgement.Stepped*2/(step*(step+1)*step)) + in.Log()
	others := count - l.on
	if others == 0 {
		return log + math.Log1p(-judgement.StepsAstray)
	}
	return log + math.Log(judgement.StepsAstray) + logp.Orders(l.on, others) -
		float64(others-l.again)*math.Log(2*n.limit) - float64(l.again)*math.Log(2*float64(l.on))
}
