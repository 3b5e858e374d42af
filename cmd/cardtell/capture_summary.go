package main

import (
	"cmp"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// remarks is where sums and suggestions go: behind the reads for people, to standard error beside JSON.
func (c *capture) remarks() io.Writer {
	switch {
	case !c.json:
		return c.out
	case c.quiet:
		return io.Discard
	}
	return c.err
}

// health sums up a recording of two wires.
func (c *capture) health(h line.Health, src chooser) {
	w := c.remarks()
	fmt.Fprintln(w, "Summary")
	if h.Reads == 0 {
		c.noReads(w, h)
	} else {
		fmt.Fprintf(w, "  %s: %d healthy, %d marginal, %d suspect\n", say.Count(h.Reads, "read"),
			h.Verdicts[line.Healthy], h.Verdicts[line.Marginal], h.Verdicts[line.Suspect])
		c.found.write(w)
	}
	if h.Inverted {
		fmt.Fprintln(w, "  the wires idle low: inverted, as behind a level shifter or an isolator")
	}
	if s, ok := src.(*line.CSV); ok {
		if volts, ok := s.Thresholds(); ok {
			fmt.Fprintf(w, "  voltages: low is below %.3g V and %.3g V, found half-way\n", volts[0], volts[1])
		}
	}
	if h.Spikes > 0 {
		fmt.Fprintf(w, "  %s removed, each shorter than %v\n", say.Count(h.Spikes, "spike"), c.o.glitch)
	}
	if h.Width.N+h.Interval.N > 0 {
		statsTable(w, h)
	}
	if h.Glitch > 0 {
		fmt.Fprintf(w, "  contacts bounce: --glitch %v joins the pulses\n", h.Glitch)
	}
	suggest(w, h.Suggestions())
}

// noReads says why there may be none.
func (c *capture) noReads(w io.Writer, h line.Health) {
	switch {
	case h.Stuck[0] || h.Stuck[1]:
		fmt.Fprintln(w, "  no read: a wire stays low")
	case h.Spikes > 0:
		say.Print(w, "  ", fmt.Sprintf("no read: every pulse is shorter than %v; if the reader's pulses are that short, "+
			"set --glitch to half of what they last", c.o.glitch))
	default:
		say.Print(w, "  ", "no read: neither wire has a pulse; check that these are the reader's wires, and that a card was presented "+
			"while recording")
	}
}

// statsTable writes the timing of all pulses beside the limits.
func statsTable(w io.Writer, h line.Health) {
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

// distinct counts how often each read came.
type distinct struct {
	counts map[wiegand.Bits]int
	more   bool // there were more than maxDistinct
}

const (
	maxDistinct = 10000 // that are told apart, so that a long recording needs no more memory
	maxListed   = 5
)

func (d *distinct) add(b wiegand.Bits) {
	if d.counts == nil {
		d.counts = map[wiegand.Bits]int{}
	}
	if _, ok := d.counts[b]; !ok && len(d.counts) >= maxDistinct {
		d.more = true
		return
	}
	d.counts[b]++
}

// write lists the reads that came most often, where any came more than once.
func (d *distinct) write(w io.Writer) {
	reads := slices.SortedFunc(maps.Keys(d.counts), func(a, b wiegand.Bits) int {
		return cmp.Or(cmp.Compare(d.counts[b], d.counts[a]), a.Compare(b))
	})
	if len(reads) == 0 || d.counts[reads[0]] < 2 || d.more {
		return
	}
	s := make([]string, 0, maxListed)
	for _, b := range reads[:min(len(reads), maxListed)] {
		s = append(s, fmt.Sprintf("%s %d×", b.Hex(), d.counts[b]))
	}
	rest := ""
	if n := len(reads) - maxListed; n > 0 {
		rest = fmt.Sprintf(", and %d more", n)
	}
	say.Print(w, "  ", "by bits: "+strings.Join(s, ", ")+rest)
}

// consensusJSON is what repeated reads of one card agree on.
type consensusJSON struct {
	Bits     string   `json:"bits"`
	Length   int      `json:"length"`
	Reads    int      `json:"reads"`
	Agree    int      `json:"agree"`
	Bad      int      `json:"bad"`
	BadShare float64  `json:"bad_share"`
	Weak     []int    `json:"weak,omitempty"` // bits on which they differ, from 1
	Sure     bool     `json:"sure"`
	Warnings []string `json:"warnings"`
}

// consensus prints what all reads agree on. The answer is no where they do not.
func (c *capture) consensus() error {
	g := line.Consensus(c.cards)
	if g.Total == 0 {
		return nil
	}
	j := consensusJSON{
		Bits: g.Bits.String(), Length: g.Bits.Len(), Reads: g.Total, Agree: g.Same, Bad: g.Bad(),
		BadShare: float64(g.Bad()) / float64(g.Total), Sure: g.Sure && c.sound[g.Bits], Warnings: []string{},
	}
	for _, i := range g.Weak {
		j.Weak = append(j.Weak, i+1)
	}
	if !g.Sure {
		j.Warnings = append(j.Warnings, "no more than half of the reads, or only one, are equal to this; present the card again")
	}
	if !c.sound[g.Bits] { // equal reads may share a fault
		j.Warnings = append(j.Warnings, "every read equal to this is suspect; see what is wrong with the line first")
	}
	if c.json {
		if err := writeJSON(c.out, j); err != nil {
			return err
		}
	} else {
		c.consensusText(g, j)
	}
	if !j.Sure {
		return errNo
	}
	return nil
}

func (c *capture) consensusText(g line.Agreement, j consensusJSON) {
	say.Print(c.out, "", fmt.Sprintf("The card, if all reads are of one: %s, %s", say.Count(j.Length, "bit"), g.Bits.Hex()))
	say.Print(c.out, "     ", grouped(g.Bits))
	text := fmt.Sprintf("%d of %s agree; %d bad (%.0f%%)", j.Agree, say.Count(j.Reads, "read"), j.Bad, 100*j.BadShare)
	if j.Bad > 0 {
		text += fmt.Sprintf(": %d lost a bit, %d gained one, %d have a wrong bit, %d otherwise",
			g.Short, g.Long, g.Flips, j.Bad-g.Short-g.Long-g.Flips)
	}
	say.Print(c.out, "     ", text)
	if len(j.Weak) > 0 {
		say.Print(c.out, "     ", "they differ in bits "+strings.Trim(fmt.Sprint(j.Weak), "[]"))
	}
	for _, w := range j.Warnings {
		say.Print(c.out, "     - ", w)
	}
	fmt.Fprintln(c.out)
}

// busTotals is what a bus carried, by address.
type busTotals struct {
	addresses map[byte]*busAddress
	repeated  int
	unknown   int // packets with control bits that mean nothing
}

type busAddress struct {
	replies, encrypted, cards, keys int
	names                           map[string]int // of the encrypted packets
}

func (t *busTotals) add(p osdp.Found) {
	if p.Unknown != 0 {
		t.unknown++
	}
	if !p.Reply && !p.Encrypted() {
		return
	}
	at := t.addresses[p.Address]
	if at == nil {
		at = &busAddress{names: map[string]int{}}
		t.addresses[p.Address] = at
	}
	if p.Reply {
		at.replies++
	}
	if p.Encrypted() {
		at.encrypted++
		at.names[p.Name()]++
	}
	switch {
	case p.Resent:
		t.repeated++
	case !p.Reply || p.Encrypted():
	case p.Code == osdp.KEYPAD || isBusKey(p.Packet):
		at.keys++
	case p.Code == osdp.RAW || p.Code == osdp.FMT:
		at.cards++
	}
}

// busHealth sums up a recording of a bus.
func (c *capture) busHealth(n osdp.Counts, t busTotals) {
	w := c.remarks()
	fmt.Fprintf(w, "Summary\n  %s in %d bytes: %s and %s\n", say.Count(n.Packets, "packet"), n.Bytes,
		say.Counts(n.Packets-n.Replies, "command", "commands"), say.Counts(n.Replies, "reply", "replies"))
	fmt.Fprintf(w, "  %s with a wrong check, %d bytes outside of packets\n", say.Counts(n.BadChecks, "packet", "packets"),
		n.Skipped)
	if t.unknown > 0 {
		say.Print(w, "  ", say.Counts(t.unknown, "packet has",
			"packets have")+" bits set in the control byte that mean nothing in the standard")
	}
	if t.repeated > 0 {
		say.Print(w, "  ", say.Counts(t.repeated, "reply was", "replies were")+
			" sent again at the controller's request, and not counted twice")
	}
	for _, a := range slices.Sorted(maps.Keys(t.addresses)) {
		at := t.addresses[a]
		fmt.Fprintf(w, "  address %d: %s, %s, %s\n", a, say.Counts(at.replies, "reply", "replies"), say.Count(at.cards, "card"),
			say.Counts(at.keys, "keypad entry", "keypad entries"))
		if at.encrypted > 0 {
			var names []string
			for _, name := range slices.Sorted(maps.Keys(at.names)) {
				names = append(names, fmt.Sprintf("%s %d×", name, at.names[name]))
			}
			say.Print(w, "    ", fmt.Sprintf("%s encrypted, skipped: %s", say.Counts(at.encrypted, "packet is", "packets are"),
				strings.Join(names, ", ")))
		}
	}
	suggest(w, busSuggestions(n))
}

// busSuggestions returns where to look first. That a bus needs a resistor at both ends is common practice of RS-485.
func busSuggestions(n osdp.Counts) (s []string) {
	if n.BadChecks > 0 || n.Skipped > 0 {
		s = append(s, "damaged packets or stray bytes: a recording that began in the middle of a packet, two devices with the "+
			"same address, the wrong speed, the two bus wires swapped, a missing common ground, or a bus without its resistor "+
			"at each end")
	}
	if n.Packets > 0 && n.Replies == 0 {
		s = append(s, "commands and no reply: the device may be without power, have another address or speed, or its wires swapped")
	}
	return s
}
