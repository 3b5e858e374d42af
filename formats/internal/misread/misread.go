// Package misread says how often reads go wrong on a line, and in which ways.
package misread

import (
	"math"

	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/wiegand"
)

// Log returns the log probability that so many reads go bad on a line, summed over how bad lines are.
func Log(good, bad int) float64 {
	if good < len(few) && bad < len(few) {
		return few[good][bad]
	}
	return many(good, bad)
}

// few is what most questions ask for.
var few = func() (logs [16][16]float64) {
	for good := range logs {
		for bad := range logs {
			logs[good][bad] = many(good, bad)
		}
	}
	return logs
}()

func many(good, bad int) float64 {
	log := math.Inf(-1)
	for i, m := range judgement.MisreadRates {
		log = logp.Add(log, math.Log(m.Share)+float64(good)*rates[i][0]+float64(bad)*rates[i][1])
	}
	return log
}

// rates are the logs of a read being good, and of its being bad, at each rate.
var rates = func() (logs [len(judgement.MisreadRates)][2]float64) {
	for i, m := range judgement.MisreadRates {
		logs[i] = [2]float64{math.Log1p(-m.Rate), math.Log(m.Rate)}
	}
	return logs
}()

// Line is how many misreads of a line went wrong in each way, and no other: a bit wrong; a bit lost, the first, the
// last or another one; a bit too many, likewise; or more than can be put right. Of a misread that can have gone wrong
// in several ways each has a part.
type Line [8]float64

// Shares are their shares of all.
var Shares = func() (shares [len(Line{})]float64) {
	const end = judgement.MisreadAtEnd
	shares[0] = judgement.MisreadFlip
	for i, all := range [...]float64{judgement.MisreadLost, judgement.MisreadExtra} {
		shares[1+3*i], shares[2+3*i], shares[3+3*i] = all*(1-2*end), all*end, all*end
	}
	shares[Beyond] = judgement.MisreadTwo + judgement.MisreadMore
	return shares
}()

// Beyond is the place in a line of what can't be put right.
const Beyond = 7

// Way returns the place in a line of what makes a read of a good one.
func Way(good, read wiegand.Bits) int {
	at, short, long := 1, read, good
	switch {
	case good.Len() == read.Len():
		return 0
	case good.Len() < read.Len():
		at, short, long = 4, good, read
	}
	if cut, _ := long.Delete(0); cut == short {
		return at + 1
	}
	if cut, _ := long.Delete(long.Len() - 1); cut == short {
		return at + 2
	}
	return at
}

// Take takes one more misread, which went wrong in each way with a probability that is given but for a factor. It
// returns the log of how much likelier it is given those before, since a line goes wrong in one way mostly.
func (l *Line) Take(could *Line) float64 {
	all, sum, alike := judgement.WayStrength, 0.0, 0.0
	var part Line
	for i, p := range could {
		all += l[i]
		sum += p
		part[i] = p * (judgement.WayStrength + l[i]/Shares[i])
		alike += part[i]
	}
	for i := range part {
		l[i] += part[i] / alike
	}
	return math.Log(alike / (sum * all))
}

// Only is a misread that surely went wrong in one way.
func Only(way int) *Line {
	var l Line
	l[way] = 1
	return &l
}

// OfOneLength is a misread that has neither lost a bit nor got one too many, and of which no more can be told.
var OfOneLength = Line{0: judgement.MisreadFlip, Beyond: judgement.MisreadTwo + judgement.MisreadMore}

// Flipped is the chance that a misread has just these d of its n bits wrong; 0 for none, and for more than can be put
// right.
func Flipped(d int, n float64) float64 {
	switch d {
	case 1:
		return judgement.MisreadFlip / n
	case 2:
		return judgement.MisreadTwo * 2 / (n * (n - 1))
	case 3:
		return judgement.MisreadMore * 6 / (n * (n - 1) * (n - 2))
	}
	return 0
}

// Differ returns the bits in which two reads of one length differ.
func Differ(a, b wiegand.Bits) wiegand.Bits {
	x, y := a.Words(), b.Words()
	for i := range x {
		x[i] ^= y[i]
	}
	return wiegand.BitsFromWords(x, a.Len())
}

// Unseen returns the probability that a read which nothing checks, and of which only the length shows that it is right,
// has wrong bits: on a line that had so many checked good reads, so many bad ones, and so many others like this one.
func Unseen(good, bad, others int) float64 {
	// misreads of as many bits as they should have
	const wrong = judgement.MisreadFlip + judgement.MisreadTwo + judgement.MisreadMore
	top, all := math.Inf(-1), math.Inf(-1)
	for i, m := range judgement.MisreadRates {
		log := math.Log(m.Share) + float64(good)*rates[i][0] + float64(bad)*rates[i][1] +
			float64(others)*math.Log1p(-m.Rate*(1-wrong))
		all = logp.Add(all, log+math.Log1p(-m.Rate*(1-wrong)))
		top = logp.Add(top, log+math.Log(m.Rate*wrong))
	}
	return math.Exp(top - all)
}
