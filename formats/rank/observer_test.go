package rank

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// The observer is the limit to which ranking can be held: it knows by what rules the simulator draws its sites, and
// with what shares, and weighs every format by them, after Bayes. Nobody is right at more of the simulator's sites than
// it is, on average; a ranking that has to do with other assumptions falls short of it. It shares no code with the
// ranking, and takes what the simulator does one case after the other.

// observe returns the likeliest format of a site and how likely it is, with all that the simulator's rules say.
func (s *simulator) observe(st *site) (best *formats.Format, probability float64) {
	var logs []float64
	top := never
	for i := range s.cat.Len() {
		f := s.cat.At(i)
		if s.weight(i) == 0 || f.Layout.Len() != st.seen[0][0].Bits.Len() {
			continue
		}
		l := math.Log(s.weight(i)) + s.logOf(f, st)
		logs = append(logs, l)
		if l > top {
			top, best = l, f
		}
	}
	return best, math.Exp(top - logp.Sum(logs))
}

// logOf is the log probability with which the simulator makes what is seen of a site, if it has this format.
func (s *simulator) logOf(f *formats.Format, st *site) float64 {
	cards := make([]formats.Card, len(st.seen))
	for i, seen := range st.seen {
		c, err := f.Read(seen[0].Bits)
		if err != nil || !c.Record.OK() || !remade(f, &c) {
			return never
		}
		cards[i] = c
	}
	log := 0.0
	for i, field := range f.Layout.Spec().Fields {
		if field.Constant == "" {
			log += s.fieldLog(f, i, cards)
		}
	}
	for i := range st.seen {
		if len(st.seen[i]) > 1 {
			log += printLog(f, &cards[i], st.seen[i][1])
		}
	}
	return log
}

// remade reports whether the simulator can make a read: its fields put into a card with the format's constants give it.
func remade(f *formats.Format, c *formats.Card) bool {
	made := f.Blank()
	for i, field := range f.Layout.Spec().Fields {
		if field.Constant != "" {
			continue
		}
		var err error
		if made, err = made.With(i, c.Text(i)); err != nil {
			return false
		}
	}
	return made.Record.Encode() == c.Record.Bits()
}

// fieldLog mirrors the simulator's field.
func (s *simulator) fieldLog(f *formats.Format, i int, cards []formats.Card) float64 {
	field := f.Layout.Spec().Fields[i]
	limit, width, n := s.limit(field), field.Bits.Len(), float64(len(cards))
	switch {
	case field.Coding == wiegand.Signs5:
		return n * digitsLog(cards, i, width/5)
	case field.Name == wiegand.FieldUnknown, f.Kind == formats.KindSerial && field.Name == wiegand.FieldNumber:
		return -n * float64(width) * math.Ln2
	case f.Kind == formats.KindKeypad && field.Coding == wiegand.Binary:
		return pinLog(values(cards, i))
	case f.Kind == formats.KindKeypad:
		return n * digitsLog(cards, i, width/4)
	case field.Name == "person", field.Name == "credential", field.Name == wiegand.FieldNumber:
		if limit == 0 {
			return -n * float64(width) * math.Ln2
		}
		if log := boxLog(values(cards, i), limit); f.Kind != formats.KindEither {
			return log
		} else {
			return logp.Add(log, -n*float64(width)*math.Ln2) - math.Ln2
		}
	case field.Name == "expiry":
		for k := range cards {
			if !s.isExpiry(cards[k].Text(i)) {
				return never
			}
		}
		return -n * math.Log(5*12*28)
	}
	return facilityLog(values(cards, i), limit)
}

func (s *simulator) isExpiry(text string) bool {
	var year, month, day int
	n, _ := fmt.Sscanf(text, "%4d%2d%2d", &year, &month, &day)
	return n == 3 && len(text) == 8 && year >= 2027 && year < 2032 && month >= 1 && month <= 12 && day >= 1 && day <= 28
}

func values(cards []formats.Card, i int) []uint64 {
	v := make([]uint64, len(cards))
	for k := range cards {
		v[k], _ = cards[k].Record.Uint64(i)
	}
	return v
}

// digitsLog is that of one card's n digits at random; never where they are not all digits.
func digitsLog(cards []formats.Card, i, n int) float64 {
	for k := range cards {
		if strings.Trim(cards[k].Text(i), "0123456789") != "" {
			return never
		}
	}
	return -float64(n) * math.Log(10)
}

// pinLog is that of numbers typed at keypads: a quarter of sites has five digits up to 65535, the others four.
func pinLog(values []uint64) float64 {
	log := 0.0
	for _, v := range values {
		if v < 10000 {
			log += math.Log(0.75 / 10000)
		} else {
			log += math.Log(0.25 / 55536)
		}
	}
	return log
}

// boxLog is that of numbers out of one box, summed over its size and where it begins, or from anywhere.
func boxLog(values []uint64, limit uint64) float64 {
	n, low, high := float64(len(values)), slices.Min(values), slices.Max(values)
	sum := 0.2 * math.Pow(float64(limit), -n)
	for _, size := range []uint64{25, 100, 500} {
		size = min(size, limit)
		first, last := uint64(0), min(low, limit-size) // where it can begin
		if high+1 > size {
			first = high + 1 - size
		}
		p := 0.0
		if first <= last {
			p += 0.7 * float64(last-first+1) / float64(limit-size+1)
		}
		if start := min(1, limit-size); first <= start && start <= last {
			p += 0.3
		}
		sum += 0.8 / 3 * p * math.Pow(float64(size), -n)
	}
	return math.Log(sum)
}

// facilityLog is that of a facility: one for the site, or two with one card in three from the second order.
func facilityLog(values []uint64, limit uint64) float64 {
	p := func(v uint64) float64 {
		small := float64(min(limit, 256))
		if v < min(limit, 256) {
			return 0.6/small + 0.4/float64(limit)
		}
		return 0.4 / float64(limit)
	}
	count := map[uint64]int{}
	for _, v := range values {
		count[v]++
	}
	n := float64(len(values))
	split := func(k int) float64 { return math.Pow(2.0/3, n-float64(k)) * math.Pow(1.0/3, float64(k)) }
	v := values[0]
	switch len(count) {
	case 1:
		other := 1 - p(v)
		return math.Log(0.92*p(v) + 0.08*(p(v)*p(v)+p(v)*other*(split(0)+split(len(values)))))
	case 2:
		for w := range count {
			if w != v {
				return math.Log(0.08 * p(v) * p(w) * (split(count[v]) + split(count[w])))
			}
		}
	}
	return never
}

// printLog mirrors the simulator's print.
func printLog(f *formats.Format, c *formats.Card, seen formats.Sighting) float64 {
	sum := 0.0
	if n := len(seen.Text); seen.Kind == formats.Printed && n >= 4 && n < 11 {
		sum = 0.02 / 7 * math.Pow(10, -float64(n))
	}
	same, all := 0, 0
	for _, h := range habitsOf(f) {
		form, _ := formats.FormByName(h.form)
		text, err := form.Text(c)
		if err != nil {
			continue
		}
		all += h.sites
		if kindOf(h.form) == seen.Kind && strings.ReplaceAll(text, ":", "") == seen.Text {
			same += h.sites
		}
	}
	if same > 0 {
		sum += 0.98 * float64(same) / float64(all)
	}
	return math.Log(sum)
}
