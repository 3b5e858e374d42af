package relate

import (
	"fmt"
	"math"
	"math/bits"

	"github.com/cardtell/cardtell/formats/internal/words"
)

// Op is what one step of a rule does to a number.
type Op uint8

// The steps. All work on numbers of up to 64 bits and refuse one that does not fit their width; nothing is cut but
// where the step says so.
const (
	SwapBytes    Op = iota + 1 // A bytes, last first
	ReverseBits                // A bits, last first
	ReverseEach                // the bits of each of A bytes, last first
	SwapNibbles                // the two hex digits of each of A bytes
	Invert                     // all of A bits
	KeepLow                    // the low A bits; drops the rest
	KeepHigh                   // of B bits the high A; drops the rest
	KeepDigits                 // the last A decimal digits; drops the rest
	ToBCD                      // decimal digits become hex digits: 1234 becomes 1234 in hex
	FromBCD                    // hex digits, all of them 0-9, become decimal digits
	Add                        // C is added
	SetFacility                // C is put before a number of A bits; there must be nothing before it
	DropFacility               // what is before the low A bits is taken away; it must be C
	StripParity                // a read of format F becomes its data bits; its checks must hold
	AddParity                  // data bits become a read of format F
	ops
)

// opTable says of each step its name in rule files, the key of A there and its bounds, the step that undoes it, what is
// lost where there is none, and what it does in words, of A, B, C and the format.
var opTable = [ops]struct {
	name, unit  string
	low, high   int
	undo        Op
	lost, words string
}{
	SwapBytes:   {"swap-bytes", "bytes", 2, 8, SwapBytes, "", "swap the order of %[1]d bytes"},
	ReverseBits: {"reverse-bits", "bits", 1, 64, ReverseBits, "", "reverse the order of %[1]d bits"},
	ReverseEach: {"reverse-each-byte", "bytes", 1, 8, ReverseEach, "", "reverse the bits of each byte, %[1]d in all"},
	SwapNibbles: {"swap-nibbles", "bytes", 1, 8, SwapNibbles, "", "swap the two hex digits of each byte, %[1]d in all"},
	Invert:      {"invert", "bits", 1, 64, Invert, "", "invert %[1]d bits"},
	KeepLow:     {"keep-low", "bits", 1, 63, 0, "the bits above the low %d are dropped", "keep the low %[1]d bits"},
	KeepHigh: {"keep-high", "bits", 1, 63, 0, "all but the high %d bits are dropped",
		"keep the high %[1]d of %[2]d bits"},
	KeepDigits: {"keep-digits", "digits", 1, 19, 0, "the digits before the last %d are dropped",
		"keep the last digits, %[1]d in all"},
	ToBCD:        {"to-bcd", "", 0, 0, FromBCD, "", "read the decimal digits as hex digits"},
	FromBCD:      {"from-bcd", "", 0, 0, ToBCD, "", "read the hex digits as decimal digits"},
	Add:          {"add", "", 0, 0, Add, "", "add %[3]d"},
	SetFacility:  {"set-facility", "bits", 1, 62, DropFacility, "", "put facility %[3]d before %[1]d bits"},
	DropFacility: {"drop-facility", "bits", 1, 62, SetFacility, "", "take facility %[3]d away from before %[1]d bits"},
	StripParity:  {"strip-parity", "", 0, 0, AddParity, "", "take the data bits out of a %[4]s read"},
	AddParity:    {"add-parity", "", 0, 0, StripParity, "", "make a %[4]s read of the data bits"},
}

func (o Op) known() bool { return 0 < o && o < ops }

// String returns the step's name as rule files have it; Op(99) for what is no step.
func (o Op) String() string {
	if o.known() {
		return opTable[o].name
	}
	return fmt.Sprintf("Op(%d)", uint8(o))
}

// Step is one step of a rule. What A, B and C mean is said at each [Op]; those that it does not name are 0.
type Step struct {
	Op     Op
	A, B   int
	C      int64
	Format string // StripParity, AddParity: id of the format

	frame *frame
}

// fitsWidth reports whether v fits n bits, 1 <= n <= 64.
func fitsWidth(v uint64, n int) bool { return n >= 64 || v>>uint(n) == 0 }

