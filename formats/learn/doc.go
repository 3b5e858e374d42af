// Package learn works out the layout of a format that nobody documented.
//
// # Where to start
//
// [Learn] takes reads of one site, with what is printed on the cards as far as that is known, and returns the likeliest layout
// with its probability, what speaks for it, what is open, and what to present next. [Result.Definition] writes it as a definition
// file.
//
// # Learning a layout
//
// A layout is a hypothesis about every bit: number, check, constant, or none of these. Its weight is its prior times the
// probability of the reads, both in bits of description length:
//
//   - A parity check is a set of bits whose sum over GF(2) is the same in every read. n reads with v bits that vary leave a null
//     space of at least v-rank such sets, most of them chance where reads are few. So candidates are enumerated the other way
//     round, from the patterns that formats use: runs with any ends, halves, everything, every second bit, two bits in three, each
//     with its parity bit at an end of the read or elsewhere. A bit that varies costs about n bits to write down; a check explains
//     them for the price of naming its pattern. Elimination says how many independent checks there are, and finds one of no usual
//     pattern where the reads suffice for that.
//   - The number is looked for in every run of bits, in either order of bits and bytes, binary or in decimal digits, and in two
//     runs, against what is printed: all of it, its end, behind a facility, or with a constant added. A number that is printed
//     explains its bits in every read.
//   - Bits that vary and are neither cost what it takes to write them down: one by one, or, where together they take few values, as
//     a facility does.
//
// The posterior sums over layouts that predict the same: what counts is which read each number gives, and not how a check is
// spelled over bits that never changed. Its calibration is measured by simulation, on layouts drawn by other rules than the
// prior's: see the tests named Reach.
//
// Misreads break checks or disagree with a print. A layout that explains all reads but a few is better than one that explains
// none of the checks; a read costs about 12 bits to call a misread.
//
// # Promises
//
// Nothing here reads a file, the clock or the environment; the same input gives the same answer to the last bit. What the
// sample can't settle is said to be open.
package learn
