// Package evidence is the one model behind every answer: how probable what was seen is under every kind of card, form
// of print and fault. Probabilities are natural logarithms unless a name says otherwise.
package evidence

import (
	"fmt"
	"math"
	"sync"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/judgement"
	"github.com/cardtell/cardtell/formats/internal/logp"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/wiegand"
)

// Model is what is known before anything is seen: the formats of a catalogue and of a site. It is immutable; share it
// freely.
type Model struct {
	Catalogue formats.Catalogue
	Site      []formats.Population

	formats []formatModel // in the catalogue's order, then the site's populations
	byLen   map[int][]int // positions in formats
	frames  map[int][]undocumented.Frame
	alike   map[string]int    // formats whose cards are printed alike, counted up
	stripe  []*formats.Format // track 2, of every length
	wirings [wirings]float64  // logs of the priors
	unknown float64           // log of the prior of a layout that is in no catalogue
	spare   sync.Pool         // of *Work, whose memory serves the next question
}

// formatModel is what is known of one format beforehand.
type formatModel struct {
	format *formats.Format
	log    float64 // log of the prior
	fields []fieldModel
	forms  []option // how its numbers are printed
	fixed  pattern
	ofSite bool // the format once more, as a population of the site has it
	told   bool // the site says in which form it is printed
	// the chance that a chip serial has nothing to do with a card
	serialApart float64
	alike       int // the same of formats whose cards are printed alike
	// by kind of sighting: logs of what shareOf and related say
	shares, relations [formats.Hex + 1]float64
	// log of its share where each way to divide a number counts alike, and all formats that have it
	split float64
}

// New makes a Model of a catalogue and of what a site is known to use, if anything. The error says which population
// names a format that the catalogue does not have.
func New(cat formats.Catalogue, site []formats.Population) (*Model, error) {
	m := &Model{Catalogue: cat, Site: site, stripe: cat.Find(stripeID), byLen: map[int][]int{}, alike: map[string]int{},
		formats: make([]formatModel, 0, cat.Len()+len(site))}
	for i, p := range judgement.WiringPrior {
		m.wirings[i] = math.Log(p)
	}
	total := 0.0
	for i := range cat.Len() {
		if w := cat.At(i).Weight; !(w > 0) || math.IsInf(w, 1) {
			return nil, fmt.Errorf("format %q: weight %v; it must be a number above 0", cat.At(i).ID, w)
		}
		total += cat.At(i).Weight
	}
	m.frames = undocumented.FramesOf(cat)
	for _, all := range m.frames {
		for i := range all {
			total += all[i].Log // a weight, so far
		}
	}
	anywhere := 1 - judgement.UnknownPrior
	m.unknown = math.Log(judgement.UnknownPrior)
	if len(site) > 0 {
		anywhere *= 1 - judgement.SitePrior
		m.unknown += math.Log(1 - judgement.SitePrior)
	}
	for _, all := range m.frames {
		for i := range all {
			all[i].Log = math.Log(anywhere * all[i].Log / total)
		}
	}
	for i := range cat.Len() {
		f := cat.At(i)
		m.add(formatModel{format: f, log: math.Log(anywhere * f.Weight / total), fields: modelFields(f), forms: options(f),
			fixed: patternOf(f.Layout), serialApart: serialApart(f)})
	}
	m.splits()
	for i := range site {
		if err := m.expect(&site[i], judgement.SitePrior/float64(len(site))); err != nil {
			return nil, err
		}
	}
	return m, nil
}

// splits works out the share of each format where each way to divide a number counts alike: those with the same fields
// in other frames share one.
func (m *Model) splits() {
	keys, count := make([]string, len(m.formats)), map[string]float64{}
	for i := range m.formats {
		for _, field := range m.formats[i].format.Layout.Spec().Fields {
			keys[i] += fmt.Sprint(field.Name, field.Bits.Len(), field.Coding, ",")
		}
		count[keys[i]]++
	}
	for i := range m.formats {
		m.formats[i].split = -math.Log(count[keys[i]] * float64(len(count)))
	}
}

func (m *Model) add(f formatModel) {
	for kind := range f.shares {
		kind := formats.SightingKind(kind)
		f.shares[kind], f.relations[kind] = f.shareOf(kind), f.related(kind)
	}
	key := printKey(f.format)
	if _, there := m.alike[key]; !there {
		m.alike[key] = len(m.alike)
	}
	f.alike = m.alike[key]
	n := f.format.Layout.Len()
	m.byLen[n] = append(m.byLen[n], len(m.formats))
	m.formats = append(m.formats, f)
}

// printKey is the same of formats whose cards are printed alike, in any form but those of whole reads: of those with
// the same fields, wherever these are.
func printKey(f *formats.Format) string {
	var buf [128]byte
	key, fields := buf[:0], f.Layout.Spec().Fields
	for i := range fields {
		o := &fields[i]
		key = append(append(key, o.Name...), byte(o.Bits.Len()), byte(o.Coding), byte(o.Order))
		key = append(append(key, o.Constant...), ' ')
	}
	for _, i := range f.Joined {
		key = append(key, byte(i))
	}
	return string(key)
}

// expect adds the model of a population beside the one of its format at large: the format once more, with the values
// and the print that its cards have. So a card that is on the site's list is told at once, and one that is not is
// judged as it would be anywhere.
func (m *Model) expect(p *formats.Population, weight float64) error {
	found := m.Catalogue.Find(p.Format)
	if len(found) == 0 {
		return fmt.Errorf("site: no format %q in the catalogue", p.Format)
	}
	for _, f := range found {
		one := formatModel{
			format: f, log: math.Log(weight / float64(len(found))), fields: modelFields(f), forms: options(f),
			fixed: patternOf(f.Layout), ofSite: true, told: p.Printed != "", serialApart: serialApart(f),
		}
		one.use(p)
		one.printedAs(p.Printed)
		m.add(one)
	}
	return nil
}

// printedAs makes the form of that name the usual one; "" changes nothing.
func (m *formatModel) printedAs(name string) {
	if name == "" {
		return
	}
	serial, known := judgement.SerialForms[name], false
	for i := range m.forms {
		o := &m.forms[i]
		if o.part != nil && serial == nil {
			continue
		}
		o.log += math.Log(1 - judgement.AsSaid)
		if o.part == nil && o.form.Name == name || o.part != nil && o.part == serial {
			o.log = logp.Add(o.log, math.Log(judgement.AsSaid))
		}
		known = known || o.part == nil && o.form.Name == name
	}
	for _, o := range inForms {
		if o.form.Name == name && !known { // one that is hardly printed elsewhere
			if ok, _ := o.form.Fits(m.format); ok {
				o.log = math.Log(judgement.AsSaid)
				o.sizeFor(m.format)
				m.forms = append(m.forms, o)
			}
		}
	}
}

// use notes the values that a population is known to use.
func (m *formatModel) use(p *formats.Population) {
	for i := range m.fields {
		switch {
		case i == m.format.Facility() && p.Facilities != nil:
			for _, v := range p.Facilities {
				m.fields[i].usual = append(m.fields[i].usual, formats.Range{First: v, Last: v})
			}
		case i == m.format.Number():
			m.fields[i].usual = p.Numbers
		}
	}
}

// OfLength returns the layouts of the formats whose reads have n bits.
func (m *Model) OfLength(n int) []*wiegand.Layout {
	var all []*wiegand.Layout
	for _, i := range m.byLen[n] {
		all = append(all, m.formats[i].format.Layout)
	}
	return all
}

// Frames returns the frames of the catalogue of n bits.
func (m *Model) Frames(n int) []undocumented.Frame { return m.frames[n] }
