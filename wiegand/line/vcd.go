package line

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"
	"time"
)

// VCD reads a value change dump, as IEEE 1364 clause 18 defines it: the form in which logic analysers and hardware
// simulators write what they saw; the extended form, with ports and strengths, as well. NewVCD makes one. It streams;
// memory does not grow with the recording. It is a [Source] once [VCD.Choose] has said which signals are the line.
// Where fewer than two signals have bits, those of real numbers are voltages; see [CSV] for their levels.
//
// Unknown values (x, z) of the line are passed on: nobody can tell whether a pulse was there, so that a read they fall
// into has the fault [UnknownLevel]. But z is high on a wire that is never driven high: its pull-up is. Words longer
// than 64 KiB are an error.
type VCD struct {
	in       *input
	unit     unit
	names    []string
	places   []place         // by name
	kinds    map[string]kind // by identifier code
	pick     [2]place
	lineForm form // of both
	coding   Coding

	now     time.Duration
	started bool // a time was given
	first   time.Duration
	levels  [2]Level
	given   [2]bool // a level was given, if only that it is not known
	drives  [2]drive
	skip    bool                   // in a section to be skipped
	value   []byte                 // of a vector whose identifier comes next
	vector  form                   // of value, where that is set
	ahead   int                    // words between the two: a port has two strengths
	watch   func(id, value []byte) // takes what every signal changes to, where that is what is asked
	latest  [2]float64             // the voltages of the wires, where these have voltages
	fresh   bool                   // they are of this time, and not taken yet
	scope
	queue
}

// place is where a signal is found: an identifier code, and the bit of its vector counted from the right.
type place struct {
	id  string
	bit int
}

// kind is what an identifier code stands for: so many bits, or something else.
type kind struct {
	width int
	form  form
}

type form byte

const (
	ofBits form = 'b'
	ofReal form = 'r'
	ofPort form = 'p' // bits as well, written otherwise
	ofElse form = 's'
)

// maxSignals is how many signals a header may declare, and how many bits may be named, and maxName is how long a name
// may be with its scopes, in bytes: together they bound the memory of a header.
const (
	maxSignals = 1 << 17
	maxName    = 1024
)

// NewVCD reads the header of a value change dump. The errors are ErrSyntax where it is none, ErrTime where it gives no
// time scale, and those of r.
func NewVCD(r io.Reader) (*VCD, error) {
	v := &VCD{in: newInput(r, "read VCD"), kinds: map[string]kind{}}
	if err := v.header(); err != nil {
		if errors.Is(err, io.EOF) {
			what := "the file ends inside its header; it is cut short"
			if v.in.at == 0 && v.in.base == 0 && v.in.end == 0 {
				what = "the file is empty"
			}
			return nil, v.in.fail(ErrSyntax, nil, what)
		}
		return nil, err
	}
	return v, nil
}

// Names returns the signals of one bit, in the order of the file, with their scopes: "top.reader.d0"; those of real
// numbers only where fewer than two have bits. The bits of a vector are named one by one, "bus[3]". A signal with
// several names is listed under each.
func (v *VCD) Names() []string { return slices.Clone(v.names) }

// Choose says which signals are the line. The error is ErrSignal, with the names that there are.
func (v *VCD) Choose(s Signals) (Choice, error) {
	names, places := v.nets()
	for _, name := range []*string{&s.Data0, &s.Data1, &s.Clock, &s.Data} {
		if net, ok := v.netOf(*name); ok {
			*name = names[slices.Index(places, net)]
		}
	}
	picks, c, err := choose(v.in.op, names, s)
	if err != nil {
		return c, err
	}
	v.pick, v.coding = [2]place{places[picks[0]], places[picks[1]]}, c.Coding
	if v.pick[0] == v.pick[1] {
		return c, signalError(v.in.op, c.Names[1], "both names are of one and the same net", names)
	}
	v.lineForm = v.kinds[v.pick[0].id].form
	switch {
	case v.lineForm != v.kinds[v.pick[1].id].form:
		return c, signalError(v.in.op, c.Names[1], "one wire has bits and the other one voltages; record both alike", names)
	case v.lineForm == ofReal:
		v.volts = [2]*analog{{scale: 1}, {scale: 1}}
	}
	return c, nil
}

