package line

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
	"time"
)

// CSVOptions says what a CSV file does not say itself. The zero value leaves all to the file.
type CSVOptions struct {
	Unit string  // of its times: s, ms, us or ns; "" where the header or the cells tell
	Rate float64 // samples a second, 1 to 1e12, of a file whose rows have no time; 0 where its head tells
}

// CSV reads a recording as text in columns. NewCSV makes one. It streams, and is a [Source] once [CSV.Choose] has said
// which columns are the line. Seven forms are known:
//
//	time [us],D0,D1     a time and the levels of both wires, as samples or at each change
//	D0,D1               the levels alone, a sample a row; the rate is in the options, or in a line before such as
//	                    "Sample rate: 1 MHz"
//	t=60us D0=1 D1=0    the same, with the names in each row
//	time,bus            a time and all levels as one number, 0x1F, 1Fh or 0b00011111: its signals are bus[0], bus[1] …
//	time_us;wire;level  a time, a name and the level that it changes to, or rise or fall; with a header in any order
//	time (ms)	event     a time and a name: a pulse began there, of unknown width
//	start;width;wire    the same, with a duration, or the time of an end
//	250 ms: D0 falling  the same as a line of a log, where other words may stand between
//
// Where all changes are falls, or all are rises, each is a pulse as well.
//
// A level is 0 or 1, low or high, lo or hi, L or H, off or on, false or true, or a voltage as an oscilloscope has it;
// what is high is then found as the recording goes on, see [CSV.Thresholds]. Lines before the first row of numbers are
// a preamble, of which the last is the header; blank lines and those that begin with # are skipped. The delimiter is
// tab, ; , | or spaces; numbers may have a decimal comma, behind which no comma delimits but in quotes, and groups of
// three digits. Lines may end in carriage returns alone. The unit of time is in the header's cell, in the cell itself,
// or in the options; it is never guessed. A time of day needs none: a date before it, or in a column of its own, may be
// written in any way, and after midnight another day has begun. A count of microseconds may begin anew after 2^32. A
// column such as "delta_us" holds the time since the row before; where the rows are levels, the first must be 0 to say
// so. A column of other words does no harm where the names of two others say that they are the line.
type CSV struct {
	in      *input
	unit    unit
	delim   byte
	form    csvForm
	header  []string // names of all columns
	timeAt  int      // index of the time's column; -1 where the rows have none
	since   bool     // the time is the one since the row before
	widthAt int      // index of the column that says how long pulses last, or when they end; 0 where there is none
	events  [2]int   // indexes of the columns of a list of events: the wire's name, and its level or -1
	rate    float64  // of the rows, where they have no time
	rows    int64    // read so far
	count   int      // index of the column that numbers the samples; -1 where there is none
	levely  []int    // columns that held a level in the first row, or a voltage where fewer than two held a level
	analog  []analog // by column
	width   int      // how many cells a row has
	named   bool     // each cell has its name in it, as in "D0=1"
	words   []string // the cells of the first row of a log whose words must stay the same; else nil
	packed  []packed // columns that hold several signals as one number, which columns behind the last one unpack
	uneven  bool     // a header with a time in it did not fit the row below it

	cells  [][]byte
	first  []byte // the first row, which NewCSV has read
	coding Coding
	want   [2]string // names asked for, in the event forms
	cols   [2]int    // columns chosen, in the form of levels
	chosen bool

	now     time.Duration
	passed  time.Duration // whole days or counts since the first row, where rows have a time of day or one of 32 bits
	step    time.Duration // from the first row to the second
	even    int           // rows since the first, all as far apart; negative where they are not
	started bool
	seen    [2]bool  // the wires that had events
	others  []string // other names that had events, the first few
	// In a list of changes: the first ones, until it is known whether it has them both ways; the level of all so far,
	// where it is known to have only those; and the wires whose changes were given.
	held     [2]Edge
	holds    int
	bothWays bool
	oneWay   Level
	given    [2]bool
	// In a list of pulses: the wires that are low, and until when.
	low  [2]bool
	ends [2]time.Duration
	scope
	queue
}

