package learn

import "github.com/cardtell/cardtell/wiegand"

// PrintForm says how a printed number comes from the number in the read.
type PrintForm uint8

// The print forms.
const (
	PrintNone     PrintForm = iota // no number is printed, or none that has to do with the read
	PrintFull                      // the number, with or without zeros before it
	PrintLast                      // its last digits
	PrintJoined                    // the facility and then the number, in a fixed count of digits
	PrintPair                      // the same two with a separator between
	PrintOffset                    // the number and a constant added
	PrintSequence                  // nothing is printed; the cards came one after the other, each a number higher than the last
)

// Number says where the card number is in a read, and how what is printed comes from it.
type Number struct {
	Bits    wiegand.Spans // most significant part first; empty where no number was found
	Order   wiegand.Order
	Coding  wiegand.Coding
	Inverse bool // every bit of it is changed: most likely the reader's two data lines are swapped
	Print   PrintForm
	Digits  int   // PrintLast, PrintJoined: of the number, in decimal
	Offset  int64 // PrintOffset: what is printed less what is read
}

// number is a hypothesis about the card number.
type number struct {
	Number
	at       []int // the bits, most significant first
	cols     mask
	facility wiegand.Spans // PrintJoined, PrintPair: where the facility is, where it was found
	cost     float64       // bits of description
	misses   []int         // reads that disagree with it
	near     bool          // without prints: the numbers lie near one another, which shows the order of the bits
}

// weights of the kinds of hypothesis, in bits: 1 bit is half as likely. Judgements, as for the checks; a printed number of 16
// bits on a single card outweighs most of them.
const (
	costLSB      = 5  // last bit counts most
	costBytes    = 6  // bytes in the other order
	costBitBytes = 7  // bits of each byte in the other order
	costSplit    = 8  // two spans that are not neighbours, and about 10 bits to say where
	costInverse  = 6  // every bit changed
	costBCD      = 4  // decimal digits of 4 bits
	costDigits5  = 5  // of 5 bits
	costJoined   = 2  // printed behind the facility
	costLast     = 4  // only the last digits are printed
	costOffset   = 8  // a constant is added, and twice its length to say which
	costNone     = 10 // what is printed has nothing to do with the read
)

// value returns the number that h reads; digits over 9 count as they stand.
func (h *number) value(w mask) uint64 {
	v, _ := h.valueOK(w)
	return v
}

// valueOK returns the number that h reads. ok is false where a digit is over 9 or its parity fails.
func (h *number) valueOK(w mask) (v uint64, ok bool) {
	if h.Coding == wiegand.Binary {
		for _, i := range h.at {
			v = v<<1 | w[i>>6]>>(63-uint(i)&63)&1
		}
		if h.Inverse {
			v = ^v & (1<<uint(len(h.at)) - 1)
		}
		return v, true
	}
	n := 4
	if h.Coding == wiegand.Digits5 {
		n = 5
	}
	ok = true
	for c := 0; c < len(h.at); c += n {
		d, ones := uint64(0), 0
		for j := range n {
			bit := uint64(0)
			if w.has(h.at[c+j]) {
				bit = 1
				ones++
			}
			switch {
			case j == 4:
			case h.Coding == wiegand.Digits5 || h.Order == wiegand.LSBFirst:
				d |= bit << uint(j)
			default:
				d |= bit << uint(3-j)
			}
		}
		ok = ok && d <= 9 && (n == 4 || ones%2 == 1)
		v = v*10 + d
	}
	return v, ok
}
