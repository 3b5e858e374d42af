// Package worlds draws samples of cards from named worlds, each with one habit that real sites can have, and judges
// what is said of them. It is the world and not the model: it shares no code and no constant with the packages that
// identify and learn, and its shares are invented, since no counts of real sites were found. Tests alone use it.
//
// # What counts as right
//
// An answer is right where an installer who acts on it programs the right numbers, for the cards of the sample and for
// the next one.
//
//   - identify, where it names a format: every card whose read is good and that it claims to know has its true
//     facility, number and other fields, and comes from its true read. A facility of 0 and no facility are the same,
//     and so are two formats that give every card the same values from the same read: nobody can tell them apart, and
//     no number comes out otherwise. What is stated for them adds up. A card that the answer leaves in doubt (its own
//     reading below 0.95) is not claimed.
//   - identify, where it says that no known format fits: right for layouts that no table has, wrong for all others.
//     Where it names a frame without its parts, that frame has to hold as well. A frame that was padded or has a bit
//     before it is in no table, but to find the format inside it, with the right numbers, is right too.
//   - cards: the first card of a sample that can be seen not to fit (its read breaks a check or has another length, or
//     its own print says otherwise): what is shown for it is its true number. The statement is the probability of the
//     answer times that of the reading; to show nothing is a statement of 0.
//   - learn: put another number on a card of the sample, with the layout that was learned: the read is to the last bit
//     what the true layout sends. It has to be so for every kind of card and facility that the layout is said to be
//     for, and for numbers all over the true field, but for two kinds of bits, which keep their value: those that never
//     changed in the sample and that the answer calls open, and zeros before all numbers of the sample that the learned
//     field leaves out, since a layout that refuses a larger number gets none wrong. The number has to be the number
//     that was drawn, as far as both fields reach: a field that has the facility above it is right, one that has its
//     bits in another order is wrong, printed numbers or not.
package worlds
