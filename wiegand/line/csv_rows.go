package line

import (
	"bytes"
	"cmp"
	"errors"
	"fmt"
	"io"
	"math"
	"slices"
	"strings"
	"time"
)

// Names returns the names of the columns that hold levels; where the recording is a list of events, the names seen so
// far.
func (c *CSV) Names() []string {
	var names []string
	if c.form != levelForm {
		return append(names, c.others...)
	}
	for _, i := range c.levely {
		names = append(names, c.header[i])
	}
	return names
}

// Choose says which signals are the line. The error is ErrSignal, with the names that there are. In a list of events
// the names are only known once they come, so a wrong name is reported by [CSV.Next] at the end.
func (c *CSV) Choose(s Signals) (Choice, error) {
	if c.form != levelForm {
		return c.chooseEvents(s)
	}
	columns := c.levely
	if s != (Signals{}) { // a column that was named may hold something else; Next will say where
		columns = nil
		for i := range c.header {
			if !c.apart(i) {
				columns = append(columns, i)
			}
		}
	}
	if len(columns) == 0 {
		return Choice{}, c.in.fail(ErrLevel, c.first, "no column holds levels or voltages")
	}
	for _, name := range []*string{&s.Data0, &s.Data1, &s.Clock, &s.Data} {
		*name, _ = voltHead(*name)
	}
	names := make([]string, 0, len(columns))
	for _, i := range columns {
		names = append(names, c.header[i])
	}
	picks, choice, err := choose(c.in.op, names, s)
	if err != nil {
		return choice, err
	}
	c.cols, c.coding, c.chosen = [2]int{columns[picks[0]], columns[picks[1]]}, choice.Coding, true
	for i, col := range c.cols {
		if c.analog[col].scale != 0 {
			c.volts[i] = &c.analog[col]
		}
	}
	return choice, nil
}

func (c *CSV) chooseEvents(s Signals) (Choice, error) {
	var choice Choice
	choice.Coding, choice.Names = s.named()
	name, _, _ := c.event(c.split(c.first, nil))
	switch {
	case (choice.Names[0] == "") != (choice.Names[1] == ""):
		return choice, signalError(c.in.op, "", "in a list of events, name both wires or none", nil)
	case choice.Names[0] == "":
		k, _, ok := role(string(name))
		if ok {
			choice.Coding = k
		} else {
			c.others = append(c.others[:0], string(name))
		}
		choice.Names = [2]string{choice.Coding.WireName(0), choice.Coding.WireName(1)}
	default:
		c.want = choice.Names
	}
	if choice.Coding == ClockAndData && c.form == pulseForm && c.widthAt == 0 {
		return choice, signalError(c.in.op, "", "clock and data need levels; a list of pulses without their widths has none", nil)
	}
	c.coding, c.chosen = choice.Coding, true
	return choice, nil
}

// Coding returns what [CSV.Choose] found.
func (c *CSV) Coding() Coding { return c.coding }

// Next returns the next edge of the line. Errors are ErrSyntax, ErrTime, ErrLevel, ErrSignal, and those of the reader
// underneath; after any but a timeout it returns the same error again.
func (c *CSV) Next() (Edge, error) {
	if !c.chosen && c.err == nil {
		c.err = signalError(c.in.op, "", "no signals were chosen", c.Names())
	}
	return c.next(c.row, c.finish)
}

// finish says when the recording ended. A wire without any event is an error where other names had some: it is more
// likely misspelt than silent.
func (c *CSV) finish() {
	c.release()
	end := max(c.now, c.told)
	for i, low := range c.low {
		if low {
			end = max(end, c.ends[i])
		}
	}
	c.endPulses(maxTime)
	if c.started {
		c.push(Edge{At: end, Wire: NoWire})
	}
	if !errors.Is(c.err, io.EOF) || c.form == levelForm || len(c.others) == 0 || c.seen == [2]bool{true, true} {
		return
	}
	names, missing := slices.Clone(c.others), 0
	for i, on := range c.seen {
		if on {
			names, missing = append(names, c.wireName(i)), 1-i
		}
	}
	c.err = signalError(c.in.op, c.wireName(missing), "no event of this name, but of others", names)
}

func (c *CSV) wireName(i int) string { return cmp.Or(c.want[i], c.coding.WireName(Wire(i))) }

