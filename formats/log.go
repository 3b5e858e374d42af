package formats

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// timeText is a date, a time of day, or both: numbers that are no card.
var timeText = lazily(`(?i)(^|[^0-9A-Za-z:])(?:\d{4}-\d\d-\d\d(?:[T ]\d\d:\d\d(?::\d\d(?:[.,]\d+)?)?(?:Z|[+-]\d\d:?\d\d)?)?` +
	`|\d{1,2}[/.-]\d{1,2}[/.-]\d{2,4}` +
	`|\d{1,2}:\d\d(?::\d\d(?:[.,]\d+)?)?(?: ?[ap]\.?m\.?)?` +
	`|(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.? +\d{1,2}(?:,? +\d{4})?` +
	`|\d{1,2}\.? +(?:jan|feb|mar|apr|may|jun|jul|aug|sep|oct|nov|dec)[a-z]*\.?(?: +\d{4})?)(?:[^0-9A-Za-z:]|$)`)

// Parts of what stands in logs: hex in one piece or in bytes, how long a read is by a label, and what is between.
const (
	hexInLog    = `(?:0x)?([0-9A-F]{2}(?: [0-9A-F]{2}){2,}(?: [0-9A-F])?|[0-9A-F]+)\b`
	lengthInLog = `\b(?:len(?:gth)?|size|bits|bit[ _-]?(?:len(?:gth)?|count)|(?:card[ _-]?)?(?:format|fmt))[ :=]*(\d{2,3})\b`
	// what is between a length and the hex
	lengthThenHex = `(?:[^0-9a-z]+[a-z]+){0,3}[^0-9a-z]*` + hexInLog
	fewWords      = `(?:[^0-9a-z]+[a-z_]+){0,3}[^0-9a-z]+`
)

type inLogWay struct {
	find pattern
	text func(m []string) string
}

// inLog are the ways in which a card stands in a line of a log, the surest first. Each makes a text that Spellings
// reads of what it found; "" where it is none.
var inLog = []inLogWay{
	{lazily(`(?i)` + labelledFirst + `\b`), facilityFirst},
	{lazily(`(?i)` + labelledLast + `\b`), numberFirst},
	{lazily(`\b(bits:[01]+)\b`), ifRead},
	{lazily(`(?i)\b(\d{1,3})[ -]?bits?\b` + lengthThenHex), countedInLog},
	{lazily(`(?i)\b(\d{2,3})[ -]?b\b` + lengthThenHex), countedInLog},
	{lazily(`(?i)\b\d{2}[ -]?b(?:its?)?\b[ :=]+(\d{1,5}[ ,:/-]\d{3,7})\b`), asItIs},
	{lazily(`(?i)` + lengthInLog + fewWords + hexInLog), countedInLog},
	{lazily(`(?i)\b` + hexInLog + fewWords + lengthInLog), hexAndLength},
	{lazily(`(?i)\b` + hexInLog + `[ ,;/|-]+(\d{2,3})[ -]?b(?:its?)?\b`), hexAndLength},
	{lazily(`(?i)\b(?:w|wg|wiegand|raw|data)[ :]*(\d{2,3})\b[ :=]*` + hexInLog), countedInLog},
	{lazily(`(?i)\b(?:uid|csn|serial)(?:[ _-]?(?:no|number))?[^0-9a-z]*([0-9A-F]{2}(?:[ :-]?[0-9A-F]{2}){3,9})\b`),
		func(m []string) string { return ifSerial("uid:" + strings.ReplaceAll(m[1], " ", "")) }},
	{lazily(`(?i)\b([0-9A-F]{2}(?::[0-9A-F]{2}){3,9})\b`), func(m []string) string { return ifSerial(m[1]) }},
	{lazily(`(?i)\b((?:left:)?\d{1,3}:(?:0x)?[0-9A-F]{2,}|bits:[01]+)\b`), ifRead},
	{lazily(`\b([01]{24,})\b`), ifRead},
	{lazily(`(?i)\b(\d{2})[ ,;/|-]+` + hexInLog), lettersCounted},
	{lazily(`(?i)\b` + hexInLog + `[ ,;/|-]+(\d{2})\b`), lettersBefore},
	{lazily(`(?i)\b([0-9A-F]{2}(?: [0-9A-F]{2}){2,9}(?: [0-9A-F])?)\b`), func(m []string) string {
		if !strings.ContainsAny(m[1], hexLetters) {
			return ""
		}
		return m[1]
	}},
	{lazily(`(?i)\b(?:card|credential|badge|tag|fob|token|raw|data)(?:[ _-]?(?:no|nr|number|num|id|data|code))?(?:[,;]")?[^0-9a-z,;|\t]*(\d+[,:/-]\d+|(?:0x)?[0-9A-F]*\d[0-9A-F]*)\b`), asItIs},
	{lazily(`(?i)\b(0x[0-9A-F]{4,16}|[0-9A-F]*(?:\d[A-F]|[A-F]\d)[0-9A-F]*)\b`), func(m []string) string {
		if len(m[1]) < 6 {
			return ""
		}
		return m[1]
	}},
	{lazily(`(?:^|[^;|\t])\b(\d{1,5}[,:/-]\d{2,7})\b`), asItIs},
	{lazily(`\b(\d{5,20})\b`), asItIs},
}

