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
	case v.vector != 0:
		form := v.vector
		v.vector = 0
		return v.assign(form, w, v.value, w)
	}
	return v.take(w)
}

// take takes a word that begins something.
func (v *VCD) take(w []byte) error {
	switch w[0] {
	case '#':
		return v.time(w)
	case '0', '1', 'x', 'X', 'z', 'Z', 'u', 'U', 'w', 'W', 'l', 'L', 'h', 'H', '-':
		return v.assign('b', w[1:], w[:1], w)
	case 'b', 'B', 'r', 'R', 's', 'S':
		v.vector, v.value = w[0]|0x20, append(v.value[:0], w[1:]...)
		return nil
	case '$':
		switch string(w) {
		case "$dumpvars", "$dumpall", "$dumpoff", "$dumpon", "$end":
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
func (v *VCD) assign(form byte, id, value, word []byte) error {
	switch {
	case v.watch != nil:
		v.watch(id, value)
		return nil
	case string(id) != v.pick[0].id && string(id) != v.pick[1].id:
		return v.declared(word, id)
	case form != 'b':
		return v.in.fail(ErrLevel, id, "a value of the line that is not 0 or 1; record it as a digital signal")
	}
	for i := range v.pick {
		if string(id) != v.pick[i].id {
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
