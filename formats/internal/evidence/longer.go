package evidence

import (
	"math"
	"math/bits"
	"slices"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// longerWay is a way in which a print is a longer number of which the data bits of the card are a part: a fob shows ten
// digits, which are 32 bits, and its reader sends 24 of them (common practice, no source).
type longerWay struct {
	name, words   string
	share         float64 // of all of these
	first, turned bool    // they are the first bits rather than the last; their bytes come last first
}

// LongerNumber is the name of the most usual one.
const LongerNumber = "longer-number"

var longerWays = [...]longerWay{
	{LongerNumber, "a longer number, in binary all data bits at its end", 0.7, false, false},
	{"longer-number-turned", "a longer number, in binary all data bits at its end, their last byte first", 0.1, false, true},
	{"longer-number-start", "a longer number, in binary all data bits at its start", 0.1, true, false},
	{"longer-number-start-turned", "a longer number, in binary all data bits at its start, their last byte first", 0.1,
		true, true},
}

// longerNamed returns the one of that name, nil where there is none.
func longerNamed(name string) *longerWay {
	if i := slices.IndexFunc(longerWays[:], func(l longerWay) bool { return l.name == name }); i >= 0 {
		return &longerWays[i]
	}
	return nil
}

// IsLonger reports whether that is the name of such a way.
func IsLonger(name string) bool { return longerNamed(name) != nil }

// mostBeside is how many bits there are at most beside the data bits.
const mostBeside = 32

// parts returns so many bits of a print, and the size bits beside them; false where it is no one number, or none that
// is so long. Where the first bits count it is a chip serial of 4, 7 or 8 bytes.
func (l *longerWay) parts(s *typing.Seen, width int) (data, beside uint64, size int, ok bool) {
	base := 10
	switch {
	case s.Kind == formats.Hex:
		base = 16
	case s.Kind != formats.Printed || s.Pair:
		return 0, 0, 0, false
	}
	v, err := strconv.ParseUint(s.Digits, base, 64)
	if err != nil || width == 0 || width >= 64 || l.turned && width%8 != 0 {
		return 0, 0, 0, false
	}
	data, beside = v&(1<<width-1), v>>width
	size = (bits.Len64(beside) + 7) / 8 * 8
	if l.first {
		total := 64
		switch n := bits.Len64(v); {
		case n <= 32:
			total = 32
		case n <= 56:
			total = 56
		}
		if size = total - width; size <= 0 {
			return 0, 0, 0, false
		}
		data, beside = v>>size, v&(1<<size-1)
	}
	if l.turned {
		data = bits.ReverseBytes64(data) >> (64 - width)
	}
	return data, beside, size, true
}

// fit is how a print fits a card in this way.
func (l *longerWay) fit(c *formats.Card, s *typing.Seen) typing.Fit {
	fit := typing.Fit{Slip: s.Astray()}
	if c.Format == nil || !c.Whole() {
		return fit
	}
	if all := dataBits(c); len(all) > 0 {
		own := all[len(all)-1]
		v, _ := own.Uint64()
		if data, _, _, ok := l.parts(s, own.Len()); ok && data == v {
			fit = typing.Fit{Styles: s.NumberStyles(), Weight: 1}
		}
	}
	return fit
}

// besideLog is the log probability of what is beside so many data bits in all prints of a slot: as often the same in
// all as anything in each, in whole bytes. False where nothing is in any.
func (l *longerWay) besideLog(s *slot, width int) (log float64, ok bool) {
	all, most, same, n := uint64(0), 0, true, 0
	for _, e := range s.entries {
		if _, beside, size, ok := l.parts(e.seen, width); ok {
			same = same && (n == 0 || beside == all)
			all, most, n = beside, max(most, size), n+1
		}
	}
	if most == 0 || most > mostBeside {
		return 0, false
	}
	each := -float64(most) * math.Ln2
	log = float64(n) * each
	if same {
		log = logp.Add(log, each)
	}
	return log - math.Ln2 - math.Log(mostBeside/8), true
}

// longer weighs that the prints of a slot are longer numbers with the data bits of their cards in them; where a card is
// not known, it is what its print says. It calls use with the log of each way, and the cards as they are then.
func (w *Work) longer(s *slot, use func(log float64, how string)) {
	_, width := dataWidths(w.model.format)
	least := width/4 + 1 // digits of a longer number
	if s.kind == formats.Printed {
		least = typing.DigitsOf(width)
	}
	if !slices.ContainsFunc(s.entries, func(e slotEntry) bool { return e.seen.Significant(0) >= least }) {
		return
	}
	form, _ := formats.FormByName("decimal") // of all data bits
	told := w.someTold(s)
	for i := range longerWays {
		l := &longerWays[i]
		beside, ok := l.besideLog(s, width)
		if !ok || told && !(w.fitAll(s, l.fit) && w.follows()) {
			continue
		}
		saved := slices.Clone(w.cards)
		if !told {
			w.fits = resize(w.fits, len(s.entries))
		}
		for k, e := range s.entries {
			if w.told(e.card) {
				continue
			}
			w.fits[k] = typing.Fit{Slip: e.seen.Floor}
			if data, _, _, ok := l.parts(e.seen, width); ok {
				if c, err := form.Parse(w.model.format, strconv.FormatUint(data, 10)); err == nil {
					w.cards[e.card], w.fits[k] = c, l.fit(&c, e.seen)
				}
			}
		}
		use(math.Log(judgement.PrintedLonger*l.share)+beside+typing.FitsLog(w.fits), l.name)
		copy(w.cards, saved)
	}
}
