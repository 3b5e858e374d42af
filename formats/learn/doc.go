// Package learn works out the layout of a format that nobody documented.
//
// # Where to start
//
// [Learn] takes reads of one site, with what is printed on the cards as far as that is known, and returns the likeliest
// layout with its probability, what speaks for it, what is open, and what to present next. [Result.Definition] writes
// it as a definition file.
//
// # Learning a layout
//
// The model is that of package rank, which answers from the same sums: formats of the catalogue compete with layouts
// that no table has, and what is reported is the likeliest of all. Of a layout that no table has:
//
//   - Parity bits are at its ends, with nothing or a bit of 1 before them. Each covers a run of bits, a half,
//     everything, every second bit or two bits in three. With n reads, a rule that holds by chance alone costs n bits.
//   - The number is looked for in every run of bits, in either order of bits and bytes, binary or in decimal digits,
//     and in two runs, against what is printed: all of it, its end, behind a facility, or with a constant added. A
//     printed number explains its bits in every read; without prints the numbers themselves say where they can be.
//   - Other data bits are the same on all cards, or take few values as a facility does, or cost what it takes to write
//     them down.
//   - A few reads may be misreads, which is weighed and not assumed.
//
// The posterior sums over layouts that predict the same: what counts is which read each number gives, and not how a
// check is spelled over bits that never changed. Its calibration is measured by simulation, on layouts drawn by other
// rules than the prior's: see the tests named Reach.
//
// # Promises
//
// Nothing here reads a file, the clock or the environment; the same input gives the same answer to the last bit. What
// the sample can't settle is said to be open.
package learn
