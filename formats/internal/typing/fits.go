package typing

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
)

// Fit is how one card's sighting fits what one form gives for it: for each style the probability of it, and that of a
// slip.
type Fit struct {
	Styles StyleSet // in which the form gives just this
	Weight float64  // of the styles; of a card whose read has to be repaired, that of the repairs that give what is seen
	Slip   float64  // probability of what is seen as a slip
	Near   near     // what is to be added to slip, by style
	Any    float64  // probability of what is seen where the card can be any: its read tells nothing
}

// FitsLog returns the log probability of the prints of a kind of card in one form, summed over the styles and over how
// often somebody slips. Where no style is that of all cards, each can be in a style of its own, too.
func FitsLog(fits []Fit) float64 {
	var all, common StyleSet
	common = ^common
	shared := common // by all cards that are in any style
	plain := 0       // cards that are just what one and the same set of styles gives: all of these count alike
	for i := range fits {
		all |= fits[i].Styles | fits[i].Near.Styles()
		if fits[i].Styles != 0 {
			shared &= fits[i].Styles
		}
		if fits[i].plain() {
			common &= fits[i].Styles
			plain++
		}
	}
	var have [styles]int
	if shared == 0 {
		have = countStyles(fits)
	}
	mix := logp.NewMix()
	for k, e := range judgement.TypingErrors {
		for set := all; set != 0; set &= set - 1 {
			style := trailing(set)
			log := printErrorLogs[k] + StylePriorLogs[style]
			every := plain > 0 && common>>uint(style)&1 == 1
			if every {
				log += float64(plain) * math.Log1p(-e.Rate)
			}
			for i := range fits {
				if f := &fits[i]; !every || !f.plain() {
					log += math.Log(f.in(style, e.Rate))
				}
			}
			mix.Add(log)
		}
		slips := printErrorLogs[k] // a slip on every card
		for i := 0; i < len(fits) && slips > mix.Top-logp.CutOff; i++ {
			f := &fits[i]
			slips += math.Log(e.Rate*(f.Slip+judgement.OtherStyle*f.Weight*float64(min(f.Styles, 1))) + f.Any)
		}
		mix.Add(slips)
		if shared == 0 {
			mix.Add(printErrorLogs[k] + mixedLog(fits, &have, e.Rate))
		}
	}
	return mix.Log()
}

// countStyles returns how many cards can be in each style.
func countStyles(fits []Fit) (have [styles]int) {
	for i := range fits {
		for set := fits[i].Styles; set != 0; set &= set - 1 {
			have[trailing(set)]++
		}
	}
	return have
}

// mixedLog is FitsLog where the cards are in several styles, as where several people wrote them down, and slips come at
// a rate. Each card is in the style of its own that most cards have, and how many are in each style is as a Pólya urn
// has it that begins with mixedStart cards in the usual ones; have is what countStyles says.
func mixedLog(fits []Fit, have *[styles]int, rate float64) float64 {
	var in [styles]int // how many of the cards before are in a style
	log, n := math.Log(judgement.MixedStyles), 0
	for i := range fits {
		f, p := &fits[i], 0.0
		if f.Styles != 0 {
			style := trailing(f.Styles)
			for set := f.Styles; set != 0; set &= set - 1 {
				if have[trailing(set)] > have[style] {
					style = trailing(set)
				}
			}
			p = (1 - rate) * f.Weight * (mixedStart*StylePrior[style] + float64(in[style])) / (mixedStart + float64(n))
			in[style]++
			n++
		}
		log += math.Log(p + rate*f.Slip + f.Any)
	}
	return log
}

const mixedStart = 2

// plain reports whether a fit is that of a card whose read is known, and whose print is what the form gives.
func (f *Fit) plain() bool { return f.Styles != 0 && f.Weight == 1 && f.Slip == 0 && f.Any == 0 }

// in returns the probability of a fit where a kind of card is printed in one style and slips come at a rate.
func (f *Fit) in(style int, rate float64) float64 {
	p := rate*(f.Slip+f.Near.in(style)) + f.Any
	if f.Styles>>uint(style)&1 == 1 {
		return p + (1-rate)*f.Weight
	}
	if f.Styles != 0 {
		p += rate * judgement.OtherStyle * f.Weight
	}
	return p
}

var printErrorLogs, StylePriorLogs = func() (e [len(judgement.TypingErrors)]float64, s [styles]float64) {
	for i := range e {
		e[i] = math.Log(judgement.TypingErrors[i].Share)
	}
	for i := range s {
		s[i] = math.Log(StylePrior[i])
	}
	return e, s
}()

// MeanErrors is how often a print is written down wrong, over all sites.
func MeanErrors() (mean float64) {
	for _, e := range judgement.TypingErrors {
		mean += e.Share * e.Rate
	}
	return mean
}

func trailing(set StyleSet) int { return bits.TrailingZeros64(uint64(set)) }
