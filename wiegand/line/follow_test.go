package line_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand/line"
)

// follow collects the reads of a live line.
func follow(ctx context.Context, edges <-chan line.Edge, gap time.Duration, most int) (reads []line.Read) {
	for r, pulses := range line.Follow(ctx, edges, line.Config{Gap: gap}) {
		if len(pulses) != r.Pulses {
			panic("pulses of another read")
		}
		if reads = append(reads, r); len(reads) == most {
			break
		}
	}
	return reads
}

func TestFollow(t *testing.T) {
	t.Parallel()
	s := steadySim()
	falls := append(append(s.send(1e5, card), s.send(2e5, card)...), s.send(9e5, card)...)
	all := simEdges(falls)

	// All edges at once, then the channel stays open: the last read comes by the clock.
	edges := make(chan line.Edge, len(all))
	for _, e := range all {
		edges <- e
	}
	reads := follow(t.Context(), edges, 50*ms, 3)
	require.Equal(t, []string{card, card, card}, bitsOf(reads))
	require.Zero(t, reads[2].Faults)

	// The channel is closed: whether more would have come is not known.
	edges = make(chan line.Edge, len(all))
	for _, e := range all {
		edges <- e
	}
	close(edges)
	reads = follow(t.Context(), edges, 50*ms, 0)
	require.Len(t, reads, 3)
	require.Equal(t, faults(line.OpenEnd), reads[2].Faults)

	// The context is done in the middle of a read.
	ctx, stop := context.WithCancel(t.Context())
	edges = make(chan line.Edge)
	done := make(chan []line.Read)
	go func() { done <- follow(ctx, edges, time.Minute, 0) }()
	for _, e := range all[:21] {
		edges <- e
	}
	stop()
	reads = <-done
	require.Len(t, reads, 1)
	require.True(t, reads[0].Faults.Has(line.CutEnd))
}

// The program is late, not the line: whoever takes the reads needs longer than a gap, while the edges of the next read
// wait. On a channel without room the sender itself waits. No read is cut.
func TestFollowWithLateEdges(t *testing.T) {
	t.Parallel()
	for _, room := range []int{0, 1, 1000} {
		all := simEdges(append(steadySim().send(1e5, card), steadySim().send(3e5, card)...))
		edges := make(chan line.Edge, room)
		go func() {
			for _, e := range all {
				edges <- e
			}
		}()
		n := 0
		for r := range line.Follow(t.Context(), edges, line.Config{Gap: 100 * ms}) {
			require.Equal(t, card, r.Bits.String(), "room %d", room)
			require.Zero(t, r.Faults, "%v", r.Warnings(nil))
			time.Sleep(250 * ms)
			if n++; n == 2 {
				break
			}
		}
	}
	// Edges that come after the read was closed belong to it, and what they make says so.
	all := simEdges(steadySim().send(1e5, card))
	edges := make(chan line.Edge, 100)
	for _, e := range all[:20] {
		edges <- e
	}
	var reads []line.Read
	for r := range line.Follow(t.Context(), edges, line.Config{Gap: 100 * ms}) {
		if reads = append(reads, r); len(reads) == 2 {
			break
		}
		for _, e := range all[20:] {
			edges <- e
		}
	}
	require.Equal(t, card, reads[0].Bits.String()+reads[1].Bits.String())
	require.True(t, reads[1].Faults.Has(line.Continued))
}
