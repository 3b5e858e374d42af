package answer

import (
	"encoding/json"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// The documents of identify. Numbers that can pass 2^53 are texts. A key never changes its meaning; new ones may come.

// JSON is the answer as a document, with so many readings of each kind of card.
func (a *Answer) JSON(top int) json.RawMessage { return a.appendKeys([]byte{'{'}, top) }

// appendKeys appends the object from behind its bracket, or its first key, on.
func (a *Answer) appendKeys(dst []byte, top int) []byte {
	w := object.Writer(dst)
	if a.taken != nil {
		object.List(&w, "taken", a.taken, func(t *taken) {
			w.Text("text", t.text)
			w.Text("as", t.as)
			w.Float("probability", t.p)
		})
	}
	a.write(&w, top, a.serial)
	several := a.Ans.Several
	if a.Kinds != nil {
		several = a.several.Probability
	}
	if several > 0 {
		w.Float("several", several)
	}
	if a.Kinds != nil {
		w.Ints("doubtful", from1(a.several.Doubtful))
		object.List(&w, "populations", a.Kinds, func(k *Kind) {
			k.write(&w, top, nil)
			w.Ints("given", k.Given)
		})
	}
	return append(w, '}')
}

// write writes the keys of an answer about one kind of card.
func (k *Kind) write(w *object.Writer, top int, serial *serial) {
	object.List(w, "reads", k.Cards, func(s *formats.Sightings) { writeSightings(w, *s) })
	all, others := k.readings(top)
	object.List(w, "candidates", all, func(r *reading) {
		if r.c != nil {
			writeCandidate(w, r.c, k.of(r.at))
		} else { // one that has the same bits and checks, divided otherwise
			w.Text("frame", r.frame.Format.ID)
			w.Float("probability", r.frame.Probability)
			w.Text("fault", rank.None.String())
			w.Array("cards", func() {})
		}
	})
	w.Float("unknown", k.Ans.Unknown)
	if serial != nil {
		serial.write(w)
	}
	if others > 0 { // those that are left out
		w.Float("others", others)
	}
	w.Texts("settle", k.Settle)
	w.Texts("warnings", k.First, k.Ans.Warnings)
}

func writeSightings(w *object.Writer, card formats.Sightings) {
	var bits wiegand.Bits
	var printed, uid, hex string
	for _, s := range card {
		switch s.Kind {
		case formats.Read:
			bits = s.Bits
		case formats.Printed:
			printed = s.Text
		case formats.Serial:
			uid = string(formats.AppendSerial(nil, s.Bits))
		case formats.Hex:
			hex = s.Text
		}
	}
	w.Append("bits", func(dst []byte) []byte { dst, _ = bits.AppendText(dst); return dst })
	w.Int("length", bits.Len())
	w.Text("printed", printed)
	w.Text("uid", uid)
	w.Text("hex", hex)
}

// sureOfCard is the chance of a card from which it goes without saying.
const sureOfCard = 0.9995

func writeCandidate(w *object.Writer, c *rank.Candidate, cards []formats.Sightings) {
	w.Text("format", c.Format.ID)
	w.Text("description", c.Format.Description)
	w.Text("standing", c.Format.Standing.String())
	w.Float("probability", c.Probability)
	w.Text("fault", c.Fault.String())
	w.Texts("evidence", c.Evidence(cards))
	w.Array("cards", func() {
		for i := range c.Cards {
			w.Object("", func() { writeCardOf(w, c, i, cards) })
		}
	})
}

// writeCardOf writes the keys of a candidate's i-th card.
func writeCardOf(w *object.Writer, c *rank.Candidate, i int, cards []formats.Sightings) {
	r, partOfSerial := &c.Repairs[i], serialAlone(cards[i]) && c.Format.Facility() >= 0
	card := c.Sure(cards, i) // what a misread that can be of several cards does not tell is left out
	if !partOfSerial {       // which is no facility and no number
		writeFields(w, &card)
	}
	if r.Bit > 0 {
		w.Text("fault", r.Fault.String())
		w.Int("bit", r.Bit)   // that the fault is about
		w.Int("ways", r.Ways) // how many cards it can be
	}
	if r.Chance < sureOfCard && r.Chance != 0 { // of this card, if the candidate is right
		w.Float("chance", r.Chance)
	}
	writeChecks(w, &card)
	writeForms(w, &card, !partOfSerial)
}

// WriteCard writes what a card is as one object.
func WriteCard(w *object.Writer, key string, c *formats.Card) {
	w.Object(key, func() {
		writeFields(w, c)
		writeChecks(w, c)
		writeForms(w, c, true)
	})
}

func writeFields(w *object.Writer, c *formats.Card) {
	if c.Format == nil {
		return
	}
	field := func(key string, i int) {
		w.Append(key, func(dst []byte) []byte { return c.AppendField(dst, i) })
	}
	field("facility", c.Format.Facility())
	field("number", c.Format.Number())
	w.SomeObject("fields", func() {
		for i, f := range c.Format.Layout.Spec().Fields {
			if f.Name != wiegand.FieldUnknown {
				field(f.Name, i)
			}
		}
	})
}

func writeChecks(w *object.Writer, c *formats.Card) {
	if c.Format == nil || !c.Whole() {
		return
	}
	w.SomeArray("checks", func() {
		for i, info := range c.Format.Layout.Checks() {
			w.Object("", func() {
				w.Text("kind", info.Kind.String())
				w.Append("bits", func(dst []byte) []byte { dst, _ = info.Bits.AppendText(dst); return dst })
				w.Bool("ok", !c.Record.Failed().Has(i))
			})
		}
	})
}

// everyForm is the table of forms, taken once: a card is written in each of them for every answer.
var everyForm = formats.Forms()

// writeForms writes a card in every form that it has, with or without that of its fields.
func writeForms(w *object.Writer, c *formats.Card, fields bool) {
	if c.Format == nil {
		return
	}
	w.SomeObject("forms", func() {
		for i := range everyForm {
			form := &everyForm[i]
			// The read of a card whose checks fail is left out: the forms would give it as it should have been.
			if ok, _ := form.Fits(c.Format); !ok || !c.Record.OK() && form.OfRead() || !fields && form.Name == "fields" {
				continue
			}
			w.Append(form.Name, func(dst []byte) []byte {
				if longer, err := form.Append(dst, c); err == nil {
					return longer
				}
				return dst
			})
		}
	})
}
