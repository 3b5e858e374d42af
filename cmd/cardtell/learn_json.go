package main

import (
	"strings"

	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/wiegand"
)

// The document of learn: what was learned from the reads of one length. Where there are several lengths the one with
// the most reads comes first and the others are in it.

type learnJSON struct {
	Length       int               `json:"length"`
	Reads        int               `json:"reads"`
	Known        []knownJSON       `json:"known,omitempty"`
	Fields       []learntFieldJSON `json:"fields"`
	Checks       []learntCheckJSON `json:"checks"`
	Constant     []constantJSON    `json:"constant"`
	Probability  float64           `json:"probability"`
	Printed      *printJSON        `json:"printed,omitempty"`
	Swapped      bool              `json:"swapped,omitempty"`
	Open         []string          `json:"open"`
	Settle       []string          `json:"settle"`
	Alternatives []alternativeJSON `json:"alternatives"`
	Misreads     []misreadJSON     `json:"misreads,omitempty"`
	Evidence     []string          `json:"evidence,omitempty"`
	Warnings     []string          `json:"warnings,omitempty"`
	Others       []learnJSON       `json:"others,omitempty"`
}

type knownJSON struct {
	Format string `json:"format"`
	Form   string `json:"form,omitempty"`
}

type learntFieldJSON struct {
	Name   string `json:"name"`
	Bits   string `json:"bits"`
	Coding string `json:"coding"`
	Order  string `json:"order"`
	Value  string `json:"value,omitempty"`
}

type learntCheckJSON struct {
	Kind string `json:"kind"`
	Bit  int    `json:"bit"`
	Over string `json:"over"`
}

type constantJSON struct {
	Bits  string `json:"bits"`
	Value string `json:"value"`
}

// printJSON says how what is printed comes from the number in the read.
type printJSON struct {
	Form   string `json:"form"`
	Cards  int    `json:"cards"`
	Digits int    `json:"digits,omitempty"`
	Offset int64  `json:"offset,omitempty,string"`
}

type alternativeJSON struct {
	Probability float64           `json:"probability"`
	Differs     string            `json:"differs"`
	Fields      []learntFieldJSON `json:"fields"`
	Checks      []learntCheckJSON `json:"checks"`
}

type misreadJSON struct {
	Line   int    `json:"line"`
	Bits   string `json:"bits"`
	Reason string `json:"reason"`
}

var printNames = map[learn.PrintForm]string{
	learn.PrintFull: "number", learn.PrintLast: "last-digits", learn.PrintJoined: "joined", learn.PrintPair: "pair",
	learn.PrintOffset: "offset",
}

func learnDocument(results []learn.Result) learnJSON {
	first := 0
	for i := range results {
		if results[i].Reads > results[first].Reads {
			first = i
		}
	}
	doc := newLearnJSON(&results[first])
	for i := range results {
		if i != first {
			doc.Others = append(doc.Others, newLearnJSON(&results[i]))
		}
	}
	return doc
}

func newLearnJSON(r *learn.Result) learnJSON {
	doc := learnJSON{
		Length: r.Length, Reads: r.Reads, Fields: fieldsJSON(r.Spec), Checks: checksJSON(r.Spec), Constant: []constantJSON{},
		Probability: r.Probability, Swapped: r.Swapped, Open: []string{}, Settle: append([]string{}, r.Settle...),
		Alternatives: []alternativeJSON{}, Evidence: r.Evidence, Warnings: r.Warnings,
	}
	for _, k := range r.Known {
		doc.Known = append(doc.Known, knownJSON{k.ID, k.Form})
	}
	for _, c := range r.Spec.Checks {
		if c.Kind == wiegand.Fixed {
			doc.Constant = append(doc.Constant, constantsJSON(c)...)
		}
	}
	for _, span := range r.Open {
		doc.Open = append(doc.Open, span.String())
	}
	if name := printNames[r.Number.Print]; name != "" {
		doc.Printed = &printJSON{name, r.Printed, r.Number.Digits, r.Number.Offset}
	}
	for _, a := range r.Alternatives {
		doc.Alternatives = append(doc.Alternatives, alternativeJSON{a.Probability, a.Differs, fieldsJSON(a.Spec),
			checksJSON(a.Spec)})
	}
	for _, m := range r.Misreads {
		doc.Misreads = append(doc.Misreads, misreadJSON{m.Line, m.Read.String(), misreadWords(m)})
	}
	return doc
}

func fieldsJSON(spec wiegand.Spec) []learntFieldJSON {
	all := []learntFieldJSON{}
	for _, f := range spec.Fields {
		all = append(all, learntFieldJSON{f.Name, f.Bits.String(), f.Coding.String(), f.Order.String(), f.Constant})
	}
	return all
}

func checksJSON(spec wiegand.Spec) []learntCheckJSON {
	all := []learntCheckJSON{}
	for _, c := range spec.Checks {
		if c.Kind == wiegand.Even || c.Kind == wiegand.Odd {
			all = append(all, learntCheckJSON{c.Kind.String(), c.Bit, c.Over.String()})
		}
	}
	return all
}

// constantsJSON returns the fixed bits run by run.
func constantsJSON(c wiegand.Check) []constantJSON {
	var all []constantJSON
	value := c.Value.String()
	for _, span := range c.Bits {
		n := wiegand.Spans{span}.Len()
		all = append(all, constantJSON{strings.TrimSpace(span.String()), value[:n]})
		value = value[n:]
	}
	return all
}
