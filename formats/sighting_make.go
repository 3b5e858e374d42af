package formats

import (
	"fmt"

	"github.com/cardtell/cardtell/wiegand"
)

// ReadOf is a read of 1 to 256 bits. The error is ErrSyntax for none.
func ReadOf(b wiegand.Bits) (Sighting, error) { return checked(Sighting{Kind: Read, Bits: b}) }

// PrintedOf is a number as printed: digits with , - / or a space between. The error is ErrSyntax for another text.
func PrintedOf(text string) (Sighting, error) { return checked(Sighting{Kind: Printed, Text: text}) }

// HexOf is a number of 1 to 64 hex digits, whose length in bits is not known. The error is ErrSyntax for another text.
func HexOf(text string) (Sighting, error) { return hexSighting(text) }

// SerialOf is a chip serial of 4, 5, 7, 8 or 10 bytes. The error is ErrSyntax for another length.
func SerialOf(b wiegand.Bits) (Sighting, error) {
	return checked(Sighting{Kind: Serial, Bits: b, Text: string(AppendSerial(nil, b))})
}

func checked(s Sighting) (Sighting, error) {
	if err := s.Check(); err != nil {
		return Sighting{}, err
	}
	return s, nil
}

// Check returns nil for a sighting that can be weighed, or ErrSyntax with what it lacks: a kind, bits, digits.
func (s *Sighting) Check() (err error) {
	switch s.Kind {
	case Read:
		if s.Bits.Len() == 0 {
			return fail("card", s.Text, "a read without bits", ErrSyntax)
		}
	case Serial:
		if n := s.Bits.Len(); n%8 != 0 || !serialLengths[n/8] {
			return fail("chip serial", s.Text, fmt.Sprintf("%d bits; a chip serial has 4, 5, 7, 8 or 10 bytes", n), ErrSyntax)
		}
	case Printed:
		_, err = printedSighting(s.Text)
	case Hex:
		_, err = hexSighting(s.Text)
	default:
		return fail("card", s.Text, fmt.Sprintf("%d is no kind of sighting; use formats.ReadOf, PrintedOf, SerialOf or HexOf",
			s.Kind), ErrSyntax)
	}
	return err
}
