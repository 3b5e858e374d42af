package learn

import (
	"fmt"
	"math"
	"math/bits"
)

// Op is what one step of a rule does to a number.
type Op uint8

// The steps. All work on numbers of up to 64 bits and refuse one that does not fit their width; nothing is cut but where the
// step says so.
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

// opNames are the names used in rule files.
var opNames = [ops]string{
	SwapBytes: "swap-bytes", ReverseBits: "reverse-bits", ReverseEach: "reverse-each-byte", SwapNibbles: "swap-nibbles",
	Invert: "invert", KeepLow: "keep-low", KeepHigh: "keep-high", KeepDigits: "keep-digits", ToBCD: "to-bcd",
	FromBCD: "from-bcd", Add: "add", SetFacility: "set-facility", DropFacility: "drop-facility", StripParity: "strip-parity",
	AddParity: "add-parity",
}

// String returns the step's name as rule files have it.
func (o Op) String() string {
	if o < ops && o > 0 {
		return opNames[o]
	}
	return fmt.Sprintf("%d?", uint8(o))
}

// Step is one step of a rule. What A, B and C mean is said at each [Op]; those that it does not name are 0.
type Step struct {
	Op     Op
	A, B   int
	C      int64
	Format string // StripParity, AddParity: id of the format

	frame *frame
}

// maxInt is 2^63-1: facilities and constants are held to that.
const maxInt = math.MaxInt64

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
	switch s.Op {
	case SwapBytes, ReverseBits, ReverseEach, SwapNibbles, Invert:
		return s, ""
	case ToBCD:
		return Step{Op: FromBCD}, ""
	case FromBCD:
		return Step{Op: ToBCD}, ""
	case Add:
		return Step{Op: Add, C: -s.C}, ""
	case SetFacility:
		return Step{Op: DropFacility, A: s.A, C: s.C}, ""
	case DropFacility:
		return Step{Op: SetFacility, A: s.A, C: s.C}, ""
	case StripParity:
		s.Op = AddParity
		return s, ""
	case AddParity:
		s.Op = StripParity
		return s, ""
	case KeepLow:
		return s, fmt.Sprintf("the bits above the low %d are dropped", s.A)
	case KeepHigh:
		return s, fmt.Sprintf("the low %d bits are dropped", s.B-s.A)
	case KeepDigits:
		return s, fmt.Sprintf("the digits before the last %d are dropped", s.A)
	}
	return s, "no such step"
}

// check returns what is wrong with a step's numbers, if anything.
func (s *Step) check() error {
	between := func(what string, v, lo, hi int) error {
		if v < lo || v > hi {
			return fmt.Errorf("%s has %s %d; %d to %d are possible", s.Op, what, v, lo, hi)
		}
		return nil
	}
	switch s.Op {
	case SwapBytes:
		return between("bytes =", s.A, 2, 8)
	case ReverseEach, SwapNibbles:
		return between("bytes =", s.A, 1, 8)
	case ReverseBits, Invert:
		return between("bits =", s.A, 1, 64)
	case KeepLow:
		return between("bits =", s.A, 1, 63)
	case KeepHigh:
		if err := between("of =", s.B, 2, 64); err != nil {
			return err
		}
		return between("bits =", s.A, 1, s.B-1)
	case KeepDigits:
		return between("digits =", s.A, 1, 19)
	case SetFacility, DropFacility:
		if err := between("bits =", s.A, 1, 62); err != nil {
			return err
		}
		if s.C < 0 || s.C > maxInt>>uint(s.A) {
			return fmt.Errorf("%s has facility = %d, which does not fit before %d bits", s.Op, s.C, s.A)
		}
		return nil
	case Add:
		if s.C == math.MinInt64 {
			return fmt.Errorf("%s has number = %d, which is one too low to be taken back", s.Op, s.C)
		}
		return nil
	case ToBCD, FromBCD:
		return nil
	case StripParity, AddParity:
		if s.frame == nil {
			return fmt.Errorf("%s names format %q, which is in no catalogue; give its definition with --formats", s.Op, cutShort(s.Format))
		}
		return nil
	}
	return fmt.Errorf("no step is called %s", s.Op)
}

// String says in words what the step does.
func (s Step) String() string {
	switch s.Op {
	case SwapBytes:
		return fmt.Sprintf("swap the order of %d bytes", s.A)
	case ReverseBits:
		return fmt.Sprintf("reverse the order of %d bits", s.A)
	case ReverseEach:
		return fmt.Sprintf("reverse the bits of each of %s", plural(s.A, "byte"))
	case SwapNibbles:
		return fmt.Sprintf("swap the two hex digits of each of %s", plural(s.A, "byte"))
	case Invert:
		return fmt.Sprintf("invert %d bits", s.A)
	case KeepLow:
		return fmt.Sprintf("keep the low %d bits", s.A)
	case KeepHigh:
		return fmt.Sprintf("keep the high %d of %d bits", s.A, s.B)
	case KeepDigits:
		return fmt.Sprintf("keep the last %s", plural(s.A, "digit"))
	case ToBCD:
		return "read the decimal digits as hex digits"
	case FromBCD:
		return "read the hex digits as decimal digits"
	case Add:
		if s.C < 0 {
			return fmt.Sprintf("subtract %d", -s.C)
		}
		return fmt.Sprintf("add %d", s.C)
	case SetFacility:
		return fmt.Sprintf("put facility %d before %d bits", s.C, s.A)
	case DropFacility:
		return fmt.Sprintf("take facility %d away from before %d bits", s.C, s.A)
	case StripParity:
		return fmt.Sprintf("take the data bits out of a %s read", s.Format)
	case AddParity:
		return fmt.Sprintf("make a %s read of the data bits", s.Format)
	}
	return s.Op.String()
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
