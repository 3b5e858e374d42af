package main

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/formats/site"
)

// showsResult is what site --shows reports.
type showsResult struct {
	Door  string      `json:"door"`
	Forms []shownForm `json:"forms"`
	TOML  string      `json:"toml,omitempty"` // for the site file, where one form is much likelier than the others
}

type shownForm struct {
	Form        string  `json:"form"`
	Format      string  `json:"format"`
	Probability float64 `json:"probability"`
}

// doorShows finds the form that a door wants from what it shows for some cards.
func (a *app) doorShows(f *siteFlags) error {
	if f.door == "" || len(f.shows) == 0 {
		return fmt.Errorf("site: --door and --shows belong together; give both, such as --door Gate --shows 121,00014=0007929870")
	}
	cat, err := a.catalogue()
	if err != nil {
		return err
	}
	s, err := a.siteFile(cat)
	if err != nil {
		return err
	}
	if len(s.Cards) == 0 {
		return fmt.Errorf("site: --shows: what cards there are is in the site file; give --site FILE")
	}
	var examples []site.Shown
	for _, text := range f.shows {
		card, shown, ok := strings.Cut(text, "=")
		if !ok || card == "" || shown == "" {
			return fmt.Errorf("--shows %q: is not a card and what the door shows; write 121,00014=0007929870", clip(text, 40))
		}
		examples = append(examples, site.Shown{Card: card, Door: shown})
	}
	r := showsResult{Door: f.door, Forms: []shownForm{}}
	for _, fit := range s.FormsShown(cat, examples...) {
		r.Forms = append(r.Forms, shownForm(fit))
	}
	if len(r.Forms) > 0 && r.Forms[0].Probability > 0.9 {
		r.TOML = fmt.Sprintf("[[doors]]\nname     = %q\nenter    = %q\n", f.door, r.Forms[0].Form)
	}
	if a.json {
		if err := a.printJSON(r); err != nil {
			return err
		}
	} else {
		a.printShows(&r)
	}
	if r.TOML == "" {
		return errNo
	}
	return nil
}

func (a *app) printShows(r *showsResult) {
	for _, f := range r.Forms {
		fmt.Fprintf(a.out, "  %-10s %6s  cards of format %s\n", f.Form, percent(f.Probability), f.Format)
	}
	switch {
	case len(r.Forms) == 0:
		printWrapped(a.out, "", "no form of the site's cards shows that; is it the same card, and the whole number? relate looks for other rules")
	case r.TOML == "":
		printWrapped(a.out, "", "several forms fit; give what the door shows for another card, best one with another facility or a small number")
	default:
		fmt.Fprintf(a.out, "\nput this into the site file:\n\n%s", r.TOML)
	}
}
