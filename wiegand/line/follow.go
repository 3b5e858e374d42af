package line

import (
	"context"
	"iter"
	"time"
)

// Follow reads a live line: it takes edges from a channel and gives each read, with its pulses, as soon as the line has
// been quiet for a gap, or longer where the reader is slow. That is measured twice, by the times of the edges and by
// the clock of this program, since no edge says that nothing comes any more. Where the program was late and not the
// line, edges that have come meanwhile are looked at before a read is closed; a pulse that comes later still belongs to
// the read before, and the read that it is in has the fault [Continued].
//
// It ends when the channel is closed or ctx is done, after the read in the making, which is then marked [CutEnd] or
// [OpenEnd] unless the line had been quiet. The pulses are good until the next read is asked for. Give the channel room
// for a few hundred edges, so that whoever feeds it need not wait.
func Follow(ctx context.Context, edges <-chan Edge, cfg Config) iter.Seq2[Read, []Pulse] {
	return func(yield func(Read, []Pulse) bool) {
		d := NewDecoder(cfg)
		quiet := time.NewTimer(d.cfg.Gap)
		defer quiet.Stop()
		for {
			var e Edge
			open := true
			select {
			case <-ctx.Done():
				open = false
			case e, open = <-edges:
			case <-quiet.C:
				select { // both may have been ready
				case e, open = <-edges:
				default:
					for d.Pause() {
						if !yield(d.Read(), d.Pulses()) {
							return
						}
					}
					continue
				}
			}
			if !open {
				for d.End(d.now) {
					if !yield(d.Read(), d.Pulses()) {
						return
					}
				}
				return
			}
			if d.Feed(e) && !yield(d.Read(), d.Pulses()) {
				return
			}
			quiet.Reset(d.patience())
		}
	}
}
