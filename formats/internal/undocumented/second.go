package undocumented

import (
	"math"
	"strconv"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/typing"
)

// second is what is printed on cards beside the number that is looked for in their reads: numbers in decimal or in hex,
// as where a card shows facility and number and all of its data as one number, too.
type second struct {
	base   int
	words  [][4]uint64 // the read of each
	prints []*typing.Seen
	log    float64            // if they have to do with nothing, as the sums over layouts have it
	whole  map[[2]int]float64 // by where the data is: if they are all of it
}

// seconds returns those prints of a sample, of which pick has the place of the one that is looked for.
func (s *Sample) seconds(pick func([]typing.Seen) int) (all []second) {
	for _, kind := range [...]formats.SightingKind{formats.Printed, formats.Hex} {
		one := second{base: 10, whole: map[[2]int]float64{}}
		if kind == formats.Hex {
			one.base = 16
		}
		for r, more := range s.Prints {
			first := pick(more)
			for k := range more {
				if m := &more[k]; k != first && first >= 0 && m.Kind == kind && !m.Pair && printedNumber(m) {
					one.words, one.prints = append(one.words, s.Reads[r].Words()), append(one.prints, m)
					one.log += math.Log(unusedChance(more, k, first))
				}
			}
		}
		if len(one.prints) > 0 {
			all = append(all, one)
		}
	}
	return all
}

// beside is the log of how much likelier what else is printed is if it can follow from the number in a place, or from
// all data bits, than if it has to do with nothing.
func (u *search) beside(h *Hypothesis, l *Layout) (log float64) {
	for i := range u.seconds {
		s := &u.seconds[i]
		sum := logp.NewMix()
		sum.Add(math.Log(judgement.PrintUnrelated))
		related := math.Log((1-judgement.PrintUnrelated)*judgement.PrintedFull) - s.log
		sum.Add(related + h.second[i])
		sum.Add(related + math.Log(wholeShare(s.base == 16)) + s.allData(l))
		log += sum.Log()
	}
	return log
}

// add adds a place of a number, with what else can follow from that.
func (u *search) add(h *Hypothesis) {
	for i := range u.seconds {
		h.second = append(h.second, u.seconds[i].shows(h.Place.Number))
	}
	u.hyps = append(u.hyps, *h)
}

// allData is the log of the prints if they are all data bits of a layout.
func (s *second) allData(l *Layout) float64 {
	at := [2]int{l.From, l.To}
	log, known := s.whole[at]
	switch {
	case known:
	case l.To-l.From > 64:
		log = logp.Never
	default:
		log = s.shows(func(w *[4]uint64) (uint64, bool) { return Value(w, l.From, l.To), true })
	}
	s.whole[at] = log
	return log
}

// shows is the log of the prints if they show a number of each read, where that has one.
func (s *second) shows(number func(*[4]uint64) (uint64, bool)) float64 {
	fits := make([]typing.Fit, len(s.prints))
	var buf [64]byte
	for i, print := range s.prints {
		v, ok := number(&s.words[i])
		if !ok {
			fits[i].Slip = print.Astray()
			continue
		}
		text := appendNumber(buf[:0], v, s.base)
		if fits[i].Styles = print.StylesOf(text, false); fits[i].Styles != 0 {
			fits[i].Weight = 1
		} else {
			fits[i].Slip = print.Slip(text)
		}
	}
	return typing.FitsLog(fits)
}

// appendNumber appends a number in decimal or in hex.
func appendNumber(text []byte, v uint64, base int) []byte {
	from := len(text)
	text = strconv.AppendUint(text, v, base)
	for i := from; i < len(text); i++ {
		if text[i] >= 'a' {
			text[i] -= 'a' - 'A'
		}
	}
	return text
}
