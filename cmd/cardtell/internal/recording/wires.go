package recording

import (
	"cmp"
	"errors"
	"fmt"
	"io"
	"os"
	"slices"
	"sort"
	"strings"

	"github.com/agnivade/levenshtein"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

// Source is a source of edges whose signals have names.
type Source interface {
	line.Source
	Names() []string
	Choose(line.Signals) (line.Choice, error)
	Pairs() ([]line.Pair, error)
}

// Wires says how the two wires of a recording are found.
type Wires struct {
	Form    string // "vcd" or "csv"
	CSV     line.CSVOptions
	Signals line.Signals // the zero value for those that are called so or, else, that move like a reader's
	// begins the recording again, of which the wires are found by how they move; nil for a live one
	Again func() (io.Reader, error)
}

// source reads the beginning of a recording.
func (w *Wires) source(in io.Reader) (src Source, err error) {
	head := &patient{in: in, waits: true}
	defer func() { head.waits = false }()
	if w.Form == "vcd" {
		return line.NewVCD(head)
	}
	src, err = line.NewCSV(head, w.CSV)
	if errors.Is(err, line.ErrTime) {
		err = fmt.Errorf("%w (--unit, --rate)", err)
	}
	return src, err
}

// Open finds the two wires: by what they are called, by who moves, or by what they carry. Its note says what was only
// likely.
func (w *Wires) Open(in io.Reader) (Source, line.Choice, error) {
	src, choice, err := w.find(in)
	if err != nil || choice.Note == "" || w.Again == nil || w.Signals != (line.Signals{}) {
		return src, choice, err
	}
	for _, names := range [][2]string{choice.Names, {choice.Names[1], choice.Names[0]}} {
		s := line.Signals{Clock: names[0], Data: names[1]}
		if src, clocked, err := w.choose(s); err == nil && hasMessage(src) {
			src, clocked, err = w.choose(s)
			clocked.Note = fmt.Sprintf("%s and %s are taken for CLOCK and DATA: so read, they carry a whole message of track 2",
				names[0], names[1])
			return src, clocked, err
		}
	}
	src, _, err = w.choose(line.Signals{Data0: choice.Names[0], Data1: choice.Names[1]})
	return src, choice, err
}

// hasMessage tells whether one of the first reads is a whole message of track 2. Wires that are never low together give
// zeros alone.
func hasMessage(src Source) bool {
	const first = 4
	r := line.NewReader(src, line.Config{}, line.PolarityAuto)
	for range first {
		read, err := r.Next()
		if err == nil && !read.Faults.Has(line.NoMessage) {
			return true
		}
	}
	return false
}

// find finds the two wires by what they are called, or by who moves. Names that may be the numbers of a recorder's
// channels tell nothing where another pair moves like a reader's.
func (w *Wires) find(in io.Reader) (Source, line.Choice, error) {
	src, err := w.source(in)
	if err != nil {
		return nil, line.Choice{}, err
	}
	choice, err := src.Choose(w.Signals)
	names := src.Names() // of a list of events the first one, where that tells nothing
	unsure := err == nil && (areNumbers(choice, names) || len(names) == 1)
	isClocked := err != nil && choice.Coding == line.ClockAndData // of which there is too little in the recording
	if w.Again == nil || w.Signals != (line.Signals{}) || isClocked || !unsure && !errors.Is(err, line.ErrSignal) {
		return src, choice, err
	}
	pairs, failed := w.pairs()
	switch {
	case unsure && (len(pairs) == 0 || len(pairs) == 1 && pairs[0].Names == choice.Names):
		return w.choose(w.Signals)
	case len(pairs) == 0:
		return nil, choice, cmp.Or(failed, err)
	case len(pairs) > 1:
		return nil, choice, manyPairs(pairs)
	}
	p := pairs[0]
	src, choice, err = w.choose(pairSignals(p))
	choice.Note = fmt.Sprintf("%s and %s are taken for %s and %s: no other two signals look like a reader's", p.Names[0],
		p.Names[1], p.Coding.WireName(0), p.Coding.WireName(1))
	if !p.ByName {
		choice.Note += "; exchanged, every bit would be inverted"
	}
	return src, choice, err
}

// areNumbers tells whether wires were found by names that end in 0 and 1, while there is one with a 2 as well.
func areNumbers(c line.Choice, names []string) bool {
	stem, ok := strings.CutSuffix(c.Names[0], "0")
	return ok && slices.Contains(names, stem+"2")
}

// again begins the recording again.
func (w *Wires) again() (Source, error) {
	in, err := w.Again()
	if err != nil {
		return nil, err
	}
	return w.source(in)
}

// pairs reads the recording to its end; what was opened before has nothing left behind its beginning.
func (w *Wires) pairs() ([]line.Pair, error) {
	src, err := w.again()
	if err != nil {
		return nil, err
	}
	return src.Pairs()
}

// choose begins the recording again, and says which signals are the wires.
func (w *Wires) choose(s line.Signals) (src Source, choice line.Choice, err error) {
	if src, err = w.again(); err != nil {
		return nil, choice, err
	}
	choice, err = src.Choose(s)
	return src, choice, err
}

func pairSignals(p line.Pair) line.Signals {
	if p.Coding == line.ClockAndData {
		return line.Signals{Clock: p.Names[0], Data: p.Names[1]}
	}
	return line.Signals{Data0: p.Names[0], Data1: p.Names[1]}
}

// maxPairs is how many pairs an error names.
const maxPairs = 6

// manyPairs says which options read which reader.
func manyPairs(pairs []line.Pair) error {
	var all []string
	for _, p := range pairs[:min(len(pairs), maxPairs)] {
		options := [2]string{"--d0", "--d1"}
		if p.Coding == line.ClockAndData {
			options = [2]string{"--clock", "--data"}
		}
		all = append(all, fmt.Sprintf("%s %s %s %s", options[0], argument(p.Names[0]), options[1],
			argument(p.Names[1])))
	}
	more := ""
	if n := len(pairs) - maxPairs; n > 0 {
		more = fmt.Sprintf(", and %d more", n)
	}
	return fmt.Errorf("the recording seems to have %s; read one at a time: %s%s", say.Count(len(pairs), "reader"),
		strings.Join(all, ", or "), more)
}

// argument returns a name as a command line takes it.
func argument(name string) string {
	if name = say.Clip(name, 60); strings.ContainsAny(name, " ;&|()<>$*'") {
		return `"` + name + `"`
	}
	return name
}

// patient is a recording that is waited for while its beginning is read: a live one may have begun and then be silent.
type patient struct {
	in    io.Reader
	waits bool
}

func (p *patient) Read(b []byte) (int, error) {
	for {
		n, err := p.in.Read(b)
		if n > 0 || !p.waits || !errors.Is(err, os.ErrDeadlineExceeded) {
			return n, err
		}
	}
}

// maxNames is how many signals an error names.
const maxNames = 12

// WithNames adds to an error about a signal the names that there are, nearest first.
func WithNames(err error) error {
	var e *line.Error
	if !errors.As(err, &e) || len(e.Names) == 0 {
		return err
	}
	distance := func(name string) int {
		last := name[strings.LastIndexByte(name, '.')+1:]
		wanted := strings.ToLower(e.Input)
		return min(levenshtein.ComputeDistance(wanted, strings.ToLower(name)),
			levenshtein.ComputeDistance(wanted, strings.ToLower(last)))
	}
	names := slices.Clone(e.Names)
	if e.Input != "" {
		sort.SliceStable(names, func(i, j int) bool { return distance(names[i]) < distance(names[j]) })
	}
	if len(names) == 1 && e.Input != "" { // as where the other wire is dead
		return fmt.Errorf("%w; there is only %q: if the other wire is dead, give it any name: --d0 %[2]q --d1 dead", err,
			say.Clip(names[0], 40))
	}
	return fmt.Errorf("%w; there are: %s; name two with --d0 and --d1, or --clock and --data", err,
		say.Few(names, maxNames))
}
