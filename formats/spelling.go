package formats

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/chip"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Spelling is one way in which a text can be meant.
type Spelling struct {
	As        string    // in words, the same for all texts that are meant alike: "a read of 26 bits in hex"
	Sightings Sightings // the card, if so meant
	Weight    float64   // how usual this way of writing is beside the others; only ratios count
}

// How usual each way of writing a card is where nothing says which one it is: judgement, from memory of what people
// send.
const (
	asPrint        = 0.80  // as printed
	asPair         = 0.90  // two numbers with a colon between, rather than a length and a read that is not written out
	asFilledLength = 0.001 // a read whose length has a zero before it, rather than two numbers with a colon between
	asHex          = 0.05  // the data bits in hex
	asHexPair      = 0.005 // facility and number in hex, where the number has just the digits of a field of 16 bits
	asHexSigned    = 0.01  // one number in hex with a sign in it, where the digits behind it are no half of all
	asHexDigits    = 0.30  // the same of digits alone, as one of the forms of a print; most who write hex say so
	asSerial       = 0.25  // a chip serial without a sign between its bytes
	asReadHex      = 0.05  // the whole read in hex, zeros before it
	asReadShort    = 0.01  // the same without them
	asReadPadded   = 0.02  // the same with zeros before it up to whole bytes
	asReadLeft     = 0.01  // the same, left-justified in whole bytes
	asReadDecimal  = 0.02  // the whole read as one decimal
	asDashed       = 0.50  // pairs of digits with - between as bytes of a serial, rather than as a print
	asGroups       = 0.01  // two decimal numbers with a blank between as one in hex, behind a length
	// one or two letters from A to F before a decimal number, with nothing between, for all such letters
	asLettered = 0.03
	asDecimal  = 0.98 // a number with .0 behind it, as spreadsheets write whole numbers, rather than a pair
	asIssue    = 0.70 // of three numbers, the last one counts how often the card was made
)

// The lengths of reads that are tried where none is given: those of nearly all public formats, and longer ones only
// where as many digits are written out as a read of that length has.
const shortestRead, longestRead, longestWritten = 24, 64, 128

// afterLetters is what a number is that letters stand before.
const afterLetters = "a printed number after letters"

// longNumber is how many digits the number of a pair hardly ever has: fields of 23 bits need 7.
const longNumber = 8

// shortestHex is how many digits without a letter can be hex: as many as the shortest read has.
const shortestHex = shortestRead / 4

// mostMissing is how many zeros before a read in hex are thought to be left out: a facility of one digit in a field of
// 16 bits has that many. Of reads of longestShort bits or fewer any are, since small numbers are met in those.
const mostMissing, longestShort = 4, 42

// shortestBare is how many letters from A to F, without a digit among them, are taken for hex: fewer are words.
const shortestBare = 4

// dominantShare is the share of all weight from which one spelling is taken without asking.
const dominantShare = 0.9

// The words that stand before a facility and a number, and the signs between.
const (
	facilityLabel = `(?:(?:fc|fac|facility|site|sc)(?:[ _-]?(?:code|no|nr|number|id))?|f[:=])[ :=.#]*`
	numberLabel   = `(?:(?:id|cn|no|nr|num|number|card|badge)(?:[ _-]?(?:id|no|nr|num|number))?|c[:=])[ :=.#]*`
	labelledFirst = `\b` + facilityLabel + `(\d+)[ ,;/|(-]+` + numberLabel + `(\d+)`
	labelledLast  = `\b` + numberLabel + `(\d+)[ ,;/|(-]+` + facilityLabel + `(\d+)`
)