type csvForm uint8

const (
	noForm csvForm = iota
	levelForm
	eventForm
	pulseForm
)

const (
	delimiters  = "\t;,| "
	maxPreamble = 1000 // lines before the first row of data
	maxColumns  = 1024
	unnamed     = "column " // with its number, the name of a column that has none
)

// NewCSV reads the beginning of a recording, up to the first row of data. The errors are ErrSyntax where there is none,
// ErrTime where the unit of time is neither in the header nor in the options, and those of r.
func NewCSV(r io.Reader, o CSVOptions) (*CSV, error) {
	c := &CSV{in: newInput(r, "read CSV"), rate: o.Rate}
	if o.Rate != 0 && !(o.Rate >= minRate && o.Rate <= maxRate) {
		return nil, &Error{Op: c.in.op, Reason: "a rate is 1 to 1e12 samples a second", Err: ErrTime}
	}
	if o.Unit != "" {
		var ok bool
		if c.unit, ok = unitNamed(o.Unit); !ok {
			return nil, &Error{Op: c.in.op, Input: cutShort(o.Unit), Reason: "not a unit of time; take s, ms, us or ns",
				Err: ErrTime}
		}
	}
	if err := c.start(); err != nil {
		return nil, err
	}
	switch {
	case c.timeAt < 0:
	case c.since && c.form == levelForm && c.firstTime() != 0:
		return nil, c.in.fail(ErrTime, c.first, "by its name the time is that since the row before, or until the next one, and "+
			"nothing says which; give the time since the beginning, and call it time")
	case o.Rate != 0:
		return nil, c.in.fail(ErrTime, c.first, "the rows have a time of their own; leave the rate out")
	case c.unit == (unit{}) && !hasUnit(c.cells[c.timeAt]):
		return nil, c.in.fail(ErrTime, c.first,
			"the header gives no unit for the time; say whether it is s, ms, us or ns, or what the "+
				"rate is where a row is a sample and has no time")
	}
	return c, nil
}

// start reads lines until one is data.
func (c *CSV) start() error {
	var before []byte
	candidates := delimiters
	for n := range maxPreamble {
		t, err := c.in.text()
		if errors.Is(err, io.EOF) {
			if n == 0 {
				return c.in.fail(ErrSyntax, nil, "the file is empty")
			}
			return c.noData(before, "before the end")
		}
		if err != nil {
			return err
		}
		if n == 0 {
			t = bytes.TrimPrefix(t, []byte("\xef\xbb\xbf"))
		}
		if bytes.IndexByte(t, 0) >= 0 {
			return c.in.fail(ErrSyntax, nil, "a NUL byte: a binary file, or UTF-16 text; save it as UTF-8")
		}
		if n == 0 && len(t) == 5 && strings.EqualFold(string(t[:4]), "sep=") { // by which spreadsheets name the delimiter
			candidates = string(t[4:])
			continue
		}
		if len(bytes.TrimSpace(t)) == 0 {
			continue
		}
		for i := range len(candidates) {
			if c.isData(t, before, candidates[i]) {
				c.first = bytes.Clone(t)
				return nil
			}
		}
		if t[0] != '#' || !isWider(before, t) {
			before = withUnits(before, bytes.Clone(t), candidates)
		}
		if rate, ok := rateIn(t); ok && c.rate == 0 {
			c.rate = rate
		}
	}
	return c.noData(before, fmt.Sprintf("in %d lines", maxPreamble))
}

// isWider tells whether a line has more cells than a remark, which is then not the head.
func isWider(line, remark []byte) bool {
	for i := range len(delimiters) - 1 {
		if bytes.Count(line, []byte{delimiters[i]}) > bytes.Count(remark, []byte{delimiters[i]}) {
			return true
		}
	}
	return false
}

