package line

import (
	"math"
	"time"
)

// scope gives the edges of two wires whose levels or voltages come together, at a time.
type scope struct {
	volts   [2]*analog // nil where a wire has levels
	held    [2]Level
	settled bool // the levels of voltages are known
}

// Thresholds returns the voltages that part low from high on the two wires, in volts, as they are at this place of the
// recording. ok is false where the recording has levels and no voltages, or none that moved.
func (s *scope) Thresholds() (volts [2]float64, ok bool) {
	for i, a := range s.volts {
		if a != nil && a.known() {
			volts[i], ok = a.threshold(), true
		}
	}
	return volts, ok
}

// take takes the levels of both wires. A voltage has none until one of the two wires has moved; the one that has not
// moved, or less far, then has the levels of the other: crosstalk is no move. What a voltage was before it moved for
// the first time is known only then.
func (s *scope) take(q *queue, at time.Duration, levels [2]Level) {
	was := s.held
	for i, a := range s.volts {
		if a != nil && a.known() && was[i] == Unknown {
			was[i] = levels[i].invert()
		}
	}
	if a, b := s.volts[0], s.volts[1]; !s.settled && a != nil && b != nil && (a.known() || b.known()) {
		s.settled = true
		moved := boolBit(b.high-b.low > a.high-a.low)
		still := s.volts[1-moved]
		still.adopt(s.volts[moved])
		was[1-moved], levels[1-moved] = still.level, still.level
	}
	for i, level := range levels {
		if was[i] != s.held[i] {
			q.push(Edge{At: at, Wire: Wire(i), Level: was[i]})
		}
		if level != was[i] {
			q.push(Edge{At: at, Wire: Wire(i), Level: level})
		}
	}
	s.held = levels
}

// analog finds the levels of a voltage: the threshold lies half-way between what the wire usually has when it is high
// and when it is low, which are learnt as the recording goes on. Until a wire moves for the first time nothing is known
// of it but the voltage at which it idles and the noise there. A wire that does not move has the levels of the other.
type analog struct {
	scale       float64 // volts to a unit of the column; 0 where the column is not a voltage
	idle, noise float64 // mean voltage, and mean distance from it, until the levels are known
	n           int     // voltages in those
	low, high   float64 // equal until they are known
	level       Level
}

const (
	// moveNoise is how many times the mean noise a voltage must be away from idle to have moved: six standard
	// deviations and a half of normal noise. moveIdle and leastMove say the same in parts of the idle voltage, and in
	// volts: a third of what three volts are through a probe that divides by ten.
	moveNoise, moveIdle, leastMove = 8, 0.4, 0.1
	// noiseKnown is how many voltages it takes to know the noise; until then a move is earlyMove, in volts, or more,
	// but of whole volts, which have no noise.
	noiseKnown, earlyMove = 16, 2.5
	// belowGround is how far a wire must fall, in volts, that is not at the voltage of a supply: a scope that keeps
	// back what is steady shows it at 0; crosstalk is less.
	belowGround = 2.5
	// noiseShare is how many voltages the mean is taken over.
	noiseShare = 64
	// hysteresis is how far from the threshold a voltage must be to change the level, as a part of the swing.
	hysteresis = 1.0 / 8
	// learnShare is how much of a new voltage goes into what is usual; farShare of one that is further beyond it than
	// farFrom of the swing: the first voltage of a slow edge told too little.
	learnShare, farShare, farFrom = 1.0 / 16, 1.0 / 2, 1.0 / 4
)

func (a *analog) known() bool { return a.high > a.low }

// take returns the level at a voltage, Unknown until the wire has moved.
func (a *analog) take(v float64) Level {
	if !a.known() {
		a.wait(v)
		return a.level
	}
	off, swing := v-a.threshold(), a.high-a.low
	switch edge := hysteresis * swing; {
	case off > edge:
		a.level = High
		a.high += (v - a.high) * shareOf(v-a.high, swing)
	case off < -edge:
		a.level = Low
		a.low += (v - a.low) * shareOf(a.low-v, swing)
	}
	return a.level
}

func shareOf(beyond, swing float64) float64 {
	if beyond > farFrom*swing {
		return farShare
	}
	return learnShare
}

// wait learns the idle voltage and its noise, and sees the wire move for the first time. A wire that falls from the
// voltage of a supply does so towards ground.
func (a *analog) wait(v float64) {
	off := v - a.idle
	least := max(moveNoise*a.noise, moveIdle*math.Abs(a.idle), leastMove)
	if whole := a.noise == 0 && a.idle == math.Round(a.idle) && v == math.Round(v); a.n < noiseKnown && !whole {
		least = max(least, earlyMove)
	}
	switch {
	case a.n > 0 && off > least:
		a.low, a.high, a.level = a.idle, v, High
	case a.n > 0 && off < -least && (off < -belowGround || 2*off > -3*a.idle):
		a.low, a.high, a.level = min(v, 0), a.idle, Low
	default:
		a.n++
		share := 1 / float64(min(a.n, noiseShare))
		a.idle += off * share
		if a.n > 1 {
			a.noise += (math.Abs(off) - a.noise) * share
		}
	}
}

// adopt gives a wire that has not moved the levels of the other wire. Between the two it has none.
func (a *analog) adopt(other *analog) {
	a.low, a.high = other.low, other.high
	edge := hysteresis * (a.high - a.low)
	switch off := a.idle - a.threshold(); {
	case a.n == 0:
	case off > edge:
		a.level = High
	case off < -edge:
		a.level = Low
	}
}

func (a *analog) threshold() float64 { return (a.low + a.high) / 2 }
