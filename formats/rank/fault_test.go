package rank

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// way is what a repair comes to: the first bit that does it, and the chance of the fault.
type way struct {
	bit    int
	chance float64
}

// tried is the repairs of a read as they are found by making every good read and going through every way of spoiling it.
func tried(l *wiegand.Layout, fault Fault, b wiegand.Bits) map[wiegand.Bits]way {
	near := map[wiegand.Bits]bool{}
	for i := range b.Len() + 1 {
		switch fault {
		case FlippedBit:
			if i < b.Len() {
				near[b.WithBit(i, 1-b.Bit(i))] = true
			}
		case LostBit:
			for v := range uint(2) {
				if g, ok := b.Insert(i, v); ok {
					near[g] = true
				}
			}
		case ExtraBit:
			if g, ok := b.Delete(i); ok {
				near[g] = true
			}
		}
	}
	all := map[wiegand.Bits]way{}
	for g := range near {
		if g.Len() != l.Len() || !l.Holds(g) {
			continue
		}
		bits, of := spoils(g, fault, b)
		all[g] = way{bits[0], float64(len(bits)) / float64(of)}
	}
	return all
}

// spoils returns the bits at which a fault makes b of g, in rising order, and how many ways there are in which it can strike.
func spoils(g wiegand.Bits, fault Fault, b wiegand.Bits) (bits []int, of int) {
	switch fault {
	case FlippedBit:
		for i := range g.Len() {
			if g.WithBit(i, 1-g.Bit(i)) == b {
				bits = append(bits, i+1)
			}
		}
		of = g.Len()
	case LostBit:
		for i := range g.Len() {
			if d, _ := g.Delete(i); d == b {
				bits = append(bits, i+1)
			}
		}
		of = g.Len()
	case ExtraBit:
		for i := range g.Len() + 1 {
			for v := range uint(2) {
				if n, _ := g.Insert(i, v); n == b {
					bits = append(bits, i+1)
				}
			}
		}
		of = 2 * (g.Len() + 1)
	}
	slices.Sort(bits)
	return bits, of
}

// spoil does a fault at a place.
func spoil(g wiegand.Bits, fault Fault, at int, v uint) wiegand.Bits {
	switch fault {
	case LostBit:
		g, _ = g.Delete(at % g.Len())
	case ExtraBit:
		g, _ = g.Insert(at%(g.Len()+1), v)
	case FlippedBit:
		at %= g.Len()
		g = g.WithBit(at, 1-g.Bit(at))
	}
	return g
}

// eachSpoilt calls use with reads of every format of the catalogue, each spoilt once, and with some that are spoilt twice.
func eachSpoilt(t *testing.T, use func(m *formatModel, fault Fault, good, b wiegand.Bits)) {
	s := newSimulator(simSeed)
	r, err := New(s.cat)
	require.NoError(t, err)
	for i := range r.models {
		m := &r.models[i]
		if n := m.format.Layout.Len(); n < shortest || n > 90 && n < 200 { // keys, and what is like others and slow
			continue
		}
		for _, c := range s.site(m.format, 3).cards {
			good := c.Record.Encode()
			for _, fault := range []Fault{LostBit, ExtraBit, FlippedBit} {
				b := spoil(good, fault, s.rng.IntN(256), uint(s.rng.IntN(2)))
				use(m, fault, good, b)
				use(m, fault, good, spoil(b, FlippedBit, s.rng.IntN(256), 0))
			}
		}
	}
}

// TestRepairs holds the repairs of single reads, their chances, and what is tried at all, against every way of spoiling a good read.
func TestRepairs(t *testing.T) {
	eachSpoilt(t, func(m *formatModel, fault Fault, _, b wiegand.Bits) {
		where := fmt.Sprintf("%s, %v, read %v", m.format.ID, fault, b)
		want, got := tried(m.format.Layout, fault, b), map[wiegand.Bits]way{}
		m.repairs(fault, b, func(r wiegand.Record, rep Repair, chance float64) {
			require.True(t, r.OK(), where)
			require.NotContains(t, got, r.Bits(), where)
			require.Equal(t, Repair{Fault: fault, Bit: rep.Bit}, rep, where)
			got[r.Bits()] = way{rep.Bit, chance}
		})
		require.Len(t, got, len(want), where)
		for g, w := range want {
			require.Equal(t, w.bit, got[g].bit, where)
			require.InDelta(t, w.chance, got[g].chance, 1e-12, where)
		}
		require.True(t, len(want) == 0 || m.fixed.possible(fault, b), where)
		for _, other := range []Fault{None, LostBit, ExtraBit, FlippedBit} {
			if other != fault {
				m.repairs(other, b, func(wiegand.Record, Repair, float64) { t.Fatal("a read of another length has no such repair", where) })
			}
		}
	})
}