// withUnits returns the line t of a head; where it has but the units of what the line before names, as in "s,V,V", that
// line with its units.
func withUnits(before, t []byte, candidates string) []byte {
	for i := range len(candidates) {
		delim := candidates[i : i+1]
		names, units := strings.Split(string(before), delim), strings.Split(string(t), delim)
		if len(names) < 2 || len(names) != len(units) {
			continue
		}
		for k, cell := range units {
			u := strings.Trim(cell, " ()[]\"")
			_, ofTime := unitNamed(u)
			if _, ofVolts := voltNames[strings.ToLower(u)]; !ofTime && !ofVolts && (k == 0 || u != "") {
				return t
			}
			if u != "" {
				names[k] = strings.Trim(names[k], " \"") + " (" + u + ")"
			}
		}
		return []byte(strings.Join(names, delim))
	}
	return t
}

// noData says that no row of data was found, and why.
func (c *CSV) noData(last []byte, where string) error {
	if c.uneven {
		return c.in.fail(ErrSyntax, last, "the rows do not have as many cells as the header; if the numbers have a decimal comma, "+
			"export with another delimiter")
	}
	return c.in.fail(ErrSyntax, last, "no row of data "+where+": a row is a time and levels, or a time and an event")
}

// isData tells whether a line is a row of data with this delimiter, and if so takes note of the form and the header.
func (c *CSV) isData(t, before []byte, delim byte) bool {
	c.delim = delim
	c.header, c.timeAt = c.headerOf(before)
	if c.cells = c.split(t, c.cells[:0]); len(c.cells) < 2 || len(c.cells) > maxColumns || t[0] == '#' {
		return false
	}
	if len(c.header) != len(c.cells) {
		if len(c.header) > 1 && c.timeAt >= 0 && strings.HasPrefix(strings.ToLower(c.header[c.timeAt]), "time") {
			c.uneven = true
			return false
		}
		c.header, c.timeAt = make([]string, len(c.cells)), -1
	}
	c.width = len(c.cells)
	named := c.findTime()
	c.nameCells()
	c.findPacked()
	c.analog, c.count = make([]analog, len(c.cells)), -1
	for i := range c.header {
		if c.header[i] == "" {
			c.header[i] = fmt.Sprint(unnamed, i+1)
		}
		if isCounter(c.header[i]) {
			c.count = i
		}
		c.header[i], c.analog[i].scale = voltHead(c.header[i])
	}
	if c.timeAt < 0 {
		c.form = levelForm
		return c.levels() && len(c.levely) > 1
	}
	if _, ok := cellTime(c.cells[c.timeAt], unit{1, 1}); !ok {
		return false
	}
	c.form = c.formOf()
	named = named || c.timeAt == 0 || c.form == levelForm
	if c.form == noForm || !named && !isTwoWire(c.cells[c.events[0]]) {
		return false // "Started, 10:30:00" is no event
	}
	if c.numbered(before) {
		c.count, c.timeAt = 0, 1
	}
	if u, ok := unitIn(c.header[c.timeAt]); ok && c.unit == (unit{}) {
		c.unit = u
	}
	c.since = isSince(c.header[c.timeAt])
	return true
}

// firstTime returns the time in the first row, in any unit.
func (c *CSV) firstTime() time.Duration {
	d, _ := cellTime(c.cells[c.timeAt], second)
	return d
}

// numbered tells whether rows of levels begin with their number, and then have the time: a number that is no level,
// where the first cell is 0 or 1, or its head says so.
func (c *CSV) numbered(before []byte) bool {
	named := isCounter(c.header[0])
	if len(before) > 0 && !named || c.timeAt > 0 || c.form != levelForm || len(c.levely) < 2 || c.levely[0] < 2 {
		return false
	}
	_, first := csvLevel(c.cells[0])
	_, second := csvLevel(c.cells[1])
	_, time := cellTime(c.cells[1], unit{1, 1})
	return (first || named) && !second && time
}

// headerOf returns the names of the columns in a header, and which of them says that it is the time; -1 where none
// does.
func (c *CSV) headerOf(t []byte) (names []string, timeAt int) {
	if len(t) > 1 && t[0] == '#' && (t[1] != c.delim || t[1] == ' ') { // a remark; else the name of the rows' number
		t = t[1:]
	}
	for _, cell := range c.split(t, nil) {
		names = append(names, string(cell))
	}
	return names, slices.IndexFunc(names, isTime)
}

