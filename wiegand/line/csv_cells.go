package line

import (
	"bytes"
	"cmp"
	"regexp"
	"strconv"
	"strings"
	"time"
)

// splitUnit cuts the unit off a number such as "12.5 ms" or "3.3V". A number with an exponent ends in a digit.
func splitUnit(cell []byte) (number []byte, name string) {
	i := bytes.LastIndexAny(cell, "0123456789.,") + 1
	return bytes.TrimSpace(cell[:i]), strings.TrimSpace(string(cell[i:]))
}

// cellTime reads a time, in its own unit where it has one. ok is false where it is no time, or has a unit of something
// else.
func cellTime(cell []byte, u unit) (d time.Duration, ok bool) {
	if bytes.IndexByte(cell, ':') >= 0 {
		d, _, ok = clockTime(string(cell))
		return d, ok
	}
	if n := len(cell); n == 0 || cell[n-1] >= '0' && cell[n-1] <= '9' {
		return parseTime(cell, u)
	}
	number, name := splitUnit(cell)
	if name != "" {
		if u, ok = unitNamed(name); !ok {
			return 0, false
		}
	}
	return parseTime(number, u)
}

// clockTime reads a date and a time of day as RFC 3339 writes them, with T or a space between them, as since the year
// 2000 began; where no zone is given, all are of one. Of a time such as 12:00:03.25 or 00:03.25, with or without a date
// in other words before it, it returns the time of the day.
func clockTime(s string) (d time.Duration, dated, ok bool) {
	date, clock := "", s
	if i := strings.LastIndexAny(s, "T "); i >= 0 {
		date, clock = s[:i], s[i+1:]
	}
	for _, form := range [...]string{time.RFC3339Nano, "2006-01-02T15:04:05"} {
		if at, err := time.Parse(form, date+"T"+clock); err == nil {
			return at.Sub(time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)), true, true
		}
	}
	form := "15:04:05"
	if strings.Count(clock, ":") == 1 && strings.ContainsAny(clock, ".,") {
		form = "04:05"
	}
	at, err := time.Parse(form, clock)
	if err != nil || len(date) > longestDate {
		return 0, false, false
	}
	return at.Sub(at.Truncate(24 * time.Hour)), false, true
}

// longestDate is how long a date may be, as in "Thursday, 26 November 2026".
const longestDate = 32

// hasUnit tells whether a time brings its own unit.
func hasUnit(cell []byte) bool {
	if bytes.IndexByte(cell, ':') >= 0 {
		return true
	}
	_, name := splitUnit(cell)
	return name != ""
}

// voltNames are the units of a voltage, and how many volts they are.
var voltNames = map[string]float64{"v": 1, "volt": 1, "volts": 1, "mv": 1e-3, "kv": 1e3}

// cellVolts reads a voltage, in volts where it has no unit.
func cellVolts(cell []byte) (v float64, ok bool) {
	number, name := splitUnit(cell)
	scale := 1.0
	if name != "" {
		if scale, ok = voltNames[strings.ToLower(name)]; !ok {
			return 0, false
		}
	}
	v, err := strconv.ParseFloat(strings.Replace(string(number), ",", ".", 1), 64)
	return v * scale, err == nil && v-v == 0
}

// voltHead takes the unit of a voltage off the name of a column, such as "CH1 (V)" or "D0_mV". scale is 0 where there
// is none.
func voltHead(name string) (bare string, scale float64) {
	bare = strings.TrimRight(name, " )]}")
	i := strings.LastIndexAny(bare, " ([{_/")
	if scale = voltNames[strings.ToLower(bare[i+1:])]; i < 0 || scale == 0 {
		return name, 0
	}
	return strings.TrimRight(bare[:i], " ([{_/"), scale
}

// rateLine is a line that says the rate of sampling, or the time between samples, with a unit before the number or
// behind it: "Sample rate: 1 MHz", "samplerate=500000", "Sample interval (us), 2".
var rateLine = regexp.MustCompile(`(?i)(?:(sampl.*(?:interval|period))|rate|frequency)\b[^a-z0-9]*([a-zµ/]*)[^a-z0-9]*` +
	`([0-9.]+(?:e[-+]?[0-9]+)?)(,[0-9])? *([a-zµ/]*)`)

// rateIn finds the rate of sampling in a line of a file's head. Of 1,000 nobody knows whether it is 1 or a thousand.
func rateIn(t []byte) (hertz float64, ok bool) {
	m := rateLine.FindSubmatch(t)
	if m == nil || len(m[4]) > 0 {
		return 0, false
	}
	v, err := strconv.ParseFloat(string(m[3]), 64)
	name := strings.ToLower(cmp.Or(string(m[5]), string(m[2])))
	if u := units[cmp.Or(name, "s")]; len(m[1]) > 0 {
		v = 1e9 * float64(u.den) / float64(u.num) / v
	} else {
		v *= rateNames[name]
	}
	return v, err == nil && v >= minRate && v <= maxRate
}

// minRate and maxRate bound the rate of sampling, in samples a second.
const (
	minRate = 1
	maxRate = 1e12
)

// rateNames are the units of a rate, and what they are in hertz.
var rateNames = map[string]float64{
	"": 1, "hz": 1, "hertz": 1, "s/s": 1, "sa/s": 1, "sps": 1, "samples/s": 1, "samples/second": 1,
	"khz": 1e3, "ks/s": 1e3, "ksa/s": 1e3, "ksps": 1e3, "mhz": 1e6, "ms/s": 1e6, "msa/s": 1e6, "msps": 1e6,
	"ghz": 1e9, "gs/s": 1e9, "gsa/s": 1e9, "gsps": 1e9,
}

// nameCells takes the names out of the cells of the first row, where two or more beside the time have one.
func (c *CSV) nameCells() {
	isNamed := func(i int) bool { return i != c.timeAt && bytes.IndexByte(c.cells[i], '=') > 0 }
	n := 0
	for i := range c.cells {
		n += int(boolBit(isNamed(i)))
	}
	if c.named = n > 1; c.named {
		for i, cell := range c.cells {
			if name, _, ok := bytes.Cut(cell, []byte("=")); ok && len(name) > 0 {
				c.header[i] = string(name)
			}
		}
		c.takeNames()
	}
}

// takeNames takes the names off the cells of a row, and returns the first cell whose name is another one than in the
// first row.
func (c *CSV) takeNames() []byte {
	for i, cell := range c.cells {
		name, value, ok := bytes.Cut(cell, []byte("="))
		switch {
		case !ok:
		case string(name) != c.header[i]:
			return cell
		default:
			c.cells[i] = value
		}
	}
	return nil
}