// nextRow reads the cells of one line; ok is false where it is no row.
func (c *CSV) nextRow() (ok bool, err error) {
	t := c.first
	if c.first = nil; t == nil {
		if t, err = c.in.text(); err != nil {
			return false, err
		}
	}
	if len(t) == 0 || t[0] == '#' || len(bytes.TrimSpace(t)) == 0 {
		return false, nil
	}
	c.cells = c.split(t, c.cells[:0])
	if len(c.cells) != c.width {
		return false, c.in.fail(ErrSyntax, t, fmt.Sprintf("%s where the first row has %d; the file may be damaged or cut short",
			plural(len(c.cells), "cell"), c.width))
	}
	if c.named {
		if bad := c.takeNames(); bad != nil {
			return false, c.in.fail(ErrSyntax, bad, "not the name that stands here in the first row")
		}
	}
	for _, p := range c.packed {
		if c.cells, ok = p.unpack(c.cells, c.cells[p.at]); !ok {
			reason := fmt.Sprintf("not a number of %d bits, as in the first row", p.width)
			return false, c.in.fail(ErrLevel, c.cells[p.at], reason)
		}
	}
	return true, nil
}

// row reads one line.
func (c *CSV) row() error {
	if ok, err := c.nextRow(); !ok {
		if isTimeout(err) && c.endPulses(maxTime) {
			return nil
		}
		return err
	}
	at, err := c.timeOf()
	if err != nil {
		return err
	}
	c.paceOf(at - c.now)
	c.endPulses(at)
	c.now = at
	if !c.started || at-c.told >= tickAfter && c.holds == 0 {
		c.push(Edge{At: at, Wire: NoWire})
	}
	c.started = true
	if c.form == levelForm {
		return c.sample()
	}
	return c.takeEvent()
}

// evenRows is how many rows at an even pace are samples. Where rows are changes, a pulse and a pause take turns.
const evenRows = 8

// paceOf takes note of the time since the row before. Rows that once have come at another pace are no samples.
func (c *CSV) paceOf(since time.Duration) {
	switch {
	case !c.started || c.even < 0:
		return
	case c.even == 0:
		c.step = since
	case distance(since, c.step) > c.step/8:
		c.even = -1
		return
	}
	c.even++
}

// SampleTime returns the time from one sample to the next, 0 where the rows are no samples at an even pace. A [Reader]
// asks any source that has this method.
func (c *CSV) SampleTime() time.Duration {
	if c.even < evenRows || c.form != levelForm {
		return 0
	}
	return c.step
}

// timeOf returns the time of the row in cells: its own, or that of its number.
func (c *CSV) timeOf() (time.Duration, error) {
	cell, fault := []byte(nil), "a time later than 73 years"
	var at time.Duration
	ok := false
	if c.timeAt >= 0 {
		cell, fault = c.cells[c.timeAt], "not a time; a number is expected here"
		at, ok = c.cellTime(cell)
	} else {
		n := c.rows
		if c.count >= 0 {
			cell = c.cells[c.count]
			if n, ok = parseDigits(cell); !ok {
				return 0, c.in.fail(ErrTime, cell, "not the number of a sample")
			}
		}
		c.rows++
		ns := math.Round(float64(n) * 1e9 / c.rate)
		at, ok = time.Duration(min(ns, float64(maxTime))), ns < float64(maxTime)
	}
	switch {
	case !ok:
		return 0, c.in.fail(ErrTime, cell, fault)
	case c.started && at < c.now:
		return 0, c.in.fail(ErrTime, cell, "time runs backwards here; where the recorder's clock began anew, cut the file in two")
	}
	return at, nil
}

// cellTime reads the time of a row.
func (c *CSV) cellTime(cell []byte) (at time.Duration, ok bool) {
	if bytes.IndexByte(cell, ':') >= 0 {
		dated := false
		if at, dated, ok = clockTime(string(cell)); ok && !dated {
			at = c.after(at, 24*time.Hour)
		}
		return at, ok
	}
	switch at, ok = cellTime(cell, c.unit); {
	case c.since && c.started:
		at += c.now
	case c.unit == micro:
		at = c.after(at, 1<<32*time.Microsecond)
	}
	return at, ok && at < maxTime && (c.unit != (unit{}) || hasUnit(cell))
}

// after returns a time of which the count begins anew after a period, a day or all that 32 bits hold, as since the
// beginning of the first period: where it is half a period or more earlier than the row before, another one has begun.
func (c *CSV) after(at, period time.Duration) time.Duration {
	if last := c.now - c.passed; at < last-period/2 && last < period {
		c.passed += period
	}
	return at + c.passed
}

// levelIn returns the level in a cell.
func (c *CSV) levelIn(col int) (Level, bool) {
	a := &c.analog[col]
	if a.scale == 0 {
		return csvLevel(c.cells[col])
	}
	v, ok := cellVolts(c.cells[col])
	if !ok {
		return Unknown, false
	}
	if !hasUnit(c.cells[col]) {
		v *= a.scale
	}
	return a.take(v), true
}

