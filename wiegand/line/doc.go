// Package line turns a recorded or live reader line into reads, and says whether the signal is healthy.
//
// # Where to start
//
// A recording: [NewVCD] or [NewCSV] reads the file and its signal names, Choose says which two are the line, and
// [NewReader] gives the reads one by one, with a [Health] of the whole recording. A live line, such as two inputs that
// raise interrupts: [Follow] gives the reads of a channel of edges; or make a [Decoder] and hand it one [Edge] at a
// time. To try either without hardware: [Generator] makes the edges of a read, [WriteVCD] a recording.
//
// # Words
//
//   - A wire is one of the two lines: DATA0 and DATA1 of the two-wire interface, or CLOCK and DATA.
//   - An edge is a change of level on a wire. Time is a time.Duration since any fixed moment, in whole nanoseconds.
//   - A pulse is one visit of a wire to its active level: low, unless the line is inverted. Pulses below the glitch
//     limit are no pulses.
//   - The interval of two pulses is the time between their starts.
//   - A gap is a silence that ends a read; of a reader of which five beats are more than a gap, five beats are.
//   - A beat is the usual interval of a reader that keeps a steady pace.
//
// # Two wires
//
// Both wires idle high. A low pulse on DATA0 is a 0, one on DATA1 a 1. The published 26-bit standard (SIA
// AC-01-1996.10) allows pulses of 20 to 100 µs at intervals of 200 µs to 20 ms, and never both wires low at once;
// those are the limits of [StandardLimits]. The standard's text as quoted gives no figure for the end of a read;
// general drivers wait 50 to 100 ms, and [DefaultGap] is 50 ms. "Interval" is read in two ways in the trade, start to
// start and end to start. Figures here are start to start; a limit is broken only where it is broken on either
// reading.
//
// Two reads may follow one another sooner than a gap. A silence parts them where it is longer than the longest interval
// allowed and five times the beat or more; both then have the fault [NearRead]. So have two reads
// with a little more than a gap between them that is whole beats: bits may be lost there.
//
// Where a reader keeps its pace, time tells where a pulse is missing or too many. [Read.Bits] are the pulses as they
// came; [Read.Mended] has a bit for each beat, and [Read.Open] says which of them nobody can know. On a line of which
// one wire is dead, a silent beat is a bit of that wire. The pace tells as long as intervals keep within a fifth of the
// beat; of a dead wire within about a seventh. Echoes come always as late behind a pulse: where the others keep their
// pace without them, Mended is without them. Where every pulse has one just half a beat late, only the bits tell: each
// is there twice, or once with each value. A pulse that comes while one of the other wire lasts, and is narrower by a
// third, is its crosstalk, and Mended is without it; of wires that touch nothing is given back. Where two readers send
// at once, each at its own pace, the read has the fault [TwoReaders]: its bits are of both.
//
// # Clock and data
//
// DATA is sampled at each low pulse of CLOCK; low is a 1. No published standard covers this signal, so there are no
// limits to check (common practice, from manuals of stripe readers). What it carries is a magnetic stripe's second
// track: [ParseTrack2]. A read without a whole message has the fault [NoMessage].
//
// # Promises
//
// Nothing here opens a file, and nothing but [Follow] looks at a clock. A [Decoder] allocates nothing after it is made;
// readers of recordings hold a buffer of fixed size, so a long recording needs no more memory than a short one. No
// input makes a function panic, and every bad one is an [*Error] with its place.
//
// A read is a credential: keep recordings as you would keep keys, and record only lines that you are authorised to
// service.
package line
