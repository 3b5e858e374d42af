package learn

import (
	"fmt"
	"math"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// recognise says which formats of the catalogue explain all reads. The first of them takes the place of what was learned.
func (r *Result) recognise(p *posterior, known formats.Catalogue) {
	if p.s.n < 2 {
		return
	}
	var first *formats.Format
	var others []string
	bestWeight := 0.0
	for _, i := range known.OfLength(r.Length) {
		f := known.At(i)
		if f.Kind == formats.KindKeypad || !p.keeps(f) {
			continue
		}
		form, ok := p.printedAs(f)
		if !ok {
			others = append(others, f.ID)
			continue
		}
		k := Known{ID: f.ID, Form: form}
		if f.Weight > bestWeight {
			r.Known = append([]Known{k}, r.Known...)
			first, bestWeight = f, f.Weight
		} else {
			r.Known = append(r.Known, k)
		}
	}
	switch {
	case first != nil:
		r.adopt(p, first)
	case len(others) > 0:
		r.Warnings = append(r.Warnings, fmt.Sprintf("the reads keep the checks of %s, which the catalogue has, but what is printed is none of its forms", strings.Join(others, ", ")))
	}
}

// catalogueShare is how likely the cards of a site have a format of the catalogue, before a read is seen.
const catalogueShare = 0.5

// adopt puts a known format in the place of the learned one.
func (r *Result) adopt(p *posterior, f *formats.Format) {
	weight := log2(catalogueShare)
	if p.s.prints() < p.s.n && len(p.classes) > 0 && p.classes[0].best.num != nil {
		weight -= float64((p.s.n - p.s.prints()) * p.classes[0].best.num.cols.and(p.s.varying).count())
	}
	odds := math.Exp2(weight - p.total)
	known := odds / (odds + 1 - catalogueShare)
	if math.IsInf(odds, 1) {
		known = 1
	}
	r.Probability = min(1, known+(1-known)*r.Probability)
	r.Spec = f.Layout.Spec()
	r.Open, r.Alternatives, r.Warnings = nil, nil, nil
	if r.Swapped {
		r.Warnings = []string{"every bit of the reads is changed: most likely the reader's two data lines are swapped; the format is for the right way round"}
	}
	r.Evidence = []string{fmt.Sprintf("all %d checks of format %s hold in all %s", len(f.Layout.Checks()), f.ID, plural(p.s.n, "read"))}
	if n := p.s.prints(); n > 0 {
		r.Evidence = append(r.Evidence, fmt.Sprintf("what is printed on %s is its %s", plural(n, "card"), r.Known[0].Form))
	}
	r.Number = Number{Print: PrintFull}
	if i := f.Number(); i >= 0 {
		field := r.Spec.Fields[i]
		r.Number.Bits, r.Number.Order, r.Number.Coding = field.Bits, field.Order, field.Coding
	}
	if p.s.prints() == 0 {
		r.Number.Print = PrintNone
	}
}

// leastCheckBits is how much evidence from checks it takes to call a format known where no prints speak for it: one chance in
// so many powers of two. Two printed numbers that agree are more than that.
const leastCheckBits = 12

// keeps reports whether every read keeps every check of a format, and these could have failed or prints will tell.
func (p *posterior) keeps(f *formats.Format) bool {
	parities := 0
	for _, c := range f.Layout.Checks() {
		if c.Bit > 0 {
			parities++
		}
	}
	if parities == 0 || parities*(p.s.n-1) < leastCheckBits && p.s.prints() < 2 {
		return false
	}
	var rec wiegand.Record
	for i := range p.s.reads {
		if f.Layout.DecodeInto(&rec, &p.s.reads[i].Bits) != nil || !rec.OK() {
			return false
		}
	}
	return true
}

// printedAs returns the form of a format in which all printed numbers are written. ok is false where there are prints and no
// such form.
func (p *posterior) printedAs(f *formats.Format) (name string, ok bool) {
	if p.s.prints() == 0 {
		return "", true
	}
	for _, form := range formats.Forms() {
		if ok, _ := form.Fits(f); ok && p.allPrinted(f, form) {
			return form.Name, true
		}
	}
	return "", false
}

func (p *posterior) allPrinted(f *formats.Format, form formats.Form) bool {
	var text []byte
	for i := range p.s.reads {
		if !p.s.printed[i].known {
			continue
		}
		card, err := f.Read(p.s.reads[i].Bits)
		if err != nil {
			return false
		}
		if text, err = form.Append(text[:0], &card); err != nil || plainDigits(string(text)) != plainDigits(p.s.reads[i].Printed) {
			return false
		}
	}
	return true
}

// plainDigits drops separators, a hex: prefix and leading zeros, so that two ways of writing a number compare equal.
func plainDigits(s string) string {
	s = strings.TrimPrefix(strings.TrimSpace(s), "hex:")
	s = strings.Map(func(r rune) rune {
		if strings.ContainsRune(",-/ ", r) {
			return -1
		}
		return r
	}, strings.ToUpper(s))
	return strings.TrimLeft(s, "0")
}
