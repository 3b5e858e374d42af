package evidence

import (
	"math"

	"github.com/cardtell/cardtell/wiegand"
)

// misreads returns the log probability that so many reads go bad on a line, summed over how bad lines are.
func misreads(good, bad int) float64 {
	if good < len(fewMisreads) && bad < len(fewMisreads) {
		return fewMisreads[good][bad]
	}
	return manyMisreads(good, bad)
}

// fewMisreads is what most questions ask for.
var fewMisreads = func() (logs [16][16]float64) {
	for good := range logs {
		for bad := range logs {
			logs[good][bad] = manyMisreads(good, bad)
		}
	}
	return logs
}()

func manyMisreads(good, bad int) float64 {
	log := math.Inf(-1)
	for i, m := range misreadRates {
		log = LogAdd(log, math.Log(m.share)+float64(good)*misreadLogs[i][0]+float64(bad)*misreadLogs[i][1])
	}
	return log
}

// misreadLogs are the logs of a read being good, and of its being bad, at each rate.
var misreadLogs = func() (logs [len(misreadRates)][2]float64) {
	for i, m := range misreadRates {
		logs[i] = [2]float64{math.Log1p(-m.rate), math.Log(m.rate)}
	}
	return logs
}()

// line is how many misreads of a line went wrong in each way, and no other: a bit wrong; a bit lost, the first, the
// last or another one; a bit too many, likewise; or more than can be put right. Of a misread that can have gone wrong
// in several ways each has a part.
type line [8]float64

// wayShares are their shares of all.
var wayShares = [len(line{})]float64{misreadFlip, misreadLost * (1 - 2*misreadAtEnd), misreadLost * misreadAtEnd,
	misreadLost * misreadAtEnd, misreadExtra * (1 - 2*misreadAtEnd), misreadExtra * misreadAtEnd,
	misreadExtra * misreadAtEnd, misreadTwo + misreadMore}

// wayBeyond is the place in a line of what can't be put right.
const wayBeyond = 7

// wayOf returns the place in a line of what makes a read of a good one.
func wayOf(good, read wiegand.Bits) int {
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

// take takes one more misread, which went wrong in each way with a probability that is given but for a factor. It
// returns the log of how much likelier it is given those before, since a line goes wrong in one way mostly.
func (l *line) take(could *line) float64 {
	all, sum, alike := wayStrength, 0.0, 0.0
	var part line
	for i, p := range could {
		all += l[i]
		sum += p
		part[i] = p * (wayStrength + l[i]/wayShares[i])
		alike += part[i]
	}
	for i := range part {
		l[i] += part[i] / alike
	}
	return math.Log(alike / (sum * all))
}

// only is a misread that surely went wrong in one way.
func only(way int) *line {
	var l line
	l[way] = 1
	return &l
}

// ofOneLength is a misread that has neither lost a bit nor got one too many, and of which no more can be told.
var ofOneLength = line{0: misreadFlip, wayBeyond: misreadTwo + misreadMore}

// flipped is the chance that a misread has just these d of its n bits wrong; 0 for none, and for more than can be put
// right.
func flipped(d int, n float64) float64 {
	switch d {
	case 1:
		return misreadFlip / n
	case 2:
		return misreadTwo * 2 / (n * (n - 1))
	case 3:
		return misreadMore * 6 / (n * (n - 1) * (n - 2))
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
