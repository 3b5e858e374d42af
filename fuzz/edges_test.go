package fuzz

import (
	"math/bits"
	"testing"
	"time"

	"github.com/cardtell/cardtell/wiegand"
	"github.com/cardtell/cardtell/wiegand/line"
)

// edgesFrom makes edges of any bytes: three for each edge, of which the first says wire and level and the others how
// long after the edge before it comes, in steps that double.
func edgesFrom(b []byte) (edges []line.Edge) {
	at := time.Duration(0)
	for ; len(b) >= 3; b = b[3:] {
		step := time.Duration(b[1]) << (b[2] % 40)
		if b[2] >= 250 {
			step = -step
		}
		at += step
		edges = append(edges, line.Edge{At: at, Wire: line.Wire(b[0] & 3), Level: line.Level(b[0] >> 2 & 3)})
	}
	return edges
}

// decoded is a read with all that belongs to it.
type decoded struct {
	read   line.Read
	pulses []line.Pulse
}

func decodeEdges(cfg line.Config, edges []line.Edge, twice bool) (all []decoded) {
	d := line.NewDecoder(cfg)
	take := func(done bool) {
		if done {
			all = append(all, decoded{d.Read(), append([]line.Pulse(nil), d.Pulses()...)})
		}
	}
	for _, e := range edges {
		take(d.Feed(e))
		if twice { // the same level again changes nothing; nor does the time alone
			if e.Level != line.Pulsed && e.At >= 0 {
				take(d.Feed(e))
			}
		}
	}
	for d.End(0) {
		take(true)
	}
	return all
}

// FuzzEdges feeds edges of any kind. Whatever comes out must fit together, and feeding each edge twice must not matter.
func FuzzEdges(f *testing.F) {
	us := func(n byte) (byte, byte) { return n, 10 } // n · 1024 ns
	w50, s50 := us(50)
	f.Add([]byte{4, w50, s50, 8, w50, s50, 5, 2, 20, 9, w50, s50, 2, 255, 28}, uint8(0)) // a 0, a 1, silence
	f.Add([]byte{4, w50, s50, 5, 1, 10, 8, w50, s50, 9, 1, 10, 2, 255, 30}, uint8(1))    // both low at once, inverted
	f.Add([]byte{12, 1, 20, 13, 1, 20, 12, 0, 0, 2, 255, 30}, uint8(2))                  // pulses without width
	f.Add([]byte{4, 1, 0, 0, 1, 0, 8, 1, 0, 4, 255, 250}, uint8(4))                      // unknown levels, time backwards
	near := []byte{4, w50, s50, 8, w50, s50}
	for range 5 { // 2 ms from pulse to pulse, on both wires, then 30 ms of silence, and again
		near = append(near, 5, 2, 20, 9, w50, s50, 4, 2, 20, 8, w50, s50)
	}
	near = append(near, 4, 30, 20, 8, w50, s50)
	f.Add(append(near, near...), uint8(0))
	f.Fuzz(func(t *testing.T, b []byte, how uint8) {
		cfg := line.Config{Coding: line.Coding(how >> 1 & 1), Inverted: how&1 != 0}
		if how&4 != 0 {
			cfg.Glitch = -1
		}
		edges := edgesFrom(b)
		reads := decodeEdges(cfg, edges, false)
		for _, r := range reads {
			if r.read.Bits.Len() != len(r.pulses) || r.read.Pulses < len(r.pulses) || len(r.pulses) == 0 {
				t.Fatalf("%d bits, %d pulses, %d counted", r.read.Bits.Len(), len(r.pulses), r.read.Pulses)
			}
			if mended, open := r.read.Mended, r.read.Open; mended.Len() != open.Len() {
				t.Fatalf("%d bits given back, of which %d may be open", mended.Len(), open.Len())
			} else if apart(mended, open) < open.OnesCount() {
				t.Fatalf("%v is given back, and open are %v", mended, open)
			}
			for i, p := range r.pulses {
				if uint(p.Bit) != r.read.Bits.Bit(i) || p.Width < 0 || i > 0 && p.At < r.pulses[i-1].At {
					t.Fatalf("pulse %d of %v is %+v", i, r.read.Bits, p)
				}
				if p.Faults&^r.read.Faults != 0 {
					t.Fatalf("pulse %d has a fault that the read has not", i)
				}
			}
			if len(r.read.Warnings(r.pulses)) == 0 != (r.read.Faults == 0) {
				t.Fatal("faults and warnings do not agree")
			}
			line.TimingOf(r.pulses)
		}
		again := decodeEdges(cfg, edges, true)
		if len(again) != len(reads) {
			t.Fatalf("%d reads, %d with each edge fed twice", len(reads), len(again))
		}
		for i := range again {
			a, b := again[i].read, reads[i].read
			a.Faults, b.Faults = a.Faults&^(1<<line.Backwards), b.Faults&^(1<<line.Backwards)
			if a != b {
				t.Fatalf("%+v, with each edge fed twice %+v", b, a)
			}
		}
	})
}

// apart returns in how many bits two reads of one length differ.
func apart(a, b wiegand.Bits) int {
	x, y := a.Words(), b.Words()
	n := 0
	for i := range x {
		n += bits.OnesCount64(x[i] ^ y[i])
	}
	return n
}
