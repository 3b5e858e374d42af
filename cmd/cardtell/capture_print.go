package main

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// textWidth is how wide text for people is at most, in characters.
const textWidth = 79

// wrapped writes text in lines of at most textWidth: the first begins with lead, the others with as many spaces.
func wrapped(w io.Writer, lead, text string) {
	indent := strings.Repeat(" ", utf8.RuneCountInString(lead))
	column := 0
	for i, word := range strings.Fields(text) {
		n := utf8.RuneCountInString(word)
		switch {
		case i == 0:
			fmt.Fprint(w, lead)
			column = len(indent)
		case column+1+n > textWidth:
			fmt.Fprint(w, "\n", indent)
			column = len(indent)
		default:
			fmt.Fprint(w, " ")
			column++
		}
		fmt.Fprint(w, word)
		column += n
	}
	fmt.Fprintln(w)
}

// plain drops what would steer a terminal from a name that comes from a file.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsPrint(r) {
			return r
		}
		return -1
	}, s)
}

// heading says what is about to be read, and what was assumed.
func (c *capture) heading(name string, choice line.Choice) {
	if choice.Note != "" {
		c.remark("note: %s; say --d0 and --d1 to be sure", plain(choice.Note))
	}
	if c.json {
		return
	}
	fmt.Fprintf(c.out, "%s: %v, %s is %s and %s is %s\n\n", plain(shortName(name)), choice.Coding, choice.Coding.WireName(0),
		plain(choice.Names[0]), choice.Coding.WireName(1), plain(choice.Names[1]))
	c.follow()
}

func (c *capture) busHeading(name string) {
	if !c.json {
		fmt.Fprintf(c.out, "%s: RS-485 reader bus\n\n", plain(shortName(name)))
		c.follow()
	}
}

// follow lets the reader of a live recording see what there is.
func (c *capture) follow() error {
	if c.live {
		return c.out.Flush()
	}
	return nil
}

// print writes one read, and keeps its bits for what comes at the end.
func (c *capture) print(e entry) error {
	if e.bits.Len() > 0 && e.KeyCount == 0 {
		c.found.add(e.bits)
		if c.keep {
			c.cards = append(c.cards, e.bits)
			if e.Verdict != line.Suspect.String() {
				c.sound[e.bits] = true
			}
		}
	}
	switch {
	case c.json && c.o.same: // what they agree on is all that is printed
		return nil
	case c.json:
		if e.Warnings == nil {
			e.Warnings = []string{}
		}
		if err := writeJSON(c.out, e); err != nil {
			return err
		}
	default:
		c.text(e)
	}
	return c.follow()
}

// writeJSON writes one value on one line.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// text writes one read for people.
func (c *capture) text(e entry) {
	var head []string
	if e.Time != nil {
		head = append(head, fmt.Sprintf("at %.4f s", *e.Time))
	}
	if e.Address != nil {
		head = append(head, fmt.Sprintf("address %d", *e.Address))
	}
	if e.Reader != nil {
		head = append(head, fmt.Sprintf("reader %d", *e.Reader))
	}
	if e.Length > 0 {
		head = append(head, count(e.Length, "bit"))
	}
	if e.bits.Len() > 0 {
		head = append(head, e.bits.Hex())
	}
	first := strings.Join(head, "   ")
	if n := len(head) - 1; n > 0 && len(first)+5 > textWidth { // a long read in hex has a line of its own
		first = strings.Join(head[:n], "   ") + "\n     " + head[n]
	}
	fmt.Fprintf(c.out, "#%-4d%s\n", c.reads, first)
	if e.bits.Len() > 0 {
		wrapped(c.out, "     ", grouped(e.bits))
	}
	if e.what != "" {
		wrapped(c.out, "     ", e.what)
	}
	if e.Verdict != "" {
		wrapped(c.out, "     ", e.Verdict+timingText(e.timing))
	}
	for _, w := range e.Warnings {
		wrapped(c.out, "     - ", w)
	}
	fmt.Fprintln(c.out)
}

