package line

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Track2 is a message of ISO/IEC 7811 track 2, as a clock-and-data line carries it.
type Track2 struct {
	Text     string // start sentinel to end sentinel, such as ";0123456=7?"; the check character is not part of it
	From, To int    // the bits of the message, check character included: From to To-1, counted from 0, as they were read
	Backward bool   // the card was drawn the other way, and the message read from its end
}

const (
	startSentinel = 0xB // ";"
	endSentinel   = 0xF // "?"
	charBits      = 5   // four data bits, least significant first, and odd parity
	maxChars      = 40  // in a message, with sentinels and check character
)

// ParseTrack2 finds the message in the bits of a read, in either direction, and checks the parity of each character and
// the longitudinal check at its end. Zeros before and behind the message are clocking and no part of it. The error is
// ErrSyntax and says what is wrong where the bits are read forward.
func ParseTrack2(b wiegand.Bits) (Track2, error) {
	t, err := parseTrack2(b)
	if err == nil {
		return t, nil
	}
	back, backErr := parseTrack2(b.Reverse())
	if backErr != nil {
		return Track2{}, err
	}
	back.Backward = true
	back.From, back.To = b.Len()-back.To, b.Len()-back.From
	return back, nil
}

func parseTrack2(b wiegand.Bits) (Track2, error) {
	fail := func(format string, args ...any) (Track2, error) {
		return Track2{}, &Error{Op: "read track 2", Reason: fmt.Sprintf(format, args...), Err: ErrSyntax}
	}
	t := Track2{}
	for t.From < b.Len() && b.Bit(t.From) == 0 {
		t.From++
	}
	var text strings.Builder
	lrc, last := uint(0), false
	for i := 0; ; i++ {
		at := t.From + i*charBits
		if at+charBits > b.Len() {
			return fail("the bits end before the message does, after character %d", i)
		}
		c, ones := charAt(b, at)
		switch {
		case i == 0 && (c != startSentinel || ones&1 == 0):
			return fail("the first 1, at bit %d, does not begin a start sentinel", at+1)
		case ones&1 == 0:
			return fail("the parity of character %d, at bit %d, is wrong", i+1, at+1)
		}
		lrc ^= c
		if last {
			if lrc != 0 {
				return fail("the check character at bit %d does not match the message", at+1)
			}
			t.Text, t.To = text.String(), at+charBits
			return t, nil
		}
		text.WriteByte(byte('0' + c))
		last = c == endSentinel
		if i+2 > maxChars {
			return fail("more than %d characters", maxChars)
		}
	}
}

// charAt returns the value of the character that begins at a bit, and how many of its bits are 1.
func charAt(b wiegand.Bits, at int) (c, ones uint) {
	for k := range uint(charBits) {
		v := b.Bit(at + int(k))
		ones += v
		if k < charBits-1 {
			c |= v << k
		}
	}
	return c, ones
}

// Track2Bits returns the bits of a message, from start sentinel to end sentinel, with its check character behind it and
// without clocking zeros. The error is ErrSyntax where the text does not begin with ; and end with ?, or has other signs
// than the digits and : < = > between them, or more than 40 characters with the check character.
func Track2Bits(text string) (wiegand.Bits, error) {
	fail := func(reason string) (wiegand.Bits, error) {
		return wiegand.Bits{}, &Error{Op: "write track 2", Input: cutShort(text), Reason: reason, Err: ErrSyntax}
	}
	n := len(text)
	if n < 2 || n >= maxChars || text[0] != ';' || text[n-1] != '?' {
		return fail("a message begins with ; and ends with ?, and has at most 39 signs")
	}
	var b wiegand.Bits
	lrc := byte(0)
	for i := range n {
		c := text[i] - '0'
		if c > endSentinel || i > 0 && i < n-1 && (c == startSentinel || c == endSentinel) {
			return fail(fmt.Sprintf("sign %d is none of the digits and : < = >", i+1))
		}
		lrc ^= c
		b = appendChar(b, c)
	}
	return appendChar(b, lrc), nil
}

func appendChar(b wiegand.Bits, c byte) wiegand.Bits {
	parity := uint(1)
	for k := range charBits - 1 {
		v := uint(c >> k & 1)
		parity ^= v
		b, _ = b.Append(v)
	}
	b, _ = b.Append(parity)
	return b
}
