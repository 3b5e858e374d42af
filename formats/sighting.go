package formats

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// SightingKind says how a card was seen.
type SightingKind uint8

// The kinds of sighting. 0 is none, so that a kind that was forgotten is refused rather than taken for a read.
const (
	Read    SightingKind = iota + 1 // bits as they came off the line
	Printed                         // a number as printed on the card, or as a controller shows it
	Serial                          // a chip's serial number, byte order as written
	Hex                             // a number in hex, length unknown
)

var sightingNames = []string{"none", "read", "printed", "serial", "hex"}

// String returns "read", "printed", "serial" or "hex"; "none" for 0 and SightingKind(9) for what is no kind.
func (k SightingKind) String() string { return nameOf("SightingKind", sightingNames, k) }

// MarshalText returns what String returns. The error is wiegand.ErrRange for what is no kind.
func (k SightingKind) MarshalText() ([]byte, error) {
	return marshalName("SightingKind", sightingNames, k)
}

// UnmarshalText reads what String returns. The error is ErrSyntax for any other text.
func (k *SightingKind) UnmarshalText(text []byte) error {
	return unmarshalName(k, "kind", sightingNames, text)
}

// Sighting is one way in which a card was seen. Make one with [ParseSighting], [ReadOf], [PrintedOf], [SerialOf] or
// [HexOf]; of one that is put together by hand, [Sighting.Check] says whether it is good.
type Sighting struct {
	Kind SightingKind `json:"kind"`
	Bits wiegand.Bits `json:"bits,omitzero"` // Read: the bits; Serial: the bytes
	Text string       `json:"text"`          // as written, without a prefix
	// Read: nobody said how long it is, so that a bit 0 before it may be no part of it
	Loose bool `json:"loose,omitzero"`
}

// Sightings are the ways in which one card was seen.
type Sightings []Sighting

// minBareBits is how many 0s and 1s are taken for a read without a prefix: no printed number is that long.
const minBareBits = 24

// ParseSightings reads a card: one spelling, or several of the same card with = between, such as 26:32D687E=46143. The
// errors are those of [ParseSighting].
func ParseSightings(s string) (Sightings, error) {
	return AppendSightings(nil, s)
}

// AppendSightings is [ParseSightings] into a slice that the caller has, for loops over many cards. Where there is an
// error it returns the slice as it was.
func AppendSightings(dst Sightings, s string) (Sightings, error) {
	all, err := appendPlain(dst, s)
	if err == nil {
		return all, nil
	}
	if likely, ok := dominant(s); ok {
		return append(dst, likely...), nil
	}
	return dst, err
}

// appendPlain reads the documented spellings, which need no weighing.
func appendPlain(dst Sightings, s string) (Sightings, error) {
	start := len(dst)
	for rest, more := s, true; more; {
		var part string
		part, rest, more = strings.Cut(rest, "=")
		one, err := plainSighting(part)
		if err != nil {
			return dst[:start], err
		}
		dst = append(dst, one)
	}
	return dst, nil
}

// ParseSighting reads one way in which a card was seen:
//
//	bits:1001…       a read; 24 or more digits that are all 0 or 1 need no prefix
//	26:32D687E       a read of 26 bits in hex, right-aligned
//	left:26:CB5A1F80 the same, left-justified in whole bytes
//	uid:04A23B5C     a chip serial; 4, 5, 7, 8 or 10 bytes joined by : or - need no prefix
//	hex:96B43F       a number in hex, length unknown
//	150,46143        digits as printed, with or without , - / or a space inside; printed: before them settles a doubt
//
// It reads every other way of writing that [Spellings] knows, too, where one is far likelier than the rest; Kind says
// what the text was taken for. The error is ErrSyntax where the text can be nothing and says what would do,
// ErrAmbiguous where no spelling is far the likeliest (it names the prefixes), wiegand.ErrRange for a read of more than
// 256 bits or hex that does not fit its length.
func ParseSighting(s string) (Sighting, error) {
	one, err := plainSighting(s)
	if err == nil {
		return one, nil
	}
	if likely, ok := dominant(s); ok && len(likely) == 1 {
		return likely[0], nil
	}
	return Sighting{}, err
}

