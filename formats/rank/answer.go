package rank

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// answer turns the results into probabilities.
func (w *work) answer() Answer {
	unknown := w.unknown()
	logs := make([]float64, 0, len(w.results)+1)
	for i := range w.results {
		logs = append(logs, w.results[i].log)
	}
	total := logSum(append(logs, unknown))
	kept, sum := w.results[:0], 0.0
	for _, r := range w.results {
		if p := math.Exp(r.log - total); p >= shownFrom {
			r.log, sum = p, sum+p
			kept = append(kept, r)
		}
	}
	slices.SortStableFunc(kept, func(a, b result) int {
		return cmp.Or(cmp.Compare(b.log, a.log), strings.Compare(a.model.format.ID, b.model.format.ID), cmp.Compare(a.fault, b.fault))
	})
	p := math.Exp(unknown - total)
	scale := 1 / (sum + p) // what was too small to keep is shared out
	ans := Answer{Unknown: p * scale, Candidates: make([]Candidate, len(kept))}
	for i := range kept {
		ans.Candidates[i] = w.candidate(&kept[i], scale)
	}
	ans.Warnings = w.warnings(&ans)
	return ans
}

func (w *work) candidate(r *result, scale float64) Candidate {
	c := Candidate{
		Format: r.model.format, Fault: r.fault, Probability: r.log * scale, Printed: r.how,
		Cards: make([]formats.Card, len(w.q.input)), Repairs: make([]Repair, len(w.q.input)),
	}
	for i, at := range w.q.input {
		c.Cards[i], c.Repairs[i] = r.cards[at], r.repair[at]
	}
	return c
}

// Evidence returns in words what speaks for a candidate of the answer: checks that hold, a facility that repeats, prints that
// agree, repairs that were needed. It is not part of the answer because it costs more than the ranking of a single read.
func (c *Candidate) Evidence(cards []formats.Sightings) []string {
	var lines []string
	if line := c.checkLine(cards); line != "" {
		lines = append(lines, line)
	}
	if line := c.facilityLine(); line != "" {
		lines = append(lines, line)
	}
	lines = append(lines, c.printLines(cards)...)
	return append(lines, c.repairLines()...)
}

func hasRead(s formats.Sightings) bool {
	return slices.ContainsFunc(s, func(t formats.Sighting) bool { return t.Kind == formats.Read })
}

func (c *Candidate) checkLine(cards []formats.Sightings) string {
	reads := 0
	for _, s := range cards {
		if hasRead(s) {
			reads++
		}
	}
	n := len(c.Format.Layout.Checks())
	switch {
	case reads == 0:
		return ""
	case n == 0:
		return fmt.Sprintf("%s of %d bits; the format has no check bits that could prove it", plural(reads, "read"), c.Format.Layout.Len())
	}
	bits := checkBits(c.Format.Layout) * reads
	return fmt.Sprintf("%s: %s in %s (by chance: one in 2^%d)", plural(c.Format.Layout.Len(), "bit"), checksHold(n), plural(reads, "read"), bits)
}

// checkBits returns how many bits of a read its checks determine.
func checkBits(l *wiegand.Layout) int {
	free := 0
	for _, f := range l.Spec().Fields {
		if f.Constant == "" {
			n := f.Bits.Len()
			if f.Coding == wiegand.Digits5 || f.Coding == wiegand.Signs5 {
				n = n / 5 * 4
			}
			free += n
		}
	}
	return l.Len() - free
}

func checksHold(n int) string {
	if n == 1 {
		return "the check holds"
	}
	return fmt.Sprintf("all %d checks hold", n)
}

func plural(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

func (c *Candidate) facilityLine() string {
	at := c.Format.Facility()
	if at < 0 {
		return ""
	}
	counts := map[string]int{}
	total := 0
	for i := range c.Cards {
		if c.Cards[i].Known.Has(at) {
			counts[c.Cards[i].Text(at)]++
			total++
		}
	}
	if total < 2 {
		return ""
	}
	if len(counts) == 1 {
		return fmt.Sprintf("one facility, %s, on all %d cards", c.firstKnown(at), total)
	}
	return fmt.Sprintf("%d facilities on %d cards", len(counts), total)
}

func (c *Candidate) firstKnown(field int) string {
	for i := range c.Cards {
		if t := c.Cards[i].Text(field); t != "" {
			return t
		}
	}
	return ""
}

func (c *Candidate) printLines(cards []formats.Sightings) []string {
	var printed, serial int
	for _, s := range cards {
		for _, t := range s {
			switch t.Kind {
			case formats.Printed, formats.Hex:
				printed++
			case formats.Serial:
				serial++
			}
		}
	}
	var ways, parts []string
	for _, how := range c.Printed {
		switch {
		case how == "":
		case strings.Contains(how, " "):
			parts = append(parts, how)
		default:
			ways = append(ways, how)
		}
	}
	var lines []string
	switch {
	case printed > 0 && len(ways) > 0:
		lines = append(lines, fmt.Sprintf("%s agree: printed as %s", plural(printed, "printed number"), strings.Join(ways, ", then ")))
	case printed > 0:
		lines = append(lines, "the printed number does not follow from the read")
	}
	switch {
	case serial > 0 && len(parts) > 0:
		lines = append(lines, "the chip serial: the card number is "+strings.Join(parts, ", then "))
	case serial > 0:
		lines = append(lines, "the chip serial does not appear in the read")
	}
	return lines
}

func (c *Candidate) repairLines() []string {
	if c.Fault.wiring() {
		if c.Fault == None {
			return nil
		}
		return []string{"the checks hold only if " + c.Fault.Words()}
	}
	var lines []string
	for i, r := range c.Repairs {
		switch r.Fault {
		case LostBit:
			lines = append(lines, fmt.Sprintf("card %d: bit %d is missing from the read", i+1, r.Bit))
		case ExtraBit:
			lines = append(lines, fmt.Sprintf("card %d: bit %d of the read is one too many", i+1, r.Bit))
		case FlippedBit:
			lines = append(lines, fmt.Sprintf("card %d: bit %d was misread, or another bit under the same checks", i+1, r.Bit))
		}
	}
	return lines
}
