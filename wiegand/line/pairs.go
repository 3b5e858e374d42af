package line

import (
	"cmp"
	"errors"
	"io"
	"slices"
	"sort"
	"strings"
	"time"

	"github.com/cardtell/cardtell/wiegand"
)

// Pair is two signals of a recording that may be the wires of one reader.
type Pair struct {
	Coding Coding
	Names  [2]string // by wire
	ByName bool      // their names say that they belong together; else that they move at the same times, or their numbers
}

// movement is when a signal changes.
type movement struct {
	level  Level
	moves  int
	quick  int           // of them, those that no more than slowPulse is before
	last   time.Duration // when the last one was
	bursts []Range       // changes with no silence between them that ends a burst
}

// burstEnd is the silence that ends a burst: five beats of the slowest reader that the standard allows.
const burstEnd = 100 * time.Millisecond

// maxBursts bounds the memory of all movements; what comes later is only counted. maxMoving is among how many signals
// without telling names pairs are looked for.
const (
	maxBursts = 1 << 20
	maxMoving = 64
)

// take takes a level of the signal. Unless it is a change, and not from or to a level that is not known, nothing moves.
func (m *movement) take(l Level, at time.Duration, room int) {
	was := m.level
	if m.level = l; was == Unknown || l == Unknown || l == was {
		return
	}
	if m.moves++; m.moves > 1 && at-m.last <= slowPulse {
		m.quick++
	}
	m.last = at
	switch n := len(m.bursts); {
	case n > 0 && at-m.bursts[n-1].Max < burstEnd:
		m.bursts[n-1].Max = at
	case n < room:
		m.bursts = append(m.bursts, Range{at, at})
	}
}

// shared returns the part of the bursts of two signals that they have together: both wires of a reader move in nearly
// every read.
func shared(a, b *movement) float64 {
	both := 0
	for i, k := 0, 0; i < len(a.bursts) && k < len(b.bursts); {
		x, y := a.bursts[i], b.bursts[k]
		switch {
		case x.Max+burstEnd < y.Min:
			i++
		case y.Max+burstEnd < x.Min:
			k++
		default:
			both++
			i, k = i+1, k+1
		}
	}
	return float64(both) / float64(max(len(a.bursts), len(b.bursts), 1))
}

const (
	// burstMoves is how often a wire of a reader moves in a burst, on average, or more: two keys of a keypad in three have
	// two pulses or more on it. A light or a buzzer moves twice.
	burstMoves = 5
	// tooManyMoves is more than a wire of a reader moves in a burst, be every pulse there twice: a clock that always runs.
	tooManyMoves = 4 * wiegand.MaxBits
)

// likeWire returns how much a signal moves as a wire of a reader does, from 0 to 1: often, and in pulses of which each
// is soon over.
func (m *movement) likeWire() float64 {
	moves := float64(m.moves) / float64(max(len(m.bursts), 1))
	if moves > tooManyMoves {
		return 0
	}
	return min(1, moves/burstMoves) * min(1, 2*float64(m.quick)/float64(max(m.moves, 1)))
}

// together returns how much two signals move as the two wires of one reader do, from 0 to 1.
func together(a, b *movement) float64 { return shared(a, b) * min(a.likeWire(), b.likeWire()) }

// sharedMin is how much of what two signals do they must do together to be proposed as a pair.
const sharedMin = 0.5

// pair proposes pairs of signals: first those whose names are alike, then those that move together. Signals that never
// move are no reader's, unless the name of one that does calls for them.
func pair(names []string, moves []movement) (pairs []Pair) {
	used := make([]bool, len(names))
	take := func(i, k int, c Coding, byName bool) {
		used[i], used[k] = true, true
		pairs = append(pairs, Pair{c, [2]string{names[i], names[k]}, byName})
	}
	takeBy := func(i, k int) {
		if exchanged(names[i], names[k]) {
			i, k = k, i
		}
		take(i, k, TwoWire, false)
	}
	for _, p := range alike(names) {
		if !used[p.i] && !used[p.k] && moves[p.i].moves+moves[p.k].moves > 0 &&
			(!p.numbered || together(&moves[p.i], &moves[p.k]) >= sharedMin) {
			take(p.i, p.k, p.coding, !p.numbered)
		}
	}
	var left []int
	for i := range names {
		if !used[i] && moves[i].moves > 0 {
			left = append(left, i)
		}
	}
	for len(left) <= maxMoving && len(names) > 2 {
		i, k := nearest(left, used, moves)
		if i == k {
			break
		}
		third := slices.IndexFunc(left, func(m int) bool {
			return m != i && m != k && !used[m] && together(&moves[m], &moves[i]) >= sharedMin &&
				together(&moves[m], &moves[k]) >= sharedMin
		})
		if used[i], used[k] = true, true; third >= 0 { // which two of the three are the wires, nothing tells
			used[left[third]] = true
			continue
		}
		takeBy(i, k)
	}
	if len(names) == 2 && len(left) == 2 { // there is no other pair
		takeBy(0, 1)
	}
	sort.SliceStable(pairs, func(i, j int) bool {
		return slices.Index(names, pairs[i].Names[0]) < slices.Index(names, pairs[j].Names[0])
	})
	return pairs
}

