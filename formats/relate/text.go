package relate

import (
	"fmt"
	"math/bits"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// TextKind is a way of writing a number that rules read and write.
type TextKind uint8

// The kinds.
const (
	Decimal TextKind = iota + 1 // decimal digits
	Hex                         // hex digits
	// two decimal numbers with a separator between: what is above the low Bits bits, and these
	PairText
	JoinedText // the same with nothing between, the second in exactly Digits digits
	BitText    // Bits 0s and 1s
	ReadText   // LENGTH:HEX
	LeftText   // left:LENGTH:HEX
	SerialText // bytes in hex
	textKinds
)

var textNames = [textKinds]string{
	Decimal: "decimal", Hex: "hex", PairText: "pair", JoinedText: "joined", BitText: "bits", ReadText: "bits-hex",
	LeftText: "bits-hex-left", SerialText: "serial",
}

// String returns the name used in rule files; TextKind(99) for what is no kind.
func (k TextKind) String() string {
	if 0 < k && k < textKinds {
		return textNames[k]
	}
	return fmt.Sprintf("TextKind(%d)", uint8(k))
}

// ofRead reports whether it writes reads, of a number of bits.
func (k TextKind) ofRead() bool { return k >= BitText && k <= LeftText }

// separators are what can stand between the numbers of a pair.
const separators = ",-/ "

// Text says how a number of up to 64 bits is written.
type Text struct {
	Kind TextKind
	// zeros are put before a Decimal, a Hex or the second number of a PairText up to so many digits; 0 for none
	Digits int
	High   int  // the same for the first number of a PairText or JoinedText
	Bits   int  // PairText, JoinedText: bits of the second number; BitText, ReadText, LeftText, SerialText: of all
	Sep    byte // PairText: what is written between; SerialText: between bytes, 0 for nothing
	Lower  bool // hex digits a-f
}

// check returns what is wrong with it, if anything.
func (t *Text) check() error {
	switch {
	case t.Kind == 0 || t.Kind >= textKinds:
		return fmt.Errorf("no such way of writing a number")
	case t.Digits < 0 || t.Digits > 20 || t.High < 0 || t.High > 20:
		return fmt.Errorf("%s has %d and %d digits; 0 to 20 are possible", t.Kind, t.High, t.Digits)
	case t.Kind == JoinedText && t.Digits == 0:
		return fmt.Errorf("joined does not say how many digits the number has")
	case (t.Kind == PairText || t.Kind == JoinedText) && (t.Bits < 1 || t.Bits > 63):
		return fmt.Errorf("%s has a number of %d bits; 1 to 63 are possible", t.Kind, t.Bits)
	case t.Kind >= BitText && (t.Bits < 1 || t.Bits > 64):
		return fmt.Errorf("%s has %d bits; rules work on 1 to 64", t.Kind, t.Bits)
	case t.Kind == SerialText && t.Bits%8 != 0:
		return fmt.Errorf("a serial of %d bits is not whole bytes", t.Bits)
	case t.Kind == PairText && !strings.ContainsRune(separators, rune(t.Sep)) || t.Kind == SerialText && t.Sep != 0 &&
		t.Sep != ':' && t.Sep != '-':
		return fmt.Errorf("%s has no such separator", t.Kind)
	}
	return nil
}

// words says it in words.
func (t Text) words() string {
	switch t.Kind {
	case Decimal, Hex:
		if t.Digits > 0 {
			return fmt.Sprintf("%s of %d digits", t.Kind, t.Digits)
		}
		return t.Kind.String()
	case PairText:
		return fmt.Sprintf("a pair with a number of %d bits", t.Bits)
	case JoinedText:
		return fmt.Sprintf("facility and number joined, the number of %d bits in %d digits", t.Bits, t.Digits)
	case BitText, ReadText, LeftText:
		return fmt.Sprintf("a read of %d bits", t.Bits)
	case SerialText:
		return fmt.Sprintf("%d bytes", t.Bits/8)
	}
	return "anything: the rule is none"
}

// bare cuts off a prefix that says how a text is to be read and is no part of it.
func bare(s string) string {
	for _, prefix := range []string{"hex:", "uid:", "bits:", "printed:", "0x", "0X"} {
		if rest, ok := strings.CutPrefix(s, prefix); ok {
			return rest
		}
	}
	return s
}

// parse reads a text. ok is false where it is not written so, or needs more than 64 bits.
func (t *Text) parse(s string) (v uint64, ok bool) {
	s = bare(strings.TrimSpace(s))
	switch t.Kind {
	case Decimal:
		return parseUint(s, 10)
	case Hex:
		return parseUint(s, 16)
	case PairText:
		if i := strings.IndexAny(s, separators); i >= 0 {
			return t.join(s[:i], s[i+1:])
		}
	case JoinedText:
		if i := len(s) - t.Digits; i > 0 {
			return t.join(s[:i], s[i:])
		}
	case BitText, ReadText, LeftText:
		return t.parseRead(s)
	case SerialText:
		return t.parseSerial(s)
	}
	return 0, false
}

func parseUint(s string, base int) (v uint64, ok bool) {
	v, err := strconv.ParseUint(s, base, 64)
	return v, err == nil
}

// unhex is the value of a hex digit, 255 for what is none.
func unhex(c byte) byte {
	i := strings.IndexByte("0123456789abcdefABCDEF", c)
	if i > 15 {
		i -= 6
	}
	return byte(i)
}

// join puts two numbers together, the first above the low Bits bits.
func (t *Text) join(high, low string) (v uint64, ok bool) {
	h, ok1 := parseUint(high, 10)
	l, ok2 := parseUint(low, 10)
	if !ok1 || !ok2 || !fitsWidth(l, t.Bits) || !fitsWidth(h, 64-t.Bits) {
		return 0, false
	}
	return h<<uint(t.Bits) | l, true
}

// parseRead reads a read in any spelling, if its length is right.
func (t *Text) parseRead(s string) (v uint64, ok bool) {
	b, err := wiegand.ParseBits(s)
	if err != nil || b.Len() != t.Bits {
		return 0, false
	}
	return b.Uint64()
}

func (t *Text) parseSerial(s string) (v uint64, ok bool) {
	digits := 0
	for i := range len(s) {
		d := unhex(s[i])
		switch {
		case d <= 15 && digits < t.Bits/4:
			v = v<<4 | uint64(d)
			digits++
		case (s[i] == ':' || s[i] == '-') && digits%2 == 0:
		default:
			return 0, false
		}
	}
	return v, digits == t.Bits/4
}

// append writes a number. ok is false where it does not fit.
func (t *Text) append(dst []byte, v uint64) (r []byte, ok bool) {
	switch t.Kind {
	case Decimal:
		return appendPadded(dst, v, t.Digits), true
	case Hex:
		return t.appendHex(dst, v, max(t.Digits, (bits.Len64(v)+3)/4, 1)), true
	case PairText, JoinedText:
		low := v & (1<<uint(t.Bits) - 1)
		dst = appendPadded(dst, v>>uint(t.Bits), t.High)
		if t.Kind == JoinedText {
			return appendPadded(dst, low, t.Digits), low < pow10[min(t.Digits, 19)]
		}
		return appendPadded(append(dst, t.Sep), low, t.Digits), true
	}
	if !fitsWidth(v, t.Bits) {
		return dst, false
	}
	switch t.Kind {
	case BitText:
		for i := t.Bits - 1; i >= 0; i-- {
			dst = append(dst, '0'+byte(v>>uint(i)&1))
		}
	case ReadText:
		dst = append(strconv.AppendInt(dst, int64(t.Bits), 10), ':')
		dst = t.appendHex(dst, v, (t.Bits+3)/4)
	case LeftText:
		dst = append(strconv.AppendInt(append(dst, "left:"...), int64(t.Bits), 10), ':')
		dst = t.appendHex(dst, v<<uint((8-t.Bits%8)%8), (t.Bits+7)/8*2)
	case SerialText:
		for i := t.Bits - 8; i >= 0; i -= 8 {
			if i < t.Bits-8 && t.Sep != 0 {
				dst = append(dst, t.Sep)
			}
			dst = t.appendHex(dst, v>>uint(i)&255, 2)
		}
	default:
		return dst, false
	}
	return dst, true
}

func appendPadded(dst []byte, v uint64, digits int) []byte {
	n := 1
	for x := v; x >= 10; x /= 10 {
		n++
	}
	for ; n < digits; n++ {
		dst = append(dst, '0')
	}
	return strconv.AppendUint(dst, v, 10)
}

// appendHex appends the low 4*digits bits of v.
func (t *Text) appendHex(dst []byte, v uint64, digits int) []byte {
	set := "0123456789ABCDEF"
	if t.Lower {
		set = "0123456789abcdef"
	}
	for i := digits - 1; i >= 0; i-- {
		d := uint64(0)
		if i < 16 {
			d = v >> uint(4*i) & 15
		}
		dst = append(dst, set[d])
	}
	return dst
}
