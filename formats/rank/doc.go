// Package rank tells which format unknown cards have: from reads, printed numbers and chip serials of one card or of
// several cards of one site. Its answer is a whole posterior: every reading with its probability, and what is left for
// "none of these".
//
// # Where to start
//
// [New] makes a [Ranker] of a catalogue; [Ranker.Rank] answers.
//
// # The model
//
// A hypothesis is a kind of card and what happened on the way: a format of the catalogue, that format's length and
// checks with its bits divided otherwise, or a layout that no table has; and a fault of the wiring (the two data lines
// swapped, bits last first). By Bayes' rule
//
//	P(hypothesis | sightings) ∝ P(kind) · P(fault) · P(reads | kind, fault) · P(prints and serials | cards)
//
// The factors, which package learn uses as well, so that the two do not contradict each other:
//
//   - P(kind) is the catalogue's weight, or what a site is known to use. Each number of judgement is a constant with
//     its reason.
//   - A read's checks hold, or it was misread: one bit or two lost, gained or flipped. Each card has its own chance of
//     that, and the card that a misread came from is summed over.
//   - The facility is one value, or few, for a whole site (a Chinese restaurant process). Numbers count up from 1, lie
//     in boxes of any size at any place, or are spread over their field. The cards of a second facility have numbers of
//     their own, or go on with those of the first.
//   - A layout that no table has is summed over too: which parity bits it has, where its number is and how that is
//     written, and what the other bits are.
//   - A printed number is what one of the forms gives, the same form for all cards of a kind, with zeros before it or
//     not, mistyped at times, or unrelated.
//   - A chip serial is the card's number, or a part of it, in either byte order, or unrelated.
//   - Cards are of one kind; [Ranker.Kinds] looks for several.
//
// All is computed in logarithms. The answer does not depend on the order of the cards or of the catalogue, and
// candidates are in a total order: probability, then format id, then fault.
package rank
