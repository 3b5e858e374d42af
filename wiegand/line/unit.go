package line

import (
	"bytes"
	"strconv"
	"strings"
	"time"
)

// unit is a unit of time: num/den nanoseconds.
type unit struct{ num, den int64 }

var second, milli, micro, nano = unit{1e9, 1}, unit{1e6, 1}, unit{1e3, 1}, unit{1, 1}

// units are what units of time are called. A sign that is no UTF-8 is µ in an older encoding: no other one goes before
// s.
var units = map[string]unit{
	"s": second, "sec": second, "secs": second, "second": second, "seconds": second,
	"ms": milli, "msec": milli, "millisecond": milli, "milliseconds": milli, "millis": milli,
	"us": micro, "µs": micro, "μs": micro, "\ufffds": micro, "usec": micro, "microsecond": micro, "microseconds": micro, "micros": micro,
	"ns": nano, "nsec": nano, "nanosecond": nano, "nanoseconds": nano, "nanos": nano,
	"ps": {1, 1e3}, "fs": {1, 1e6},
}

// unitNamed returns the unit of a name, in upper or lower case.
func unitNamed(name string) (u unit, ok bool) {
	u, ok = units[strings.ToLower(name)]
	return u, ok
}

// duration returns n units, rounded down to a nanosecond. ok is false where that is more than 73 years.
func (u unit) duration(n int64) (d time.Duration, ok bool) {
	if n > int64(maxTime)/u.num {
		return 0, false
	}
	return time.Duration(n * u.num / u.den), true
}

// parseDigits reads decimal digits. ok is false where there are none, there is another sign, or the number is 2^62 or
// more.
func parseDigits(s []byte) (n int64, ok bool) {
	if len(s) == 0 {
		return 0, false
	}
	for _, c := range s {
		if c < '0' || c > '9' || n >= 1<<58 {
			return 0, false
		}
		n = n*10 + int64(c-'0')
	}
	return n, n < 1<<62
}

// parseTime reads a decimal number such as -0.001234 or 1.5e-3, in units of u, exactly: a float64 would lose the
// microseconds of a time of day. A decimal comma will do, and so do signs between groups of three digits. Digits below
// a nanosecond are dropped.
func parseTime(s []byte, u unit) (d time.Duration, ok bool) {
	neg := false
	if len(s) > 0 && (s[0] == '-' || s[0] == '+') {
		neg, s = s[0] == '-', s[1:]
	}
	mantissa, exp, digits, point, groups := int64(0), 0, 0, false, false
	for len(s) > 0 {
		c, sign := s[0], 0
		switch {
		case '0' <= c && c <= '9':
			digits++
			if mantissa < 1<<59 {
				mantissa = mantissa*10 + int64(c-'0')
				exp -= int(boolBit(point))
			} else if !point {
				exp++
			}
		case digits > 0 && !point && (groups || digits <= 3) && groupSign(s) > 0:
			sign, groups = groupSign(s)-1, true
		case (c == '.' || c == ',') && !point:
			point = true
		case (c == 'e' || c == 'E') && digits > 0:
			e, err := strconv.Atoi(string(s[1:]))
			if err != nil || e < -maxExponent || e > maxExponent {
				return 0, false
			}
			return scale(mantissa, exp+e, u, neg)
		default:
			return 0, false
		}
		s = s[1+sign:]
	}
	if digits == 0 {
		return 0, false
	}
	return scale(mantissa, exp, u, neg)
}

// groupSigns are the signs between groups of three digits; three of them are blanks.
var groupSigns = []string{"'", "’", " ", "\u00a0", "\u202f", ".", ","}

// groupSign returns how long the sign is that begins s and has a group of three digits behind it, else 0. Comma and
// point are such signs only where the other one comes as well.
func groupSign(s []byte) int {
	for _, sign := range groupSigns {
		behind, found := bytes.CutPrefix(s, []byte(sign))
		rest := bytes.TrimLeft(behind, "0123456789")
		if found && len(behind)-len(rest) == 3 && (s[0] != '.' && s[0] != ',' || bytes.IndexByte(rest, '.'^','^s[0]) >= 0) {
			return len(sign)
		}
	}
	return 0
}

// maxExponent is the largest power of ten that is read.
const maxExponent = 100

// scale returns mantissa·10^exp units as a time; false where that is more than 73 years.
func scale(mantissa int64, exp int, u unit, neg bool) (time.Duration, bool) {
	for n := u.num; n >= 10; n /= 10 {
		exp++
	}
	for n := u.den; n >= 10; n /= 10 {
		exp--
	}
	for ; exp < 0 && mantissa != 0; exp++ {
		mantissa /= 10
	}
	for ; exp > 0 && mantissa != 0; exp-- {
		if mantissa > int64(maxTime)/10 {
			return 0, false
		}
		mantissa *= 10
	}
	if mantissa > int64(maxTime) {
		return 0, false
	}
	if neg {
		mantissa = -mantissa
	}
	return time.Duration(mantissa), true
}
