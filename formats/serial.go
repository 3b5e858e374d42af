package formats

import (
	"bytes"
	"fmt"
	"slices"

	"github.com/cardtell/cardtell/wiegand"
)

// What stands before a part of a longer serial, and what a random one of 4 bytes and one of ISO/IEC 15693-3 begin
// with (ISO/IEC 14443-3, ISO/IEC 15693-3).
const cascadeTag, randomFirst, vicinityFirst = 0x88, 0x08, 0xE0

// SerialFacts says in the words of the standards what a chip's serial number of 4, 5, 7, 8 or 10 bytes is, a sentence
// each: of which kind of chip, and what is wrong with it if something is. It is empty for another length. Of serials
// of 4 and of 8 bytes the standards leave several, which are named; that of 5 bytes is common practice, no source.
func SerialFacts(serial wiegand.Bits) []string {
	b := serial.AppendBytesLeft(nil)
	switch {
	case serial.Len()%8 != 0:
		return nil
	case len(b) == 4:
		return singleFacts(b)
	case len(b) == 5:
		facts := []string{"5 bytes: the number of a 125 kHz tag, its first byte a version or a customer, or the 4 " +
			"bytes of a UID and their check"}
		if b[0]^b[1]^b[2]^b[3] == b[4] {
			facts = append(facts, "its last byte is the check byte BCC of the first four (ISO/IEC 14443-3): the serial "+
				"is likelier those four alone")
		}
		return facts
	case len(b) == 7:
		return append([]string{"7 bytes: a double size UID of ISO/IEC 14443-3"}, makerFacts(b)...)
	case len(b) == 8:
		return eightFacts(b)
	case len(b) == 10:
		return append([]string{"10 bytes: a triple size UID of ISO/IEC 14443-3"}, makerFacts(b)...)
	}
	return nil
}

func singleFacts(b []byte) []string {
	facts := []string{"4 bytes: a single size UID of ISO/IEC 14443-3 type A, or a PUPI of type B, which may be " +
		"another each time"}
	switch {
	case b[0] == randomFirst:
		facts = append(facts, "its first byte 08 says that it is random: the card shows another one each time and "+
			"cannot be enrolled by it")
	case b[0] == cascadeTag:
		facts = append(facts, "its first byte 88 is the cascade tag CT: this is the first part of a longer UID, of "+
			"which 3 bytes are here; two cards can look the same")
	case b[3] == randomFirst, b[3] == cascadeTag:
		facts = append(facts, fmt.Sprintf("its last byte is %02X, which as the first one would say that it is random "+
			"or cut (08, 88): is it written last byte first?", b[3]))
	}
	return facts
}

// makerFacts says what the first byte of a longer UID is.
func makerFacts(b []byte) []string {
	if b[0] == cascadeTag {
		return []string{"its first byte 88 is the cascade tag CT, which is no part of a UID: the number was taken " +
			"from the air, with a tag in front"}
	}
	return []string{fmt.Sprintf("its first byte %02X is the maker of the chip (ISO/IEC 7816-6), the same on many "+
		"cards, and no facility", b[0])}
}

func eightFacts(b []byte) []string {
	switch {
	case b[0] == vicinityFirst:
		return []string{fmt.Sprintf("8 bytes: a UID of ISO/IEC 15693-3: E0, the maker of the chip (%02X, ISO/IEC "+
			"7816-6), and 6 bytes; neither of the first two is a facility", b[1])}
	case b[7] == vicinityFirst:
		return []string{"8 bytes: a UID of ISO/IEC 15693-3 written as it is sent, last byte first: E0 belongs in front"}
	case b[0] == cascadeTag:
		return []string{"8 bytes: 88 is the cascade tag CT of ISO/IEC 14443-3, and the 7 bytes after it are the " +
			"double size UID"}
	case b[0] == 1 && b[1] == 0xFE:
		return []string{"8 bytes: an NFCID2 of ISO/IEC 18092 that begins with 01 FE, whose other bytes are random"}
	}
	return []string{"8 bytes: an NFCID2 of ISO/IEC 18092; a UID of ISO/IEC 15693-3 would begin with E0"}
}

// SerialRead is what a reader that is set to a number of bits can send of a chip's serial.
type SerialRead struct {
	Part string // which bytes in which order, in words: "first 3 bytes", "last 4 bytes, reversed"
	Bits wiegand.Bits
	Card Card // of the format with that length and one number, or facility and number
}

// serialSizes are the lengths that readers are set to, with the whole bytes that each has room for and the format of
// its number.
var serialSizes = []struct {
	bits, bytes int
	format      string
}{{26, 3, "26-8-16"}, {32, 4, "32-0-32"}, {34, 4, "34-0-32"}, {56, 7, "56-0-56"}, {64, 8, "64-0-64"}}

// SerialReads returns what readers set to 26, 32, 34, 56 and 64 bits can send of a chip's serial, by length: the
// bytes as they are and turned round; of a serial that is longer, the first and the last of its bytes, and of a UID
// of 7 or 10 bytes those of its first cascade level with the tag; before a shorter one, zeros. Which of them a reader
// sends is its own setting (common practice, no source). The parity bits of 26 and 34 bits are those of the formats
// of cat, whose formats of those lengths have to be there: else that length is left out.
func SerialReads(serial wiegand.Bits, cat Catalogue) (all []SerialRead) {
	if serial.Len()%8 != 0 {
		return nil
	}
	whole := serial.AppendBytesLeft(nil)
	for _, size := range serialSizes {
		formats := cat.Find(size.format)
		if len(formats) == 0 {
			continue
		}
		for _, p := range serialParts(whole, size.bytes) {
			b, _ := wiegand.BitsFromLeft(p.bytes, 8*len(p.bytes)) // 8 bytes at the most
			if card, err := withData(formats[0], "", b); err == nil {
				all = append(all, SerialRead{p.name, card.Record.Encode(), card})
			}
		}
	}
	return all
}

type serialPart struct {
	name  string
	bytes []byte
}

// serialParts returns the n bytes that can stand for a serial.
func serialParts(b []byte, n int) (all []serialPart) {
	both := func(name string, part []byte) {
		turned := slices.Clone(part)
		slices.Reverse(turned)
		for _, p := range []serialPart{{name, part}, {name + ", reversed", turned}} {
			p.bytes = append(make([]byte, n-len(p.bytes)), p.bytes...) // zeros before them
			if !slices.ContainsFunc(all, func(q serialPart) bool { return bytes.Equal(p.bytes, q.bytes) }) {
				all = append(all, p)
			}
		}
	}
	if len(b) <= n {
		both("all bytes", b)
		return all
	}
	both(fmt.Sprintf("first %d bytes", n), b[:n])
	both(fmt.Sprintf("last %d bytes", n), b[len(b)-n:])
	if n == 4 && (len(b) == 7 || len(b) == 10) {
		both("88 and first 3", append([]byte{cascadeTag}, b[:3]...))
	}
	return all
}
