package site

import (
	"errors"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
)

// Shown is one card as a person has it and as a door shows it, such as 057,02119 and 0003737671.
type Shown struct{ Card, Door string }

// DoorForm is a form that a door can want: it fits every example.
type DoorForm struct {
	Form string `json:"form"`
	// other forms that fit, in which every card of the site is written the same
	Alike  []string `json:"alike,omitempty"`
	Format string   `json:"format"` // the first format of the site by which it fits
	// of the forms that fit; a form that writes the examples to the last digit counts more
	Probability float64 `json:"probability"`
}

// How much less likely a form is for every example in which zeros at the beginning were left out, as people do, or are
// there that it would not write. Judgements.
const (
	zerosLeftOut = 0.1
	zerosAdded   = 0.01
)

// FormsShown returns every form in which a door can have shown all of the examples, the likeliest first; none where no
// form fits all. The card of an example is read in any form that its format has, as printed where the population says.
func (s Site) FormsShown(cat formats.Catalogue, examples ...Shown) []DoorForm {
	var all []DoorForm
	total := 0.0
	for _, fm := range formats.Forms() {
		best := s.fitsAll(cat, fm, examples)
		if best.Probability == 0 {
			continue
		}
		total += best.Probability
		i := slices.IndexFunc(all, func(d DoorForm) bool {
			_, apart := s.Apart(cat, d.Form, fm.Name)
			return !apart
		})
		if i < 0 {
			all = append(all, best)
		} else {
			all[i].Alike = append(all[i].Alike, fm.Name)
			all[i].Probability += best.Probability
		}
	}
	for i := range all {
		all[i].Probability /= total
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Probability > all[j].Probability })
	return all
}

// Apart reports whether two forms write some card of the site differently, and returns one: what a door shows for it
// tells them apart. It has no format where no card can be written in either.
func (s Site) Apart(cat formats.Catalogue, a, b string) (card formats.Card, apart bool) {
	one, _ := formats.FormByName(a)
	two, _ := formats.FormByName(b)
	apart = true
	for _, p := range s.Cards {
		for _, f := range cat.Find(p.Format) {
			for _, c := range trials(f, p) {
				first, err := one.Text(&c)
				second, err2 := two.Text(&c)
				switch {
				case err != nil && err2 != nil:
				case first != second:
					return c, true
				default:
					apart = false
				}
			}
		}
	}
	return card, apart
}

// trials returns cards of a population: the first and the last of every block, or small and large ones where it has no
// blocks.
func trials(f *formats.Format, p formats.Population) (cards []formats.Card) {
	numbers := []uint64{1, 43, 4660, 70_000, 19_088_743, 4_000_000_000}
	if len(p.Numbers) > 0 {
		numbers = nil
	}
	for _, r := range p.Numbers {
		numbers = append(numbers, r.First, r.Last)
	}
	facility := uint64(1)
	if len(p.Facilities) > 0 {
		facility = p.Facilities[0]
	}
	for _, n := range numbers {
		c, err := f.Blank(), error(nil)
		if f.Facility() >= 0 {
			c, err = c.WithFacility(strconv.FormatUint(facility, 10))
		}
		if err == nil && f.Number() >= 0 {
			c, err = c.With(f.Number(), strconv.FormatUint(n, 10))
		}
		if err == nil {
			cards = append(cards, c)
		}
	}
	return cards
}

// fitsAll returns how well a form fits all examples, each as a card of the population that it fits best: 0 where it
// does not. The format is that of the first.
func (s Site) fitsAll(cat formats.Catalogue, fm formats.Form, examples []Shown) DoorForm {
	all := DoorForm{Form: fm.Name}
	for i, x := range examples {
		best, format := 0.0, ""
		for _, p := range s.Cards {
			for _, f := range cat.Find(p.Format) {
				for _, printed := range formats.Forms() {
					if p.Printed != "" && printed.Name != p.Printed {
						continue
					}
					if w := fit(f, p, printed, fm, x); w > best {
						best, format = w, f.ID
					}
				}
			}
		}
		if i == 0 {
			all.Format, all.Probability = format, 1
		}
		all.Probability *= best
	}
	return all
}

// fit returns how well an example fits that is printed in one form and shown in another. Where what is printed leaves
// something out, the door says it.
func fit(f *formats.Format, p formats.Population, printed, fm formats.Form, x Shown) float64 {
	text, shown := strings.TrimSpace(x.Card), strings.TrimSpace(x.Door)
	card, err := printed.Parse(f, text)
	if i := f.Facility(); err == nil && i >= 0 && !card.Known.Has(i) && len(p.Facilities) == 1 {
		card, err = card.WithFacility(strconv.FormatUint(p.Facilities[0], 10))
	}
	if errors.Is(err, formats.ErrMissing) {
		values := evidence.NewValues(f, &p)
		if only, ok := values.Completed(printed, text); ok {
			card, err = only, nil
		} else if printed.Name == fm.Name && len(p.Numbers) == 0 {
			return alike(text, shown) // the same is left out
		}
	}
	if err == nil && !card.Whole() || errors.Is(err, formats.ErrMissing) {
		if said, err := fm.Parse(f, shown); err == nil && said.Whole() && p.Belongs(&said) {
			if again, err := printed.Text(&said); err == nil && alike(again, text) > 0 {
				card = said
			}
		}
	}
	written, err2 := fm.Text(&card)
	if err != nil && !errors.Is(err, formats.ErrMissing) || err2 != nil {
		return 0
	}
	return alike(written, shown)
}

// alike returns how well a text fits what a form writes, 0 where it is another number.
func alike(written, text string) float64 {
	switch {
	case written == text:
		return 1
	case strings.TrimLeft(written, "0") != strings.TrimLeft(text, "0"):
		return 0
	case len(text) < len(written):
		return zerosLeftOut
	}
	return zerosAdded
}
