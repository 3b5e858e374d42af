package wiegand

import (
	"fmt"
	"math/big"
	"strings"
)

// Format writes bits with the verbs of package fmt: %v, %s and %b every bit, first bit first; %q the same between
// quotes; %x and %X the value in hex, with as many digits as the length needs; %d the value in decimal, whatever its
// length. # puts 0b or 0x in front, width and - work as for texts, and %#v is Go source.
func (b Bits) Format(s fmt.State, verb rune) {
	var text string
	switch verb {
	case 'v', 's', 'b', 'q':
		text = b.String()
	case 'x', 'X':
		text = string(b.AppendHex(nil))
	case 'd':
		text = string(b.appendDecimal(nil))
	default:
		fmt.Fprintf(s, "%%!%c(wiegand.Bits=%s)", verb, b.String())
		return
	}
	if verb == 'x' {
		text = strings.ToLower(text)
	}
	switch {
	case s.Flag('#') && verb == 'v':
		text = fmt.Sprintf("wiegand.MustParseBits(%q)", b.Hex())
	case s.Flag('#') && verb == 'b':
		text = "0b" + text
	case s.Flag('#') && (verb == 'x' || verb == 'X'):
		text = "0" + string(verb) + text
	case verb == 'q':
		text = `"` + text + `"`
	}
	width, _ := s.Width() // a precision would cut, and nothing is ever cut
	if s.Flag('-') {
		width = -width
	}
	fmt.Fprintf(s, "%*s", width, text)
}

func (b Bits) appendDecimal(dst []byte) []byte {
	return new(big.Int).SetBytes(b.AppendBytesRight(nil)).Append(dst, 10)
}