var (
	remarkText    = lazily(`[ \t]#(?:[^0-9].*)?$`)
	countedText   = lazily(`(?i)^(\d{1,3}) *(?:bits?\b *:? *|: *)(?:0x)?([0-9A-F]+(?: [0-9A-F]+)*)$`)
	labelledRead  = lazily(`(?i)^(?:w|wg|wiegand|raw|data)[ :]*(\d{2,3})[ :=]+(?:0x)?([0-9A-F]{2}(?: [0-9A-F]{2})+(?: [0-9A-F])?|[0-9A-F]+)$`)
	binaryText    = lazily(`(?i)^(?:0b|bin(?:ary)?[ :=]+)([01 _.]+)$`)
	dashedBits    = lazily(`^[01]+(?:-[01]+)+$`)
	namedBases    = lazily(`(?i)^(?:(?:hex|dec(?:imal)?)[ :=]+(?:0x)?[0-9A-F]+(?:[ ,;/|]+|$))+$`)
	namedBase     = lazily(`(?i)(hex|dec(?:imal)?)[ :=]+(?:0x)?([0-9A-F]+)`)
	namedSerial   = lazily(`(?i)^(?:(?:card|chip|tag) )?(uid|csn|serial(?: ?(?:no\.?|nr\.?|number))?)(?: *[:=] *| +)(?:0x|hex *[:=] *)?([0-9A-F]{2}(?:[ :-]?[0-9A-F]{2})+)$`)
	spacedBytes   = lazily(`(?i)^[0-9A-F]{2}(?: [0-9A-F]{2}){1,15}(?: [0-9A-F])?$`)
	markedBytes   = lazily(`(?i)^0x[0-9A-F]{1,2}(?:[ ,]+0x[0-9A-F]{1,2})+$`)
	labelledFC    = lazily(`(?i)^` + facilityLabel + `(\d+)[ ,;/|(-]+(?:` + numberLabel + `)?(\d+)$`)
	labelledCF    = lazily(`(?i)^(?:` + numberLabel + `)?(\d+)[ ,;/|(-]+` + facilityLabel + `(\d+)$`)
	labelledNo    = lazily(`(?i)^(?:#|n[or](?:\.| )|n[°º]\.?|number[ :=]|cn[ :=]|id[ :=]|card[ :=#](?:no\.?|number|id)?[ :=#]?) *(\d+)(?:(?: ?[,:/-] ?| )(\d+))?$`)
	facilityOnly  = lazily(`(?i)^(?:fc|fac|facility|site|sc)(?:[ _-]?code)?[ :=.#-]*\d+$`)
	lettered      = lazily(`^(?:[A-Za-z]{1,8}[-_ ](\d+)|([A-Za-z]{1,2})(\d{3,})|([A-F])(\d\d?))$`)
	shortLettered = lazily(`^([A-Za-z]{1,2})(\d|\d\d)$`)
	wholeNumber   = lazily(`^(\d+)\.0+$`)
	parted        = lazily(`^(\d+) ?[.:;,/\t_|+-] ?(\d+)$`)
	issued        = lazily(`^(\d+)-(\d+)-\d$`)
	bothPrints    = lazily(`(?i)^(?:#|no\.?|nr\.?|id[ :])? *(?:(\d{8,10})[ ,;/|\t-]+(\d{1,5}[,:/-]\d{1,5})|(\d{1,5}[,:/-]\d{1,5})[ ,;/|\t-]+(\d{8,10}))$`)
	printBefore   = lazily(`^(\d+(?:[,/-]\d+)?)[ ,;\t]+(\S+:\S+)$`)
	readBeside    = lazily(`(?i)^([^\s,;|/]+?)(?:[ ,;\t]*(?:[ ,;\t|/]|[-=]>|(?:printed|print|badge|no\.?)[ :=]|#))[ \t]*(\d+(?:[,/-]\d+)?)$`)
	bareHex       = lazily(`(?i)^(0x|\$)?([0-9A-F]+)(h)?$`)
	threeBytes    = lazily(`(?i)^[0-9A-F]{2}(?:[:-][0-9A-F]{2}){2}$`)
	hexPair       = lazily(`(?i)^(?:hex:)?([0-9A-F]{1,4})[,/-]([0-9A-F]{3,8})$`)
)

