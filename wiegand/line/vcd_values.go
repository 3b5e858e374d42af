package line

import (
	"errors"
	"fmt"
	"io"
	"time"
)

// tickAfter is how much time may pass in a recording without an edge before the reader hears of it.
const tickAfter = 10 * time.Millisecond

// Next returns the next edge of the line. Errors are ErrSyntax, ErrTime, ErrLevel, ErrSignal (an identifier that was
// not declared), and those of the reader underneath; after any but a timeout it returns the same error again.
func (v *VCD) Next() (Edge, error) {
	if v.pick[0].id == "" && v.err == nil {
		v.err = signalError(v.in.op, "", "no signals were chosen", v.names)
	}
	return v.next(v.step, v.finish)
}

// finish says when the recording ended, and whether it was cut short.
func (v *VCD) finish() {
	if errors.Is(v.err, io.EOF) && v.vector != 0 {
		v.err = v.in.fail(ErrSyntax, v.value, "the file ends between a value and its identifier; it is cut short")
	}
	if v.fresh {
		v.takeVolts()
	}
	if v.started {
		v.push(Edge{At: v.now, Wire: NoWire})
	}
}

// step reads one word.
func (v *VCD) step() error {
	w, err := v.in.word()
	if err != nil {
		return err
	}
	switch {
	case v.skip:
		v.skip = string(w) != "$end"
		return nil
	case v.ahead > 0:
		v.ahead--
		return nil
	case v.vector != 0:
		was := v.vector
		v.vector = 0
		return v.assign(was, w, v.value, w)
	}
	return v.take(w)
}

// take takes a word that begins something.
func (v *VCD) take(w []byte) error {
	if _, ok := levelOf(w[0]); ok {
		return v.assign(ofBits, w[1:], w[:1], w)
	}
	switch w[0] {
	case '#':
		return v.time(w)
	case 'b', 'B', 'r', 'R', 's', 'S', 'p', 'P':
		v.vector, v.value = form(w[0]|0x20), append(v.value[:0], w[1:]...)
		if v.vector == ofPort {
			v.vector, v.ahead = ofBits, 2
			portDigits(v.value)
		}
		return nil
	case '$':
		switch string(w) {
		case "$dumpvars", "$dumpall", "$dumpoff", "$dumpon", "$end",
			"$dumpports", "$dumpportsall", "$dumpportsoff", "$dumpportson":
		case "$var", "$scope", "$upscope", "$timescale", "$enddefinitions":
			return v.in.fail(ErrSyntax, w, "a declaration after the end of the declarations")
		default:
			v.skip = true
		}
		return nil
	}
	if v.watch != nil {
		return nil // it is told when the wires are read
	}
	return v.in.fail(ErrSyntax, w, "neither a time nor a value change")
}

// time takes "#1000". The levels given before the first time are those at the first time.
func (v *VCD) time(w []byte) error {
	n, ok := parseDigits(w[1:])
	if !ok {
		return v.in.fail(ErrTime, w, "not a time; it is # and at most 18 decimal digits")
	}
	at, ok := v.unit.duration(n)
	if !ok {
		return v.in.fail(ErrTime, w, "a time later than 73 years")
	}
	switch {
	case !v.started:
		v.started, v.now, v.first = true, at, at
		v.push(Edge{At: at, Wire: NoWire})
		for i, l := range v.levels {
			v.push(Edge{At: at, Wire: Wire(i), Level: l})
		}
		return nil
	case at < v.now:
		return v.in.fail(ErrTime, w, "time runs backwards here; where the recorder's clock began anew, cut the file in two")
	}
	if v.fresh {
		v.takeVolts()
	}
	v.now = at
	if at-v.told >= tickAfter {
		v.push(Edge{At: at, Wire: NoWire})
	}
	return nil
}

// declared tells of an identifier that nobody declared.
func (v *VCD) declared(w, id []byte) error {
	if len(id) == 0 {
		return v.in.fail(ErrSyntax, w, "a value without an identifier; the two are written without a space")
	}
	if _, ok := v.kinds[string(id)]; !ok {
		return v.in.fail(ErrSignal, w, fmt.Sprintf("the identifier %q was not declared", cutShort(id)))
	}
	return nil
}

// assign takes a value of an identifier: bits, or where form says so another kind. word is what an error quotes.
func (v *VCD) assign(form form, id, value, word []byte) error {
	switch {
	case v.watch != nil:
		v.watch(id, value)
		return nil
	case string(id) != v.pick[0].id && string(id) != v.pick[1].id:
		return v.declared(word, id)
	case form != v.lineForm:
		return v.in.fail(ErrLevel, value, "not a value of the kind that was declared for this signal")
	}
	for i := range v.pick {
		if string(id) != v.pick[i].id {
			continue
		}
		if form == ofReal {
			var ok bool
			if v.latest[i], ok = cellVolts(value); !ok {
				return v.in.fail(ErrLevel, value, "not a voltage")
			}
			v.given[i], v.fresh = true, true
			continue
		}
		digit, ok := digitOf(value, v.pick[i].bit)
		level, known := v.drives[i].level(digit)
		if !ok || !known {
			return v.in.fail(ErrSyntax, value, "not a vector of 0, 1, x and z")
		}
		v.set(Wire(i), level)
	}
	return nil
}

// set takes a new level of a wire. Where the recording does not say at which level a wire began, as the standard asks
// for, it was the other one: a value is there because it has changed.
func (v *VCD) set(w Wire, level Level) {
	had := v.given[w]
	if v.given[w] = true; level == v.levels[w] {
		return
	}
	if v.levels[w] = level; !had && v.started && v.now > v.first {
		v.push(Edge{At: v.now, Wire: w, Level: level.invert()})
	}
	if v.started {
		v.push(Edge{At: v.now, Wire: w, Level: level})
	}
}

// takeVolts takes the voltages that were given for this time.
func (v *VCD) takeVolts() {
	if !v.started {
		return
	}
	v.fresh = false
	var levels [2]Level
	for i, a := range v.volts {
		if v.given[i] {
			levels[i] = a.take(v.latest[i])
		}
	}
	v.scope.take(&v.queue, v.now, levels)
}