// grouped writes bits in groups of eight.
func grouped(b wiegand.Bits) string {
	var s strings.Builder
	for i := 0; i < b.Len(); i += 8 {
		if i > 0 {
			s.WriteByte(' ')
		}
		s.WriteString(b.Slice(i, i+8).String())
	}
	return s.String()
}

func timingText(t line.Timing) string {
	s := ""
	if t.Width.N > 0 {
		s += "; pulses " + rangeText(t.Width)
	}
	if t.Interval.N > 0 {
		s += "; intervals " + rangeText(t.Interval)
	}
	return s
}

func rangeText(s line.Stats) string {
	lo, hi := line.Round(s.Min), line.Round(s.Max)
	if lo == hi {
		return lo.String()
	}
	return fmt.Sprintf("%v to %v, mean %v", lo, hi, line.Round(s.Mean))
}

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
func (c *capture) health(h line.Health) {
	w := c.remarks()
	fmt.Fprintln(w, "Summary")
	if h.Reads == 0 {
		c.noReads(w, h)
	} else {
		fmt.Fprintf(w, "  %s: %d healthy, %d marginal, %d suspect\n", count(h.Reads, "read"),
			h.Verdicts[line.Healthy], h.Verdicts[line.Marginal], h.Verdicts[line.Suspect])
		c.found.write(w)
	}
	if h.Inverted {
		fmt.Fprintln(w, "  the wires idle low: inverted, as behind a level shifter or an isolator")
	}
	if h.Spikes > 0 {
		fmt.Fprintf(w, "  %s removed, each shorter than %v\n", count(h.Spikes, "spike"), c.o.glitch)
	}
	if h.Width.N+h.Interval.N > 0 {
		statsTable(w, h)
	}
	suggest(w, h.Suggestions())
}

// noReads says why there may be none.
func (c *capture) noReads(w io.Writer, h line.Health) {
	switch {
	case h.Stuck[0] || h.Stuck[1]:
		fmt.Fprintln(w, "  no read: a wire stays low")
	case h.Spikes > 0:
		wrapped(w, "  ", fmt.Sprintf("no read: every pulse is shorter than %v; if the reader's pulses are that short, set --glitch lower",
			c.o.glitch))
	default:
		wrapped(w, "  ", "no read: neither wire has a pulse; check that these are the reader's wires, and that a card was presented "+
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
		wrapped(w, "  - ", s)
	}
	fmt.Fprintln(w)
	wrapped(w, "", "Caution. "+line.Caution)
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
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
	wrapped(w, "  ", "by bits: "+strings.Join(s, ", ")+rest)
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
	weak := make([]int, 0, len(g.Weak))
	for _, i := range g.Weak {
		weak = append(weak, i+1)
	}
	share := float64(g.Bad()) / float64(g.Total)
	warnings := []string{}
	if !g.Sure {
		warnings = append(warnings, "no more than half of the reads, or only one, are equal to this; present the card again")
	}
	if !c.sound[g.Bits] { // equal reads may share a fault
		g.Sure = false
		warnings = append(warnings, "every read equal to this is suspect; see what is wrong with the line first")
	}
	if c.json {
		err := writeJSON(c.out, consensusJSON{g.Bits.String(), g.Bits.Len(), g.Total, g.Same, g.Bad(), share, weak, g.Sure, warnings})
		if err != nil {
			return err
		}
	} else {
		wrapped(c.out, "", fmt.Sprintf("The card, if all reads are of one: %s, %s", count(g.Bits.Len(), "bit"), g.Bits.Hex()))
		wrapped(c.out, "     ", grouped(g.Bits))
		wrapped(c.out, "     ", fmt.Sprintf("%d of %s agree; %d bad (%.0f%%): %d lost a bit, %d gained one, %d have a wrong bit, %d otherwise",
			g.Same, count(g.Total, "read"), g.Bad(), 100*share, g.Short, g.Long, g.Flips, g.Bad()-g.Short-g.Long-g.Flips))
		if len(weak) > 0 {
			wrapped(c.out, "     ", "they differ in bits "+strings.Trim(fmt.Sprint(weak), "[]"))
		}
		for _, w := range warnings {
			wrapped(c.out, "     - ", w)
		}
		fmt.Fprintln(c.out)
	}
	if !g.Sure {
		return errNo
	}
	return nil
}

// busTotals is what a bus carried, by address.
type busTotals struct {
	addresses map[byte]*busAddress
	repeated  int
}

type busAddress struct {
	replies, encrypted, cards, keys int
	names                           map[string]int // of the encrypted packets
}

func (t *busTotals) add(p osdp.Found) {
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
	case p.Code == osdp.RAW || p.Code == osdp.FMT:
		at.cards++
	case p.Code == osdp.KEYPAD:
		at.keys++
	}
}