// wrapping takes away what stands around cards in documents and programs, and writes their signs plainly.
var wrapping = strings.NewReplacer(`"`, "", "`", "", "'", "", "\u201c", "", "\u201d", "", "\u201e", "", "\u2018", "", "\u2019", "",
	"(", " ", ")", " ", "[", " ", "]", " ", "{", " ", "}", " ", "<", " ", "/>", " ", "\u2010", "-", "\u2011", "-", "\u2013", "-",
	"\u2014", "-", "\u2212", "-")

// unwrapped is a text of one line without quotes and brackets, and without the signs that end a sentence.
func unwrapped(text string) string {
	if strings.ContainsAny(text, "\r\n\v\f\u0085\u2028\u2029") {
		return text
	}
	return strings.Trim(strings.Join(strings.Fields(wrapping.Replace(text)), " "), " .;|>")
}

// Spellings returns every way in which a text can be meant as one card, the most usual first. A prefix of
// [ParseSighting], or LENGTH:HEX with all its digits, leaves one. After a blank and #, a remark is passed over that
// does not begin with a digit. The error is that of ParseSighting for a text that can be nothing.
func Spellings(text string) ([]Spelling, error) {
	text = strings.TrimSpace(text)
	if strings.Contains(text, "#") {
		text = strings.TrimSpace(remarkText().ReplaceAllString(text, ""))
	}
	all, err := cardSpellings(text)
	if err != nil {
		if bare := unwrapped(text); bare != text && bare != "" && !bracketed(text, bare) {
			if all, err := cardSpellings(bare); err == nil {
				return all, nil
			}
		}
	}
	return all, err
}

// bracketed reports whether there are brackets within 0s and 1s, which would become one read with what is in them.
func bracketed(text, bare string) bool {
	const brackets = "()[]{}<>"
	return countBits(bare) >= minBareBits && strings.ContainsAny(strings.Trim(text, brackets+`"'.;| `), brackets)
}

// cardSpellings returns what a text without a remark can be.
func cardSpellings(text string) ([]Spelling, error) {
	if all := wholeSpellings(text); all != nil {
		return all, nil
	}
	var parts [][]Spelling
	texts, read := strings.Split(text, "="), -1 // the part that is surely a read, so that no other part is
	for i, part := range texts {
		texts[i] = strings.TrimSpace(part)
		ways, err := partSpellings(texts[i])
		if part != text {
			ways = shortBeside(texts[i], ways)
		}
		if ways == nil {
			return nil, err
		}
		parts = append(parts, ways)
		if len(ways) != 1 || !ways[0].isRead() {
			continue
		}
		if read < 0 {
			read = i
			continue
		}
		first, b := parts[read][0].Sightings[0].Bits, ways[0].Sightings[0].Bits
		if b == first {
			continue
		}
		pair := i // one of the two is no second read: the first one where only that is hardly one
		if hardlyRead(texts[read], first) && !hardlyRead(texts[i], b) {
			read, pair = i, read
		}
		if numbers := noRead(texts[pair], parts[pair][0].Sightings[0].Bits); numbers != nil {
			parts[pair] = numbers
		}
	}
	all := []Spelling{{Weight: 1}}
	for _, ways := range parts {
		if read >= 0 && len(ways) > 1 {
			ways = beside(ways)
		}
		all = together(all, ways)
	}
	return all, nil
}

// shortBeside adds to what a part can be what a few signs can be only beside something else: a number in hex, which
// three bytes are too, or a small number behind letters.
func shortBeside(part string, ways []Spelling) []Spelling {
	if ways == nil {
		ways = hexBeside(part)
	}
	is := func(s Spelling) bool { return s.As == afterLetters }
	if m := shortLettered().FindStringSubmatch(part); m != nil && !facilityOnly().MatchString(part) &&
		!slices.ContainsFunc(ways, is) {
		ways = append(ways, printedAs(m[2], afterLetters, asLettered*math.Pow(26, -float64(len(m[1]))))...)
	}
	return ways
}

