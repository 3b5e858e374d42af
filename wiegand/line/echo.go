package line

import "time"

// An echo comes back from the end of a cable, or from another input on it, at always the same delay, on its own wire or
// on the other one. Where it comes about half a beat late it keeps a pace of its own, and has to be told by what else
// it does.
const (
	// minEchoes is how many pulses must be echoes to be told by their delay, which keeps within a part of echoWithin.
	minEchoes, echoWithin = 3, 12
	// likeEcho is the part of a delay within which echoes are alike as a slow recorder sees them.
	likeEcho = 7
	// minChanges is how often the bits must change where every pulse has an echo: that those of a card change only behind
	// every second one is a chance of a half for each change. Fewer will do where every echo
	// is narrower than all others by an eighth.
	minChanges = 6
	// shortestCard is how many bits a card has at least: common practice, no source.
	shortestCard = 24
)

// isSteady tells whether the shortest and the longest of some intervals are those of a steady reader.
func isSteady(shortest, longest time.Duration) bool { return longest/5*4 <= shortest }

// echoes tells whether some pulses are echoes of those before them, and the others keep a steady pace without them. It
// marks them, and puts the read without them into d.read. The delay is one of the intervals.
func (d *Decoder) echoes(pulses []Pulse, delays []time.Duration) bool {
	if d.cfg.Coding != TwoWire {
		return false
	}
	for i, delay := range delays {
		crossed := pulses[i].Wire != pulses[i+1].Wire
		if !isEchoed(pulses, delay, crossed) {
			continue
		}
		bits, n := blank, 0
		for k := 0; k < len(pulses); k, n = k+1, n+1 {
			bits = bits.WithBit(n, uint(pulses[k].Bit))
			if hasEcho(pulses, k, delay, crossed) {
				k++
				pulses[k].Faults = pulses[k].Faults&^(1<<TooSoon) | 1<<Doubled
			}
		}
		d.read.Mended, d.read.Open = bits.Slice(0, n), blank.Slice(0, n)
		return true
	}
	return false
}

// hasEcho tells whether the pulse behind pulse i is its echo.
func hasEcho(pulses []Pulse, i int, delay time.Duration, crossed bool) bool {
	return i+1 < len(pulses) && (pulses[i].Wire != pulses[i+1].Wire) == crossed &&
		distance(pulses[i+1].At-pulses[i].At, delay) <= delay/echoWithin
}

// isEchoed tells whether pulses are steady without those that come at a delay behind another one.
func isEchoed(pulses []Pulse, delay time.Duration, crossed bool) bool {
	echoes, changes, last := 0, 0, 0
	var shortest, longest, widest time.Duration
	narrowest := pulses[0].Width
	for i := 0; i < len(pulses); i++ {
		if since := pulses[i].At - pulses[last].At; i > 0 {
			if shortest == 0 || since < shortest {
				shortest = since
			}
			if longest = max(longest, since); !isSteady(shortest, longest) {
				return false
			}
			if pulses[i].Bit != pulses[last].Bit {
				changes++
			}
		}
		narrowest = min(narrowest, pulses[i].Width)
		if last = i; hasEcho(pulses, i, delay, crossed) {
			echoes++
			i++
			widest = max(widest, pulses[i].Width)
		}
	}
	every := 2*echoes+1 >= len(pulses)
	isKey := len(pulses) > framedKey && len(pulses) < shortestCard && !isKeyOf8(pulses)
	isCard := crossed && len(pulses) >= 2*shortestCard // two dozen pairs, each once with each value
	return echoes >= minEchoes && (changes >= minChanges || isKey || isCard || !every || 8*widest < 7*narrowest)
}

// isKeyOf8 tells whether pulses are those of a key of eight bits, 0 to 11, of which the first four are the others
// inverted (public general-purpose drivers).
func isKeyOf8(pulses []Pulse) bool {
	for i := range keyBits {
		if len(pulses) != 2*keyBits || pulses[i].Bit == pulses[i+keyBits].Bit {
			return false
		}
	}
	return pulses[keyBits].Bit&pulses[keyBits+1].Bit == 0
}

// crosstalk marks the pulses that one of the other wire brings about.
func crosstalk(pulses []Pulse) (found Faults) {
	for i := range pulses {
		if p := &pulses[i]; isCrosstalk(pulses, i) {
			p.Faults, found = p.Faults.with(Doubled)&^(1<<TooSoon), 1<<Doubled
		}
	}
	return found
}

// isCrosstalk tells whether a pulse comes while one of the other wire lasts, and is narrower by a third or more.
func isCrosstalk(pulses []Pulse, i int) bool {
	p := &pulses[i]
	isOf := func(other *Pulse) bool {
		return other.Wire != p.Wire && 3*p.Width <= 2*other.Width && max(p.At, other.At) <= min(p.end(), other.end())
	}
	return p.Faults.Has(BothLow) && (i > 0 && isOf(&pulses[i-1]) || i+1 < len(pulses) && isOf(&pulses[i+1]))
}
