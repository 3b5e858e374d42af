package learn
import ("testing";"math/rand/v2";"fmt";"github.com/cardtell/cardtell/wiegand")
func TestDbg(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	spans := func(s string) wiegand.Spans { r, _ := wiegand.ParseSpans(s); return r }
	for _, w := range []world{
		{spec: wiegand.Spec{Length: 31, Fields: []wiegand.Field{{Name: "facility", Bits: spans("2-12")}, {Name: "number", Bits: spans("13-30")}}, Checks: []wiegand.Check{{Kind: 1, Bit: 1, Over: spans("19-28")}, {Kind: 1, Bit: 31, Over: spans("2-30")}}}, from: 13, width: 18},
		{spec: wiegand.Spec{Length: 42, Fields: []wiegand.Field{{Name: "facility", Bits: spans("2-21")}, {Name: "number", Bits: spans("22-41")}}, Checks: []wiegand.Check{{Kind: 1, Bit: 1, Over: spans("2-41")}, {Kind: 1, Bit: 42, Over: spans("25-27")}}}, from: 22, width: 20},
	} {
	w.layout = wiegand.MustCompile(w.spec)
	w.facility = rng.Uint64()
	reads := w.cards(rng, 40)
	for i := range reads { reads[i].Printed = "" }
	gs, _, _ := sortReads(reads)
	p, out := learn(gs[0], newPatternSet(gs[0].length))
	fmt.Println(out, p.total, p.s.n)
	for i := range p.classes {
		c := &p.classes[i]
		fmt.Printf("%.2f num %v cost %.1f rest %v\n", c.logw, c.best.num.Bits, c.best.num.cost, c.best.rest)
		for _, ch := range c.best.checks { fmt.Println("    ", ch.bit+1, ch.class.rep, ch.class.logw) }
		if i > 3 { break }
	}
	}
}
