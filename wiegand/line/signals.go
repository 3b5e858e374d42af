package line

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
	"unicode"
)

// Signals says which signals of a recording are the line, by name. Names may be left out where the recording itself
// tells: because it has only two signals, or because they are called what everybody calls them (D0, DATA0, CLOCK, DATA,
// …). A name is the whole one, or its last part behind a dot where only one signal has that.
type Signals struct {
	Data0, Data1 string // two-wire
	Clock, Data  string // clock and data; with either of these set, the other two must not be
}

// Choice is which signals were taken, and why. It is a value and comparable.
type Choice struct {
	Coding Coding
	Names  [2]string // by wire
	Note   string    // where the choice was not certain: what was assumed, and how to say otherwise
}

// role returns what a signal of this name is for, by its name alone: the last part, without signs, in lower case; or
// one or two words of it, as in "Data 1 (white)".
func role(name string) (c Coding, w Wire, ok bool) {
	isSign := func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) }
	words := strings.FieldsFunc(strings.ToLower(lastPart(name)), isSign)
	whole := strings.Join(words, "")
	if c, w, ok = roleOf(whole); ok || whole == "0" || whole == "1" {
		return c, w, ok
	}
	var roles [2]int // by coding, a bit for each wire
	for i, word := range words {
		for _, s := range [2]string{word, strings.Join(words[i:min(i+2, len(words))], "")} {
			if k, v, found := roleOf(s); found && len(s) > 1 {
				roles[k] |= 1 << v
			}
		}
	}
	for k, r := range roles {
		if r == 1 || r == 2 {
			return Coding(k), Wire(r >> 1), true
		}
	}
	return 0, 0, false
}

// roleOf returns what a signal is for, by its name in lower case and without signs.
func roleOf(name string) (c Coding, w Wire, ok bool) {
	switch name {
	case "d0", "data0", "line0", "w0", "wiegand0", "wiegandd0", "0", "zero", "datazero":
		return TwoWire, Data0, true
	case "d1", "data1", "line1", "w1", "wiegand1", "wiegandd1", "1", "one", "dataone":
		return TwoWire, Data1, true
	case "clock", "clk", "sclk", "strobe":
		return ClockAndData, Clock, true
	case "data", "dat", "sdata":
		return ClockAndData, Data, true
	}
	return 0, 0, false
}

func lastPart(name string) string { return name[strings.LastIndexByte(name, '.')+1:] }

// named returns which signals are named, by wire.
func (s Signals) named() (c Coding, names [2]string) {
	if s.Clock != "" || s.Data != "" {
		return ClockAndData, [2]string{s.Clock, s.Data}
	}
	return TwoWire, [2]string{s.Data0, s.Data1}
}

// choose picks two of the names.
func choose(op string, names []string, s Signals) (picks [2]int, c Choice, err error) {
	coding, want := s.named()
	if coding == ClockAndData && (s.Data0 != "" || s.Data1 != "") {
		return picks, c, signalError(op, "", "DATA0 or DATA1 is named together with CLOCK or DATA; name one pair", names)
	}
	c.Coding, picks = coding, [2]int{-1, -1}
	for i, name := range want {
		if name == "" {
			continue
		}
		if picks[i], err = find(op, names, name); err != nil {
			return picks, c, err
		}
	}
	switch missing := boolBit(want[0] != ""); {
	case want == [2]string{}:
		if picks, c, err = chooseByThemselves(op, names); err != nil {
			return picks, c, err
		}
	case want[missing] != "":
	case len(names) == 2:
		picks[missing] = 1 - picks[1-missing]
	default:
		return picks, c, signalError(op, "", "no name is given for "+c.Coding.WireName(Wire(missing)), names)
	}
	if picks[0] == picks[1] {
		return picks, c, signalError(op, names[picks[0]], "one signal cannot be both wires", names)
	}
	c.Names = [2]string{names[picks[0]], names[picks[1]]}
	return picks, c, nil
}

// chooseByThemselves picks two signals by what they are called, or takes the only two that there are.
func chooseByThemselves(op string, names []string) (picks [2]int, c Choice, err error) {
	for _, coding := range []Coding{TwoWire, ClockAndData} {
		var count [2]int
		for i, name := range names {
			if k, w, ok := role(name); ok && k == coding {
				picks[w] = i
				count[w]++
			}
		}
		if count == [2]int{1, 1} {
			return picks, Choice{Coding: coding}, nil
		}
	}
	green, white := onlyOne(names, "green"), onlyOne(names, "white")
	coloured := green >= 0 && white >= 0 && green != white
	if len(names) != 2 && !coloured {
		reason := fmt.Sprintf("%s, and the names do not tell which are the line; name the two", plural(len(names), "signal"))
		return picks, c, signalError(op, "", reason, names)
	}
	picks = [2]int{0, 1}
	if exchanged(names[0], names[1]) {
		picks = [2]int{1, 0}
	}
	if coloured {
		picks = [2]int{green, white}
	}
	c.Note = fmt.Sprintf("%s is taken for DATA0 and %s for DATA1; exchanged, every bit would be inverted",
		cutShort(names[picks[0]]), cutShort(names[picks[1]]))
	return picks, c, nil
}

// onlyOne returns which name has a word in it, -1 where none has, or several have.
func onlyOne(names []string, word string) int {
	has := func(name string) bool { return strings.Contains(strings.ToLower(name), word) }
	i := slices.IndexFunc(names, has)
	if i >= 0 && slices.IndexFunc(names[i+1:], has) >= 0 {
		return -1
	}
	return i
}

// exchanged tells whether the first of two names is more likely that of DATA1: they differ in a number or one letter,
// which is the higher one, or are the colours of the wires, DATA0 green and DATA1 white (common practice, no source).
func exchanged(a, b string) bool {
	a, b = strings.ToLower(a), strings.ToLower(b)
	return numberedBehind(a, b) || strings.Contains(a, "white") && strings.Contains(b, "green")
}

// numberedBehind tells whether two names differ in a number or one letter alone, and the first one's is higher.
func numberedBehind(a, b string) bool {
	for a != "" && b != "" && a[0] == b[0] {
		a, b = a[1:], b[1:]
	}
	for a != "" && b != "" && a[len(a)-1] == b[len(b)-1] {
		a, b = a[:len(a)-1], b[:len(b)-1]
	}
	alike := strings.Trim(a+b, "0123456789") == "" || len(a) == 1 && len(b) == 1
	return alike && cmp.Or(cmp.Compare(len(a), len(b)), cmp.Compare(a, b)) > 0
}

// find returns the index of a name: the whole one first, then a last part that only one signal has.
func find(op string, names []string, name string) (int, error) {
	at, n := -1, 0
	for i, have := range names {
		if have == name {
			return i, nil
		}
		if lastPart(have) == name {
			at = i
			n++
		}
	}
	switch bare := strings.TrimSuffix(name, onlyBit); {
	case n == 1:
		return at, nil
	case n == 0 && bare != name:
		return find(op, names, bare)
	case n == 0:
		return -1, signalError(op, name, "no such signal", names)
	}
	return -1, signalError(op, name, fmt.Sprintf("%d signals end in this name; give the whole one", n), names)
}

func signalError(op, name, reason string, names []string) error {
	return &Error{Op: op, Input: cutShort(name), Reason: reason, Names: names, Err: ErrSignal}
}