func plainSighting(s string) (Sighting, error) {
	text := strings.TrimSpace(s)
	prefix, rest, ok := strings.Cut(text, ":")
	switch {
	case text == "":
		return Sighting{}, fail("card", "", "nothing there; write a read, a printed number or a chip serial", ErrSyntax)
	case ok && (prefix == "bits" || prefix == "left"):
		return readSighting(text)
	case ok && prefix == "uid":
		return serialSighting(rest)
	case ok && prefix == "hex":
		return hexSighting(rest)
	case ok && prefix == "printed":
		return printedSighting(rest)
	}
	return bareSighting(text)
}

// bareSighting reads a spelling without a prefix, which has to be of one kind only.
func bareSighting(text string) (Sighting, error) {
	colons := strings.Count(text, ":")
	if colons == 1 && readShare(text) < 0.5 {
		return printedSighting(strings.Replace(text, ":", ",", 1))
	}
	if colons == 1 || countBits(text) >= minBareBits {
		return readSighting(text) // the usual cases first: one colon joins no serial, and no print is that long
	}
	serial := false
	if colons > 0 || strings.Contains(text, "-") {
		_, err := parseSerial("chip serial", text)
		serial = err == nil
	}
	s, notPrinted := printedSighting(text)
	switch {
	case serial && notPrinted == nil:
		return Sighting{}, fail("card", text, fmt.Sprintf("can be a chip serial or a printed number; write uid:%s or printed:%s",
			words.Cut(text), words.Cut(text)), ErrAmbiguous)
	case serial, colons > 1 && isHex(strings.ReplaceAll(text, ":", "")):
		return serialSighting(text)
	case colons > 0:
		return readSighting(text)
	case notPrinted != nil && facilityOnly().MatchString(text):
		return Sighting{}, fail("card", text, "is a facility and no card; write the number too, as in FC 121 ID 8417",
			ErrSyntax)
	case notPrinted != nil && isHex(text) && strings.ContainsAny(text, hexLetters):
		return Sighting{}, fail("card", text, fmt.Sprintf(
			"has letters: if it is a number in hex write hex:%s, a chip serial uid:%s, a read LENGTH:%s", words.Cut(text),
			words.Cut(text), words.Cut(text)), ErrAmbiguous)
	}
	return s, notPrinted
}

// countBits returns how many 0s and 1s a text has, -1 where it has anything else but the separators of a read.
func countBits(text string) int {
	n := 0
	for _, r := range text {
		switch r {
		case '0', '1':
			n++
		case ' ', '_', '.':
		default:
			return -1
		}
	}
	return n
}

const (
	hexLetters = "abcdefABCDEF"
	hexDigits  = "0123456789" + hexLetters
)

func isHex(text string) bool { return text != "" && strings.Trim(text, hexDigits) == "" }

func readSighting(text string) (Sighting, error) {
	b, err := wiegand.ParseBits(text)
	if err != nil {
		if read, more, ok := strings.Cut(text, " "); ok && isRead(read) {
			return Sighting{}, fail("card", text, fmt.Sprintf("what is %q behind the read? write what is printed on the card as %s=46143, a remark behind #",
				words.Cut(strings.TrimSpace(more)), words.Cut(read)), ErrSyntax)
		}
		return Sighting{}, err
	}
	if b.Len() == 0 {
		return Sighting{}, fail("card", text, "a read without bits", ErrSyntax)
	}
	return Sighting{Kind: Read, Bits: b, Text: text}, nil
}

// maxPrinted is the longest number that is taken for a print, in characters: a FASC-N has 32 digits, a 256-bit number
// 78.
const maxPrinted = 80

