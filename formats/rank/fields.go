package rank

import (
	"math"
	"math/bits"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// role is what a field does at a site, which decides how its values are distributed.
type role uint8

const (
	siteRole   role = iota // one value, or few, for all cards: a facility, an agency, a version
	numberRole             // another one on each card
	dateRole               // a date written YYYYMMDD
	freeRole               // bits of which nothing is known
)

// fieldModel is the prior of one field's values.
type fieldModel struct {
	role    role
	width   int     // bits; for digits, those that their largest number needs
	even    float64 // log of 1/number of values
	uniform float64 // share that is spread evenly
	batched float64 // chance that a site's values come in batches
	wide    bool    // values over 64 bits, taken as even
	usual   []Range // values that the site is known to use

	byLen [65]float64 // log prior of a value by its length in bits, which is all that it depends on
	steps [65]float64 // probability of a step to the next number of a batch, likewise
}

// formatModel is what the ranking knows of one format beforehand.
type formatModel struct {
	format *formats.Format
	log    float64 // log of the prior
	fields []fieldModel
	forms  []option // how its numbers are printed
	fixed  pattern
}

func modelFields(f *formats.Format) []fieldModel {
	spec := f.Layout.Spec()
	models := make([]fieldModel, len(spec.Fields))
	for i, field := range spec.Fields {
		m := &models[i]
		n := field.Bits.Len()
		m.width, m.even, m.uniform, m.batched = n, -float64(n)*math.Ln2, uniformShare, batched
		if field.Coding != wiegand.Binary {
			digits := n / 4
			if field.Coding != wiegand.BCD {
				digits = n / 5
			}
			m.width, m.even = int(math.Ceil(float64(digits)*math.Log2(10))), -float64(digits)*math.Ln10
		}
		m.wide = m.width > 64
		switch field.Name {
		case wiegand.FieldUnknown:
			m.role = freeRole
		case wiegand.FieldNumber, "credential", "person":
			m.role = numberRole
		case "expiry":
			m.role = dateRole
		}
		switch {
		case m.role != numberRole:
		case f.Kind == formats.KindSerial:
			m.uniform, m.batched = serialUniform, serialBatched
		case f.Kind == formats.KindEither:
			m.uniform, m.batched = (uniformShare+serialUniform)/2, (batched+serialBatched)/2
		}
		if f.Kind == formats.KindKeypad {
			m.batched = 0 // everybody chooses a code of their own
		}
		if field.Constant != "" {
			m.role, m.even = freeRole, 0 // its check says all there is to say
		}
		m.fill()
	}
	return models
}

// dates returns the log probability of dates, each card having its own: a day of this century, or seldom anything else. Cards of
// one site often expire within ten years.
func (m *fieldModel) dates(values []uint64) float64 {
	spread, near := 0.0, -math.Log(100) // a century has a hundred years to begin with
	first := uint64(math.MaxUint64)
	for _, v := range values {
		if isDate(v) {
			first = min(first, v/10000)
		}
	}
	for _, v := range values {
		other := notDate * math.Exp(m.even)
		a, b := other, other
		if isDate(v) {
			a += (1 - notDate) / (100 * 12 * 31)
			if v/10000 < first+10 {
				b += (1 - notDate) / (10 * 12 * 31)
			}
		}
		spread, near = spread+math.Log(a), near+math.Log(b)
	}
	if len(values) < 2 {
		return spread
	}
	return logAdd(spread, near) - math.Ln2
}

// isDate reports whether a number is a day of this century, written YYYYMMDD.
func isDate(v uint64) bool {
	y, mo, d := v/10000, v/100%100, v%100
	return y/100 == 20 && mo >= 1 && mo <= 12 && d >= 1 && d <= 31
}

// fill works out the tables, once the rest is known.
func (m *fieldModel) fill() {
	widest, sum := min(m.width, len(m.byLen)-1), 0.0
	for n := range widest + 1 {
		p := m.prior(n)
		m.byLen[n], sum = math.Log(p), sum+p*m.values(n)
		if n <= min(m.width, batchBits) {
			m.steps[n] = scale(n, min(m.width, batchBits))
		}
	}
	for n := range widest + 1 { // what was given to the 0 of a facility, and to digits over 9, is shared out
		m.byLen[n] -= math.Log(sum)
	}
}

// values returns how many values of n bits the field can hold.
func (m *fieldModel) values(n int) float64 {
	if n == 0 {
		return 1
	}
	return max(0, min(math.Ldexp(1, n), math.Exp(-m.even))-math.Ldexp(1, n-1))
}

// prior is the weight of one value of n bits; the weights of all values add up to nearly 1.
func (m *fieldModel) prior(n int) float64 {
	if m.role != siteRole || m.width < 2 {
		return m.uniform*math.Exp(m.even) + (1-m.uniform)*scale(n, m.width)
	}
	if n == 0 {
		return facilityZero
	}
	p := facilityAny*math.Exp(m.even) + (1-facilityByte-facilityAny)*scale(n, m.width)
	if n <= 8 {
		p += facilityByte / float64(min(255, 1<<m.width-1))
	}
	return p
}

// base returns the log of the prior of one value of the field, standing alone.
func (m *fieldModel) base(v uint64) float64 {
	if m.wide {
		return m.even
	}
	log := m.byLen[bits.Len64(v)]
	if m.usual != nil {
		log = logAdd(math.Log(unlisted)+log, math.Log((1-unlisted)*m.listed(v)))
	}
	return log
}

// listed is the even distribution over the values that the site is known to use.
func (m *fieldModel) listed(v uint64) float64 {
	count, in := 0.0, 0.0
	for _, r := range m.usual {
		count += float64(r.To-r.From) + 1
		if r.From <= v && v <= r.To {
			in++
		}
	}
	return in / count
}

// scale is the probability of one value of n bits under a distribution over 0 to 2^w-1 that gives each length, 0 to w bits,
// the same weight.
func scale(n, w int) float64 { return math.Ldexp(1/float64(w+1), -max(n-1, 0)) }

// site returns the log probability of a site's values of a field of which there are few: exchangeable, so that the order
// of the cards does not matter.
func (m *fieldModel) site(values []uint64) float64 {
	if len(values) == 1 {
		return m.base(values[0])
	}
	slices.Sort(values)
	log := 0.0
	for i := 0; i < len(values); {
		j := i
		for j < len(values) && values[j] == values[i] {
			j++
		}
		own := sameFacility * math.Exp(m.base(values[i])) // drawn anew, it may be one that is there already
		seen, _ := math.Lgamma(own + float64(j-i))
		none, _ := math.Lgamma(own)
		log += seen - none
		i = j
	}
	for i := range values {
		log -= math.Log(sameFacility + float64(i))
	}
	return log
}

// numbers returns the log probability of a site's card numbers: spread over the field, batched, or out of blocks. The batched
// part is a chain in rising order, and so are the blocks; as any order of presenting is as likely as another, these are divided by
// the number of orders.
func (m *fieldModel) numbers(values []uint64) float64 {
	if len(values) == 1 {
		return m.base(values[0])
	}
	spread := 0.0
	for _, v := range values {
		spread += m.base(v)
	}
	if len(values) < 2 || m.wide {
		return spread
	}
	slices.Sort(values)
	chain := m.base(values[0])
	for i := 1; i < len(values); i++ {
		fresh := math.Exp(m.base(values[i]))
		chain += math.Log(nextNear*m.step(values[i]-values[i-1]) + (1-nextNear)*fresh)
	}
	orders, _ := math.Lgamma(float64(len(values) + 1))
	near := logAdd(math.Log(1-oneBlock)+chain, math.Log(oneBlock)+m.blocks(values))
	return logAdd(math.Log(1-m.batched)+spread, math.Log(m.batched)+near-orders)
}

// blocks returns the log probability of sorted numbers out of one block or, where some of them are further apart than the cards of
// a box can be, as likely out of several, each as dense as it likes.
func (m *fieldModel) blocks(values []uint64) float64 {
	one := m.base(values[0]) + m.block(values)
	several, from := math.Log(nextNear)*float64(len(values)-1), 0
	for i := 1; i <= len(values); i++ {
		if i < len(values) && bits.Len64(values[i]-values[i-1]) <= batchBits {
			continue
		}
		if several += m.base(values[from]); i-from > 1 {
			several += m.block(values[from:i])
		}
		if i < len(values) {
			several += math.Log(1-nextNear) - math.Log(nextNear)
		}
		if from == 0 && i == len(values) {
			return one
		}
		from = i
	}
	return logAdd(one, several) - math.Ln2
}

// block returns the log probability of sorted numbers after the first one, out of a block of which one number in 2^j is met, each
// j being as likely as another: steps of a geometric distribution, from 1 or, as likely, from 0. Few cards hardly tell it from a
// chain; with many, only this knows how dense they lie, and without it a window as narrow as the numbers would always beat the
// field that they are in.
func (m *fieldModel) block(values []uint64) float64 {
	steps, all, again := float64(len(values)-1), float64(values[len(values)-1]-values[0]), false
	for i := 1; i < len(values); i++ {
		again = again || values[i] == values[i-1]
	}
	log := m.geometric(steps, all)
	if !again {
		log = logAdd(log, m.geometric(steps, all-steps))
	}
	return log - math.Ln2
}

// geometric returns the log probability of so many steps, which add up to all, under geometric distributions from 0 on whose
// steps are 0 with probability 1, 1/2, 1/4 and so on, each distribution being as likely as another.
func (m *fieldModel) geometric(steps, all float64) float64 {
	best := int(math.Log2(1 + all/steps))
	sum := never
	for j := max(0, best-2); j <= min(best+2, m.width); j++ { // the others add next to nothing
		log := -steps * float64(j) * math.Ln2
		if all > 0 {
			log += all * math.Log1p(-math.Ldexp(1, -j))
		}
		sum = logAdd(sum, log)
	}
	return sum - math.Log(float64(m.width+1))
}

// step is the distribution of the step from one number of a batch to the next: each size in bits has the same weight, up to
// that of a box of cards.
func (m *fieldModel) step(d uint64) float64 { return m.steps[bits.Len64(d)] }

// next returns the log probability of one more value, given values seen (sorted): for a read that has to be repaired, whose
// repair is likelier the better it fits the others.
func (m *fieldModel) next(v uint64, seen []uint64) float64 {
	n := float64(len(seen))
	if len(seen) == 0 || m.wide {
		return m.base(v)
	}
	at, same := slices.BinarySearch(seen, v)
	switch m.role {
	case siteRole:
		count := 0.0
		for i := at; i < len(seen) && seen[i] == v; i++ {
			count++
		}
		return math.Log((count + sameFacility*math.Exp(m.base(v))) / (n + sameFacility))
	case numberRole:
		near := uint64(math.MaxUint64)
		if at > 0 {
			near = v - seen[at-1]
		}
		if at < len(seen) {
			near = min(near, seen[at]-v)
		}
		if same {
			near = 0
		}
		// A number next to a seen one may lie on either side of it, and of any of them.
		return math.Log(m.batched*m.step(near)/(2*n) + (1-m.batched)*math.Exp(m.base(v)))
	case dateRole:
		return m.dates([]uint64{v})
	}
	return m.even
}

// logAdd returns log(e^a + e^b).
func logAdd(a, b float64) float64 {
	if a < b {
		a, b = b, a
	}
	if math.IsInf(b, -1) {
		return a
	}
	return a + math.Log1p(math.Exp(b-a))
}

var never = math.Inf(-1)
