package reads

import (
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/wiegand/line"
)

// Agreement is what repeated reads of one card agree on.
type Agreement struct {
	Bits     string   `json:"bits"`
	Length   int      `json:"length"`
	Reads    int      `json:"reads"`
	Agree    int      `json:"agree"`
	Bad      int      `json:"bad"`
	BadShare float64  `json:"bad_share"`
	Weak     []int    `json:"weak,omitempty"` // bits on which they differ, from 1
	Sure     bool     `json:"sure"`
	Warnings []string `json:"warnings"`

	line line.Agreement
}

// Agreement returns what all reads agree on; false where there are none.
func (s *Seen) Agreement() (j Agreement, ok bool) {
	g := line.Consensus(s.Cards)
	if g.Total == 0 {
		return j, false
	}
	j = Agreement{
		Bits: g.Bits.String(), Length: g.Bits.Len(), Reads: g.Total, Agree: g.Same, Bad: g.Bad(),
		BadShare: float64(g.Bad()) / float64(g.Total), Sure: g.Sure && s.Sound[g.Bits], Warnings: []string{}, line: g,
	}
	for _, i := range g.Weak {
		j.Weak = append(j.Weak, i+1)
	}
	if !g.Sure {
		j.Warnings = append(j.Warnings, "no more than half of the reads, or only one, are equal to this; present the card again")
	}
	if !s.Sound[g.Bits] { // equal reads may share a fault
		j.Warnings = append(j.Warnings, "every read equal to this is suspect; see what is wrong with the line first")
	}
	return j, true
}

// Print writes it for people.
func (j *Agreement) Print(w io.Writer) {
	g := &j.line
	say.Print(w, "", fmt.Sprintf("The card, if all reads are of one: %s, %s", say.Count(j.Length, "bit"), g.Bits.Hex()))
	say.Print(w, "     ", grouped(j.Bits))
	text := fmt.Sprintf("%d of %s agree; %d bad (%.0f%%)", j.Agree, say.Count(j.Reads, "read"), j.Bad, 100*j.BadShare)
	before := ": "
	for _, bad := range []struct {
		n   int
		did string
	}{{g.Short, "lost a bit"}, {g.Long, "gained a bit"}, {g.Flips, "with wrong bits"}, {j.Bad - g.Short - g.Long - g.Flips, "otherwise"}} {
		if bad.n > 0 {
			text += fmt.Sprint(before, bad.n, " ", bad.did)
			before = ", "
		}
	}
	say.Print(w, "     ", text)
	if len(j.Weak) > 0 {
		say.Print(w, "     ", "they differ in bits "+strings.Trim(fmt.Sprint(j.Weak), "[]"))
	}
	for _, warning := range j.Warnings {
		say.Print(w, "     - ", warning)
	}
	fmt.Fprintln(w)
}
