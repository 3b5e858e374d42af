package wiegand

import (
	"fmt"
	"slices"
	"strings"
)

// Names of fields that the rest of the project gives a meaning. Any other name is allowed too.
const (
	FieldFacility = "facility" // facility (site) code
	FieldNumber   = "number"   // card number
	FieldUnknown  = "unknown"  // bits whose part is not known: kept as they are, never made up
)

// Limits of a layout.
const (
	MaxFields = 16 // fields of one layout
	MaxChecks = 64 // checks of one layout, those counted in that 5-bit characters and digits imply
)

// Spec says what every bit of a format is for. It is plain data, also as JSON; [Compile] checks it and makes a [Layout]
// of it.
type Spec struct {
	Length int     `json:"length"`           // bits of a read, 1 to 256
	Fields []Field `json:"fields,omitempty"` // in the order in which a record lists them
	Checks []Check `json:"checks,omitempty"` // in the order of computing: a check may cover the bits of earlier ones
}

// Field is a number, or a text of signs, inside a read.
type Field struct {
	// lower-case letters, digits and dashes; FieldUnknown may occur more than once
	Name     string `json:"name"`
	Bits     Spans  `json:"bits"`               // where it is, most significant part first
	Order    Order  `json:"order,omitempty"`    // which end of Bits counts most
	Coding   Coding `json:"coding,omitempty"`   // how the number is written in its bits
	Constant string `json:"constant,omitempty"` // the value it always has, in decimal; "" where it varies
}

// Order says which bit of a binary field, or of each digit of a BCD field, is the most significant.
type Order uint8

// The orders.
const (
	MSBFirst Order = iota // the first bit of the spans counts most
	LSBFirst              // the last one does
)

// Coding says how a field's value is written in its bits.
type Coding uint8

// The codings.
const (
	// Binary: one binary number.
	Binary Coding = iota
	// BCD: a decimal digit in every 4 bits. A value of 10 to 15 fails the field's digit check.
	BCD
	// Digits5: a decimal digit in every 5-bit character of ISO/IEC 7811 track 2: 4 bits, least significant first, then odd
	// parity. The FASC-N uses it (TIG SCEPACS v2.2, figure 7).
	Digits5
	// Signs5: the same characters with all their 16 signs; the value is a text in which sign v is the ASCII character
	// v+0x30: 0123456789:;<=>?.
	Signs5
)

var (
	orderNames  = []string{MSBFirst: "msb", LSBFirst: "lsb"}
	codingNames = []string{Binary: "binary", BCD: "bcd", Digits5: "digits5", Signs5: "signs5"}
	kindNames   = []string{Even: "even", Odd: "odd", LRC: "lrc", Fixed: "fixed", Digit: "digit"}
)

// String returns the name used in definition files, msb or lsb; Order(9) for what is no order.
func (o Order) String() string { return nameOf("Order", orderNames, o) }

// MarshalText returns what String returns. The error is ErrRange for what is no order.
func (o Order) MarshalText() ([]byte, error) { return marshalName("Order", orderNames, o) }

// UnmarshalText reads the names that String returns. The error is ErrSyntax for any other text.
func (o *Order) UnmarshalText(text []byte) error { return unmarshalName(o, "order", orderNames, text) }

// String returns the name used in definition files, binary, bcd, digits5 or signs5; Coding(9) for what is no coding.
func (c Coding) String() string { return nameOf("Coding", codingNames, c) }

// MarshalText returns what String returns. The error is ErrRange for what is no coding.
func (c Coding) MarshalText() ([]byte, error) { return marshalName("Coding", codingNames, c) }

// UnmarshalText reads the names that String returns. The error is ErrSyntax for any other text.
func (c *Coding) UnmarshalText(text []byte) error {
	return unmarshalName(c, "coding", codingNames, text)
}

// charBits returns how many bits of a read one digit or sign takes; 0 for binary.
func (c Coding) charBits() int { return []int{Binary: 0, BCD: 4, Digits5: 5, Signs5: 5}[c] }

// Check is something that must hold among the bits of a read.
type Check struct {
	Kind CheckKind `json:"kind"`          // which rule; it says what of the rest is used
	Bit  int       `json:"bit,omitempty"` // Even, Odd: the bit that makes the count of ones come out
	// Even, Odd, LRC: the bits counted, without Bit; LRC: whole 5-bit characters
	Over   Spans `json:"over,omitempty"`
	Bits   Spans `json:"bits,omitempty"`   // Fixed: the bits that never change; LRC: the 5 bits of the check character
	Value  Bits  `json:"value,omitzero"`   // Fixed: what those bits are
	Repeat int   `json:"repeat,omitempty"` // Even, Odd: how many such checks there are; 0 means 1
	Step   int   `json:"step,omitempty"`   // how many bits each of those comes after the one before
}

// CheckKind is a kind of check.
type CheckKind uint8

// The kinds of check.
const (
	// Even: the ones among Bit and Over are even in number.
	Even CheckKind = iota
	// Odd: they are odd in number.
	Odd
	// LRC: the longitudinal check character of ISO/IEC 7811 track 2: in each of the four data-bit columns the ones over
	// all characters and the check character are even in number; its fifth bit is its own odd parity.
	LRC
	// Fixed: the bits have one value on every card.
	Fixed
	// Digit: every digit of a BCD or Digits5 field is 0 to 9. Fields imply it; it is not written down.
	Digit
)

// String returns the name used in definition files and in JSON, even, odd, lrc, fixed or digit; CheckKind(9) for what
// is no kind of check.
func (k CheckKind) String() string { return nameOf("CheckKind", kindNames, k) }

// MarshalText returns what String returns. The error is ErrRange for what is no kind of check.
func (k CheckKind) MarshalText() ([]byte, error) { return marshalName("CheckKind", kindNames, k) }

// UnmarshalText reads the names that String returns. The error, ErrSyntax for any other text, lists those that a spec
// may have.
func (k *CheckKind) UnmarshalText(text []byte) error {
	if string(text) == kindNames[Digit] {
		*k = Digit
		return nil
	}
	return unmarshalName(k, "kind", kindNames[:Digit], text)
}

func nameOf[T ~uint8](kind string, names []string, v T) string {
	if int(v) < len(names) {
		return names[v]
	}
	return fmt.Sprintf("%s(%d)", kind, v)
}

func marshalName[T ~uint8](kind string, names []string, v T) ([]byte, error) {
	name := nameOf(kind, names, v)
	if int(v) >= len(names) {
		return nil, fail("write", name, "is none of "+strings.Join(names, ", "), ErrRange)
	}
	return []byte(name), nil
}

func unmarshalName[T ~uint8](v *T, what string, names []string, text []byte) error {
	i := slices.Index(names, string(text))
	if i < 0 {
		return fail(what, string(text), "is none of "+strings.Join(names, ", "), ErrSyntax)
	}
	*v = T(i)
	return nil
}
