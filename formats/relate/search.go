package relate

import (
	"fmt"
	"math"
	"math/bits"
	"slices"
)

// search looks for the rules that fit some pairs. From each way of reading A it goes forward, step by step; from each
// way of writing B backward, undoing steps; where the two meet there is a rule. Steps with a constant of their own,
// which the pairs give away, are fitted into the gap between the two.
type search struct {
	*question
	some  []Pair
	as    []string // of those pairs
	bs    []string
	in    []priced
	out   []writing
	limit float64 // no rule may cost more than writing the results down
	kept  int
	steps []costed // room for those worth trying
	tried []Step   // room for those of one rule
}

// ruleKey is what tells rules from one another: zeros before what is read do not.
type ruleKey struct {
	from  Text // its meaning
	to    Text
	count int
	steps [maxDepth + 2]Step // with a parity at each end
}

// writing is a way of writing B: what number the texts are, and the styles in which that number would be written as
// they stand.
type writing struct {
	priced
	styles []priced
}

// found is a rule that fits, and its description length in bits.
type found struct {
	rule Rule
	cost float64
	text string // the rule in words, to put those of one cost in order
}

// costed is a step and what it costs to name it.
type costed struct {
	Step
	cost float64
}

// state is what some steps make of the numbers: those of the pairs first, then those of the probes.
type state struct {
	vals  []uint64
	ok    uint32 // a bit for each number that there is
	steps []Step
	cost  float64
	depth int // steps, parity not counted
}

// Bounds of the search.
const (
	sought    = 6  // pairs that are looked at in the search; the others are held against what is found
	stateSize = 24 // numbers that tell one state from another
	maxDepth  = 3
	maxFound  = 4000
)

// stepBits is what each step costs besides its name: one bit to say that there is a further one, and half a bit since
// the names of all steps add up to about 1.4, so that the prior of all rules adds up to 1.
const stepBits = 1.5

func newSearch(q *question, some []Pair) (*search, error) {
	s := &search{question: q, some: some, limit: unknownBits + 16}
	for _, p := range some {
		s.as, s.bs = append(s.as, p.A), append(s.bs, p.B)
	}
	in, err := q.a.texts(s.as, false)
	if err != nil {
		return nil, err
	}
	out, err := q.b.texts(s.bs, true)
	if err != nil {
		return nil, err
	}
	s.in, s.out = readings(in, s.as), writings(out)
	if q.b.text.Kind == 0 {
		q.b.text = out[0].Text
	}
	if q.probes == nil {
		q.probes = q.questions(s.in[0].Text)
	}
	for _, b := range s.bs {
		s.limit -= math.Log2(q.b.text.fresh(bare(b)))
	}
	return s, nil
}

// meaning is what tells two ways of reading a number apart; zeros before it do not.
func (t *Text) meaning() Text {
	m := Text{Kind: t.Kind, Bits: t.Bits}
	if t.Kind == JoinedText {
		m.Digits = t.Digits
	}
	return m
}

// readings drops ways of reading that differ in how they would write alone, for the one that writes A as it stands.
func readings(all []priced, as []string) []priced {
	var r []priced
	for _, w := range writings(all) {
		t := w.styles[0]
		if i := slices.IndexFunc(w.styles, func(s priced) bool { return s.writes(as, true) }); i > 0 {
			t.Text = w.styles[i].Text
		}
		r = append(r, t)
	}
	return r
}

// writings puts ways of writing that differ in style alone together.
func writings(all []priced) []writing {
	var r []writing
	for _, t := range all {
		i := slices.IndexFunc(r, func(w writing) bool { return w.meaning() == t.meaning() })
		if i < 0 {
			i, r = len(r), append(r, writing{priced: t})
		}
		r[i].cost = min(r[i].cost, t.cost)
		r[i].styles = append(r[i].styles, t)
	}
	return r
}