// nets returns each net once, under the name declared last: the same net seen from several scopes is one signal.
func (v *VCD) nets() (names []string, places []place) {
	seen := map[place]int{}
	for i, p := range v.places {
		if at, ok := seen[p]; ok {
			names[at] = v.names[i]
			continue
		}
		seen[p] = len(names)
		names, places = append(names, v.names[i]), append(places, p)
	}
	return names, places
}

// netOf returns the net that a name is of, whole or by its last part.
func (v *VCD) netOf(name string) (net place, ok bool) {
	n := 0
	for i, have := range v.names {
		if have == name {
			return v.places[i], true
		}
		if lastPart(have) == name && (n == 0 || v.places[i] != net) {
			net = v.places[i]
			n++
		}
	}
	return net, n == 1
}

// Coding returns what [VCD.Choose] found.
func (v *VCD) Coding() Coding { return v.coding }

// header reads the declarations.
func (v *VCD) header() error {
	var scopes []string
	for {
		w, err := v.in.word()
		if err != nil {
			return err
		}
		switch string(w) {
		case "$enddefinitions":
			if _, err := v.section(); err != nil {
				return err
			}
			if v.unit == (unit{}) {
				return v.in.fail(ErrTime, nil, "no $timescale before this place, without which its times mean nothing; "+
					"where you know it, write it in, as in $timescale 1 us $end")
			}
			v.withoutReals()
			v.names = withoutOnlyBit(v.names)
			return nil
		case "$timescale":
			err = v.timescale()
		case "$scope":
			var words []string
			if words, err = v.section(); err == nil && len(words) > 1 {
				scopes = append(scopes, words[1])
			}
		case "$upscope":
			scopes = scopes[:max(0, len(scopes)-1)]
			_, err = v.section()
		case "$var":
			err = v.declare(scopes)
		default:
			if w[0] != '$' {
				return v.in.fail(ErrSyntax, w, "not a section of a VCD header, which begins with $; this may be no VCD file")
			}
			_, err = v.section() // a section of some writer's own
		}
		if err != nil {
			return err
		}
		if len(scopes) > 1000 {
			return v.in.fail(ErrSyntax, nil, "more than 1000 scopes inside one another")
		}
	}
}

// onlyBit is what some writers put behind the name of a vector of one bit.
const onlyBit = "[0]"

// withoutOnlyBit takes [0] and [0:0] off the names of which there is no other bit.
func withoutOnlyBit(names []string) []string {
	bits := map[string]int{}
	for _, n := range names {
		stem, _, _ := strings.Cut(n, "[")
		bits[stem]++
	}
	for i, n := range names {
		if stem, bit, _ := strings.Cut(n, "["); bits[stem] == 1 && (bit == "0]" || bit == "0:0]") {
			names[i] = stem
		}
	}
	return names
}

// section returns the words up to $end; of a longer section, the first ones.
func (v *VCD) section() (words []string, err error) {
	for {
		w, err := v.in.word()
		if err != nil || string(w) == "$end" {
			return words, err
		}
		if len(words) < 16 {
			words = append(words, string(w))
		}
	}
}

// withoutReals leaves the signals of real numbers out where there are others.
func (v *VCD) withoutReals() {
	names, places := v.names[:0:0], v.places[:0:0]
	for i, p := range v.places {
		if v.kinds[p.id].form != ofReal {
			names, places = append(names, v.names[i]), append(places, p)
		}
	}
	if len(names) > 1 {
		v.names, v.places = names, places
	}
}

// timescale reads "10 ns" or "10ns". The standard has 1, 10 and 100 alone, but 2 or 5 can mean one thing only.
func (v *VCD) timescale() error {
	words, err := v.section()
	if err != nil {
		return err
	}
	s := []byte(strings.Join(words, ""))
	digits, name := splitUnit(s)
	u, ok := unitNamed(name)
	n, isNumber := parseDigits(digits)
	if !ok || !isNumber || n == 0 || n > 1000 {
		return v.in.fail(ErrTime, s, "not a time scale; it is 1, 10 or 100 and s, ms, us, ns, ps or fs")
	}
	v.unit = unit{u.num * n, u.den}
	return nil
}

// formOf returns what the values of a type of signal are.
func formOf(word string) form {
	switch {
	case strings.HasPrefix(word, "real"):
		return ofReal
	case word == "event" || word == "string":
		return ofElse
	}
	return ofBits
}

