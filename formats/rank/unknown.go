package rank

import (
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/wiegand"
)

// unknownLength returns the log prior of an unknown layout having n bits.
func unknownLength(n int) float64 {
	p := (1 - unknownUsual) / wiegand.MaxBits
	if n >= unknownLow && n <= unknownHigh {
		p += unknownUsual / (unknownHigh - unknownLow + 1)
	}
	return math.Log(p)
}

// unknownReads returns the log probability of reads of one length under a layout of which nothing is known. One read is n
// fair coins. Several reads of a site share bits, and count in others: the better of two descriptions is taken, each at half
// weight. Without that, any known layout would beat "unknown" as soon as a site repeats its facility.
func unknownReads(reads []wiegand.Bits) float64 {
	n := reads[0].Len()
	if len(reads) == 1 {
		return -float64(n) * math.Ln2
	}
	ones := countOnes(reads)
	log := math.Log(0.5) + bitwise(ones, len(reads))
	return logAdd(log, math.Log(0.5)+windowed(reads, ones))
}

// countOnes returns how many reads have a 1 at each bit.
func countOnes(reads []wiegand.Bits) []int {
	ones := make([]int, reads[0].Len())
	for _, r := range reads {
		for k, w := range r.Words() {
			for ; w != 0; w &= w - 1 {
				ones[64*k+bits.LeadingZeros64(w&-w)]++
			}
		}
	}
	return ones
}

// bitwise gives each bit a Krichevsky-Trofimov estimate of its own: a bit that never changes costs little more than one bit
// in all, however many reads there are.
func bitwise(ones []int, n int) float64 {
	log := 0.0
	for _, k := range ones {
		log += lnBeta(float64(k)+0.5, float64(n-k)+0.5) - lnBeta(0.5, 0.5)
	}
	return log
}

func lnBeta(a, b float64) float64 {
	x, _ := math.Lgamma(a)
	y, _ := math.Lgamma(b)
	z, _ := math.Lgamma(a + b)
	return x + y - z
}

// stays is the chance that a bit outside the number is the same on all cards of a site; else it is a coin, as parity bits are.
const stays = 0.8

// windowModels are the priors of numbers of 10 to 35 bits.
var windowModels = func() (models [36]fieldModel) {
	for width := 10; width < len(models); width++ {
		m := &models[width]
		*m = fieldModel{role: numberRole, width: width, even: -float64(width) * math.Ln2, uniform: uniformShare, batched: batched}
		m.fill()
	}
	return models
}()

// windowed supposes a number of 10 to 35 bits that ends at most two bits before the read does, as numbers commonly do, with
// bits around it that stay the same or are coins.
func windowed(reads []wiegand.Bits, ones []int) float64 {
	n, L := float64(len(reads)), len(ones)
	around := make([]float64, L+1) // sums of the log probability of bits outside, from the left
	for i, k := range ones {
		coin := math.Log(1-stays) - n*math.Ln2
		if k == 0 || k == len(reads) {
			coin = logAdd(coin, math.Log(stays/2))
		}
		around[i+1] = around[i] + coin
	}
	var logs []float64
	values := make([]uint64, len(reads))
	for end := L; end > L-3 && end >= 10; end-- {
		for width := 10; width <= min(len(windowModels)-1, end); width++ {
			m := &windowModels[width]
			for i, r := range reads {
				values[i], _ = r.Slice(end-width, end).Uint64()
			}
			logs = append(logs, m.numbers(values)+around[end-width]+around[L]-around[end])
		}
	}
	if logs == nil {
		return bitwise(ones, len(reads))
	}
	return logSum(logs) - math.Log(float64(len(logs)))
}

// logSum returns the log of the sum of the numbers whose logs are given.
func logSum(logs []float64) float64 {
	top := never
	for _, l := range logs {
		top = math.Max(top, l)
	}
	if math.IsInf(top, -1) {
		return never
	}
	sum := 0.0
	for _, l := range logs {
		sum += math.Exp(l - top)
	}
	return top + math.Log(sum)
}
