// Package formats knows the card formats and the ways in which their numbers are written.
//
// # Where to start
//
// [Builtin] returns the catalogue; [Catalogue.OfLength] and [Catalogue.Find] look formats up. [ParseSighting] reads a
// card as people write one down: a read, a printed number, a chip serial. [Form.Parse] turns a printed number into a
// [Card] of a format, and [Form.Append] writes a card in another form. Package formats/rank tells which format unknown
// cards have.
//
// # Definition files
//
// The built-in catalogue is a TOML text in exactly the syntax that users write for formats of their own; see
// [ParseDefinitions]. Every row says where its facts come from and how sure they are.
//
// # Forms
//
// A form is a way of writing a card number: facility and number as a pair, all data bits as one decimal, a chip serial
// as bytes, and so on. See [Forms]. A form that a format cannot give is an error; a number that does not fit is never
// cut.
package formats