// TestFixedBitsTellWhatIsPossible holds the quick look at the fixed bits against the same on strings: for a flipped bit at most one of
// them may be wrong, and where a bit was added each must be right where it is or one place on.
func TestFixedBitsTellWhatIsPossible(t *testing.T) {
	seen := map[string]int{}
	eachSpoilt(t, func(m *formatModel, fault Fault, good, b wiegand.Bits) {
		var at []int
		for _, c := range m.format.Layout.Checks() {
			if c.Kind == wiegand.Fixed {
				for bit := range c.Bits.Bits() {
					at = append(at, bit-1)
				}
			}
		}
		g, text, wrong, moved := good.String(), b.String()+"?", 0, true
		for _, i := range at {
			if i >= b.Len() || text[i] != g[i] {
				wrong++
				moved = moved && i+1 < len(text) && text[i+1] == g[i]
			}
		}
		want := true
		switch fault {
		case FlippedBit:
			want = wrong <= 1
		case ExtraBit:
			want = moved
		}
		if fault != LostBit { // a bit that is missing at the end reads as 0
			require.Equal(t, want, m.fixed.possible(fault, b), "%s, %v, read %v", m.format.ID, fault, b)
		} else {
			require.True(t, m.fixed.possible(fault, b))
		}
		seen[fmt.Sprintf("%v %v", fault, want)]++
	})
	for _, each := range []string{"flipped-bit true", "flipped-bit false", "extra-bit true", "extra-bit false"} {
		assert.Positive(t, seen[each], each)
	}
}

// TestFixedBitsAcrossWords: the bit one place on may be in the next word.
func TestFixedBitsAcrossWords(t *testing.T) {
	l := wiegand.MustCompile(wiegand.Spec{
		Length: 70, Fields: []wiegand.Field{{Name: wiegand.FieldNumber, Bits: wiegand.Spans{{From: 1, To: 63}}}},
		Checks: []wiegand.Check{{Kind: wiegand.Fixed, Bits: wiegand.Spans{{From: 64, To: 70}}, Value: bitsOf(t, "1010011")}},
	})
	p := patternOf(l)
	good, err := l.Encode(5)
	require.NoError(t, err)
	for i := range good.Len() + 1 {
		for v := range uint(2) {
			b, _ := good.Insert(i, v)
			assert.True(t, p.possible(ExtraBit, b), "%v", b)
		}
	}
	for tail := range 1 << 8 {
		text, fixed, moved := fmt.Sprintf("%063d%08b", 0, tail), "1010011", true
		for i := range fixed {
			moved = moved && (text[63+i] == fixed[i] || text[64+i] == fixed[i])
		}
		assert.Equal(t, moved, p.possible(ExtraBit, bitsOf(t, text)), text)
	}
	assert.True(t, p.possible(FlippedBit, good.WithBit(65, 0)))
	assert.True(t, p.possible(FlippedBit, good.WithBit(63, 0)))
	assert.False(t, p.possible(FlippedBit, good.WithBit(65, 0).WithBit(63, 0)))
}

func bitsOf(t *testing.T, text string) wiegand.Bits {
	t.Helper()
	b, err := wiegand.ParseBits(text)
	require.NoError(t, err)
	return b
}

// TestFlips: where all checks are parities, a flipped bit is worth trying just where that makes all of them hold; where some are
// digits or fixed bits it is worth trying wherever it does.
func TestFlips(t *testing.T) {
	skipped := 0
	eachSpoilt(t, func(m *formatModel, fault Fault, _, b wiegand.Bits) {
		if fault != FlippedBit {
			return
		}
		l := m.format.Layout
		parities := true
		for _, c := range l.Checks() {
			parities = parities && (c.Kind == wiegand.Even || c.Kind == wiegand.Odd)
		}
		r, err := l.Decode(b)
		require.NoError(t, err)
		for i := range b.Len() {
			holds, flips := l.Holds(b.WithBit(i, 1-b.Bit(i))), m.fixed.flips(l, i, r.Failed())
			require.True(t, flips || !holds, "%s, read %v, bit %d", m.format.ID, b, i+1)
			require.True(t, !parities || flips == holds, "%s, read %v, bit %d", m.format.ID, b, i+1)
			if !flips {
				skipped++
			}
		}
	})
	assert.Positive(t, skipped)
}