// busHealth sums up a recording of a bus.
func (c *capture) busHealth(n osdp.Counts, t busTotals) {
	w := c.remarks()
	fmt.Fprintf(w, "Summary\n  %s in %d bytes: %s and %s\n", count(n.Packets, "packet"), n.Bytes,
		verbed(n.Packets-n.Replies, "command", "commands"), verbed(n.Replies, "reply", "replies"))
	fmt.Fprintf(w, "  %s with a wrong check, %d bytes outside of packets\n", verbed(n.BadChecks, "packet", "packets"), n.Skipped)
	if t.repeated > 0 {
		wrapped(w, "  ", verbed(t.repeated, "reply was", "replies were")+" sent again at the controller's request, and not counted twice")
	}
	for _, a := range slices.Sorted(maps.Keys(t.addresses)) {
		at := t.addresses[a]
		fmt.Fprintf(w, "  address %d: %s, %s, %s\n", a, verbed(at.replies, "reply", "replies"), count(at.cards, "card"),
			verbed(at.keys, "keypad entry", "keypad entries"))
		if at.encrypted > 0 {
			var names []string
			for _, name := range slices.Sorted(maps.Keys(at.names)) {
				names = append(names, fmt.Sprintf("%s %d×", name, at.names[name]))
			}
			wrapped(w, "    ", fmt.Sprintf("%s encrypted, skipped: %s", verbed(at.encrypted, "packet is", "packets are"),
				strings.Join(names, ", ")))
		}
	}
	suggest(w, busSuggestions(n))
}

// busSuggestions returns where to look first. That a bus needs a resistor at both ends is common practice of RS-485.
func busSuggestions(n osdp.Counts) (s []string) {
	if n.BadChecks > 0 || n.Skipped > 0 {
		s = append(s, "damaged packets or stray bytes: a recording that began in the middle of a packet, two devices with the same "+
			"address, the wrong speed, the two bus wires swapped, a missing common ground, or a bus without its resistor at each end")
	}
	if n.Packets > 0 && n.Replies == 0 {
		s = append(s, "commands and no reply: the device may be without power, have another address or speed, or its wires swapped")
	}
	return s
}

func verbed(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// writeDrawing draws the read that was asked for.
func (c *capture) writeDrawing() error {
	switch {
	case c.drawn == nil:
		return fmt.Errorf("capture: --read %d: the recording has %s", c.o.drawRead, count(c.reads, "read"))
	case isKey(c.drawn.read) && !c.o.showPins:
		return fmt.Errorf("capture: --draw: read %d is as short as a keypad key, which is somebody's PIN; --show-pins draws it", c.o.drawRead)
	}
	p := picture.Pulses{Read: c.drawn.read, Pulses: c.drawn.pulses, Names: c.drawn.names, Number: c.o.drawRead}
	if err := replaceFile(c.o.draw, p.WriteSVG); err != nil {
		return err
	}
	c.remark("read %d is drawn in %s", c.o.drawRead, c.o.draw)
	return nil
}
