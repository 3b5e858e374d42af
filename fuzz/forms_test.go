package fuzz

import (
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// FuzzForms: whatever reads as a card of a format in a form is written so that it reads as an equal card; in any other
// form it is written so that no field changes.
func FuzzForms(f *testing.F) {
	catalogue := formats.Builtin()
	forms := formats.Forms()
	for format := range catalogue.All() { // the examples of the catalogue in every form
		for _, e := range format.Examples {
			card := must(format.Read(e.Read))
			for _, form := range forms {
				if text, err := form.Text(&card); err == nil {
					f.Add(format.ID, form.Name, text)
				}
			}
		}
	}
	f.Add("26-8-16", "hex", "")                          // nothing is no number
	f.Add("fascn-56", "hex", "0032000109244A")           // a digit over 9
	f.Add("26-8-16", "fields", "number=1 number=2")      // twice
	f.Add("26-8-16", "pair", "256,65536")                // too big
	f.Add("34-0-32", "pair24", "150,46143")              // drops bits
	f.Add("26-8-16", "joined", "15é6143")                // cut inside a character
	f.Add("track2", "number", "=")                       // a sign
	f.Add("26-8-16", "bits", "26:32D687F")               // a bad read
	f.Add("48-22-23", "bits", "48:0")                    // unknown bits
	f.Add("uuid-128", "decimal", "99999999999999999999") // over 64 bits
	f.Fuzz(func(t *testing.T, id, name, text string) {
		format := pick(catalogue, id)
		form, ok := formats.FormByName(name)
		if !ok {
			form = forms[sum(name)%len(forms)]
		}
		card, err := form.Parse(format, text)
		if err != nil {
			declared(t, err)
			return
		}
		if !card.Record.OK() && form.Name != "bits" {
			t.Fatalf("form %s makes a read whose checks fail: %s", form.Name, format.DescribeChecks(card.Record.Failed()))
		}
		written, err := form.Text(&card)
		if err != nil {
			t.Fatalf("%s in form %s reads %q but can't be written: %v", format.ID, form.Name, text, err)
		}
		if again, err := form.Parse(format, written); err != nil || again != card {
			t.Fatalf("%s in form %s: %q is written %q, another card: %v", format.ID, form.Name, text, written, err)
		}
		for _, other := range forms {
			sameFields(t, other, &card)
		}
	})
}

// sameFields writes a card in another form, where it can, and reads it back.
func sameFields(t *testing.T, form formats.Form, card *formats.Card) {
	text, err := form.Text(card)
	if err != nil {
		declared(t, err)
		return
	}
	back, err := form.Parse(card.Format, text)
	if err != nil {
		declared(t, err) // the form drops something
		return
	}
	for i := range card.Format.Layout.Spec().Fields {
		if back.Known.Has(i) && back.Text(i) != card.Text(i) {
			t.Fatalf("%s in form %s: %q has field %d as %s, not %s", card.Format.ID, form.Name, text, i, back.Text(i),
				card.Text(i))
		}
	}
}

// pick returns the format of an id, or any other where there is none: so every id that is tried does something.
func pick(catalogue formats.Catalogue, id string) *formats.Format {
	if found := catalogue.Find(id); len(found) > 0 {
		return found[0]
	}
	return catalogue.At(sum(id) % catalogue.Len())
}

func sum(s string) int {
	n := 0
	for i := range len(s) {
		n = (n*31 + int(s[i])) % 65521
	}
	return n
}