// hardlyRead reports whether a text that is a read is rather something else beside another one: of a length that no
// card has, or with far fewer digits than its length.
func hardlyRead(text string, b wiegand.Bits) bool {
	return b.Len() < shortestRead || b.Len() > longestRead && 8*len(text) < b.Len()
}

// noRead returns what a text can be that is a read and stands beside another one; nil where it is that.
func noRead(text string, b wiegand.Bits) []Spelling {
	switch pair := decimalPair(text); {
	case pair != nil:
		return pair
	case !hardlyRead(text, b):
		return nil
	}
	return hexBeside(text) // as 0B0000 is, which is no read of four bits
}

// hexBeside returns what a text beside something else is in hex: a number, which three bytes are too, or facility and
// number with a colon between; nil where it is neither.
func hexBeside(text string) []Spelling {
	if isHex(text) || threeBytes().MatchString(text) {
		return hexSpellings(strings.NewReplacer(":", "", "-", "").Replace(text))
	}
	return hexPairSpellings(strings.Replace(text, ":", ",", 1))
}

// decimalPair is two decimal numbers with a colon between; nil where a text is something else.
func decimalPair(text string) []Spelling {
	first, second, _ := strings.Cut(text, ":")
	if !decimalText(first) || !decimalText(second) {
		return nil
	}
	return printedAs(first+","+second, "a pair", 1)
}

// twoCards reports whether a spelling has two different reads, or the serials of two chips.
func (s Spelling) twoCards() bool {
	var seen [Hex + 1]wiegand.Bits
	for _, one := range s.Sightings {
		had := seen[one.Kind]
		if had.Len() > 0 && had != one.Bits && (one.Kind != Serial || !chip.Same(had, one.Bits)) {
			return true
		}
		seen[one.Kind] = one.Bits
	}
	return false
}

// isRead reports whether a spelling is a read.
func (s Spelling) isRead() bool { return s.Sightings[0].Kind == Read }

// beside returns what a text can be that stands beside a read: no second read, and digits alone are a print.
func beside(ways []Spelling) []Spelling {
	if one := ways[0].Sightings[0]; one.Kind == Printed && decimalText(one.Text) && ways[0].As != afterLetters {
		return ways[:1]
	}
	return slices.DeleteFunc(ways, Spelling.isRead)
}

// partSpellings returns what a text without = can be.
func partSpellings(part string) ([]Spelling, error) {
	ways := wholeSpellings(part)
	if digits, groups, _ := words.Ungrouped(part); ways == nil && groups > 2 {
		ways = printedAs(digits, "a printed number", 1)
	}
	if ways == nil {
		ways = bareSpellings(part)
	}
	if ways != nil {
		return ways, nil
	}
	s, err := plainSighting(part)
	return one(1)(s, err), err
}

// mostSpellings is how many ways of writing one card in several ways are weighed: those left out are the least usual.
const mostSpellings = 512

// together pairs what a card's spellings can be, the most usual first. A card has one read, and one
// chip: only where there is no other way it has two.
func together(all, ways []Spelling) (out []Spelling) {
	for _, a := range all {
		for _, b := range ways {
			s := Spelling{b.As, append(slices.Clip(a.Sightings), b.Sightings...), a.Weight * b.Weight}
			if a.As != "" {
				s.As = a.As + words.And + b.As
			}
			out = append(out, s)
		}
	}
	if one := slices.DeleteFunc(slices.Clone(out), Spelling.twoCards); len(one) > 0 {
		out = one
	}
	slices.SortStableFunc(out, func(a, b Spelling) int { return cmp.Compare(b.Weight, a.Weight) })
	return out[:min(len(out), mostSpellings)]
}

