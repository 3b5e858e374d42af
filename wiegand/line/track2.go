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
	Stray    int    // bits outside of the message that are 1, where a stripe has zeros
}

const (
	startSentinel = 0xB // ";"
	endSentinel   = 0xF // "?"
	charBits      = 5   // four data bits, least significant first, and odd parity
	maxChars      = 40  // in a message, with sentinels and check character

	// maxStray is how many stray bits a read may have outside of its message. More are no message: a sentinel has three
	// ones, so that what is left of a damaged message is never taken for a shorter one.
	maxStray = 2
)

// ParseTrack2 finds the message in the bits of a read, in either direction, and checks the parity of each character and
// the longitudinal check at its end. Zeros before and behind the message are clocking and no part of it; up to two bits
// there may be 1. The error is ErrSyntax and says what is wrong where the bits are read forward from the first 1 on.
func ParseTrack2(b wiegand.Bits) (Track2, error) {
	t, ok := findEitherWay(b)
	switch {
	case !ok:
		reason := "more bits outside of the message are 1 than a few stray ones"
		if _, why := track2At(b, b.LeadingZeros()); why != (fault2{}) {
			reason = fmt.Sprintf(why.words, why.number, why.bit)
		}
		return Track2{}, &Error{Op: "read track 2", Reason: reason, Err: ErrSyntax}
	case t.Backward:
		t.Text = textAt(b.Reverse(), t)
		t.From, t.To = b.Len()-t.To, b.Len()-t.From
	default:
		t.Text = textAt(b, t)
	}
	return t, nil
}

// ofMessage returns the faults of what clock and data carry. It allocates nothing.
func (d *Decoder) ofMessage() (f Faults) {
	switch t, ok := findEitherWay(d.read.Bits); {
	case !ok:
		return f.with(NoMessage)
	case t.Stray > 0:
		return f.with(StrayBit)
	}
	return f
}

// findEitherWay finds the message that leaves the fewest stray bits. Of one read from its end the bits are counted from
// there.
func findEitherWay(b wiegand.Bits) (t Track2, ok bool) {
	back := b.Reverse()
	for stray := range maxStray + 1 {
		if t, ok = findTrack2(b, stray); ok {
			return t, true
		}
		if t, ok = findTrack2(back, stray); ok {
			t.Backward = true
			return t, true
		}
	}
	return t, false
}

// findTrack2 finds a message that has so many stray bits before and behind it.
func findTrack2(b wiegand.Bits, stray int) (Track2, bool) {
	for at, before := b.LeadingZeros(), 0; at < b.Len() && before <= stray; at++ {
		if b.Bit(at) == 0 {
			continue
		}
		if to, why := track2At(b, at); why == (fault2{}) && before+b.Slice(to, b.Len()).OnesCount() == stray {
			return Track2{From: at, To: to, Stray: stray}, true
		}
		before++
	}
	return Track2{}, false
}

// fault2 is what is wrong with a message, in words; none where nothing is.
type fault2 struct {
	words  string // of the numbers below
	number int    // of the character, counted from 1
	bit    int    // where it begins, counted from 1
}

// track2At reads the message that begins at a bit, and returns where it ends.
func track2At(b wiegand.Bits, from int) (to int, wrong fault2) {
	lrc, last := uint(0), false
	for i := 0; ; i++ {
		at := from + i*charBits
		if at+charBits > b.Len() {
			return 0, fault2{"the bits end before the message does, after character %[1]d", i, at + 1}
		}
		c, ones := charAt(b, at)
		lrc ^= c
		switch {
		case i == 0 && (c != startSentinel || ones&1 == 0):
			return 0, fault2{"the first 1, at bit %[2]d, does not begin a start sentinel", 1, at + 1}
		case ones&1 == 0:
			return 0, fault2{"the parity of character %d, at bit %d, is wrong", i + 1, at + 1}
		case last && lrc != 0:
			return 0, fault2{"the check character at bit %[2]d does not match the message", i + 1, at + 1}
		case last:
			return at + charBits, fault2{}
		}
		last = c == endSentinel
		if i+2 > maxChars {
			return 0, fault2{"more than %[1]d characters", maxChars, at + 1}
		}
	}
}

// textAt writes the characters of a message, but for its last.
func textAt(b wiegand.Bits, t Track2) string {
	var text strings.Builder
	for at := t.From; at < t.To-charBits; at += charBits {
		c, _ := charAt(b, at)
		text.WriteByte(byte('0' + c))
	}
	return text.String()
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
// without clocking zeros. The error is ErrSyntax where the text does not begin with ; and end with ?, or has other
// signs than the digits and : < = > between them, or more than 40 characters with the check character.
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
