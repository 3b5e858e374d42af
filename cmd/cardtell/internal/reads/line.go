package reads

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

// Line is the sum of a recording of two wires.
type Line struct {
	line.Health
	Glitch time.Duration // below which a level did not count
	Volts  *[2]float64   // between low and high, of each wire; nil where it has no voltages
}

// Print writes the sum for people: what came, the timing beside its limits, and where to look first.
func (h *Line) Print(w io.Writer, seen *Seen) {
	fmt.Fprintln(w, "Summary")
	if h.Reads == 0 {
		h.noReads(w)
	} else {
		fmt.Fprintf(w, "  %s: %d healthy, %d marginal, %d suspect\n", say.Count(h.Reads, "read"),
			h.Verdicts[line.Healthy], h.Verdicts[line.Marginal], h.Verdicts[line.Suspect])
		seen.print(w)
	}
	if h.Inverted && !h.OutOfScale() {
		fmt.Fprintln(w, "  the wires idle low: inverted, as behind a level shifter or an isolator")
	}
	if h.Volts != nil {
		fmt.Fprintf(w, "  voltages: low is below %.3g V and %.3g V, found half-way\n", h.Volts[0], h.Volts[1])
	}
	if h.Spikes > 0 && !h.OutOfScale() {
		fmt.Fprintf(w, "  %s removed, each shorter than %v\n", say.Count(h.Spikes, "spike"), h.Glitch)
	}
	if h.Reads > 1 && h.Width.N+h.Interval.N > 0 { // of one read, what is in the table is said beside it
		h.table(w)
	}
	if h.Health.Glitch > 0 {
		fmt.Fprintf(w, "  contacts bounce: --glitch %v joins the pulses\n", h.Health.Glitch)
	}
	suggest(w, h.Suggestions())
}

// noReads says why there may be none.
func (h *Line) noReads(w io.Writer) {
	switch {
	case h.OutOfScale():
		say.Print(w, "  ", "no read: what the wires do is of another time scale than a reader's; for a CSV file, try another --unit, "+
			"or times with more digits")
	case h.Stuck[0] || h.Stuck[1]:
		fmt.Fprintln(w, "  no read: a wire stays low")
	case h.Spikes > 0:
		say.Print(w, "  ", fmt.Sprintf("no read: every pulse is shorter than %v; if the reader's pulses are that short, "+
			"set --glitch to half of what they last", h.Glitch))
	default:
		say.Print(w, "  ", "no read: neither wire has a pulse; check that these are the reader's wires, and that a card was presented "+
			"while recording")
	}
}

// table writes the timing of all pulses beside the limits.
func (h *Line) table(w io.Writer) {
	limits := [2]string{"", ""}
	if l := line.StandardLimits(); h.Coding == line.TwoWire {
		limits = [2]string{
			fmt.Sprintf("%v to %v", l.WidthMin, l.WidthMax), fmt.Sprintf("%v to %v", l.IntervalMin, l.IntervalMax),
		}
		fmt.Fprintf(w, "  %-10s%9s%9s%9s%9s%9s   %s\n", "", "min", "5%", "mean", "95%", "max", "standard")
	} else {
		fmt.Fprintf(w, "  %-10s%9s%9s%9s%9s%9s\n", "", "min", "5%", "mean", "95%", "max")
	}
	for i, s := range []line.Stats{h.Width, h.Interval} {
		if s.N == 0 {
			continue
		}
		row := fmt.Sprintf("  %-10s", [...]string{"pulse", "interval"}[i])
		for _, d := range []time.Duration{s.Min, s.P5, s.Mean, s.P95, s.Max} {
			text := line.Round(d).String()
			row += strings.Repeat(" ", max(1, 9-utf8.RuneCountInString(text))) + text
		}
		fmt.Fprintln(w, strings.TrimRight(row+"   "+limits[i], " "))
	}
}

// suggest writes what to look at, and the caution that goes with it.
func suggest(w io.Writer, suggestions []string) {
	if len(suggestions) == 0 {
		return
	}
	fmt.Fprintln(w, "\nWhere to look first")
	for _, s := range suggestions {
		say.Print(w, "  - ", s)
	}
	fmt.Fprintln(w)
	say.Print(w, "", "Caution. "+line.Caution)
}
