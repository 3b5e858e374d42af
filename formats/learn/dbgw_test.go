package learn_test

import (
	"fmt"
	"os"
	"testing"
)

func TestDbgWrite(t *testing.T) {
	rng := newRand(t, 60)
	for k := range 3 {
		w := drawWorld(rng)
		reads := w.cards(rng, 60)
		wrong := map[int]bool{}
		for len(wrong) < 3 {
			k := rng.IntN(len(reads))
			if !wrong[k+1] {
				bit := rng.IntN(reads[k].Bits.Len())
				reads[k].Bits = reads[k].Bits.WithBit(bit, 1-reads[k].Bits.Bit(bit))
				fmt.Println("wrong", k+1, "bit", bit+1)
			}
			wrong[k+1] = true
		}
		f, _ := os.Create(fmt.Sprintf("/tmp/dbg%d.txt", k))
		for _, r := range reads {
			fmt.Fprintf(f, "%s=%s\n", r.Bits, r.Printed)
		}
		f.Close()
		fmt.Printf("%+v\n", w.spec)
	}
}
