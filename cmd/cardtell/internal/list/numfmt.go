package list

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"time"
	"unicode"

	"github.com/xuri/nfp"
)

// shownAs is how a number format shows numbers.
type shownAs uint8

const (
	asStored  shownAs = iota // in no way that says more than what is stored
	asPattern                // by a pattern of digits, such as 000","00000
	asDate
	asTime
)

// numberFormat is a number format as far as it matters to a list.
type numberFormat struct {
	shown    shownAs
	timed    bool          // a date with a time of day
	pattern  []patternPart // before the decimal point
	decimals int           // digits after it that are always there
}

// patternPart is a place for a digit, or what stands between such places.
type patternPart struct {
	place   byte   // 0, # or ?; 0x00 where it is text
	between string // the text
}

// builtinFormats are the formats that a workbook refers to by number alone and that show what is not just stored
// (ECMA-376 part 1, 18.8.30); 27 to 36 and 50 to 58 are dates of languages.
var builtinFormats = map[int]string{1: "0", 14: "mm-dd-yy", 15: "d-mmm-yy", 16: "d-mmm", 17: "mmm-yy", 18: "h:mm AM/PM",
	19: "h:mm:ss AM/PM",
	20: "h:mm", 21: "h:mm:ss", 22: "m/d/yy h:mm", 45: "mm:ss", 46: "[h]:mm:ss", 47: "mmss.0"}

func builtinFormat(id int) numberFormat {
	if id >= 27 && id <= 36 && (id < 32 || id > 35) || id >= 50 && id <= 58 {
		return numberFormat{shown: asDate}
	}
	return parseFormat(builtinFormats[id])
}

// parseFormat reads a format's code; of several sections the first, which is for positive numbers. What is not known is
// as stored.
func parseFormat(code string) numberFormat {
	p := nfp.NumberFormatParser()
	sections := p.Parse(code)
	if len(sections) == 0 || sections[0].Type == nfp.TokenSectionText {
		return numberFormat{}
	}
	items := sections[0].Items
	if f, ok := dateFormat(items); ok {
		return f
	}
	f := numberFormat{shown: asPattern}
	points, last := 0, -1
	for i, t := range items {
		switch t.TType {
		case nfp.TokenTypeZeroPlaceHolder, nfp.TokenTypeHashPlaceHolder, nfp.TokenTypeDigitalPlaceHolder:
			if last = i; points > 0 {
				f.decimals += strings.Count(t.TValue, "0")
				continue
			}
			for _, c := range []byte(t.TValue) {
				f.pattern = append(f.pattern, patternPart{place: c})
			}
		case nfp.TokenTypeLiteral:
			f.pattern = append(f.pattern, patternPart{between: t.TValue})
		case nfp.TokenTypeDecimalPoint:
			points++
		case nfp.TokenTypeThousandsSeparator: // shown, and no part of the number
		case nfp.TokenTypeColor, nfp.TokenTypeAlignment, nfp.TokenTypeRepeatsChar:
		default: // a currency, a fraction, a power of ten, a condition
			return numberFormat{}
		}
	}
	if last < 0 || points > 1 || last+1 < len(items) && items[last+1].TType == nfp.TokenTypeThousandsSeparator {
		return numberFormat{} // no places; or thousands are shown, and not the number
	}
	f.pattern = withoutWords(f.pattern)
	return f
}

// dateFormat returns the format of dates and times that items are.
func dateFormat(items []nfp.Token) (f numberFormat, ok bool) {
	day, clock := false, false
	for _, t := range items {
		v := strings.ToLower(t.TValue)
		switch {
		case t.TType == nfp.TokenTypeElapsedDateTimes:
			clock = true
		case t.TType == nfp.TokenTypeDateTimes:
			clock = clock || strings.ContainsAny(v, "hs") || strings.Contains(v, "am/pm")
			day = day || strings.ContainsAny(v, "yd") || strings.Contains(v, "mmm") || strings.Trim(v, "ebg") == ""
			ok = true
		}
	}
	switch {
	case day || ok && !clock: // m alone is a month where no hour or second is beside it
		return numberFormat{shown: asDate, timed: clock}, true
	case clock:
		return numberFormat{shown: asTime}, true
	}
	return numberFormat{}, false
}

