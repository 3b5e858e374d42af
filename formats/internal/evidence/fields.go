package evidence

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/density"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
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
	even    float64          // log of 1/number of values
	spread  float64          // share of kinds whose numbers lie anyhow
	numbers *density.Numbers // numberRole, dateRole
	few     *density.Few     // siteRole
	maker   int              // numberRole: the first bits of a chip serial that say who made it; 0 where none do
	wide    bool             // values over 64 bits, taken as even
	usual   []formats.Range  // values that the site is known to use
}

// FieldsOf tells formats apart whose numbers come out differently: by their fields, wherever those are.
func FieldsOf(f *formats.Format) string {
	var b strings.Builder
	for _, field := range f.Layout.Spec().Fields {
		fmt.Fprintf(&b, "%s %d %v %v %s,", field.Name, field.Bits.Len(), field.Coding, field.Order, field.Constant)
	}
	return b.String()
}

func modelFields(f *formats.Format) []fieldModel {
	spec := f.Layout.Spec()
	models := make([]fieldModel, len(spec.Fields))
	for i, field := range spec.Fields {
		m := &models[i]
		n := field.Bits.Len()
		width, limit := n, math.Ldexp(1, n)
		if field.Coding != wiegand.Binary {
			digits := n / 4
			if field.Coding != wiegand.BCD {
				digits = n / 5
			}
			width, limit = int(math.Ceil(float64(digits)*math.Log2(10))), math.Pow(10, float64(digits))
		}
		m.even, m.wide = -math.Log(limit), width > 64
		switch field.Name {
		case wiegand.FieldUnknown:
			m.role = freeRole
		case wiegand.FieldNumber, "credential", "person":
			m.role = numberRole
		case "expiry":
			m.role = dateRole
		}
		m.spread = judgement.NumbersSpread
		switch {
		case f.Kind == formats.KindKeypad: // everybody chooses a code of their own
			m.spread = 1
		case f.Kind == formats.KindSerial && m.role == numberRole:
			m.spread = judgement.SerialSpread
		case f.Kind == formats.KindEither && m.role == numberRole:
			m.spread = judgement.EitherSpread
		}
		up := (1 - m.spread) * judgement.FromOne
		if spans := field.Bits; f.Kind == formats.KindSerial && len(spans) > 1 && spans[0].From > spans[1].From {
			up = judgement.SerialFromOne // only the bytes of a chip's serial are turned round
		}
		if field.Constant != "" {
			m.role, m.even = freeRole, 0 // its check says all there is to say
		}
		switch {
		case m.wide || m.role == freeRole:
		case m.role == siteRole:
			m.few = density.FewOf(width, limit)
		default:
			m.numbers, m.maker = density.NumbersOf(width, limit, m.spread, up), makerOf(f, m.role, width)
		}
	}
	return models
}

// dates returns the log probability of dates: a day of this century, or seldom anything else. Each card has its own,
// any or within ten years; or cards that were issued together have the same.
func (m *fieldModel) dates(values []uint64) float64 {
	other := judgement.NotDate * math.Exp(m.even)
	day := func(v uint64, years float64) float64 {
		if !isDate(v) {
			return other
		}
		return other + (1-judgement.NotDate)/(years*12*31)
	}
	spread, near := 0.0, -math.Log(100) // a century has a hundred years to begin with
	first := uint64(math.MaxUint64)
	for _, v := range values {
		if isDate(v) {
			first = min(first, v/10000)
		}
	}
	for _, v := range values {
		spread += math.Log(day(v, 100))
		if isDate(v) && v/10000 >= first+10 {
			near += math.Log(other)
		} else {
			near += math.Log(day(v, 10))
		}
	}
	if len(values) < 2 {
		return spread
	}
	slices.Sort(values)
	same := density.FewLog(values, func(v uint64) float64 { return day(v, 100) })
	return logp.Add(logp.Add(spread, near), same) - math.Log(3)
}

// isDate reports whether a number is a day of this century, written YYYYMMDD.
func isDate(v uint64) bool {
	y, mo, d := v/10000, v/100%100, v%100
	return y/100 == 20 && mo >= 1 && mo <= 12 && d >= 1 && d <= 31
}

// base returns the log of the prior of one value of the field, standing alone.
func (m *fieldModel) base(v uint64) float64 {
	if m.wide {
		return m.even
	}
	log := m.even
	switch m.role {
	case siteRole:
		log = math.Log(m.few.Base(v))
	case numberRole:
		log = m.numbersLog([]uint64{v})
	}
	if m.usual != nil {
		log = logp.Add(math.Log(judgement.Unlisted)+log, math.Log((1-judgement.Unlisted)*m.listed(v)))
	}
	return log
}

// listed is the even distribution over the values that the site is known to use.
func (m *fieldModel) listed(v uint64) float64 {
	count, in := 0.0, 0.0
	for _, r := range m.usual {
		count += float64(r.Last-r.First) + 1
		if r.Has(v) {
			in++
		}
	}
	return in / count
}

// log returns the log probability of the values of the field on all cards, which it sorts.
func (m *fieldModel) log(values []uint64) float64 {
	if m.wide {
		return float64(len(values)) * m.even
	}
	if len(values) > 1 {
		slices.Sort(values)
	}
	log := 0.0
	switch {
	case m.role == siteRole && m.usual != nil:
		return density.FewLog(values, func(v uint64) float64 { return math.Exp(m.base(v)) })
	case m.role == siteRole:
		return m.few.Log(values)
	default:
		log = m.numbersLog(values)
	}
	if m.usual == nil {
		return log
	}
	listed := 0.0
	for _, v := range values {
		listed += math.Log(judgement.Unlisted*math.Exp(m.even) + (1-judgement.Unlisted)*m.listed(v))
	}
	return logp.Add(math.Log(judgement.Unlisted)+log, math.Log(1-judgement.Unlisted)+listed)
}

// numbersLog returns the log probability of the numbers on all cards, which are sorted.
func (m *fieldModel) numbersLog(sorted []uint64) float64 {
	log := m.numbers.Log(sorted)
	if m.maker > 0 && len(sorted) > 0 {
		return m.serials(sorted, log)
	}
	return log
}

// nextNumber is next for a number, whatever the steps of others.
func (m *fieldModel) nextNumber(v uint64, o *density.Others) float64 {
	if m.maker > 0 {
		return m.numbersLog(o.With(v)) - o.Given(m.numbersLog)
	}
	return m.numbers.Next(v, o)
}

// next returns the log probability of one more value, given those of others: for a read that has to be repaired, whose
// repair is likelier the better it fits the others.
func (m *fieldModel) next(v uint64, o *density.Others) float64 {
	switch {
	case len(o.Sorted) == 0 || m.wide || m.usual != nil:
		return m.base(v)
	case m.role == siteRole:
		return m.few.Next(v, o)
	case m.role == numberRole && m.maker == 0:
		return m.numbers.NextOrSteps(v, o)
	case m.role == numberRole:
		return m.nextNumber(v, o)
	case m.role == dateRole:
		return m.dates([]uint64{v})
	}
	return m.even
}
