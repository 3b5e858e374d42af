// Package rank tells which format unknown cards have: from reads, printed numbers and chip serials of one card or of several
// cards of one site. Its answer is a whole posterior: every reading with its probability, and what is left for "none of
// these".
//
// # Where to start
//
// [New] makes a [Ranker] of a catalogue; [Ranker.Rank] answers.
//
// # The model
//
// A hypothesis is a format and a fault of the line (none, the two data lines swapped, bits last first, a bit lost, gained or
// flipped). By Bayes' rule
//
//	P(hypothesis | sightings) ∝ P(format) · P(fault) · P(reads | format, fault) · P(prints and serials | cards)
//
// The factors:
//
//   - P(format) is the catalogue's weight, or what a site is known to use. P(fault) and all other numbers of judgement are
//     constants in prior.go, each with its reason.
//   - A read's checks hold, or the hypothesis is out; only a lost, gained or flipped bit can make one fail. So a check that
//     holds counts a factor of 2 against a layout without it, for each read.
//   - The facility is one value, or few, for a whole site (a Chinese restaurant process). Numbers lie in batches near one
//     another, or spread over their field; small ones are likelier than a uniform draw has it. The cards of a second facility
//     have numbers of their own, or go on with those of the first.
//   - An unknown layout is not noise: whatever the layout, some bits never change at a site, and others count. It is given a
//     Krichevsky-Trofimov estimate for each bit, and a number somewhere in the read, whichever explains the reads better.
//   - A printed number is what one of the forms gives, the same form for all cards of a site, or unrelated.
//   - A chip serial is the card's number, or a part of it, in either byte order, or unrelated.
//
// All is computed in logarithms. The answer does not depend on the order of the cards or of the catalogue, and candidates are
// in a total order: probability, then format id, then fault.
package rank
