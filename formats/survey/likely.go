package survey

import (
	"errors"
	"fmt"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/evidence"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/reading"
)

// Likely is a format that numbers can have. Formats with the same fields are one: their numbers come out alike.
type Likely struct {
	Format      string   // id of the likeliest of them
	Alike       []string // ids of others of them that are not rare
	Form        string   // in which it has the numbers, likeliest; "" where Part
	Part        bool     // they are the end of its numbers alone, so that no list of them can be read
	Probability float64
}

// notRare is from which probability on a format is worth naming beside one whose numbers come out alike. A judgement.
const notRare = 0.05

// Formats returns the formats that numbers of one kind can have in any of the forms, likeliest first, against all
// formats that nobody documented. What keypads send is no card. None is the answer where no format fits.
func Formats(cat formats.Catalogue, r *rank.Ranker, texts, forms []string) ([]Likely, error) {
	ways := spellings(cat, texts, forms)
	if len(ways) == 0 { // such as chip serials, of which a list does not show what readers send
		return nil, nil
	}
	answer, err := r.RankSpellings(withoutMisread(ways))
	if err != nil {
		return nil, err
	}
	var all []Likely
	place := map[string]int{}     // in all, by the fields
	documented, total := 0.0, 0.0 // what is in any form, and in one of these
	for i := range answer.Candidates {
		c := &answer.Candidates[i]
		as, asked := weighedAs(&answer, answer.Way(i))
		if !asked && len(forms) == 1 {
			continue // which is known of them
		}
		documented += c.Probability
		if !asked {
			total += c.Probability
			continue
		}
		readable := c.Cards[0].Known != c.Format.Blank().Known && slices.ContainsFunc(texts, func(text string) bool {
			return fits(c.Format, text, forms)
		})
		if c.Format.Kind == formats.KindKeypad || !readable && !drops(c.Format, texts[0], forms) {
			continue
		}
		total += c.Probability
		if len(forms) == 1 {
			as = forms[0]
		}
		key := fmt.Sprint(parts(c.Format, as), readable)
		at, there := place[key]
		if !there {
			at = len(all)
			place[key] = at
			l := Likely{Format: c.Format.ID, Part: !readable}
			if readable {
				l.Form = formOf(cat, &answer, i, texts, forms)
			}
			all = append(all, l)
		} else if l := &all[at]; c.Probability >= notRare && l.Format != c.Format.ID && !slices.Contains(l.Alike,
			c.Format.ID) {
			l.Alike = append(l.Alike, c.Format.ID)
		}
		all[at].Probability += c.Probability
	}
	if documented > 0 { // a layout that nobody documented has these forms as often
		total /= documented
	}
	if len(forms) == 1 {
		total *= asAsked(&answer)
	}
	for i := range all {
		all[i].Probability /= total
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].Probability > all[j].Probability })
	return all, nil
}

// weighedAs returns the form in which a way has whole reads, or asPrinted; ok is false where it is none of those that
// were asked about: the numbers have more on them, which no form reads.
func weighedAs(answer *rank.TextAnswer, way int) (form string, ok bool) {
	form, _, _ = strings.Cut(answer.Taken[way].As[0], ":")
	_, ok = formats.FormByName(form)
	return form, ok || form == asPrinted
}

// asAsked returns how probable it is that texts are in one of the forms that were asked about.
func asAsked(answer *rank.TextAnswer) (share float64) {
	for way := range answer.Taken {
		if _, asked := weighedAs(answer, way); asked {
			share += answer.Taken[way].Probability
		}
	}
	return share
}

// formOf returns the form in which a candidate has the numbers: as it was weighed, or the usual one.
func formOf(cat formats.Catalogue, answer *rank.TextAnswer, candidate int, texts, forms []string) string {
	c := &answer.Candidates[candidate]
	if as, _ := weighedAs(answer, answer.Way(candidate)); as != asPrinted {
		return as
	}
	for _, how := range c.Printed {
		if slices.Contains(forms, how) && fits(c.Format, texts[0], []string{how}) {
			return how
		}
	}
	if len(forms) == 1 {
		return forms[0]
	}
	return reading.ShownForm(cat, &formats.Population{Format: c.Format.ID}, texts)
}

// fits reports whether a text can be a card of a format in any of the forms.
func fits(f *formats.Format, text string, forms []string) bool {
	return slices.ContainsFunc(forms, func(name string) bool { return parse(f, text, name) == nil })
}

// drops reports whether a text can be what a form leaves of a card of a format.
func drops(f *formats.Format, text string, forms []string) bool {
	return slices.ContainsFunc(forms, func(name string) bool {
		return errors.Is(parse(f, text, name), formats.ErrMissing)
	})
}

// parse returns why a text is no card of a format in the form of that name, nil where it is one.
func parse(f *formats.Format, text, form string) error {
	fm, _ := formats.FormByName(form) // the zero form reads nothing
	_, err := fm.Parse(f, text)
	return err
}

// parts tells formats apart whose numbers come out differently: by their fields, or by themselves where whole reads are
// written.
func parts(f *formats.Format, form string) string {
	if fm, ok := formats.FormByName(form); ok && fm.OfRead() {
		return f.ID
	}
	return evidence.FieldsOf(f)
}
