// Package relate finds the rule between two ways of numbering the same cards, from cards of which both numbers are
// known.
//
// # Where to start
//
// [Find] takes pairs of numbers and returns the likeliest rules, how likely each is, and which pairs are probably typed
// wrong. A [Rule] converts numbers, reverses itself where nothing is lost, and goes to and from a rule file
// ([Rule.AppendFile], [ParseRule]).
//
// # How it is found
//
// A rule is a way of reading, up to three steps, parity taken off or put on, and a way of writing. The search goes
// forward from A and backward from B, and fits constants into the gap; it is exhaustive over the rules that fit all
// pairs, and over those that fit each pair and the next.
//
// # How it is weighed
//
// The prior of a rule is two to the power of minus its description length in bits. A pair is typed wrong at a rate that
// is unknown and the same for all of them; a wrong one has mostly one digit changed, lost or added, two swapped, or is
// another card's. The posterior is summed over rules, rates and what was meant. Rules that give the same are one; where
// two differ, a number is named on which they do. What no rule explains is written down digit by digit: that is the
// rule which was not looked for. Where a rule explains some pairs and the others are no slips, the cards may be of two
// kinds, each with a rule of its own; then none is said to be the rule of all.
//
// # Promises
//
// Nothing here reads a file, the clock or the environment; the same input gives the same answer to the last bit.
package relate