func (s *search) run() {
	targets := make([][][]state, len(s.out))
	for o := range s.out {
		targets[o] = s.backward(&s.out[o].priced)
	}
	for i := range s.in {
		levels := s.forward(&s.in[i])
		for o := range s.out {
			if s.in[i].cost+s.out[o].cost > 9 {
				continue // two unusual spellings at once are no rule that anybody uses
			}
			s.meet(&s.in[i], &s.out[o], levels, targets[o])
		}
	}
}

func (s *search) count() int { return min(len(s.some), sought) }

// readAs returns what texts are as numbers, and the same with the parity of a format taken off, by going on or back by
// that step: of a format of their length, where they show one, and of any where they are whole reads as one number.
func (s *search) readAs(t *priced, texts []string, back bool) []state {
	first := state{}
	for k, text := range texts {
		v, ok := t.parse(text)
		if first.vals = append(first.vals, v); ok {
			first.ok |= 1 << k
		}
	}
	level := []state{first}
	for _, f := range s.frames {
		if t.Kind == Decimal || t.Kind == Hex || t.Kind.ofRead() && f.frame.length == t.Bits {
			if next, ok := first.moved(s.count(), f, back); ok {
				next.depth = 0
				level = append(level, next)
			}
		}
	}
	return level
}

// forward returns the states that 0, 1 and 2 steps lead to, no two of them alike.
func (s *search) forward(t *priced) [][]state {
	texts := slices.Concat(s.as[:s.count()], s.probes[:min(len(s.probes), stateSize-s.count())])
	level := s.readAs(t, texts, false)
	seen := map[uint64]bool{}
	for i := range level {
		seen[level[i].hash(len(texts))] = true
	}
	deepest := maxDepth - 1
	if t.cost > 4 {
		deepest = 1
	}
	levels := [][]state{level}
	for range deepest {
		var next []state
		for i := range level {
			for _, step := range keepers(append(s.steps[:0], reversible...), level[i].vals[:s.count()], t.Bits, false) {
				if st, ok := level[i].moved(s.count(), step, false); ok && !seen[st.hash(len(texts))] {
					seen[st.hash(len(texts))] = true
					next = append(next, st)
				}
			}
		}
		levels = append(levels, next)
		level = next
	}
	return levels
}

// backward returns the states from which 0, 1 and 2 steps, and then a parity, lead to B.
func (s *search) backward(t *priced) [][]state {
	level := s.readAs(t, s.bs[:s.count()], true)
	levels := [][]state{level}
	for range maxDepth - 1 {
		var next []state
		for i := range level {
			for _, step := range reversible {
				if st, ok := level[i].moved(s.count(), step, true); ok {
					next = append(next, st)
				}
			}
		}
		levels = append(levels, next)
		level = next
	}
	return levels
}

// moved returns the state that a step leads to or, going back, from which what undoes the step leads to st. ok is false
// where one of the first n numbers, those of the pairs, does not fit.
func (st *state) moved(n int, step costed, back bool) (next state, ok bool) {
	for k := range n {
		if _, ok := step.apply(st.vals[k]); !ok {
			return state{}, false
		}
	}
	next = state{vals: make([]uint64, len(st.vals)), cost: st.cost + step.cost, depth: st.depth + 1}
	for k, v := range st.vals {
		if st.ok>>k&1 == 1 {
			if v, ok := step.apply(v); ok {
				next.vals[k] = v
				next.ok |= 1 << k
			}
		}
	}
	if back {
		undone, _ := step.inverse()
		next.steps = append([]Step{undone}, st.steps...)
	} else {
		next.steps = append(slices.Clip(st.steps), step.Step)
	}
	return next, true
}

// hash tells states apart by their first n numbers: the FNV hash, number by number instead of byte by byte.
func (st *state) hash(n int) uint64 {
	const offset, prime = 14695981039346656037, 1099511628211
	h := uint64(offset)
	for _, v := range st.vals[:n] {
		h = (h ^ v) * prime
		h ^= h >> 32
	}
	return (h ^ uint64(st.ok&(1<<n-1))) * prime
}

