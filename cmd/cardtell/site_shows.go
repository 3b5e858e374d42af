package main

import (
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/site"
)

// showsResult is what site --shows reports.
type showsResult struct {
	Door   string          `json:"door"`
	Forms  []site.DoorForm `json:"forms"`
	TOML   string          `json:"toml,omitempty"` // for the site file, where one form is much likelier than the others
	Settle string          `json:"settle,omitempty"`
	Why    string          `json:"reason,omitempty"` // why no form fits
}

// sureOfDoor is from which probability on the form of a door is proposed.
const sureOfDoor = 0.9

// doorShows finds the form that a door wants from what it shows for some cards.
func (a *app) doorShows(f *siteFlags) error {
	if f.door == "" || len(f.shows) == 0 {
		return fmt.Errorf("site: --door and --shows belong together; give both, such as --door Gate --shows 121,00014=0007929870")
	}
	cat, s, err := a.known()
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
			return fmt.Errorf("--shows %q: is not a card and what the door shows; write 121,00014=0007929870", say.Clip(text, 40))
		}
		examples = append(examples, site.Shown{Card: card, Door: shown})
	}
	r := showsResult{Door: f.door, Forms: append([]site.DoorForm{}, s.FormsShown(cat, examples...)...)}
	switch {
	case len(r.Forms) == 0:
		r.Why = noFormWords(cat, s, examples)
	case r.Forms[0].Probability > sureOfDoor:
		r.TOML = string(site.Site{Doors: []site.Door{{Name: f.door, Enter: r.Forms[0].Form}}}.Append(nil))
	default:
		r.Settle = settleDoor(cat, s, r.Forms[0].Form, r.Forms[1].Form)
	}
	return a.report(r, func() { a.printShows(&r, s) }, r.TOML == "")
}

// noFormWords says why a door shows none of the examples in any form: it is no card of the site, or it is another one.
func noFormWords(cat formats.Catalogue, s site.Site, examples []site.Shown) string {
	if plan, err := reading.New(cat, s, reading.Options{Any: true}); err == nil {
		for _, x := range examples {
			var seen reading.Seen
			if err := plan.Read([]byte(x.Card), &seen); err != nil {
				return fmt.Sprintf("%s can't be read as a card of the site file: %v", say.Clip(x.Card, 40), err)
			}
		}
	}
	return "the card is never written so; is it the same card, and the whole number? \"cardtell relate CARD=SHOWN\" looks for other rules"
}

// settleDoor names a card for which a door shows different numbers, by which of two forms it has.
func settleDoor(cat formats.Catalogue, s site.Site, first, second string) string {
	card, _ := s.Apart(cat, first, second)
	if card.Format == nil {
		return "several ways of writing it fit; give what the door shows for another card too: --shows may repeat"
	}
	words := ""
	for _, name := range []string{first, second} {
		fm, _ := formats.FormByName(name)
		text, err := fm.Text(&card)
		if err != nil {
			text = "it can't be shown"
		}
		words += fmt.Sprintf("; %s: %s", name, text)
	}
	return fmt.Sprintf("several ways of writing it fit; give what the door shows for a card such as %s of format %s (%s): --shows may repeat",
		reading.Describe(&card), card.Format.ID, words[2:])
}

func (a *app) printShows(r *showsResult, s site.Site) {
	for _, f := range r.Forms {
		alike := ""
		if f.Alike != nil {
			alike = ", or " + strings.Join(f.Alike, ", ") + ": the same for every card of the site"
		}
		say.Print(a.out, fmt.Sprintf("  %6s  ", say.Percent(f.Probability)), f.Form+alike)
	}
	if r.TOML == "" {
		say.Print(a.out, "", r.Why+r.Settle)
		return
	}
	door, err := s.Door(r.Door)
	switch {
	case err != nil:
		fmt.Fprintf(a.out, "\nput this into the site file:\n%s", r.TOML)
	case door.Enter == r.Forms[0].Form:
		fmt.Fprintf(a.out, "\nthe site file has that already, in line %d\n", door.Line)
	default:
		fmt.Fprintln(a.out)
		say.Print(a.out, "", fmt.Sprintf("in the site file, in the [[doors]] of line %d, write enter = %q instead of %q",
			door.Line, r.Forms[0].Form, door.Enter))
	}
}
