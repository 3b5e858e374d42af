package rank

import (
	"fmt"
	"os"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
)

func TestDbg(t *testing.T) {
	text, err := os.ReadFile(os.Getenv("DBG"))
	if err != nil {
		t.Skip()
	}
	var cards []formats.Sightings
	for _, l := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		s, err := formats.ParseSightings(l)
		if err != nil {
			t.Fatal(err)
		}
		cards = append(cards, s)
	}
	r, _ := New(formats.Builtin())
	k, _ := r.Kinds(cards)
	fmt.Println(k)
	show := func(cards []formats.Sightings) {
		ans, _ := r.Rank(cards)
		e, _ := r.evidence(cards)
		fmt.Println("evidence", e, "unknown", ans.Unknown)
		for _, c := range ans.Candidates {
			fmt.Println("  ", c.Format.ID, c.Fault, c.Probability, c.Printed)
		}
		for _, f := range ans.Frames {
			fmt.Println("  frame", f.Format.ID, f.Probability)
		}
	}
	show(cards)
	if os.Getenv("SPLIT") != "" {
		var a, b []formats.Sightings
		for i := range cards {
			if strings.Contains(os.Getenv("SPLIT"), fmt.Sprintf(",%d,", i)) {
				a = append(a, cards[i])
			} else {
				b = append(b, cards[i])
			}
		}
		show(a)
		show(b)
	}
}
