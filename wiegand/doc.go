// Package wiegand holds what a door-access card reader sends, and takes it apart.
//
// # Where to start
//
// [ParseBits] reads a string of bits; [Compile] turns a [Spec], which says what each bit of a format means, into a
// [Layout]; [Layout.Decode] takes a read apart and [Layout.Encode] puts one together; [Layout.Uint64s] is the quickest
// way through many reads. Package formats has the catalogue of known formats and the ways their numbers are written;
// most programs start there.
//
// # Words
//
//   - A read is the string of bits that a reader sends for one card: a [Bits].
//   - A layout says what each bit of a read is for: which bits make up a field, which are checks.
//   - A field is a number inside a read, such as the facility or the card number. A format that has no facility field
//     has none; that is different from facility 0.
//   - A check is a bit, or a group of bits, that follows from others: a parity bit, a longitudinal check, a fixed
//     pattern.
//   - A record is a read taken apart by a layout: field values, and which checks failed. A failed check is evidence,
//     not an error: it may be a misread, or the wrong layout.
//
// # Bit order
//
// The first bit on the line is bit 1 in everything that people read or write, as the published 26-bit standard numbers
// them (SIA AC-01-1996.10), and index 0 in Go. Where several bits form a number, the first is the most significant
// unless a field says otherwise.
//
// # Promises
//
// No function panics on any input, but for those named Must: zero values, a nil [Layout] and a nil [Record] have an
// answer or an error. (Reading a text into a nil pointer is left to Go.) Nothing is cut or rounded to fit; nothing here
// reads a file, the clock or the environment; there is no global state. Values are immutable and may be shared between
// goroutines.
//
// A [Spec], and all that it holds, is plain data: JSON and text both ways. Package fmt writes [Bits] with %b, %x, %d
// and %q.
//
// A card number is a credential. Use this for cards and systems that you are authorised to service, and keep lists of
// numbers as you would keep keys.
package wiegand
