package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// topicCommands are pages of help about what several commands share. They do nothing.
func topicCommands() []*cobra.Command {
	return []*cobra.Command{
		{Use: "spelling", Short: "How to write a card down", Long: spellingTopic},
		{Use: "forms", Short: "The forms in which card numbers are written", Long: formsTopic()},
		{Use: "definitions", Short: "Formats of your own", Long: definitionsTopic},
		{Use: "lists", Short: "How a list of cards is written, and found out", Long: listsTopic},
		{Use: "site", Short: "The site file", Long: siteTopic},
		{Use: "safety", Short: "What a number proves, and what to take care of", Long: safetyTopic},
	}
}

const spellingTopic = `How to write a card down: as it was seen, in one of these ways.

  26:32D687E           a read of 26 bits, in hex, as a number (right-aligned)
  left:26:CB5A1F80     the same, left-justified in whole bytes
  1100101101011010...  a read, first bit first: 24 or more 0s and 1s
  bits:1011            a read of any length; spaces, _ and . inside are ignored
  150,46143            a number as printed on a card, or shown by a controller
  04:A2:3B:5C          a chip's serial: 4, 5, 7, 8 or 10 bytes joined by : or -
  uid:04A23B5C         the same; the bytes are taken in the order written
  hex:96B43F           a number in hex of which the length is not known
  26:32D687E=46143     one card, seen in two ways

Other texts are weighed, and the answer says what they were taken for: a read
with 0x, as bytes with blanks, with zeros before it or without its length; FC
150 ID 46143, No. 46143, 150.46143; both numbers of a fob; a read and a print
with a blank, comma or semicolon between. bits:, left:, uid:, hex: or printed:
settles it. After a blank and #, the rest is a remark. In a file, a line of a
panel's log will do. Bits are numbered from 1, the first one sent.

  cardtell identify 26:32D687E=46143
  cardtell draw left:26:CB5A1F80`

// formsTopic lists the forms with the card that the whole program uses as its example.
func formsTopic() string {
	var b strings.Builder
	b.WriteString("The forms in which card numbers are written, for --from, --to and the site file;\n" +
		"shown for the 26-bit card of facility 150, number 46143, where it has the form.\n\n")
	for _, f := range formats.Forms() {
		text := f.Example
		if text == "" {
			text = "(" + f.Description + ")"
		}
		fmt.Fprintf(&b, "  %-20s %s\n", f.Name, say.Clip(text, say.Width-25))
	}
	b.WriteString("\n  cardtell formats --forms\n  cardtell convert 150,46143 --from pair --to decimal10 --format 26-8-16")
	return b.String()
}

const definitionsTopic = `Formats of your own, for --formats FILE: TOML in the catalogue's own syntax.

  [[format]]
  id          = "28-8-18"       # a catalogue's id replaces that format
  description = "28 bits: facility and number of our old gate"
  length      = 28
  fields      = [
      { name = "facility", bits = "2-9" },
      { name = "number", bits = "10-27" },
  ]
  checks = [
      { kind = "even", bit = 1, over = "2-14" },
      { kind = "odd", bit = 28, over = "15-27" },
  ]
  weight = 20                   # how common, against 100 for the 26-bit format

Every bit belongs to a field or a check; one whose meaning is not known belongs
to a field named unknown. All keys are listed in cmd/cardtell/doc/writing.md.

  cardtell formats check formats/catalogue.toml
  cardtell formats show 26-8-16`

const listsTopic = `How a list of cards is written: CSV in any dialect and encoding, XLSX or ODS. It
is found out from the file; these options say it where that goes wrong.

  --delimiter CHARACTER  what is between cells; or comma, semicolon, tab, bar
  --quote CHARACTER      the quote around cells
  --encoding NAME        the text's encoding, such as windows-1252
  --sheet NAME           the sheet of XLSX or ODS (the first shown with a list)
  --header-row LINE      where the names of columns stand, below titles
  --no-header            the first row is a card, not the names of columns
  --ragged               reject rows of another width, where they are an error
  --as-is                do not mend what spreadsheets do to numbers
  --redact               mask the card numbers in all that is written

  --out-delimiter CHARACTER, --out-encoding NAME   the same, for batch

A column is given by its name, its letter or its number; a column called C is
meant by C, and letter:C is the third. Rows that cannot be done are never
dropped: they are counted, and written out with their line and reason. Titles,
blank rows, totals and footers are nobody's card.

  cardtell check testdata/demo/staff.csv -c B --format 26-8-16 --from pair
  cardtell batch testdata/demo/staff.csv -o new.csv \
    --format 26-8-16 --from pair --to decimal10`

const siteTopic = `The site file, for --site FILE: which cards are in use at a site, and what its
doors want to be told. With it, commands need not be told so each time.

  name = "Harbour Row Workshops"

  [[cards]]                     # a population of cards
  format   = "26-8-16"
  facility = 121                # or [121, 122]
  numbers  = "1-500, 1001-1100"
  printed  = "pair"             # the form printed on them

  [[doors]]                     # a door and its controller
  name     = "Yard gate"
  enter    = "decimal10"        # the form that its controller takes
  capacity = 500                # cardholders that it holds

A card that the file does not list is still told, with a warning.

  cardtell convert 121,00043 --site testdata/demo/site.toml --door "Yard gate"
  cardtell identify 26:2F20057 --site testdata/demo/site.toml`

const safetyTopic = `What a number proves, and what to take care of.

A read that fits a format with two parity bits fits by chance one time in four:
one read proves little; five, or one with its printed number, prove a lot. No
read proves who made a card or who holds it. Probabilities are of what was
given, and "none of these" is an answer: a wrong number opens a door to
somebody else.

The two-wire interface is not encrypted: whoever reaches the wires reads card
numbers, and can send them. A card number is a credential: keep lists, drawings
and recordings as you would keep keys. Read and decode only cards and lines of
systems that you are authorised to service.

Before you change anything at a door: free egress and fire codes come first.
People must be able to leave at all times, and without power. Local codes and
licensed practice decide, not this program.

  cardtell identify 26:32D687E
  cardtell identify --file testdata/demo/drawer.txt`