// one makes the spelling of one sighting, nil where there is an error.
func one(weight float64) func(Sighting, error) []Spelling {
	return func(s Sighting, err error) []Spelling {
		if err != nil {
			return nil
		}
		as := [...]string{Printed: "a printed number", Serial: "a chip serial", Hex: "a number in hex", Read: ""}[s.Kind]
		if s.Kind == Read {
			as = fmt.Sprintf("a read of %d bits", s.Bits.Len())
		}
		return []Spelling{{as, Sightings{s}, weight}}
	}
}

func printedAs(text, as string, weight float64) []Spelling {
	all := one(weight)(printedSighting(text))
	for i := range all {
		all[i].As = as
	}
	return all
}

// whole are the ways of writing in which signs or labels settle what a text is. Each makes spellings of what it found,
// nil where it is something else.
var whole = []struct {
	find pattern
	make func(m []string) []Spelling
}{
	{binaryText, func(m []string) []Spelling { return plainly("bits:" + m[1]) }},
	{dashedBits, func(m []string) []Spelling {
		if bits := strings.ReplaceAll(m[0], "-", ""); len(bits) >= minBareBits {
			return plainly("bits:" + bits)
		}
		return nil
	}},
	{namedSerial, namedSpellings},
	{namedBases, func(m []string) []Spelling {
		all := []Spelling{{Weight: 1}}
		for _, part := range namedBase().FindAllStringSubmatch(m[0], -1) {
			ways := hexSpellings(part[2])
			if !strings.EqualFold(part[1], "hex") {
				ways = decimalSpellings(part[2])
			}
			all = together(all, ways)
		}
		return all
	}},
	{markedBytes, func(m []string) []Spelling {
		return spacedSpellings(strings.Join(strings.FieldsFunc(strings.ReplaceAll(strings.ToLower(m[0]), "0x", ""),
			func(r rune) bool { return r == ' ' || r == ',' }), " "))
	}},
	{countedText, func(m []string) []Spelling { return countedSpellings(m[1], m[2], m[0]) }},
	{labelledRead, func(m []string) []Spelling { return plainly(countedInLog(m)) }},
	{labelledFC, func(m []string) []Spelling { return printedAs(facilityFirst(m), "a facility and a number", 1) }},
	{labelledCF, func(m []string) []Spelling { return printedAs(numberFirst(m), "a facility and a number", 1) }},
	{labelledNo, func(m []string) []Spelling { return printedAs(numberOrPair(m), "a printed number", 1) }},
	{bothPrints, func(m []string) []Spelling {
		number := printedAs(m[1]+m[4], "a printed number", 1)
		pair := printedAs(strings.Replace(m[2]+m[3], ":", ",", 1), "a pair", 1)
		if m[1] == "" {
			return together(pair, number)
		}
		return together(number, pair)
	}},
	{printBefore, func(m []string) []Spelling { return readAndPrint(m[2], m[1], true) }},
	{readBeside, func(m []string) []Spelling { return readAndPrint(m[1], m[2], false) }},
}

func facilityFirst(m []string) string { return m[1] + "," + m[2] }
func numberFirst(m []string) string   { return m[2] + "," + m[1] }
func numberOrPair(m []string) string  { return strings.TrimSuffix(facilityFirst(m), ",") }

// Unlabelled returns the number, or facility and number with a comma between, of a text that says in words which is
// which and nothing else: No. 17, FC 121 ID 8417. ok is false for other texts.
func Unlabelled(text string) (number string, ok bool) {
	if !strings.ContainsFunc(text, func(r rune) bool { return r == '#' || r > '9' }) {
		return "", false
	}
	for _, way := range []inLogWay{{labelledFC, facilityFirst}, {labelledCF, numberFirst}, {labelledNo, numberOrPair}} {
		if m := way.find().FindStringSubmatch(text); m != nil {
			return way.text(m), true
		}
	}
	return "", false
}

