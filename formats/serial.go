package formats

import (
	"bytes"
	_ "embed"
	"fmt"
	"regexp"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/wiegand"
)

// cascadeTag stands before a part of a longer serial (ISO/IEC 14443-3).
const cascadeTag = 0x88

// serialLines says what serials are: how many bytes they have; the hex digits that they begin with, those left out
// being points, nothing where all are so, "check" where the last byte is the check of the others; and the fact, in
// which {0} and {1} are the first two bytes. Of those with digits or "check" the first one counts.
//
//go:embed serials.txt
var serialLines string

// SerialFacts says in the words of the standards what a chip's serial number of 4, 5, 7, 8 or 10 bytes is, a sentence
// each: of which kind of chip, and what is wrong with it if something is. It is empty for another length. Of serials
// of 4 and of 8 bytes the standards leave several, which are named; that of 5 bytes is common practice, no source.
func SerialFacts(serial wiegand.Bits) []string {
	if serial.Len()%8 != 0 || serial.Len() < 32 {
		return nil
	}
	b, hex := serial.AppendBytesLeft(nil), string(serial.AppendHex(nil))
	check := byte(0)
	for _, v := range b {
		check ^= v
	}
	var facts []string
	bytesOf := strings.NewReplacer("{0}", hex[:2], "{1}", hex[2:4])
	for line := range strings.Lines(serialLines) {
		parts := strings.Split(strings.TrimSuffix(line, "\n"), "\t")
		begins, _ := regexp.MatchString("^"+parts[1], hex)
		if parts[0] == strconv.Itoa(len(b)) && (begins || parts[1] == "check" && check == 0) {
			facts = append(facts, bytesOf.Replace(parts[2]))
			if parts[1] != "" {
				break
			}
		}
	}
	return facts
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
