package reading

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/logp"
)

// padding is how many numbers of a column have zeros before them, and how many have none, by their length: what writes
// a column fills all of them up to a width, or none.
type padding struct{ padded, plain [mostDigits]float64 }

// mostDigits is more than a number in a column has.
const mostDigits = 24

// count counts a number.
func (p *padding) count(text string) {
	switch {
	case !digitsOnly(text) || len(text) >= mostDigits:
	case text[0] == '0':
		p.padded[len(text)]++
	default:
		p.plain[len(text)]++
	}
}

// likely counts the texts of a lot that are likely numbers whose forms have no zeros before them.
func (p *padding) likely(l *lot) {
	for way, share := range l.shares {
		if share >= likely && l.texts[0][way].seen.Reading.shape.bare() {
			for _, text := range l.plain {
				p.count(text)
			}
		}
	}
}

// filled returns how many numbers have zeros before them, and of how many: one of just that width needs none.
func (p *padding) filled(width int) (padded, all float64) {
	for n := range mostDigits {
		padded += p.padded[n]
		if n != width {
			all += p.plain[n]
		}
	}
	return padded, all + padded
}

// width returns how long the longest number with zeros before it is, of either; 0 where there is none.
func (p *padding) width(o *padding) (width int) {
	for n := range mostDigits {
		if p.padded[n]+o.padded[n] > 0 {
			width = n
		}
	}
	return width
}

// log returns the log of how probable it is that numbers are written so beside others.
func (p *padding) log(others *padding) float64 {
	width := p.width(others)
	padded, n := p.filled(width)
	was, before := others.filled(width)
	log := oddly(asPadded, padded, n, was, before)
	if padded == n && was == before {
		return logp.Add(log, math.Log(allPadded))
	}
	return log
}

// any reports whether there are numbers with zeros before them.
func (p *padding) any() bool { return p.padded != [mostDigits]float64{} }

// usual reports whether numbers with zeros before them were seen, and have this length.
func (p *padding) usual(length int) bool {
	return length < mostDigits && p.padded[length] > 0 && !p.unusual(length)
}

// unusual reports whether nine in ten of the numbers with zeros before them have another length.
func (p *padding) unusual(length int) bool {
	padded, _ := p.filled(length)
	return padded > 0 && (length >= mostDigits || p.padded[length]*10 < padded)
}

// stray reports whether hardly any number that is not as long as this one has zeros before it: those are not what the
// column is filled up with.
func (p *padding) stray(length int) bool {
	padded, all := p.filled(length)
	return padded > 0 && (padded*hardlyAny < all || padded == 1 && all > fewest)
}
