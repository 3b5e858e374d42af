package evidence

import (
	"math"
	"math/bits"
)

// fit is how one card's sighting fits what one form gives for it: for each style the probability of it, and that of a
// slip.
type fit struct {
	styles styleSet
	weight float64 // of the styles; of a card whose read has to be repaired, that of the repairs that give what is seen
	slip   float64
	near   near    // what is to be added to slip, by style
	any    float64 // probability of what is seen where the card can be any: its read tells nothing
}

// fitsLog returns the log probability of the prints of a kind of card in one form, summed over the styles and over how
// often somebody slips.
func fitsLog(fits []fit) float64 {
	var all, common styleSet
	common = ^common
	plain := 0 // cards that are just what one and the same set of styles gives: all of these count alike
	for i := range fits {
		all |= fits[i].styles | fits[i].near.styles()
		if fits[i].plain() {
			common &= fits[i].styles
			plain++
		}
	}
	mix := newMix()
	for k, e := range TypingErrors {
		for set := all; set != 0; set &= set - 1 {
			style := trailing(set)
			log := printErrorLogs[k] + stylePriorLogs[style]
			every := plain > 0 && common>>uint(style)&1 == 1
			if every {
				log += float64(plain) * math.Log1p(-e.Rate)
			}
			for i := range fits {
				if f := &fits[i]; !every || !f.plain() {
					log += math.Log(f.in(style, e.Rate))
				}
			}
			mix.add(log)
		}
		slips := printErrorLogs[k] // a slip on every card
		for i := 0; i < len(fits) && slips > mix.top-cutOff; i++ {
			f := &fits[i]
			slips += math.Log(e.Rate*(f.slip+otherStyle*f.weight*float64(min(f.styles, 1))) + f.any)
		}
		mix.add(slips)
	}
	return mix.log()
}

// plain reports whether a fit is that of a card whose read is known, and whose print is what the form gives.
func (f *fit) plain() bool { return f.styles != 0 && f.weight == 1 && f.slip == 0 && f.any == 0 }

// in returns the probability of a fit where a kind of card is printed in one style and slips come at a rate.
func (f *fit) in(style int, rate float64) float64 {
	p := rate*(f.slip+f.near.in(style)) + f.any
	if f.styles>>uint(style)&1 == 1 {
		return p + (1-rate)*f.weight
	}
	if f.styles != 0 {
		p += rate * otherStyle * f.weight
	}
	return p
}

var printErrorLogs, stylePriorLogs = func() (e [len(TypingErrors)]float64, s [styles]float64) {
	for i := range e {
		e[i] = math.Log(TypingErrors[i].Share)
	}
	for i := range s {
		s[i] = math.Log(stylePrior[i])
	}
	return e, s
}()

// MeanTypingErrors is how often a print is written down wrong, over all sites.
func MeanTypingErrors() (mean float64) {
	for _, e := range TypingErrors {
		mean += e.Share * e.Rate
	}
	return mean
}

func trailing(set styleSet) int { return bits.TrailingZeros64(uint64(set)) }
