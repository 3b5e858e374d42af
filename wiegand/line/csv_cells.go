package line

import (
	"bytes"
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
func cellTime(cell []byte, u unit, comma bool) (d time.Duration, ok bool) {
	if bytes.IndexByte(cell, ':') >= 0 {
		return clockTime(string(cell))
	}
	if n := len(cell); n == 0 || cell[n-1] >= '0' && cell[n-1] <= '9' {
		return parseTime(cell, u, comma)
	}
	number, name := splitUnit(cell)
	if name != "" {
		if u, ok = unitNamed(strings.ToLower(name)); !ok {
			return 0, false
		}
	}
	return parseTime(number, u, comma)
}

// clockTime reads a time of day such as 12:00:03.25, or a date and one as RFC 3339 writes them, with T or a space
// between them; where no zone is given, all are of one. It is returned as since the year 2000 began.
func clockTime(s string) (d time.Duration, ok bool) {
	const day = "2000-01-01T"
	s = strings.Replace(s, " ", "T", 1)
	if strings.IndexByte(s, 'T') < 0 {
		s = day + s
	}
	at, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		at, err = time.Parse(time.RFC3339Nano, s+"Z")
	}
	start, _ := time.Parse(time.RFC3339Nano, day+"00:00:00Z")
	return at.Sub(start), err == nil
}

// isTimeOfDay tells whether a cell is a time of day without a date.
func isTimeOfDay(cell []byte) bool {
	return bytes.IndexByte(cell, ':') >= 0 && !bytes.ContainsAny(cell, "-T ")
}

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
func cellVolts(cell []byte, comma bool) (v float64, ok bool) {
	number, name := splitUnit(cell)
	scale := 1.0
	if name != "" {
		if scale, ok = voltNames[strings.ToLower(name)]; !ok {
			return 0, false
		}
	}
	text := string(number)
	if comma {
		text = strings.Replace(text, ",", ".", 1)
	}
	v, err := strconv.ParseFloat(text, 64)
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

// rateIn finds the rate of sampling in a line of a file's head: "Sample rate: 1 MHz", "samplerate=500000", "Sample
// interval (us), 2".
func rateIn(t []byte) (hertz float64, ok bool) {
	words := strings.FieldsFunc(strings.ToLower(string(t)),
		func(r rune) bool { return strings.ContainsRune(" \t,;:=|\"#()[]", r) })
	inverse, found, unitName := false, false, ""
	for i, w := range words {
		switch {
		case strings.HasSuffix(w, "rate") || strings.HasSuffix(w, "frequency"):
			found, inverse = true, false
			continue
		case (strings.HasSuffix(w, "interval") || strings.HasSuffix(w, "period")) &&
			strings.Contains(string(bytes.ToLower(t)), "sampl"):
			found, inverse = true, true
			continue
		case !found:
			continue
		}
		number, name := splitUnit([]byte(w))
		v, err := strconv.ParseFloat(string(number), 64)
		if err != nil {
			unitName = w
			continue
		}
		if name == "" && i+1 < len(words) && scaleOf(words[i+1], inverse) > 0 {
			name = words[i+1]
		}
		if name == "" {
			name = unitName
		}
		if v *= scaleOf(name, inverse); inverse {
			v = 1 / v
		}
		return v, v >= minRate && v <= maxRate
	}
	return 0, false
}

// minRate and maxRate bound the rate of sampling, in samples a second.
const (
	minRate = 1
	maxRate = 1e12
)

// scaleOf returns what a unit of a rate is in hertz, or of an interval in seconds; 0 where it is none.
func scaleOf(name string, inverse bool) float64 {
	if inverse {
		u, ok := unitNamed(name)
		if !ok {
			return map[string]float64{"": 1}[name]
		}
		return float64(u.num) / float64(u.den) / 1e9
	}
	switch strings.TrimRight(name, ".") {
	case "", "hz", "hertz", "s/s", "sa/s", "sps", "samples/s", "samples/second":
		return 1
	case "khz", "ks/s", "ksa/s", "ksps":
		return 1e3
	case "mhz", "ms/s", "msa/s", "msps":
		return 1e6
	case "ghz", "gs/s", "gsa/s", "gsps":
		return 1e9
	}
	return 0
}