// wholeSpellings returns what a text can be that its own signs or labels settle, nil where they don't. The usual ones
// come without trying all: digits alone, and a length with all digits of the hex.
func wholeSpellings(text string) []Spelling {
	if decimalText(text) && len(text) < minBareBits {
		return nil
	}
	if n, hex, ok := strings.Cut(text, ":"); ok && decimalText(n) && isHex(hex) {
		if bits, err := strconv.Atoi(n); err == nil && len(hex) == (bits+3)/4 && readShare(text) == 1 {
			return plainly(text)
		}
	}
	for _, way := range whole {
		if m := way.find().FindStringSubmatch(text); m != nil {
			if all := way.make(m); all != nil {
				return all
			}
		}
	}
	return nil
}

// namedSpellings returns what stands behind the name of a serial: its bytes, or digits that are printed as a serial
// number.
func namedSpellings(m []string) []Spelling {
	digits := strings.ReplaceAll(m[2], " ", "")
	if strings.EqualFold(m[1][:1], "s") && decimalText(digits) {
		return decimalSpellings(digits)
	}
	return plainly("uid:" + digits)
}

// readAndPrint is a read, or a number in hex, beside what is printed on its card; nil where it is something else.
func readAndPrint(text, print string, before bool) []Spelling {
	var read []Spelling
	if strings.Contains(text, ":") {
		read = plainly(strings.Replace(text, ":0x", ":", 1))
	} else if m := bareHex().FindStringSubmatch(text); m != nil && strings.ContainsAny(m[2], hexLetters) &&
		strings.ContainsAny(m[2], "0123456789") {
		read = hexSpellings(m[2])
	}
	printed := printedAs(print, "a printed number", 1)
	switch {
	case read == nil || printed == nil || read[0].Sightings[0].Kind == Printed:
		return nil
	case before:
		return together(printed, read)
	}
	return together(read, printed)
}

// plainly is the one spelling of a text that has a prefix.
func plainly(text string) []Spelling { return one(1)(plainSighting(text)) }

// readShare is how usual LENGTH:HEX is as a read, rather than as two numbers with a colon between: who writes 037 has
// filled a facility with zeros; where digits are missing, no format is that short, or most of a long one would be.
func readShare(text string) float64 {
	length, digits, _ := strings.Cut(text, ":")
	bits, err := strconv.Atoi(length)
	switch {
	case err != nil || bits > wiegand.MaxBits || !decimalText(digits):
		return 1
	case length[0] == '0':
		return asFilledLength
	case len(digits) == (bits+3)/4:
		return 1
	case bits < shortestRead, bits > longestRead && 8*len(digits) < bits:
		return 1 - asPair
	}
	return asPair
}

// overlong reports whether LENGTH:HEX is a read with a digit too many rather than two numbers: it has as many as the
// number of no pair.
func overlong(text string) bool {
	n, digits, _ := strings.Cut(text, ":")
	bits, err := strconv.Atoi(n)
	return err == nil && bits >= shortestRead && bits <= longestRead && len(digits) == (bits+3)/4+1 &&
		len(digits) >= longNumber && decimalText(digits)
}

// countedSpellings returns what a length and hex can be: a read or, where digits are missing and all are decimal, two
// numbers.
func countedSpellings(length, hex, text string) []Spelling {
	n, _ := strconv.Atoi(length)
	digits := strings.ReplaceAll(hex, " ", "")
	full := (n + 3) / 4
	if len(digits) > full {
		return nil // a read with something beside it, or two numbers
	}
	read := readSpelling(length+":"+digits, "", 1)
	if m := parted().FindStringSubmatch(strings.Replace(hex, " ", ",", 1)); m != nil && !spacedBytes().MatchString(hex) {
		for i := range read {
			read[i].Weight = asGroups
		}
		return append(printedAs(m[1]+","+m[2], "a pair", 1-asGroups), read...)
	}
	pair := printedAs(length+","+hex, "a pair", asPair)
	switch {
	case read == nil || pair == nil:
		return read
	case strings.Contains(strings.ToLower(text), "bit"): // all its digits, as 66:4 alone would be two numbers again
		return readSpelling(fmt.Sprintf("%d:%0*s", n, full, digits), "", 1)
	}
	share := readShare(length + ":" + digits)
	read[0].Weight, pair[0].Weight = share, 1-share
	switch {
	case share == 1:
		return read
	case share < 0.5:
		return append(pair, read...)
	}
	return append(read, pair...)
}