// nearest returns those two of the signals left that move together the most, twice the same where none do enough.
func nearest(left []int, used []bool, moves []movement) (i, k int) {
	best := sharedMin
	for n, a := range left {
		for _, b := range left[n+1:] {
			if s := together(&moves[a], &moves[b]); !used[a] && !used[b] && (s > best || s == best && i == k) {
				best, i, k = s, a, b
			}
		}
	}
	return i, k
}

// likeness is two names that belong together.
type likeness struct {
	i, k     int // of wire 0 and wire 1
	at       int // where the names differ
	coding   Coding
	numbered bool // there is a name with a 2 as well: they may be the numbers of a recorder's channels
}

// alike finds names that differ in nothing but a 0 and a 1, or in clock and data; those that differ furthest to the
// right first, so that r0_d0 goes with r0_d1 and not with r1_d0.
func alike(names []string) (all []likeness) {
	places, datas := map[string]int{}, map[string]int{}
	for i, name := range names {
		places[name] = i
		if stem, ok := clockStem(name, Data); ok {
			datas[stem] = i
		}
	}
	for i, name := range names {
		for at := range len(name) {
			if k, ok := places[name[:at]+"1"+name[at+1:]]; ok && name[at] == '0' {
				_, numbered := places[name[:at]+"2"+name[at+1:]]
				all = append(all, likeness{i, k, at, TwoWire, numbered})
			}
		}
		if stem, ok := clockStem(name, Clock); ok {
			if k, ok := datas[stem]; ok && k != i {
				all = append(all, likeness{i, k, len(name), ClockAndData, false})
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].at > all[j].at })
	return all
}

// clockStem returns a name without the word that makes it a clock or its data.
func clockStem(name string, w Wire) (string, bool) {
	name = strings.ToLower(name)
	for _, word := range [][]string{Clock: {"clock", "clk", "strobe"}, Data: {"data", "dat"}}[w] {
		if i := strings.LastIndex(name, word); i >= 0 {
			return name[:i] + name[i+len(word):], true
		}
	}
	return "", false
}

// Pairs reads the recording to its end and proposes which of its signals are the wires of a reader: by their names, and
// by which of them move at the same times. Nothing can be read from it afterwards: open the recording anew. Errors are
// those of [VCD.Next]; the pairs are then those of what came before.
func (v *VCD) Pairs() ([]Pair, error) {
	names, places := v.nets()
	at := map[string][]int{}
	for i, p := range places {
		at[p.id] = append(at[p.id], i)
	}
	moves, drives, volts := make([]movement, len(names)), make([]drive, len(names)), make([]analog, len(names))
	v.watch = func(id, value []byte) {
		for _, i := range at[string(id)] {
			var l Level
			if v.kinds[places[i].id].form == ofReal {
				volt, _ := cellVolts(value)
				l = volts[i].take(volt)
			} else {
				digit, _ := digitOf(value, places[i].bit)
				l, _ = drives[i].level(digit)
			}
			moves[i].take(l, v.now, maxBursts/len(names))
		}
	}
	var err error
	for err == nil {
		err = v.step()
	}
	if errors.Is(err, io.EOF) {
		err = nil
	}
	return pair(names, moves), err
}

// Pairs does for a recording as text what [VCD.Pairs] does.
func (c *CSV) Pairs() ([]Pair, error) {
	var names []string
	if c.form == levelForm {
		names = c.Names()
	}
	moves := make([]movement, len(names))
	for {
		ok, err := c.nextRow()
		if ok {
			c.now, err = c.timeOf()
		}
		switch {
		case errors.Is(err, io.EOF) && c.form == pulseForm && areStates(moves):
			return nil, nil
		case errors.Is(err, io.EOF):
			return pair(names, moves), nil
		case err != nil:
			return pair(names, moves), err
		case ok && c.form != levelForm:
			names, moves = c.moved(names, moves)
		case ok:
			for i, col := range c.levely {
				l, _ := c.levelIn(col)
				moves[i].take(l, c.now, maxBursts/len(names))
			}
		}
	}
}

// areStates tells whether the names in a list of pulses are those of states of all wires: behind each of the others
// comes the one that all idle at.
func areStates(moves []movement) bool {
	most, all := 0, 0
	for _, m := range moves {
		most, all = max(most, m.moves), all+m.moves
	}
	few := 8 + all/16 // at the beginning and the end, and where both wires change at once
	return len(moves) > 2 && 2*most+few >= all && 2*most <= all+few
}

// moved takes the row of a list of events, whose names are only known as they come: short ones first, so that 2 is
// before 10. It returns what it adds to.
func (c *CSV) moved(names []string, moves []movement) ([]string, []movement) {
	name, level, ok := c.event(c.cells)
	if !ok {
		return names, moves
	}
	i, found := slices.BinarySearchFunc(names, string(name), func(a, b string) int {
		return cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b))
	})
	if !found {
		if len(names) == maxMoving {
			return names, moves
		}
		names, moves = slices.Insert(names, i, string(name)), slices.Insert(moves, i, movement{})
	}
	if level == Pulsed {
		level = Low
	}
	moves[i].take(level.invert(), c.now, maxBursts/maxMoving)
	moves[i].take(level, c.now, maxBursts/maxMoving)
	return names, moves
}
