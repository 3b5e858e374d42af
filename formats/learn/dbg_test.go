package learn

import (
	"fmt"
	"math"
	"os"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/wiegand"
)

func TestDbg(t *testing.T) {
	text, err := os.ReadFile(os.Getenv("DBG"))
	if err != nil {
		t.Skip()
	}
	var reads []Read
	for i, l := range strings.Split(strings.TrimSpace(string(text)), "\n") {
		a, b, _ := strings.Cut(l, "=")
		reads = append(reads, Read{i + 1, wiegand.MustParseBits(a), b})
	}
	s, err := sortReads(reads)
	if err != nil {
		t.Fatal(err)
	}
	m, _ := evidence.New(formats.Builtin(), nil)
	if os.Getenv("EMPTY") != "" {
		m, _ = evidence.New(formats.Catalogue{}, nil)
	}
	all := make([]int, len(s.reads))
	for i := range all {
		all[i] = i
	}
	p, err := infer(m, s, all)
	if err != nil {
		t.Fatal(err)
	}
	fmt.Println("prob", p.prob, "unknown", p.unknown, "apart", p.apart, "total", p.total)
	for i := range p.entries[:min(25, len(p.entries))] {
		e := &p.entries[i]
		id := ""
		if e.format != nil {
			id = e.format.ID + " " + e.form
		}
		fmt.Printf("%8.5f %v %s %d-%d place %+v print %d known %d none %v left %v wrong %v", math.Exp(e.Log-p.total), p.agree[i], id, e.First, e.Last, e.Hyp.Place, e.Hyp.Print, e.Known, e.Hyp.None, e.left, e.wrong)
		for _, c := range e.Checks {
			fmt.Printf(" %d:%s/%v", c.Bit+1, c.Over, c.Odd)
		}
		fmt.Println()
	}
}