func decimalText(text string) bool { return text != "" && strings.Trim(text, "0123456789") == "" }

// bareSpellings returns what a text without a label can be, nil where it can be one thing or nothing.
func bareSpellings(text string) []Spelling {
	if all := hexPairSpellings(text); all != nil {
		return all
	}
	if rest, ok := strings.CutPrefix(text, "hex:"); ok {
		return hexSpellings(rest)
	}
	if decimalText(text) && len(text) < minBareBits {
		return decimalSpellings(text)
	}
	if threeBytes().MatchString(text) && strings.ContainsAny(text, ":"+hexLetters) { // no chip's serial is so short
		return hexBeside(text)
	}
	if spacedBytes().MatchString(text) {
		return spacedSpellings(text)
	}
	if m := issued().FindStringSubmatch(text); m != nil {
		return append(printedAs(m[1]+","+m[2], "a pair, and which card of that number it is", asIssue),
			printedAs(text, "a printed number", 1-asIssue)...)
	}
	if serial := one(asDashed)(serialSighting(text)); serial != nil && strings.Contains(text, "-") {
		return append(serial, one(1-asDashed)(printedSighting(text))...)
	}
	if m := wholeNumber().FindStringSubmatch(text); m != nil {
		return append(printedAs(m[1], "a printed number", asDecimal), printedAs(m[1]+",0", "a pair", 1-asDecimal)...)
	}
	if m := parted().FindStringSubmatch(text); m != nil && countBits(text) < minBareBits {
		if _, err := printedSighting(text); err != nil && !overlong(text) &&
			(!strings.Contains(text, ":") || !isRead(text)) {
			return printedAs(m[1]+","+m[2], "a pair", 1)
		}
	}
	var print []Spelling
	if m := lettered().FindStringSubmatch(text); m != nil && !facilityOnly().MatchString(text) {
		print = printedAs(m[1]+m[3]+m[5], afterLetters, asLettered*math.Pow(26, -float64(len(m[2]+m[4]))))
		if m[1] != "" || !isHex(text) {
			return print
		}
	}
	m := bareHex().FindStringSubmatch(text)
	switch {
	case m == nil || countBits(text) >= minBareBits || len(text) < shortestBare &&
		!strings.ContainsAny(text, "0123456789"):
		return nil
	case m[1]+m[3] != "" || strings.ContainsAny(text, hexLetters):
		return slices.Concat(hexSpellings(m[2]), one(asSerial)(serialSighting(m[2])), print)
	}
	return decimalSpellings(text)
}

// spacedSpellings returns what bytes in hex with a blank between can be: a serial mostly, a read as a panel logs it,
// a print.
func spacedSpellings(text string) []Spelling {
	digits := strings.ReplaceAll(text, " ", "")
	serial, print := plainly("uid:"+digits), one(1-asDashed)(printedSighting(text))
	if serial == nil && print != nil { // 12 34 is as printed, 121 08417 is not bytes
		return nil
	}
	return slices.Concat(serial, print, hexSpellings(digits))
}