// findTime finds the time where no column says that it is: the first that has a unit of time in its head, or in its
// cell, or else the first one; -1 where the rate is known. It tells whether the head says so.
func (c *CSV) findTime() (named bool) {
	own := -1
	for i := 0; i < len(c.cells) && c.timeAt < 0; i++ {
		if _, isTime := cellTime(c.cells[i], unit{1, 1}); !isTime {
			continue
		}
		if _, ok := unitIn(c.header[i]); (ok || c.header[i] == "t") && !isWidth(c.header[i]) {
			c.timeAt = i
		}
		if own < 0 && hasUnit(c.cells[i]) {
			own = i
		}
	}
	switch named = c.timeAt >= 0; {
	case named:
	case own < 0 && c.rate == 0:
		c.timeAt = 0
	default:
		c.timeAt = own
	}
	return named
}

// formOf tells which form the row in cells has.
func (c *CSV) formOf() csvForm {
	numbers := c.levels()
	var rest []int
	for i := range c.cells {
		if !c.apart(i) {
			rest = append(rest, i)
		}
	}
	switch {
	case len(rest) == 1:
		c.events = [2]int{rest[0], -1}
		head, cell := c.header[rest[0]], c.cells[rest[0]]
		name, _, ok := splitEvent(cell) // "D0 fall", or "D0" alone
		switch {
		case numbers && !strings.HasPrefix(head, unnamed) && !isEventColumn(head): // the level of one wire, no use alone
		case ok && len(name) > 0:
			return eventForm
		case len(cell) > 0 && len(cell) <= 64:
			return pulseForm
		default:
			return noForm
		}
	case len(rest) == 2:
		for i, at := range rest {
			if _, ok := c.widthIn(at); ok {
				c.events, c.widthAt = [2]int{rest[1-i], -1}, at
				return pulseForm
			}
		}
		for i, at := range rest {
			c.events = [2]int{at, rest[1-i]}
			_, isLevel := eventLevel(c.cells[at])
			if _, ok := eventLevel(c.cells[c.events[1]]); ok && (isEventColumn(c.header[at]) || !numbers && !isLevel) {
				return eventForm
			}
		}
	}
	switch {
	case numbers || c.namesTell():
		return levelForm
	case c.delim == ' ':
		return c.logForm(rest)
	}
	return noForm
}

// logForm tells which form a line of a log has that has other words in it: one is a wire's name, and one may be a
// level. Where none is, the words are those of the first row in all rows: another one may tell of another change.
func (c *CSV) logForm(rest []int) csvForm {
	c.events, c.words = [2]int{-1, -1}, nil
	for _, i := range rest {
		at := 0
		if l, ok := eventLevel(c.cells[i]); ok && l != Unknown && string(c.cells[i]) != "on" {
			at = 1
		} else if !isTwoWire(c.cells[i]) {
			continue
		}
		if c.events[at] >= 0 {
			return noForm
		}
		c.events[at] = i
	}
	switch {
	case c.events[0] < 0:
		return noForm
	case c.events[1] >= 0:
		return eventForm
	}
	for _, cell := range c.cells {
		c.words = append(c.words, string(cell))
	}
	return pulseForm
}

// isTwoWire tells whether a cell is the name of one of two wires.
func isTwoWire(cell []byte) bool {
	k, _, ok := role(string(cell))
	return ok && k == TwoWire
}

// namesTell tells whether the names of two columns that hold levels say that they are the line, beside others that hold
// anything.
func (c *CSV) namesTell() bool {
	names := make([]string, len(c.levely))
	for i, at := range c.levely {
		names[i] = c.header[at]
	}
	_, choice, err := choose(c.in.op, names, Signals{})
	_, isRow := csvLevel([]byte(choice.Names[0]))
	return err == nil && choice.Note == "" && !isRow
}