// declare reads "wire 1 ! D0 $end", "wire 8 # bus [7:0] $end" or "port [7:0] <0 bus $end".
func (v *VCD) declare(scopes []string) error {
	words, err := v.section()
	if err != nil {
		return err
	}
	if len(words) < 4 {
		return v.in.fail(ErrSyntax, []byte(strings.Join(words, " ")), "a $var has a type, a size, an identifier and a name")
	}
	id, written := words[2], strings.Join(words[4:], "")
	width, err := strconv.Atoi(words[1])
	if _, _, n := bitRange(words[1]); n > 0 {
		width, written, err = n, words[1], nil
	}
	if err != nil || width < 0 {
		return v.in.fail(ErrSyntax, []byte(words[1]), "not the size of a signal in bits")
	}
	k := kind{width, formOf(words[0])}
	if old, ok := v.kinds[id]; ok && old != k {
		return v.in.fail(ErrSyntax, []byte(id), "this identifier was declared before with another type or size")
	}
	v.kinds[id] = k
	name := strings.Join(append(append([]string(nil), scopes...), words[3]), ".")
	if len(name) > maxName {
		return v.in.fail(ErrSyntax, []byte(name), fmt.Sprintf("a name of more than %d characters with its scopes", maxName))
	}
	switch k.form {
	case ofElse:
		return nil
	case ofReal:
		width, written = 1, ""
	}
	if width > maxSignals-len(v.names) || len(v.kinds) > maxSignals {
		return v.in.fail(ErrSyntax, nil, fmt.Sprintf("more than %d signals; write a dump of the line's signals alone",
			maxSignals))
	}
	right, step, n := bitRange(written)
	if n != width {
		right, step = 0, 1
	}
	for bit := range width {
		n := name + written
		if width > 1 {
			n = fmt.Sprintf("%s[%d]", name, right+step*bit)
		}
		v.names, v.places = append(v.names, n), append(v.places, place{id, bit})
	}
	return nil
}

// bitRange returns the number of a vector's rightmost bit, the step to the next one to the left, and how many there
// are: [7:0] is 0, 1 and 8, [0:7] is 7, -1 and 8. Of what is no range there are none.
func bitRange(s string) (right, step, n int) {
	var left int
	if n, err := fmt.Sscanf(s, "[%d:%d]", &left, &right); n < 2 || err != nil {
		return 0, 1, 0
	}
	if left < right {
		return right, -1, right - left + 1
	}
	return right, 1, left - right + 1
}

// portDigits writes the states of ports as bits, in place: of inputs D, U, N, Z and d, u; of outputs L, H, X, T and l,
// h; of what is neither 0, 1, ?, F and those where two drive against one another (IEEE 1364 clause 18.4, from memory).
func portDigits(states []byte) {
	for i, c := range states {
		switch {
		case strings.IndexByte("DdLl0", c) >= 0:
			states[i] = '0'
		case strings.IndexByte("UuHh1", c) >= 0:
			states[i] = '1'
		case strings.IndexByte("ZTFf", c) >= 0:
			states[i] = 'z'
		default:
			states[i] = 'x'
		}
	}
}

// digitOf returns a bit of a vector, counted from the right; false where there is none. What is left out on the left is
// 0, or x or z where the vector begins with one.
func digitOf(value []byte, bit int) (byte, bool) {
	if i := len(value) - 1 - bit; i >= 0 {
		return value[i], true
	}
	if len(value) == 0 {
		return 0, false
	}
	if l, ok := levelOf(value[0]); ok && l != Unknown {
		return '0', true
	}
	return value[0], true
}

// drive tells whether a wire has been driven high.
type drive bool

// level returns the level that a value stands for. What is not driven is high where only a pull-up makes the wire so,
// as on a reader's open-collector line; where something drove it high before, nobody knows what it is.
func (d *drive) level(value byte) (Level, bool) {
	l, ok := levelOf(value)
	*d = *d || l == High
	if value|0x20 == 'z' && !bool(*d) {
		return High, ok
	}
	return l, ok
}

// levelOf returns the level that a value stands for. Beside the standard's 0, 1, x and z, writers for another hardware
// language emit U, W, L, H and -.
func levelOf(c byte) (Level, bool) {
	switch c {
	case '0', 'L', 'l':
		return Low, true
	case '1', 'H', 'h':
		return High, true
	case 'x', 'X', 'z', 'Z', 'u', 'U', 'w', 'W', '-':
		return Unknown, true
	}
	return Unknown, false
}