// hexPairSpellings returns what facility and number in hex can be: two numbers or, mostly where the second one has the
// digits of 16 bits or both have as many, one of all data bits, as the sign stands nowhere else. With letters alone
// before digits alone, the letters are rather a label, and are surely one where those are not the four of 16 bits.
func hexPairSpellings(text string) []Spelling {
	m := hexPair().FindStringSubmatch(text)
	said := strings.HasPrefix(text, "hex:")
	if m == nil || !said && !strings.ContainsAny(text, hexLetters) || facilityOnly().MatchString(text) {
		return nil
	}
	hex := hexSpellings(m[1] + m[2])[:1]
	first, _ := strconv.ParseUint(m[1], 16, 64) // of few digits
	second, _ := strconv.ParseUint(m[2], 16, 64)
	hex = append(hex, printedAs(fmt.Sprintf("%d,%d", first, second), "a pair in hex", asHexPair)...)
	if len(m[1]) < len(m[2]) && len(m[2]) != 4 {
		hex[0].Weight, hex[1].Weight = asHexSigned, asHex
	}
	if !said && decimalText(m[2]) && strings.Trim(m[1], hexLetters) == "" {
		if len(m[2]) != 4 {
			return nil
		}
		hex[0].Weight, hex[1].Weight = asLettered, asLettered*asHexPair/asHex
		return append(printedAs(m[2], afterLetters, 1-asLettered), hex...)
	}
	return hex
}

func isRead(text string) bool {
	_, err := readSighting(text)
	return err == nil
}

// hexSpellings returns what hex digits can be whose length in bits is not known.
func hexSpellings(digits string) []Spelling {
	all := one(asHex)(hexSighting(digits))
	if all == nil {
		return nil
	}
	for n := shortestRead; n <= longestWritten; n++ {
		full, bytes := (n+3)/4, 2*((n+7)/8) // digits
		switch {
		case len(digits) == full:
			all = append(all, readSpelling(fmt.Sprintf("%d:%s", n, digits), " in hex", asReadHex)...)
		case n > longestRead && len(digits) != bytes && len(digits) < full-2:
			continue
		case len(digits) < full && digits[0] != '0' && (full-len(digits) <= mostMissing || n <= longestShort):
			all = append(all, readSpelling(fmt.Sprintf("%d:%s", n, digits), " in hex", asReadShort)...)
		case len(digits) > full && len(digits)%2 == 0 && digits[0] == '0':
			all = append(all, readSpelling(fmt.Sprintf("%d:%s", n, digits), " in hex, zeros before it", asReadPadded)...)
		}
		if len(digits) == bytes && n%8 != 0 {
			all = append(all, readSpelling(fmt.Sprintf("left:%d:%s", n, digits), " in hex, left-justified", asReadLeft)...)
		}
	}
	return all
}

// readSpelling is a read, where the text is one, of a length that was not written down unless how is "".
// One at the left begins with its first bit, 0 or not.
func readSpelling(text, how string, weight float64) []Spelling {
	read := one(weight)(readSighting(text))
	for i := range read {
		read[i].As += how
		read[i].Sightings[0].Loose = how != "" && !strings.HasPrefix(text, "left:")
	}
	return read
}

// decimalSpellings returns what decimal digits alone can be: a print, the whole read as one decimal, a chip serial, and
// what hex can be.
func decimalSpellings(text string) []Spelling {
	all := one(asPrint)(printedSighting(text))
	if all == nil {
		return nil
	}
	all = append(all, one(asSerial)(serialSighting(text))...)
	if hex := hexSpellings(text); len(text) >= shortestHex && len(hex) > 0 { // none of more digits than any read has
		if len(text) > longestRead/4 {
			hex = hex[:1] // so many digits in hex have a letter
		}
		hex[0].Weight = asHexDigits
		all = append(all, hex...)
	}
	v, err := strconv.ParseUint(text, 10, 64)
	if err != nil || v>>16 == 0 || text[0] == '0' { // a read of 26 bits is as small where its facility is 0
		return all
	}
	for n := shortestRead; n <= longestRead; n++ {
		all = append(all, readSpelling(fmt.Sprintf("%d:%X", n, v), " as one decimal", asReadDecimal)...)
	}
	return all
}

// dominant returns the card that a text is far likelier to be than any other, as far as the way of writing tells.
func dominant(text string) (Sightings, bool) {
	all, err := Spellings(text)
	if err != nil {
		return nil, false
	}
	sum := 0.0
	for i := range all {
		sum += all[i].Weight
	}
	return all[0].Sightings, all[0].Weight >= dominantShare*sum
}