func printedSighting(text string) (Sighting, error) {
	if len(text) > maxPrinted {
		return Sighting{}, fail("card", text, fmt.Sprintf("%d characters are no printed number; a longer read needs bits: before it", len(text)), ErrSyntax)
	}
	digits := 0
	for i, r := range text {
		switch {
		case r >= '0' && r <= '9':
			digits++
		case strings.ContainsRune(",-/ ", r):
			if i == 0 || i == len(text)-1 || !isDigit(text[i+1]) { // a sign before it was refused for the same
				return Sighting{}, fail("card", text, noCard, ErrSyntax)
			}
		default:
			return Sighting{}, fail("card", text, noCard, ErrSyntax)
		}
	}
	if digits == 0 {
		return Sighting{}, fail("card", text, "has no digits; write the number as it is printed", ErrSyntax)
	}
	return Sighting{Kind: Printed, Text: text}, nil
}

// noCard is what would do in place of a text that can be nothing.
const noCard = "can be no card; write digits as printed, such as 150,46143, a read as LENGTH:HEX or bits:…, a chip serial as uid:04A23B5C"

func isDigit(c byte) bool { return c >= '0' && c <= '9' }

func hexSighting(text string) (Sighting, error) {
	for _, r := range text {
		if !strings.ContainsRune(hexDigits, r) {
			return Sighting{}, fail("hex number", text, fmt.Sprintf("%q is no hex digit; write 0-9 and A-F", r), ErrSyntax)
		}
	}
	if text == "" || len(text) > wiegand.MaxBits/4 {
		return Sighting{}, fail("hex number", text, fmt.Sprintf("%d digits; 1 to %d are possible", len(text),
			wiegand.MaxBits/4), ErrSyntax)
	}
	return Sighting{Kind: Hex, Text: strings.ToUpper(text)}, nil
}

func serialSighting(text string) (Sighting, error) {
	b, err := parseSerial("chip serial", text)
	if err != nil {
		return Sighting{}, err
	}
	return Sighting{Kind: Serial, Bits: b, Text: text}, nil
}

// parseSerial reads the bytes of a chip serial, joined by : or - or by nothing.
func parseSerial(where, text string) (wiegand.Bits, error) {
	for _, r := range text {
		if !strings.ContainsRune(hexDigits+":-", r) {
			return wiegand.Bits{}, fail(where, text, fmt.Sprintf("%q is no hex digit; write bytes in hex", r), ErrSyntax)
		}
	}
	digits := text
	if i := strings.IndexAny(text, ":-"); i >= 0 {
		sign := text[i : i+1]
		for part := range strings.SplitSeq(text, sign) {
			if strings.ContainsAny(part, ":-") {
				return wiegand.Bits{}, fail(where, text, "is not bytes joined by one kind of sign", ErrSyntax)
			}
			if len(part) != 2 {
				return wiegand.Bits{}, fail(where, text, fmt.Sprintf("%q is no byte; write two hex digits for each",
					words.Cut(part)), ErrSyntax)
			}
		}
		digits = strings.ReplaceAll(text, sign, "")
	}
	switch {
	case len(digits)%2 != 0:
		return wiegand.Bits{}, fail(where, text, fmt.Sprintf("%d hex digits are not whole bytes", len(digits)), ErrSyntax)
	case !serialLengths[len(digits)/2]:
		return wiegand.Bits{}, fail(where, text, fmt.Sprintf("%d bytes; a chip serial has 4, 5, 7, 8 or 10", len(digits)/2),
			ErrSyntax)
	}
	return wiegand.ParseBits(fmt.Sprintf("%d:%s", 4*len(digits), digits))
}

// serialLengths are the lengths of chip serials in bytes: ISO/IEC 14443-3 has 4, 7 and 10, ISO/IEC 15693-3 has 8; the
// number of a 125 kHz tag has 5.
var serialLengths = map[int]bool{4: true, 5: true, 7: true, 8: true, 10: true}
