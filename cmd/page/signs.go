package main

import (
	"encoding/binary"
	"unicode/utf16"
)

// A page in UTF-16 has room for nearly two bytes in a sign: 29 times 2,048 signs of it are neither halves of others,
// nor what HTML, mail or an editor changes. The lower 11 bits of each are taken as they are; five times what is above
// them is a number of three bytes. So 40 signs hold 79 bytes.
const signs, held, above = 40, 79, 24

// written writes bytes in signs, and before them how many they are, in four bytes.
func written(b []byte) string {
	b = append(binary.LittleEndian.AppendUint32(nil, uint32(len(b))), b...)
	blocks := (len(b) + held - 1) / held
	b = append(b, make([]byte, blocks*held-len(b)+1)...) // and one to look ahead
	high, low := b[:blocks*above], b[blocks*above:]
	var out []rune
	for i := range blocks * signs {
		n := i / 5 * 3
		digit := int(high[n]) | int(high[n+1])<<8 | int(high[n+2])<<16
		for range i % 5 {
			digit /= 29
		}
		bit := i * 11
		part := int(low[bit/8])<<16 | int(low[bit/8+1])<<8 | int(low[min(bit/8+2, len(low)-1)])
		sign := digit%29 + 1
		if sign >= 0xd800>>11 {
			sign++
		}
		out = append(out, rune(sign<<11|part>>(13-bit%8)&0x7ff))
	}
	return string(out)
}

// utf16LE is a text in UTF-16 with the mark that says so, which goes before what a server says of it: Encoding
// standard, section 6, "decode".
func utf16LE(text string) []byte {
	b := []byte{0xff, 0xfe}
	for _, unit := range utf16.Encode([]rune(text)) {
		b = binary.LittleEndian.AppendUint16(b, unit)
	}
	return b
}