// inCells are two numbers in cells beside each other: a facility and a number, or something else and a number.
var inCells = lazily(`(?:[;|\t] ?(\d{1,5}) ?[;|\t]|, ?(\d{1,5}) ?,) ?(\d{4,7})\b`)

// mostCut is how many zeros before a read of so many bits in hex a log leaves out.
const mostCut = 2

// countedInLog is a read of so many bits: in hex as it is or left-justified, or in 0s and 1s if there are as many.
func countedInLog(m []string) string {
	n, err := strconv.Atoi(m[1])
	digits := strings.ReplaceAll(m[2], " ", "")
	switch full := (n + 3) / 4; {
	case err != nil || len(digits) < full-mostCut, len(digits) < full && digits != m[2]:
		return ""
	case len(digits) == n && strings.Trim(digits, "01") == "":
		return "bits:" + digits
	case len(digits) > full && len(digits) == 2*((n+7)/8) && ifRead([]string{"", m[1] + ":" + digits}) == "":
		return ifRead([]string{"", "left:" + m[1] + ":" + digits})
	}
	return ifRead([]string{"", m[1] + ":" + digits})
}

func asItIs(m []string) string { return m[1] }

func hexAndLength(m []string) string { return countedInLog([]string{"", m[2], m[1]}) }

// lettersCounted is a read of so many bits with nothing that says so: its hex has letters and all its digits.
func lettersCounted(m []string) string {
	n, err := strconv.Atoi(m[1])
	digits := strings.ReplaceAll(m[2], " ", "")
	if err != nil || n < shortestRead || len(digits) != (n+3)/4 && len(digits) != 2*((n+7)/8) ||
		!strings.ContainsAny(digits, hexLetters) {
		return ""
	}
	return countedInLog(m)
}

func lettersBefore(m []string) string { return lettersCounted([]string{"", m[2], m[1]}) }

func ifRead(m []string) string {
	text := strings.NewReplacer(":0x", ":", ":0X", ":").Replace(m[1])
	b, err := wiegand.ParseBits(text)
	if err != nil || b.Len() == 0 {
		return ""
	}
	return text
}

func ifSerial(text string) string {
	if s, err := plainSighting(text); err != nil || s.Kind != Serial {
		return ""
	}
	return text
}

// FromLog returns the text of the card in a line of a panel's log, or of a list, among times and words: what
// [Spellings] is then asked about. A line that is a card and nothing else comes back as it is. The error is ErrSyntax
// for a line without a card, [ErrMissing] if that has a date or a time, as lines of a log about something else do,
// and ErrAmbiguous where several numbers can be the card alike.
func FromLog(line string) (string, error) {
	_, none := Spellings(line)
	if none == nil || !strings.ContainsAny(strings.TrimSpace(line), " \t;,|/=[(\"") {
		return line, none
	}
	rest := line
	for range 2 { // a date, and the time after it, of which the first time around the sign before was taken
		rest = timeText().ReplaceAllString(rest, "$1 | ")
	}
	plain := wrapping.Replace(rest)
	for _, way := range inLog {
		found := way.cards(rest)
		if len(found) == 0 {
			found = way.cards(plain)
		}
		if cells := inCells().FindStringSubmatch(rest); len(found) == 1 && cells != nil &&
			strings.HasSuffix(found[0], cells[3]) && strings.Trim(found[0], "0123456789,") == "" {
			found = []string{cells[1] + cells[2] + "," + cells[3], cells[3]}
		}
		switch {
		case len(found) == 1:
			return found[0], nil
		case len(found) > 1:
			return "", fail("line", line, fmt.Sprintf("the card can be %s or %s; leave one card in the line, such as printed:%s",
				words.Cut(found[0]), words.Cut(found[1]), words.Cut(found[0])), ErrAmbiguous)
		}
	}
	if rest != line {
		return "", fail("line", line, "has a time and no card", ErrMissing)
	}
	return "", none
}

// cards returns the texts of the cards that stand in a line in one way.
func (way *inLogWay) cards(line string) (found []string) {
	for _, m := range way.find().FindAllStringSubmatch(line, -1) {
		if text := way.text(m); text != "" && !slices.Contains(found, text) {
			if _, err := Spellings(text); err == nil {
				found = append(found, text)
			}
		}
	}
	return found
}
