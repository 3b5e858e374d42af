// Package site reads and writes the site file: what cards are in use at a site, and what its doors want to be told.
//
// # Where to start
//
// [Parse] reads one strictly: a mistake is an error with file, line and key. [Site.Append] writes one that Parse reads
// back. [Site.FormsShown] finds the form that a door wants from what it shows for a card; package survey finds the
// cards.
package site

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/formats/near"
)

// Site is what one site has. The zero Site has nothing and settles nothing.
type Site struct {
	Name  string
	Cards []formats.Population
	Doors []Door
}

// Door is a door and its controller.
type Door struct {
	Name     string
	Enter    string // the form in which its controller takes a card, "" where not known
	Capacity int    // how many cardholders it holds, 0 where not known
	Line     int    // of its name in the file; 0 for one that comes from no file
}

// Formats returns the ids of the formats in use, each once, in the file's order.
func (s Site) Formats() []string {
	var all []string
	for _, p := range s.Cards {
		if !slices.Contains(all, p.Format) {
			all = append(all, p.Format)
		}
	}
	return all
}

// Facilities returns the facilities of the cards of a format, each once and rising. all is false where some population
// of it does not say.
func (s Site) Facilities(format string) (facilities []uint64, all bool) {
	all = true
	for _, p := range s.Cards {
		if p.Format == format {
			facilities = append(facilities, p.Facilities...)
			all = all && len(p.Facilities) > 0
		}
	}
	slices.Sort(facilities)
	return slices.Compact(facilities), all
}

// DoorForms returns the forms in which a list of the site can have a number that is not written as printed: as some
// door wants it, each once.
func (s Site) DoorForms() (forms []string) {
	for _, d := range s.Doors {
		if d.Enter != "" && !slices.Contains(forms, d.Enter) {
			forms = append(forms, d.Enter)
		}
	}
	return forms
}

// EveryDoor stands for all doors of a site, so that no door can be called so.
const EveryDoor = "all"

// Door returns the door of that name, upper and lower case alike. The error names the doors there are, nearest first.
func (s Site) Door(name string) (Door, error) {
	var names []string
	for _, d := range s.Doors {
		if strings.EqualFold(d.Name, name) {
			return d, nil
		}
		names = append(names, strconv.Quote(d.Name))
	}
	if names == nil {
		return Door{}, fmt.Errorf("door %q: the site file has no doors; add one as [[doors]]", words.Cut(name))
	}
	return Door{}, fmt.Errorf("door %q: no such door; there are %s", words.Cut(name), near.List(strconv.Quote(name), names,
		8))
}