// withoutWords takes words before and after a pattern away: a unit, or what the number is called.
func withoutWords(p []patternPart) []patternPart {
	word := func(t patternPart) bool { return t.place == 0 && strings.ContainsFunc(t.between, unicode.IsLetter) }
	for len(p) > 0 && word(p[0]) {
		p = p[1:]
	}
	for len(p) > 0 && word(p[len(p)-1]) {
		p = p[:len(p)-1]
	}
	return p
}

// maxExact is below what a spreadsheet keeps every digit of a number: it has 15.
const maxExact = 1e15

// text returns what a cell says that holds a number, from what is stored.
func (f *numberFormat) text(stored string, use1904 bool) (string, Holds) {
	v, err := strconv.ParseFloat(stored, 64)
	switch {
	case err != nil || math.IsInf(v, 0) || math.IsNaN(v):
		return stored, Text
	case f.shown == asDate:
		return dateText(v, f.timed, use1904), Date
	case f.shown == asTime:
		return clockText(v), Time
	case v != math.Trunc(v) && v > 0 && f.shown == asPattern && f.decimals > 0:
		return f.withDecimals(stored, v), Number
	case v != math.Trunc(v) || v < 0:
		return stored, Number
	case v >= maxExact: // so that nobody takes it for all its digits
		return stored, Number
	case f.shown == asPattern:
		return f.fill(strconv.FormatFloat(v, 'f', 0, 64)), Number
	}
	return strconv.FormatFloat(v, 'f', 0, 64), Number
}

// fill puts digits into the places of the pattern, from the right.
func (f *numberFormat) fill(digits string) string {
	if digits == "0" {
		digits = ""
	}
	places := 0
	for _, p := range f.pattern {
		if p.place != 0 {
			places++
		}
	}
	var b strings.Builder
	extra := max(len(digits)-places, 0) // which stand before the first place
	missing := max(places-len(digits), 0)
	for _, p := range f.pattern {
		switch {
		case p.place == 0:
			b.WriteString(p.between)
			continue
		case missing > 0:
			if missing--; p.place == '0' {
				b.WriteByte('0')
			}
			continue
		}
		b.WriteString(digits[:extra+1])
		digits, extra = digits[extra+1:], 0
	}
	if b.Len() == 0 {
		return "0"
	}
	return strings.TrimSpace(b.String())
}

// withDecimals writes a number with the decimals that its format always shows, where it has no more.
func (f *numberFormat) withDecimals(stored string, v float64) string {
	if s := strconv.FormatFloat(v, 'f', f.decimals, 64); len(s) <= 16 {
		if back, err := strconv.ParseFloat(s, 64); err == nil && back == v {
			whole, rest, _ := strings.Cut(s, ".")
			return f.fill(whole) + "." + rest
		}
	}
	return stored
}

// outOfCalendar is what a spreadsheet shows for a number of a day that it has no date for.
const outOfCalendar = "########"

// dateText returns a day's number as a date. The last one is the end of the year 9999.
func dateText(v float64, timed, use1904 bool) string {
	if v < 0 || v >= 2_958_466 {
		return outOfCalendar
	}
	t := dayTime(v, use1904).Round(time.Second)
	if timed {
		return t.Format("2006-01-02 15:04:05")
	}
	return t.Format("2006-01-02")
}

// dayTime returns the time that a spreadsheet means by a number of days: ECMA-376, part 1, 18.17.4.1. Before March 1900
// its calendar has a day that never was.
func dayTime(days float64, use1904 bool) time.Time {
	first := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case use1904:
		first = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case days < 60:
		first = first.AddDate(0, 0, 1)
	}
	whole, part := math.Modf(days)
	return first.AddDate(0, 0, int(whole)).Add(time.Duration(part * 24 * float64(time.Hour)))
}

// clockText returns a part of a day, or days, as hours, minutes and seconds.
func clockText(v float64) string {
	if v < 0 || v > 1e6 {
		return outOfCalendar
	}
	s := int64(math.Round(v * 86400))
	return fmt.Sprintf(clock, s/3600, s/60%60, s%60)
}

// clock is how hours, minutes and seconds are written.
const clock = "%02d:%02d:%02d"