// apart tells whether a column is the time, a date, the number of the row, or holds signals that others unpack.
func (c *CSV) apart(i int) bool {
	isPacked := slices.ContainsFunc(c.packed, func(p packed) bool { return p.at == i })
	return i == c.timeAt || i == c.count || isPacked || c.timeAt >= 0 && isDate(c.header[i])
}

// levels finds the columns of the row in cells that hold a level or a voltage, and tells whether all cells are numbers
// or levels.
func (c *CSV) levels() (numbers bool) {
	c.levely, numbers = c.levely[:0], true
	var volts []int
	for i, cell := range c.cells {
		if c.apart(i) {
			continue
		}
		if _, ok := csvLevel(cell); ok && c.analog[i].scale == 0 {
			c.levely = append(c.levely, i)
			continue
		}
		if _, ok := cellVolts(cell); !ok {
			numbers = false
			continue
		}
		c.analog[i].scale = cmp.Or(c.analog[i].scale, 1)
		volts = append(volts, i)
	}
	if len(c.levely) < 2 {
		c.levely = append(c.levely, volts...)
		slices.Sort(c.levely)
	}
	return numbers
}

// hasWord tells whether the name of a column has one of some words in it.
func hasWord(name string, any ...string) bool {
	return slices.ContainsFunc(words(name), func(w string) bool { return slices.Contains(any, w) })
}

// isTime tells whether a column is the time by its name.
func isTime(name string) bool {
	return strings.HasPrefix(strings.ToLower(name), "time") || hasWord(name, "time", "start")
}

// isSince tells whether a column holds the time since the row before. That since the start is another one.
func isSince(name string) bool {
	return hasWord(name, "delta", "dt", "Δt", "δt", "diff") ||
		hasWord(name, "since") && !hasWord(name, "start", "begin", "beginning", "trigger", "boot", "reset", "epoch", "midnight")
}

// isDate tells whether a column holds a date, and the time of day is in another one.
func isDate(name string) bool { return slices.Contains([]string{"date", "day"}, strings.ToLower(name)) }

// isCounter tells whether a column numbers the samples.
func isCounter(name string) bool {
	counts := []string{"sample", "samples", "index", "no", "nr", "number", "#", "n", "row", "tick", "ticks"}
	all := words(name)
	return len(all) > 0 && !slices.ContainsFunc(all, func(w string) bool { return !slices.Contains(counts, w) })
}

// isEventColumn tells whether a column holds the names of wires, even where these are 0 and 1.
func isEventColumn(name string) bool {
	return slices.Contains([]string{"event", "bit", "wire", "line", "channel", "signal", "pulse", "pin", "input", "gpio",
		"name"}, strings.ToLower(name))
}

// isWidth tells whether a column holds how long a pulse lasts.
func isWidth(name string) bool { return hasWord(name, "width", "duration") }

// widthIn returns how long the pulse of a row lasts, where a column holds that, or the time of its end.
func (c *CSV) widthIn(col int) (time.Duration, bool) {
	head, isEnd := c.header[col], hasWord(c.header[col], "end", "stop")
	if !isEnd && !isWidth(head) {
		return 0, false
	}
	u, ok := unitIn(head)
	if !ok {
		u = c.unit
	}
	d, ok := cellTime(c.cells[col], u)
	if isEnd {
		d -= c.now
	}
	return d, ok && d >= 0 && (u != (unit{}) || hasUnit(c.cells[col]))
}

// unitIn finds the unit of time in a name such as "Time [s]", "time_us", "t/ms", "millis" or "ms since boot".
func unitIn(name string) (unit, bool) {
	all := append([]string{""}, words(name)...)
	if u, ok := unitNamed(all[len(all)-1]); ok {
		return u, true
	}
	return unitNamed(all[max(0, slices.Index(all, "since")-1)])
}

// words returns the words of a name, in lower case.
func words(name string) []string {
	return strings.FieldsFunc(strings.ToLower(name), func(r rune) bool { return strings.ContainsRune(" _()[]/.,:-", r) })
}

