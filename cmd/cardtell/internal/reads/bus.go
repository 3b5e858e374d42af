package reads

import (
	"fmt"
	"io"
	"maps"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/osdp"
)

// Bus is what a bus carried, by address.
type Bus struct {
	addresses map[byte]*busAddress
	repeated  int
	unknown   int // packets with control bits that mean nothing
}

type busAddress struct {
	replies, encrypted, cards, keys int
	names                           map[string]int // of the encrypted packets
}

// Add takes the next packet.
func (t *Bus) Add(p osdp.Found) {
	if p.Unknown != 0 {
		t.unknown++
	}
	if !p.Reply && !p.Encrypted() {
		return
	}
	at := t.addresses[p.Address]
	if t.addresses == nil {
		t.addresses = map[byte]*busAddress{}
	}
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

// Print writes the sum of a recording for people.
func (t *Bus) Print(w io.Writer, n osdp.Counts) {
	fmt.Fprintf(w, "Summary\n  %s in %d bytes: %s and %s\n", say.Count(n.Packets, "packet"), n.Bytes,
		say.Count(n.Packets-n.Replies, "command"), say.Counts(n.Replies, "reply", "replies"))
	fmt.Fprintf(w, "  %s with a wrong check, %d bytes outside of packets\n", say.Count(n.BadChecks, "packet"),
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
