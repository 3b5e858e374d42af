package relate

import (
	"bytes"
	"cmp"
	"math"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// unknownBits is what a rule costs that was not looked for, besides writing its results down one by one, and alikeBits
// what it costs that a rule gives two cards one number that have two: numbers are there to tell cards apart.
// Judgements.
const unknownBits, alikeBits = 5, 8

// class is rules that give the same of every pair and, but for zeros before a number, of every probe.
type class struct {
	best    found
	prior   float64  // log2 of the prior of them all
	near    []found  // those that are hardly dearer than the best
	outputs []string // of each probe, without zeros before a number
	alike   int      // how many of the pairs are given the number of another one
	slips   []slip
	weight  float64 // log2 of prior and likelihood
	// log2 of what speaks for the rule with its constant of these cards alone, and with another one for some of them
	elsewhere, lots float64
	wrong           []float64 // how likely each pair is typed wrong, if this is the rule
}

// slip is one pair under one rule: whether it fits as it stands, how likely its text is if it was typed wrong, and what
// was meant.
type slip struct {
	fits  bool
	p     float64
	meant Pair
	more  float64 // how likely its text is what the rule makes, with digits before or behind it
	share float64 // of p, that meant is it
}

// Bounds of what is told, in bits or as probabilities.
const (
	maxRules  = 8
	leastRule = 1e-3
	leastSlip = 0.01
	sureMeant = 0.9  // of a wrong pair, how likely what was meant must be to be named
	forgotten = 30.0 // a rule that is so much behind the best is left out
	promising = 14.0 // one that can come so near the best is looked at closely
)

// answer weighs the rules found and fills in all that is told of them.
func (q *question) answer(a *Answer) {
	groups, all := q.groups()
	total := q.unknown()
	if !slices.ContainsFunc(all, (*class).fitsAll) {
		total = logAdd(total, q.inserted()) // one that fits all gives the same for cards like these
	}
	mixed, some := math.Inf(-1), make([]float64, len(all))
	for i, c := range all {
		some[i] = logAdd(q.mixed(c), c.lots)
		mixed = logAdd(mixed, some[i])
		total = logAdd(total, logAdd(c.weight, c.elsewhere))
	}
	total = logAdd(total, mixed)
	if p := math.Exp2(mixed - total); p >= leastRule {
		likeliest := all[slices.Index(some, slices.Max(some))]
		a.Mixed = Mixed{Rule: likeliest.best.rule, Probability: p}
		for _, i := range likeliest.apart() {
			a.Mixed.Apart = append(a.Mixed.Apart, q.places[i])
		}
	}
	sum := 0.0
	for i, g := range groups {
		p := math.Exp2(g.weight - total)
		if i >= maxRules || p < leastRule {
			break
		}
		a.Rules = append(a.Rules, Candidate{Rule: g.best.rule, Probability: p})
		sum += p
	}
	a.Unknown = max(0, 1-sum)
	q.slips(a, all, total)
	if len(a.Rules) > 0 {
		first := q.outputs(&a.Rules[0].Rule)
		a.Zeros = q.zeros(first, groups[0], all)
		a.Run = q.isRun(&a.Rules[0].Rule)
		for k := range a.Rules[1:] {
			if d, _ := q.difference(first, &a.Rules[k+1].Rule); d.A != "" {
				d.Rule = k + 1
				a.Differences = append(a.Differences, d)
			}
		}
	}
}

// mixed is the log2 weight of a class, if it is the rule of some of the pairs, and those of another kind have a rule
// that was not looked for: what that makes is any number, or looks like a slip each time, or is the same with digits
// before or behind it, such as a check digit. What share of the pairs is of the one kind is unknown, and any as likely.
func (q *question) mixed(c *class) float64 {
	const steps = 32
	if c.fitsAll() {
		return math.Inf(-1)
	}
	t, sum := &c.best.rule.to, math.Inf(-1)
	for k := range steps {
		share := (float64(k) + 0.5) / steps
		var logs [3]float64
		for i, s := range c.slips {
			for how, p := range [...]float64{t.chance(q.bareB[i], beginning(q.bareB, i)), s.p, s.more} {
				if p *= 1 - share; s.fits {
					p += share
				}
				logs[how] += math.Log2(p)
			}
		}
		for _, log := range logs {
			sum = logAdd(sum, log-math.Log2(float64(steps*len(logs))))
		}
	}
	return c.prior + sum + math.Log2(judgement.SeveralKinds) - unknownBits
}

// apart returns which pairs are not as a class makes them.
func (c *class) apart() (pairs []int) {
	for i, s := range c.slips {
		if !s.fits {
			pairs = append(pairs, i)
		}
	}
	return pairs
}

// fitsAll reports whether a class is the rule of all pairs as they stand.
func (c *class) fitsAll() bool { return len(c.apart()) == 0 }

// maxMore is how many digits another kind of card has more, at most.
const maxMore = 3

// more is the probability of a text that is another one with digits before or behind it.
func (t *Text) more(text, b string) float64 {
	n := len(b) - len(text)
	if n < 1 || n > maxMore || !strings.HasPrefix(b, text) && !strings.HasSuffix(b, text) {
		return 0
	}
	return math.Pow(float64(len(t.digits())), -float64(n)) / (2 * maxMore)
}

// unknown is the log2 weight of all rules that were not looked for: any Bs, or any that begin alike, whatever the As
// are.
func (q *question) unknown() float64 {
	t := &q.b.text
	prefix := beginning(q.bareB, -1)
	any, alike := 0.0, math.Log2(t.even(prefix)/float64(len(prefix)+1))
	for _, b := range q.bareB {
		any += math.Log2(t.fresh(b))
		alike += math.Log2(t.even(b[len(prefix):]))
	}
	return logAdd(any, alike) - 1 - unknownBits
}

// inserted is the log2 weight of rules that put digits behind a number or into it, the same on all cards, or others on
// each as check digits are: no step does that.
func (q *question) inserted() float64 {
	as, bs := slices.Clone(q.bareA), slices.Clone(q.bareB)
	for i := range as {
		as[i], bs[i] = strings.Map(digitsAlone, as[i]), strings.Map(digitsAlone, bs[i])
	}
	sum, base := math.Inf(-1), math.Log2(float64(len(q.b.text.digits())))
	more := len(bs[0]) - len(as[0])
	if more < 1 || more > maxMore {
		return sum
	}
	for behind := range len(as[0]) {
		put := map[string]bool{}
		for i, a := range as {
			at := len(a) - behind
			if at <= 0 || len(bs[i]) != len(a)+more || bs[i][:at] != a[:at] || bs[i][at+more:] != a[at:] {
				put = nil
				break
			}
			put[bs[i][at:at+more]] = true
		}
		if put == nil {
			continue
		}
		log := -base * float64(more*len(as))
		if len(put) == 1 {
			log = logAdd(log, -base*float64(more))
		}
		sum = logAdd(sum, log-1-math.Log2(float64(maxMore*len(as[0]))))
	}
	return sum - unknownBits
}

// digitsAlone leaves out what stands between digits.
func digitsAlone(r rune) rune {
	if r < 128 && unhex(byte(r)) <= 15 {
		return r
	}
	return -1
}

// classes returns the rules found, those that give the same together, the best class first.
func (q *question) classes() []*class {
	sort.SliceStable(q.found, func(i, j int) bool {
		a, b := &q.found[i], &q.found[j]
		return cmp.Or(cmp.Compare(a.cost, b.cost), strings.Compare(a.text, b.text)) < 0
	})
	at := map[string]*class{}
	var all []*class
	var key []byte
	for _, f := range q.found {
		key = q.appendMade(key[:0], &f.rule)
		c := at[string(key)]
		if c == nil {
			made := strings.Split(string(key), "\n")
			outputs, texts := made[:len(q.probes)], made[len(q.probes):][:len(q.pairs)]
			c = &class{best: f, prior: math.Inf(-1), outputs: outputs, slips: q.typed(&f.rule, texts), alike: q.alike(texts)}
			at[string(key)], all = c, append(all, c)
		}
		c.prior = logAdd(c.prior, -f.cost-alikeBits*float64(c.alike))
		if f.cost < c.best.cost+wider {
			c.near = append(c.near, f)
		}
	}
	best := q.unknown()
	for _, c := range all {
		c.weigh()
		best = max(best, c.weight)
	}
	for _, c := range all {
		if c.bound() > best-promising {
			q.typedA(c)
			c.weigh()
		}
		q.byLots(c)
	}
	slices.SortStableFunc(all, func(a, b *class) int { return cmp.Compare(b.weight, a.weight) })
	return slices.DeleteFunc(all, func(c *class) bool { return c.weight < best-forgotten })
}

// appendMade appends what a rule makes of each probe, without zeros before a number, and of each A as it stands, each
// with a line's end behind it.
func (q *question) appendMade(dst []byte, r *Rule) []byte {
	var buf [96]byte
	for _, p := range q.probesAs(&r.from) {
		if p.ok {
			if b, ok := r.appendNumber(buf[:0], p.number); ok {
				dst = r.to.appendLoose(dst, b)
			}
		}
		dst = append(dst, '\n')
	}
	for _, p := range q.pairs {
		if b, ok := r.appendText(buf[:0], p.A); ok {
			dst = append(dst, b...)
		}
		dst = append(dst, '\n')
	}
	return dst
}

// alike returns how many texts are the same as one before them, of pairs that differ on both sides.
func (q *question) alike(texts []string) (n int) {
	for i, text := range texts {
		for k := range i {
			if p, o := q.pairs[i], q.pairs[k]; text != "" && text == texts[k] && p.A != o.A && p.B != o.B {
				n++
				break
			}
		}
	}
	return n
}

// typed returns how each pair can have come about under a rule that makes texts of the As, if B was typed wrong.
func (q *question) typed(r *Rule, texts []string) []slip {
	base := float64(len(r.to.digits()))
	all := make([]slip, len(texts))
	for i, text := range texts {
		b, s := q.bareB[i], &all[i]
		s.p = judgement.SlipNothing * r.to.chance(b, beginning(q.bareB, i))
		if text == "" {
			continue
		}
		s.fits = r.to.same([]byte(text), q.pairs[i].B)
		p := slipped(text, b, base)
		if !s.fits && bytes.Equal(r.to.appendLoose(nil, []byte(text)), r.to.appendLoose(nil, []byte(b))) {
			p += slipZeros
		}
		for k, other := range texts {
			if k != i && other == b && len(texts) > 1 {
				p += slipOther / float64(len(texts)-1)
			}
		}
		s.meant, s.share = Pair{q.pairs[i].A, text}, p/2
		s.p += p / 2
		s.more = r.to.more(text, b)
	}
	return all
}

// typedA adds how each pair that does not fit can have come about if A was typed wrong. What was meant can be more or
// less likely a number than what was typed.
func (q *question) typedA(c *class) {
	slips := []typing.Slip{typing.Lengthened, typing.Shortened, typing.Replaced, typing.Swapped}
	r := &c.best.rule
	base := float64(len(r.from.digits()))
	var buf [96]byte
	for i, a := range q.bareA {
		s, p := &c.slips[i], q.pairs[i]
		if s.fits {
			continue
		}
		prefix, tried := beginning(q.bareA, i), map[string]bool{}
		for _, slip := range slips {
			for text := range slip(a, r.from.digits()) {
				meant := string(text)
				if b, ok := r.appendText(buf[:0], meant); !ok || !r.to.same(b, p.B) || tried[meant] {
					continue
				}
				tried[meant] = true
				share := slipped(meant, a, base) / 2 * r.from.chance(meant, prefix) / r.from.chance(a, prefix)
				if s.p += share; share > s.share {
					s.meant, s.share = Pair{meant, p.B}, share
				}
			}
		}
	}
}

// bound is the most that a class can weigh.
func (c *class) bound() float64 {
	log := math.Inf(-1)
	for _, t := range judgement.TypingErrors {
		log = logAdd(log, math.Log2(t.Share)+float64(len(c.apart()))*math.Log2(t.Rate*judgement.SlipDigit))
	}
	return c.prior + log
}

// weigh sets the weight of a class and how likely each pair is typed wrong, over all rates of typing errors.
func (c *class) weigh() {
	var logs [len(judgement.TypingErrors)]float64
	likelihood := math.Inf(-1)
	each := func(s *slip, rate float64) float64 {
		if s.fits {
			return 1 - rate + rate*s.p
		}
		return rate * s.p
	}
	for k, t := range judgement.TypingErrors {
		logs[k] = math.Log2(t.Share)
		for i := range c.slips {
			logs[k] += math.Log2(each(&c.slips[i], t.Rate))
		}
		likelihood = logAdd(likelihood, logs[k])
	}
	c.weight, c.wrong = c.prior+likelihood, make([]float64, len(c.slips))
	for k, t := range judgement.TypingErrors {
		for i := range c.slips {
			s := &c.slips[i]
			c.wrong[i] += math.Exp2(logs[k]-likelihood) * t.Rate * s.p / each(s, t.Rate)
		}
	}
}

// slips fills in the pairs that may be typed wrong. Under an unknown rule, a pair is so as often as any.
func (q *question) slips(a *Answer, all []*class, total float64) {
	any := typing.MeanErrors()
	for i := range q.pairs {
		s := Slip{Pair: q.places[i], Probability: any * math.Exp2(q.unknown()-total)}
		meant := map[Pair]float64{}
		for _, c := range all {
			p := math.Exp2(c.weight-total) * c.wrong[i]
			s.Probability += p
			meant[c.slips[i].meant] += p * c.slips[i].share / c.slips[i].p
		}
		for p, share := range meant {
			if share > sureMeant*s.Probability {
				s.Meant = p // no two can be so likely
			}
		}
		if s.Probability = min(s.Probability, 1); s.Probability >= leastSlip {
			a.Slips = append(a.Slips, s)
		}
	}
	sort.SliceStable(a.Slips, func(i, j int) bool { return a.Slips[i].Probability > a.Slips[j].Probability })
}

// wider is how much less likely a rule may be, in bits, and still be of a group if it takes numbers that the best one
// can't.
const wider = 4

// groups puts classes together that do the same, and returns them with the classes. A rule that does the same as a
// better one but fails on some numbers, such as swapping the bytes twice, is that one with a needless step; that it
// names a facility is no needless step.
func (q *question) groups() (groups, all []*class) {
	all = q.classes()
	for _, c := range all {
		i := slices.IndexFunc(groups, func(g *class) bool { return g.takes(c) })
		if i < 0 {
			g := *c
			groups = append(groups, &g)
			continue
		}
		g := groups[i]
		g.weight = logAdd(g.weight, c.weight)
	}
	slices.SortStableFunc(groups, func(a, b *class) int { return cmp.Compare(b.weight, a.weight) })
	return groups, all
}

// takes reports whether a class belongs to the group: it gives the same where it gives something, or the other way
// round.
func (g *class) takes(c *class) bool {
	if c.best.rule.namesFacility() != g.best.rule.namesFacility() {
		return slices.Equal(c.outputs, g.outputs)
	}
	return within(c.outputs, g.outputs) || c.weight > g.weight-wider && within(g.outputs, c.outputs)
}

func (r *Rule) namesFacility() bool {
	return slices.ContainsFunc(r.steps, func(s Step) bool { return s.Op == DropFacility })
}

// within reports whether some is all with nothing in some places.
func within(some, all []string) bool {
	for i, s := range some {
		if s != "" && s != all[i] {
			return false
		}
	}
	return true
}

// appendLoose appends a text without the zeros before its numbers, which make no difference to what the number is.
func (t *Text) appendLoose(dst, s []byte) []byte {
	if t.Kind > JoinedText {
		return append(dst, s...)
	}
	if first, second, pair := bytes.Cut(s, []byte{t.Sep}); pair && t.Kind == PairText {
		return appendBare(append(appendBare(dst, first), ','), second)
	}
	return appendBare(dst, s)
}

// appendBare appends digits without the zeros before them.
func appendBare(dst, digits []byte) []byte {
	rest := bytes.TrimLeft(digits, "0")
	if len(rest) == 0 && len(digits) > 0 {
		return append(dst, '0')
	}
	return append(dst, rest...)
}

// zeros returns a number that one of the likelier rules of the group writes with other zeros before it than the best
// one.
func (q *question) zeros(first []string, g *class, all []*class) *Difference {
	for _, c := range all {
		if c.weight < g.weight-wider || !slices.Equal(c.outputs, g.outputs) {
			continue
		}
		for k := range c.near {
			if d, both := q.difference(first, &c.near[k].rule); both {
				return &d
			}
		}
	}
	return nil
}

// runDense is how many numbers there are for each that is given, in what still hardly leaves any out.
const runDense = 4

// isRun tells whether a rule adds something, and the As lie close together.
func (q *question) isRun(r *Rule) bool {
	lowest, highest := uint64(math.MaxUint64), uint64(0)
	for _, p := range q.pairs {
		if v, ok := r.from.parse(p.A); ok {
			lowest, highest = min(lowest, v), max(highest, v)
		}
	}
	adds := slices.ContainsFunc(r.steps, func(s Step) bool { return s.Op == Add })
	return adds && lowest <= highest && highest-lowest < uint64(runDense*len(q.pairs))
}

// difference returns a probe of which another rule does not make what the first one does: if there is one, one that
// both take.
func (q *question) difference(first []string, r *Rule) (d Difference, both bool) {
	for i, other := range q.outputs(r) {
		if first[i] == other {
			continue
		}
		if both = first[i] != "" && other != ""; both || d.A == "" {
			d = Difference{A: q.probes[i], First: first[i], Another: other}
		}
		if both {
			return d, true
		}
	}
	return d, false
}

// logAdd returns log2(2^a + 2^b).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp2(b-a))/math.Ln2
}