// Faults have names of their own, and those of the wiring, and they alone, are undone by doing them once more.
func TestFaults(t *testing.T) {
	names, words := map[string]bool{}, map[string]bool{}
	b := bitsOf(t, "1101000")
	for f := None; f <= FlippedBit; f++ {
		names[f.String()], words[f.Words()] = true, true
		assert.Equal(t, f == None, f.Words() == "")
		assert.Equal(t, f < LostBit, f.wiring())
		assert.Equal(t, b, f.undo(f.undo(b)))
	}
	assert.Len(t, names, 7)
	assert.Len(t, words, 7)
	assert.Equal(t, "fault 7", (FlippedBit + 1).String())
	assert.Equal(t, "a bit was misread", FlippedBit.Words())
	for f, want := range map[Fault]string{None: "1101000", SwappedLines: "0010111", Reversed: "0001011", SwappedReversed: "1110100", LostBit: "1101000"} {
		assert.Equal(t, want, f.undo(b).String(), f)
	}
}

// What is wrong with every read at the same end is put right at that end, and the bit that is put back is the one that keeps the
// checks; where both do it is 0.
func TestEveryReadAtTheSameEnd(t *testing.T) {
	r, err := New(frozenCatalogue(t))
	require.NoError(t, err)
	for _, test := range []struct {
		id, cards string // as the cards send them
		fault     Fault
		at        int
		bit       int
	}{
		{"26-8-16", "26:32D687E 26:2F20023 26:2F20057", LostBit, 0, 1},
		{"26-8-16", "26:32D687E 26:2F20023 26:2F20057", LostBit, 25, 26},
		{"26-8-16", "26:32D687E 26:2F20023 26:2F20057", ExtraBit, 0, 1},
		{"26-8-16", "26:32D687E 26:2F20023 26:2F20057", ExtraBit, 26, 27},
		{"34-0-32", "34:1D9CB0CE7 34:1D9CB0CE7", LostBit, 0, 1},
	} {
		var cards []formats.Sightings
		for _, text := range strings.Fields(test.cards) {
			s := parse(t, text)[0]
			s[0].Bits = spoil(s[0].Bits, test.fault, test.at, 1)
			cards = append(cards, s)
		}
		cards = append(cards, parse(t, "46143")...) // a card without a read is left alone
		w := workOn(t, r, test.id, test.fault, cards)
		_, ok := w.atEnd(test.bit > 1)
		if w.q.reads < 2 {
			require.False(t, ok, "one read is repaired like any")
			continue
		}
		require.True(t, ok, test)
		for i := range cards[1:] {
			at := w.q.input[i]
			assert.Equal(t, Repair{Fault: test.fault, Bit: test.bit, Ways: 1}, w.repair[at], test)
			assert.Equal(t, parse(t, strings.Fields(test.cards)[i])[0][0].Bits, w.cards[at].Record.Bits(), test)
		}
		_, other := w.atEnd(test.bit == 1)
		assert.False(t, other, "%v: the other end does not do it", test)
	}
	// One read of a good length among them: not all are wrong.
	w := workOn(t, r, "26-8-16", LostBit, parse(t, "26:32D687E", "25:1234567"))
	_, ok := w.atEnd(false)
	assert.False(t, ok)
	// Without a check either bit will do.
	w = workOn(t, r, "32-0-32", LostBit, parse(t, "31:6CE58673", "31:6CE58674"))
	_, ok = w.atEnd(false)
	require.True(t, ok)
	for i := range w.cards {
		assert.EqualValues(t, 0, w.cards[i].Record.Bits().Bit(0))
	}
}

// workOn prepares the ranking of cards for a look at one format and fault.
func workOn(t *testing.T, r *Ranker, id string, fault Fault, cards []formats.Sightings) *work {
	t.Helper()
	w := &work{ranker: r, fault: fault}
	require.NoError(t, r.digest(&w.q, cards))
	n := len(w.q.cards)
	w.cards, w.repair, w.counted = make([]formats.Card, n), make([]Repair, n), make([]bool, n)
	w.how = make([]string, len(w.q.slots))
	for i := range r.models {
		if r.models[i].format.ID == id {
			w.model = &r.models[i]
		}
	}
	require.NotNil(t, w.model)
	return w
}