// split cuts a row into cells, without the spaces and quotes around them. Behind a delimiter at the end there is none.
func (c *CSV) split(t []byte, cells [][]byte) [][]byte {
	if c.delim == ' ' {
		return splitWords(t, cells)
	}
	t = bytes.TrimRight(t, " \t"[:1+boolBit(c.delim != '\t')])
	if n := len(t) - 1; n >= 0 && t[n] == c.delim {
		t = t[:n]
	}
	for {
		i := bytes.IndexByte(t, c.delim)
		if j := bytes.IndexByte(t, '"'); j >= 0 && (i < 0 || j < i) && len(bytes.TrimLeft(t[:j], " ")) == 0 {
			if k := bytes.IndexByte(t[j+1:], '"'); k >= 0 {
				rest := t[j+1+k+1:]
				cells = append(cells, bytes.TrimSpace(t[j+1:j+1+k]))
				if i = bytes.IndexByte(rest, c.delim); i < 0 {
					return cells
				}
				t = rest[i+1:]
				continue
			}
		}
		if i < 0 {
			return append(cells, bytes.TrimSpace(t))
		}
		cells = append(cells, bytes.TrimSpace(t[:i]))
		t = t[i+1:]
	}
}

// splitWords cuts a line of a log into cells, without the signs around them: "[0.25] D0 low", "250 ms: D0". A unit
// belongs to the word before it.
func splitWords(t []byte, cells [][]byte) [][]byte {
	for _, word := range bytes.Fields(t) {
		if word = bytes.Trim(word, "[](),;:\""); len(word) == 0 || string(word) == "->" || isEdge(word) {
			continue
		}
		if n := len(cells); n > 0 {
			last := cells[n-1]
			_, isUnit := unitNamed(string(word))
			if end := last[len(last)-1]; isUnit && end >= '0' && end <= '9' {
				cells[n-1] = append(append(bytes.Clone(last), ' '), word...)
				continue
			}
		}
		cells = append(cells, word)
	}
	return cells
}

// levelWords are what levels of samples are called, and changes the words for a change to one.
var (
	levelWords = map[string]Level{"0": Low, "l": Low, "lo": Low, "low": Low, "false": Low, "off": Low,
		"1": High, "h": High, "hi": High, "high": High, "true": High, "on": High, "x": Unknown, "z": Unknown, "?": Unknown}
	changes = map[string]Level{"fall": Low, "falling": Low, "falls": Low, "down": Low, "f": Low,
		"rise": High, "rising": High, "rises": High, "up": High, "r": High}
)

// csvLevel reads the level of a sample.
func csvLevel(cell []byte) (l Level, ok bool) {
	if len(cell) == 1 && cell[0]&^1 == '0' { // nearly every cell
		return Low + Level(cell[0]&1), true
	}
	l, ok = levelWords[strings.ToLower(string(cell))]
	return l, ok
}

// isEdge tells whether a word says nothing that "rising" before it does not.
func isEdge(word []byte) bool { return len(word) == 4 && string(bytes.ToLower(word)) == "edge" }

// withoutEdge takes the last word off "rising edge".
func withoutEdge(cell []byte) []byte {
	if n := len(cell) - 5; n > 0 && cell[n] == ' ' && isEdge(cell[n+1:]) {
		return cell[:n]
	}
	return cell
}

// eventLevel reads the level that a wire changes to, or the direction in which it does.
func eventLevel(cell []byte) (Level, bool) {
	if l, ok := changes[strings.ToLower(string(withoutEdge(cell)))]; ok {
		return l, true
	}
	return csvLevel(cell)
}

// splitEvent reads "D0 fall", "D0=0" or "D0:1".
func splitEvent(cell []byte) (name []byte, level Level, ok bool) {
	cell = withoutEdge(cell)
	i := bytes.LastIndexAny(cell, " =:")
	if i <= 0 {
		return nil, Unknown, false
	}
	level, ok = eventLevel(cell[i+1:])
	return bytes.TrimRight(cell[:i], " =:"), level, ok
}
