package layout

import (
	"encoding/json"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// JSON is a document of what was learned from the reads of one length. Where there are several lengths the one with the
// most reads comes first and the others are in it.
func JSON(results []learn.Result) json.RawMessage {
	first := 0
	for i := range results {
		if results[i].Reads > results[first].Reads {
			first = i
		}
	}
	return object.Of(func(w *object.Writer) {
		write(w, &results[first])
		if others := slices.Delete(slices.Clone(results), first, first+1); len(others) > 0 {
			object.List(w, "others", others, func(r *learn.Result) { write(w, r) })
		}
	})
}

var printNames = map[learn.PrintForm]string{
	learn.PrintFull: "number", learn.PrintLast: "last-digits", learn.PrintJoined: "joined", learn.PrintPair: "pair",
	learn.PrintOffset: "offset", learn.PrintSerial: "serial",
}

// span is some bits and what they are.
type span struct{ bits, value string }

func write(w *object.Writer, r *learn.Result) {
	w.Int("length", r.Length)
	w.Int("reads", r.Reads)
	if len(r.Known) > 0 {
		object.List(w, "known", r.Known, func(k *learn.Known) {
			w.Text("format", k.ID)
			w.Text("form", k.Form)
		})
	}
	writeSpec(w, r.Spec)
	object.List(w, "constant", constants(r.Spec), func(s *span) {
		w.Text("bits", s.bits)
		w.Text("value", s.value)
	})
	w.Float("probability", r.Probability)
	if r.Several > 0 {
		w.Float("several", r.Several)
	}
	if name := printNames[r.Number.Print]; name != "" { // how what is printed comes from the number in the read
		w.Object("printed", func() {
			w.Text("form", name)
			w.Int("cards", r.Printed)
			w.Int("digits", r.Number.Digits)
			if r.Number.Offset != 0 {
				w.Text("offset", strconv.FormatInt(r.Number.Offset, 10))
			}
		})
	}
	if r.Swapped {
		w.Bool("swapped", true)
	}
	w.Array("open", func() {
		for _, s := range r.Open {
			w.Text("", s.String())
		}
	})
	w.Array("settle", func() {
		for _, text := range r.Settle {
			w.Text("", text)
		}
	})
	object.List(w, "alternatives", r.Alternatives, func(a *learn.Alternative) {
		w.Float("probability", a.Probability)
		w.Text("differs", a.Differs)
		writeSpec(w, a.Spec)
	})
	if len(r.Misreads) > 0 {
		object.List(w, "misreads", r.Misreads, func(m *learn.Misread) {
			w.Int("line", m.Line)
			w.Text("bits", m.Read.String())
			w.Text("reason", misreadWords(m, r.Length))
		})
	}
	w.Texts("evidence", r.Evidence)
	w.Texts("warnings", r.Warnings)
}

func writeFields(w *object.Writer, spec wiegand.Spec) {
	object.List(w, "fields", spec.Fields, func(f *wiegand.Field) {
		w.Text("name", f.Name)
		w.Text("bits", f.Bits.String())
		w.Text("coding", f.Coding.String())
		w.Text("order", f.Order.String())
		w.Text("value", f.Constant)
	})
}

func writeSpec(w *object.Writer, spec wiegand.Spec) {
	writeFields(w, spec)
	parities := slices.DeleteFunc(slices.Clone(spec.Checks), func(c wiegand.Check) bool {
		return c.Kind != wiegand.Even && c.Kind != wiegand.Odd
	})
	object.List(w, "checks", parities, func(c *wiegand.Check) {
		w.Text("kind", c.Kind.String())
		w.Int("bit", c.Bit)
		w.Text("over", c.Over.String())
	})
}

// constants are the fixed bits run by run.
func constants(spec wiegand.Spec) (all []span) {
	for _, c := range spec.Checks {
		if c.Kind != wiegand.Fixed {
			continue
		}
		value := c.Value.String()
		for _, s := range c.Bits {
			n := wiegand.Spans{s}.Len()
			all = append(all, span{strings.TrimSpace(s.String()), value[:n]})
			value = value[n:]
		}
	}
	return all
}