// apply does the step. ok is false where the number does not fit it.
func (s *Step) apply(v uint64) (r uint64, ok bool) {
	switch s.Op {
	case SwapBytes:
		return bits.ReverseBytes64(v) >> uint(64-8*s.A), fitsWidth(v, 8*s.A)
	case ReverseBits:
		return bits.Reverse64(v) >> uint(64-s.A), fitsWidth(v, s.A)
	case ReverseEach:
		return bits.ReverseBytes64(bits.Reverse64(v)), fitsWidth(v, 8*s.A)
	case SwapNibbles:
		return v>>4&0x0F0F0F0F0F0F0F0F | v&0x0F0F0F0F0F0F0F0F<<4, fitsWidth(v, 8*s.A)
	case Invert:
		return ^v & (math.MaxUint64 >> uint(64-s.A)), fitsWidth(v, s.A)
	case KeepLow:
		return v & (math.MaxUint64 >> uint(64-s.A)), true
	case KeepHigh:
		return v >> uint(s.B-s.A), fitsWidth(v, s.B)
	case KeepDigits:
		return v % pow10[s.A], true
	case ToBCD:
		return toBCD(v)
	case FromBCD:
		return fromBCD(v)
	case Add:
		return addSigned(v, s.C)
	case SetFacility:
		return uint64(s.C)<<uint(s.A) | v, fitsWidth(v, s.A)
	case DropFacility:
		return v & (1<<uint(s.A) - 1), v>>uint(s.A) == uint64(s.C)
	case StripParity:
		return s.frame.strip(v)
	case AddParity:
		return s.frame.add(v)
	}
	return 0, false
}

// inverse returns the step that undoes this one. why is what is lost where there is none.
func (s Step) inverse() (r Step, why string) {
	if o := opTable[s.Op]; o.undo == 0 {
		return s, fmt.Sprintf(o.lost, s.A)
	}
	s.Op = opTable[s.Op].undo
	if s.Op == Add {
		s.C = -s.C
	}
	return s, ""
}

// check returns what is wrong with a step's numbers, if anything.
func (s *Step) check() error {
	if !s.Op.known() {
		return fmt.Errorf("no step is called %s", s.Op)
	}
	o := opTable[s.Op]
	if s.Op == KeepHigh {
		if s.B < 2 || s.B > 64 {
			return fmt.Errorf("%s has of = %d; 2 to 64 are possible", s.Op, s.B)
		}
		o.high = s.B - 1
	}
	switch {
	case s.A < o.low || s.A > o.high:
		return fmt.Errorf("%s has %s = %d; %d to %d are possible", s.Op, o.unit, s.A, o.low, o.high)
	case (s.Op == SetFacility || s.Op == DropFacility) && (s.C < 0 || s.C > math.MaxInt64>>uint(s.A)):
		return fmt.Errorf("%s has facility = %d, which does not fit before %d bits", s.Op, s.C, s.A)
	case s.Op == Add && s.C == math.MinInt64:
		return fmt.Errorf("%s has number = %d, which is one too low to be taken back", s.Op, s.C)
	case (s.Op == StripParity || s.Op == AddParity) && s.frame == nil:
		return fmt.Errorf("%s names format %q, which is in no catalogue; give its definition as well", s.Op,
			words.Cut(s.Format))
	}
	return nil
}

// String says in words what the step does.
func (s Step) String() string {
	if !s.Op.known() {
		return s.Op.String()
	}
	switch words := opTable[s.Op].words; {
	case s.Op == ToBCD || s.Op == FromBCD:
		return words
	case s.Op == Add && s.C < 0:
		return fmt.Sprintf("subtract %d", uint64(-s.C))
	default:
		return fmt.Sprintf(words, s.A, s.B, s.C, s.Format)
	}
}

var pow10 = [20]uint64{
	1, 1e1, 1e2, 1e3, 1e4, 1e5, 1e6, 1e7, 1e8, 1e9, 1e10, 1e11, 1e12, 1e13, 1e14, 1e15, 1e16, 1e17, 1e18, 1e19,
}

func toBCD(v uint64) (r uint64, ok bool) {
	if v >= pow10[16] {
		return 0, false
	}
	for s := uint(0); v > 0; s += 4 {
		r |= v % 10 << s
		v /= 10
	}
	return r, true
}

func fromBCD(v uint64) (r uint64, ok bool) {
	if v&0x8888888888888888&((v&0x4444444444444444)<<1|(v&0x2222222222222222)<<2) != 0 {
		return 0, false // a digit over 9 has the bit of 8 and that of 4 or 2
	}
	for p := uint64(1); v > 0; v >>= 4 {
		r += v & 15 * p
		p *= 10
	}
	return r, true
}

func addSigned(v uint64, c int64) (r uint64, ok bool) {
	r = v + uint64(c)
	if c < 0 {
		return r, v >= uint64(-c)
	}
	return r, r >= v
}