// meet joins forward and backward states.
func (s *search) meet(in *priced, out *writing, levels, targets [][]state) {
	n := s.count()
	join := map[uint64][]*state{}
	for d := range min(2, len(targets)) {
		for i := range targets[d] {
			t := &targets[d][i]
			h := t.hash(n)
			join[h] = append(join[h], t)
		}
	}
	for df := range levels {
		for i := range levels[df] {
			f := &levels[df][i]
			for _, t := range join[f.hash(n)] {
				if f.depth+t.depth <= maxDepth && slices.Equal(f.vals[:n], t.vals) {
					s.keep(in, out, f, nil, t)
				}
			}
			s.steps = s.steps[:0]
			if slices.ContainsFunc(targets[0], func(t state) bool { return mayKeep(f.vals[0], t.vals[0]) }) {
				s.steps = keepers(s.steps, f.vals[:n], out.Bits, true)
			}
			for _, step := range s.steps { // those that drop something come last
				for k := range targets[0] {
					if t := &targets[0][k]; s.leads(f, &step.Step, t) {
						s.keep(in, out, f, &step, t)
					}
				}
			}
			for dt := 0; df+dt < maxDepth && dt < len(targets); dt++ {
				for k := range targets[dt] {
					s.fit(in, out, f, &targets[dt][k])
				}
			}
		}
	}
}

func (s *search) leads(f *state, step *Step, t *state) bool {
	for k := range t.vals {
		if v, ok := step.apply(f.vals[k]); !ok || v != t.vals[k] {
			return false
		}
	}
	return true
}

// fit tries a step whose constant the first pair gives away. Such a step costs 6 bits and what its constant costs.
func (s *search) fit(in *priced, out *writing, f, t *state) {
	room := s.limit - in.cost - out.cost - f.cost - t.cost - stepBits*float64(len(f.steps)+len(t.steps)+1) - 6
	if room < 0 {
		return
	}
	x, y := f.vals[0], t.vals[0]
	size := float64(bits.Len64(max(x, y)-min(x, y)) - 1) // at least so much
	if c := int64(y - x); c != 0 && c != math.MinInt64 && (c > 0) == (y > x) && size < room {
		step := costed{Step: Step{Op: Add, C: c}}
		if s.leads(f, &step.Step, t) {
			step.cost = 6 + step.constantBits()
			s.keep(in, out, f, &step, t)
		}
	}
	for _, k := range []int{16, 24, 20, 19, 32, 15, 8} {
		c := y >> uint(k)
		if c == 0 || x != y&(1<<uint(k)-1) || c > math.MaxInt64>>uint(k) {
			continue
		}
		step := costed{Step{Op: SetFacility, A: k, C: int64(c)}, 0}
		step.cost = 6 + step.constantBits()
		if s.leads(f, &step.Step, t) {
			s.keep(in, out, f, &step, t)
		}
	}
}

// keep notes a rule in each style of writing, if it fits every pair as it stands and is not there yet.
func (s *search) keep(in *priced, out *writing, f *state, step *costed, t *state) {
	cost := in.cost + f.cost + t.cost
	s.tried = append(s.tried[:0], f.steps...)
	if step != nil {
		s.tried = append(s.tried, step.Step)
		cost += step.cost
	}
	s.tried = append(s.tried, t.steps...)
	cost += stepBits * float64(len(s.tried))
	if cost+out.cost > s.limit || s.kept >= maxFound {
		return
	}
	for _, style := range out.styles {
		r := Rule{from: in.Text, to: style.Text, steps: s.tried}
		if !r.fits(s.some) {
			continue
		}
		key := ruleKey{from: in.meaning(), to: style.Text, count: len(r.steps)}
		copy(key.steps[:], r.steps)
		if s.seen[key] {
			continue
		}
		s.seen[key] = true
		r.steps = slices.Clone(r.steps)
		s.found = append(s.found, found{r, cost + style.cost, r.String() + fmt.Sprint(style.Text)})
		s.kept++
	}
}

// fits reports whether the rule gives every pair as it stands.
func (r *Rule) fits(pairs []Pair) bool {
	var buf [96]byte
	for _, p := range pairs {
		if b, ok := r.appendText(buf[:0], p.A); !ok || !r.to.same(b, p.B) {
			return false
		}
	}
	return true
}