// sample takes the levels of both wires.
func (c *CSV) sample() error {
	var levels [2]Level
	for i, col := range c.cols {
		ok := true
		if levels[i], ok = c.levelIn(col); !ok {
			return c.in.fail(ErrLevel, c.cells[col],
				fmt.Sprintf("not a level in column %q; it is 0 or 1, low or high, or a voltage in "+
					"every row", cutShort(c.header[col])))
		}
	}
	c.scope.take(&c.queue, c.now, levels)
	return nil
}

// event returns what changed in a row of events, and to which level.
func (c *CSV) event(cells [][]byte) (name []byte, level Level, ok bool) {
	name = cells[c.events[0]]
	switch {
	case c.form == pulseForm:
		return name, Pulsed, c.wordsStay()
	case c.events[1] < 0:
		name, level, ok = splitEvent(name)
	default:
		level, ok = eventLevel(cells[c.events[1]])
	}
	return name, level, ok && level != Unknown
}

// wordsStay tells whether a row has the words of the first one, beside the name of the wire and what has digits.
func (c *CSV) wordsStay() bool {
	for i, word := range c.words {
		if i != c.events[0] && string(c.cells[i]) != word && !strings.ContainsAny(word, "0123456789") {
			return false
		}
	}
	return true
}

// takeEvent takes a change of one wire.
func (c *CSV) takeEvent() error {
	name, level, ok := c.event(c.cells)
	if !ok {
		return c.in.fail(ErrLevel, bytes.Join(c.cells, []byte{c.delim}), "not a change of level, or not the words of the first row; it is 0 or 1, rise or fall")
	}
	wire, ok := c.wireOf(string(name))
	if !ok {
		if len(c.others) < 16 && !slices.Contains(c.others, string(name)) {
			c.others = append(c.others, string(name))
		}
		return nil
	}
	c.seen[wire] = true
	e := Edge{At: c.now, Wire: wire, Level: level}
	if c.widthAt == 0 {
		return c.changes(e)
	}
	width, ok := c.widthIn(c.widthAt)
	if !ok {
		return c.in.fail(ErrTime, c.cells[c.widthAt], "not how long a pulse lasts, nor when it ends")
	}
	if c.low[wire] { // it begins before the one before has ended
		c.push(Edge{At: c.ends[wire], Wire: wire, Level: High})
	}
	e.Level = Low
	c.give(e)
	c.low[wire], c.ends[wire] = true, c.now+width
	return nil
}

// endPulses ends the pulses that are over at a time, in order: those of the other wire may begin before. It tells
// whether there were any.
func (c *CSV) endPulses(at time.Duration) (any bool) {
	next := boolBit(!c.low[0] || c.low[1] && c.ends[1] < c.ends[0])
	for _, i := range [2]uint{next, 1 - next} {
		if c.low[i] && c.ends[i] <= at {
			c.push(Edge{At: c.ends[i], Wire: Wire(i), Level: High})
			c.low[i], any = false, true
		}
	}
	return any
}

// changes takes a change of a wire. Some lists have falls alone, or rises: until one comes the other way, or of the
// same wire again, nobody knows, and the first ones wait.
func (c *CSV) changes(e Edge) error {
	isOther := func(held Edge) bool { return held.Level != e.Level }
	isAgain := func(held Edge) bool { return held.Wire == e.Wire }
	switch held := c.held[:c.holds]; {
	case c.bothWays || e.Level == Pulsed || e.Level == c.oneWay || slices.ContainsFunc(held, isOther):
	case !slices.ContainsFunc(held, isAgain):
		c.held[c.holds] = e
		c.holds++
		return nil
	case c.coding == ClockAndData:
		return c.in.fail(ErrLevel, bytes.Join(c.cells, []byte{c.delim}), "the same change of one wire again, and not the one back; "+
			"clock and data need both")
	default:
		c.oneWay = e.Level
	}
	c.release()
	c.give(e)
	return nil
}

// release gives the changes that wait.
func (c *CSV) release() {
	for _, e := range c.held[:c.holds] {
		c.give(e)
	}
	c.holds = 0
}

// give gives a change. What changes to low for the first time was high. In a list of one way each is a pulse, until one
// comes the other way after all.
func (c *CSV) give(e Edge) {
	switch {
	case e.Level == Pulsed:
	case e.Level == c.oneWay:
		e.Level = Pulsed
	default:
		c.oneWay, c.bothWays = Unknown, true
		if !c.given[e.Wire] {
			c.push(Edge{At: e.At, Wire: e.Wire, Level: e.Level.invert()})
		}
		c.given[e.Wire] = true
	}
	c.push(e)
}

// wireOf returns the wire that a name in a list of events is of.
func (c *CSV) wireOf(name string) (Wire, bool) {
	if c.want[0] != "" {
		for i, want := range c.want {
			if name == want {
				return Wire(i), true
			}
		}
		return NoWire, false
	}
	k, w, ok := role(name)
	return w, ok && k == c.coding
}
