package osdp

import (
	"bytes"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// Codes of the replies that carry what a person presented.
const (
	RAW    = 0x50 // a card, as bits
	FMT    = 0x51 // a card, as characters
	KEYPAD = 0x53 // keys
)

// Card is what a reader says of a card.
type Card struct {
	Reader byte         // which reader of the device, from 0
	Format byte         // of a RAW reply: 0 unspecified bits, 1 bits with parity around them; others are newer
	Bits   wiegand.Bits // of a RAW reply
	Text   string       // of a FMT reply: the characters as they came
	// Direction of a FMT reply, as it came. Public texts disagree on what it means, so the characters are not turned
	// round.
	Direction byte
	Note      string // what is odd about the reply; "" where nothing is
}

// note adds to what is odd about a reply that bits of its control byte are unknown.
func (p Packet) note(odd string) string {
	if p.Unknown == 0 {
		return odd
	}
	if odd != "" {
		odd += "; "
	}
	return odd + fmt.Sprintf("bits of the control byte are set that mean nothing in the standard: 0x%02X", p.Unknown)
}

// carries returns an error unless the packet is a reply of one of the codes, and can be read.
func (p Packet) carries(op, what string, codes ...byte) error {
	switch {
	case !p.Reply || bytes.IndexByte(codes, p.Code) < 0:
		return fail(op, ErrKind, "%s is no %s reply", p.Name(), what)
	case p.Encrypted():
		return fail(op, ErrEncrypted, "%s from address %d is encrypted; reading it takes the session's key", p.Name(), p.Address)
	}
	return nil
}

// Card returns the card that a RAW or FMT reply carries. The error is ErrKind for any other packet, ErrEncrypted where
// the data is, ErrSyntax where the data does not have the length that it says, or more than 256 bits.
func (p Packet) Card() (Card, error) {
	const op = "read card reply"
	if err := p.carries(op, "card", RAW, FMT); err != nil {
		return Card{}, err
	}
	read := p.raw
	if p.Code == FMT {
		read = p.formatted
	}
	c, err := read(op)
	if err == nil {
		c.Note = p.note(c.Note)
	}
	return c, err
}

// raw reads reader, format, the count of bits in two bytes, and the bits from the left. The spare bits of the last byte
// are ignored, as the standard has it, but worth a note where they are set.
func (p Packet) raw(op string) (Card, error) {
	if len(p.Data) < 4 {
		return Card{}, fail(op, ErrSyntax, "%d bytes of data; RAW has at least 4", len(p.Data))
	}
	c := Card{Reader: p.Data[0], Format: p.Data[1]}
	n, data := int(p.Data[2])|int(p.Data[3])<<8, p.Data[4:]
	switch {
	case n == 0 || n > wiegand.MaxBits:
		return Card{}, fail(op, ErrSyntax, "%d bits; a read has 1 to %d", n, wiegand.MaxBits)
	case len(data) != (n+7)/8:
		return Card{}, fail(op, ErrSyntax, "%d bytes for %d bits", len(data), n)
	}
	var w [4]uint64
	for i, b := range data {
		w[i>>3&3] |= uint64(b) << (56 - 8*(i&7))
	}
	c.Bits = wiegand.BitsFromWords(w, n)
	if spare := uint(8*len(data) - n); data[len(data)-1]&(1<<spare-1) != 0 {
		c.Note = "the spare bits after the last one are not zero; the count of bits may be wrong"
	}
	return c, nil
}

// formatted reads reader, direction, the count of characters, and the characters. Texts disagree on whether the count
// includes start, end and check signs, and some devices count two more than they send.
func (p Packet) formatted(op string) (Card, error) {
	if len(p.Data) < 3 {
		return Card{}, fail(op, ErrSyntax, "%d bytes of data; FMT has at least 3", len(p.Data))
	}
	text := p.Data[3:]
	c := Card{Reader: p.Data[0], Direction: p.Data[1], Text: string(text)}
	switch n := int(p.Data[2]); n {
	case len(text):
	case len(text) + 2:
		c.Note = "the count is two more than the characters; some devices count start and end signs that they do not send"
	default:
		return Card{}, fail(op, ErrSyntax, "%d characters where the count says %d", len(text), n)
	}
	return c, nil
}

// Keys is a keypad entry: secret, so show only Masked unless asked.
type Keys struct {
	Reader byte   // which reader of the device, from 0
	Digits string // 0 to 9; "*" is the key that clears, "#" the one that enters; others as they came, in hex: "<1b>"
	Count  int    // how many keys
	Note   string // what is odd about the reply; "" where nothing is
}

// Masked returns a dot for each key.
func (k Keys) Masked() string { return strings.Repeat("•", k.Count) }

// Keys returns the keypad entry that a KEYPAD reply carries. The errors are those of [Packet.Card].
func (p Packet) Keys() (Keys, error) {
	const op = "read keypad reply"
	switch err := p.carries(op, "keypad", KEYPAD); {
	case err != nil:
		return Keys{}, err
	case len(p.Data) < 2:
		return Keys{}, fail(op, ErrSyntax, "%d bytes of data; KEYPAD has at least 2", len(p.Data))
	case int(p.Data[1]) != len(p.Data)-2:
		return Keys{}, fail(op, ErrSyntax, "%d keys where the count says %d", len(p.Data)-2, p.Data[1])
	}
	var b strings.Builder
	for _, c := range p.Data[2:] {
		switch {
		case c == 0x7F:
			b.WriteByte('*')
		case c == 0x0D:
			b.WriteByte('#')
		case '0' <= c && c <= '9':
			b.WriteByte(c)
		default:
			fmt.Fprintf(&b, "<%02x>", c)
		}
	}
	return Keys{Reader: p.Data[0], Digits: b.String(), Count: len(p.Data) - 2, Note: p.note("")}, nil
}
