package site

import (
	"cmp"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
)

// Shown is one card as a person has it and as a door shows it, such as 057,02119 and 0003737671.
type Shown struct{ Card, Door string }

// DoorForm is a form that a door can want: it fits every example.
type DoorForm struct {
	Form        string
	Format      string  // the first format of the site by which it fits
	Probability float64 // of the forms that fit; a form that writes the examples to the last digit counts more
}

// loose is how much less likely a form is for every example that it reads and would not write so: zeros left out, say. A judgement.
const loose = 0.1

// FormsShown returns every form in which a door can have shown all of the examples, the likeliest first; none where no form fits
// all. The card of an example is read in any form that its format has, as printed where the population says.
func (s Site) FormsShown(cat formats.Catalogue, examples ...Shown) []DoorForm {
	var all []DoorForm
	total := 0.0
	for _, fm := range formats.Forms() {
		best := DoorForm{Form: fm.Name}
		for _, p := range s.Cards {
			for _, f := range cat.Find(p.Format) {
				if w := fitsAll(f, p, fm, examples); w > best.Probability {
					best.Format, best.Probability = f.ID, w
				}
			}
		}
		if best.Probability > 0 {
			all = append(all, best)
			total += best.Probability
		}
	}
	for i := range all {
		all[i].Probability /= total
	}
	slices.SortStableFunc(all, func(a, b DoorForm) int { return cmp.Compare(b.Probability, a.Probability) })
	return all
}

// fitsAll returns how well a form fits all examples as cards of a population: 0 where it does not.
func fitsAll(f *formats.Format, p formats.Population, fm formats.Form, examples []Shown) float64 {
	weight := 1.0
	for _, x := range examples {
		best := 0.0
		for _, from := range formats.Forms() {
			if p.Printed != "" && from.Name != p.Printed {
				continue
			}
			card, err := from.Parse(f, strings.TrimSpace(x.Card))
			if err != nil {
				continue
			}
			if i := f.Facility(); i >= 0 && !card.Known.Has(i) && len(p.Facilities) == 1 {
				card, err = card.WithFacility(strconv.FormatUint(p.Facilities[0], 10))
			}
			text, err2 := fm.Text(&card)
			switch shown := strings.TrimSpace(x.Door); {
			case err != nil || err2 != nil:
			case text == shown:
				best = 1
			case strings.TrimLeft(text, "0") == strings.TrimLeft(shown, "0"):
				best = max(best, loose)
			}
		}
		weight *= best
	}
	if len(examples) == 0 {
		return 0
	}
	return weight
}
