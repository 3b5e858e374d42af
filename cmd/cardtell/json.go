package main

import (
	"cmp"
	"encoding/json"
	"io"
	"slices"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// printJSON writes one document on standard output.
func (a *app) printJSON(v any) error { return writeJSON(a.out, v) }

// writeJSON writes one value on one line.
func writeJSON(w io.Writer, v any) error {
	enc := json.NewEncoder(w)
	enc.SetEscapeHTML(false)
	return enc.Encode(v)
}

// The documents of identify. Numbers that can pass 2^53 are texts. A key never changes its meaning; new ones may come.

type identifyJSON struct {
	Line       int             `json:"line,omitempty"` // with --each: of the file, or the place on the command line
	Error      string          `json:"error,omitempty"`
	Taken      []takenTextJSON `json:"taken,omitempty"` // what each text was taken for
	Reads      []readJSON      `json:"reads,omitempty"`
	Candidates []candidateJSON `json:"candidates"`
	Unknown    float64         `json:"unknown"`
	Serial     *serialJSON     `json:"serial,omitempty"` // of one chip's serial: what it is, and what readers send of it
	Others     float64         `json:"others,omitempty"` // probability of the candidates that --top leaves out
	Settle     []string        `json:"settle,omitempty"`
	Warnings   []string        `json:"warnings,omitempty"`

	// Where the cards are of several kinds, or no one format fits all lengths, each by itself: Given has the places of its
	// cards, from 1, Several the probability that there are several kinds, and Doubtful the cards that may be of another
	// of them.
	Given       []int          `json:"given,omitempty"`
	Several     float64        `json:"several,omitempty"`
	Doubtful    []int          `json:"doubtful,omitempty"`
	Populations []identifyJSON `json:"populations,omitempty"`
}

type readJSON struct {
	Bits    string `json:"bits,omitempty"`
	Length  int    `json:"length,omitempty"`
	Printed string `json:"printed,omitempty"`
	UID     string `json:"uid,omitempty"`
	Hex     string `json:"hex,omitempty"`
}

type candidateJSON struct {
	Format string `json:"format,omitempty"`
	// instead of a format: one that has the same bits and checks, divided otherwise
	Frame       string     `json:"frame,omitempty"`
	Description string     `json:"description,omitempty"`
	Standing    string     `json:"standing,omitempty"`
	Probability float64    `json:"probability"`
	Fault       string     `json:"fault"`
	Evidence    []string   `json:"evidence,omitempty"`
	Cards       []cardJSON `json:"cards"`
}

type cardJSON struct {
	Facility string    `json:"facility,omitempty"`
	Number   string    `json:"number,omitempty"`
	Fields   textsJSON `json:"fields,omitempty"`
	Fault    string    `json:"fault,omitempty"` // of this read alone
	Bit      int       `json:"bit,omitempty"`   // the bit that it is about
	Ways     int       `json:"ways,omitempty"`  // how many cards it can be, of which this is the likeliest
	// that it is this card, if the candidate is right; left out where it is sure
	Chance float64     `json:"chance,omitempty"`
	Checks []checkJSON `json:"checks,omitempty"`
	Forms  textsJSON   `json:"forms,omitempty"`
}

type checkJSON struct {
	Kind string `json:"kind"`
	Bits string `json:"bits"`
	OK   bool   `json:"ok"`
}

func answerJSON(cards []formats.Sightings, ans *rank.Answer, settle []rank.Settle, top int) identifyJSON {
	doc := identifyJSON{Candidates: []candidateJSON{}, Unknown: ans.Unknown, Settle: settleLines(settle),
		Warnings: slices.Concat(ans.First, ans.Warnings)}
	for _, s := range cards {
		doc.Reads = append(doc.Reads, newReadJSON(s))
	}
	candidates, frames := shares(ans, top)
	for i := range ans.Candidates {
		if c := &ans.Candidates[i]; i < candidates {
			doc.Candidates = append(doc.Candidates, newCandidateJSON(c, cards))
		} else {
			doc.Others += c.Probability
		}
	}
	for i := range ans.Frames {
		if f := &ans.Frames[i]; i < frames {
			doc.Candidates = append(doc.Candidates, candidateJSON{Frame: f.Format.ID, Probability: f.Probability,
				Fault: rank.None.String(), Cards: []cardJSON{}})
		} else {
			doc.Others += f.Probability
		}
	}
	slices.SortStableFunc(doc.Candidates, func(a, b candidateJSON) int {
		return cmp.Compare(b.Probability,
			a.Probability)
	})
	return doc
}

func newReadJSON(sightings formats.Sightings) readJSON {
	var r readJSON
	for _, s := range sightings {
		switch s.Kind {
		case formats.Read:
			r.Bits, r.Length = s.Bits.String(), s.Bits.Len()
		case formats.Printed:
			r.Printed = s.Text
		case formats.Serial:
			r.UID = string(formats.AppendSerial(nil, s.Bits))
		case formats.Hex:
			r.Hex = s.Text
		}
	}
	return r
}

func newCandidateJSON(c *rank.Candidate, cards []formats.Sightings) candidateJSON {
	doc := candidateJSON{
		Format: c.Format.ID, Description: c.Format.Description, Standing: c.Format.Standing.String(),
		Probability: c.Probability, Fault: c.Fault.String(), Evidence: c.Evidence(cards),
		Cards: make([]cardJSON, len(c.Cards)),
	}
	for i := range c.Cards {
		doc.Cards[i] = newCardJSON(&c.Cards[i])
		if serialAlone(cards[i]) && c.Format.Facility() >= 0 { // parts of a serial are no facility and no number
			doc.Cards[i] = cardJSON{Checks: doc.Cards[i].Checks, Forms: slices.DeleteFunc(doc.Cards[i].Forms,
				func(t textJSON) bool { return t.name == "fields" })}
		}
		if r := c.Repairs[i]; r.Bit > 0 {
			doc.Cards[i].Fault, doc.Cards[i].Bit, doc.Cards[i].Ways = r.Fault.String(), r.Bit, r.Ways
		}
		if r := c.Repairs[i]; r.Chance < 0.9995 {
			doc.Cards[i].Chance = r.Chance
		}
	}
	return doc
}

func newCardJSON(c *formats.Card) cardJSON {
	if c.Format == nil {
		return cardJSON{}
	}
	doc := cardJSON{Facility: c.Text(c.Format.Facility()), Number: c.Text(c.Format.Number())}
	for i, field := range c.Format.Layout.Spec().Fields {
		if text := c.Text(i); text != "" && field.Name != wiegand.FieldUnknown {
			doc.Fields = append(doc.Fields, textJSON{field.Name, text})
		}
	}
	doc.Forms = formsJSON(c)
	if c.Whole() {
		for i, info := range c.Format.Layout.Checks() {
			doc.Checks = append(doc.Checks, checkJSON{info.Kind.String(), info.Bits.String(), !c.Record.Failed().Has(i)})
		}
	}
	return doc
}

// everyForm is the table of forms, taken once: a card is written in each of them for every answer.
var everyForm = formats.Forms()

// formsJSON writes a card in every form that it has.
func formsJSON(c *formats.Card) textsJSON {
	var buf [512]byte
	text := buf[:0]
	ends := make([]int, len(everyForm))
	for i, form := range everyForm {
		// The read of a card whose checks fail is left out: the forms would give it as it should have been.
		if ok, _ := form.Fits(c.Format); ok && (c.Record.OK() || !form.OfRead()) {
			if longer, err := form.Append(text, c); err == nil {
				text = longer
			}
		}
		ends[i] = len(text)
	}
	forms := make(textsJSON, 0, len(everyForm))
	all, from := string(text), 0 // one text for all of them, cut up
	for i, form := range everyForm {
		if to := ends[i]; to > from {
			forms, from = append(forms, textJSON{form.Name, all[from:to]}), to
		}
	}
	return forms
}

// textsJSON is an object of texts with its keys in an order of their own. Its names and values are those of fields and
// forms: printable ASCII without quotes and backslashes.
type textsJSON []textJSON

type textJSON struct{ name, text string }

// MarshalJSON writes the object.
func (t textsJSON) MarshalJSON() ([]byte, error) {
	b := append(make([]byte, 0, 32*len(t)+2), '{')
	for i := range t {
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), t[i].name...), `":"`...)
		b = append(append(b, t[i].text...), '"')
	}
	return append(b, '}'), nil
}
