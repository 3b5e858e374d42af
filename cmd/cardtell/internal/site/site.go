// Package site reads and writes the site file: what cards are in use at a site, and what its doors want to be told.
//
// [Parse] reads one strictly: a mistake is an error with file, line and key. [Site.Append] writes one that Parse reads back.
package site

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/near"
)

// Site is what one site has. The zero Site has nothing and settles nothing.
type Site struct {
	Name  string
	Cards []Population
	Doors []Door
}

// Population is a lot of cards that were bought alike. What it does not say is not known: an empty list of facilities or
// numbers says nothing about them.
type Population struct {
	Format     string // the id of a format in the catalogue
	Facilities []uint64
	Numbers    []Range // in rising order, none overlapping
	Printed    string  // the form that is printed on them, "" where not known
	Line       int     // of its format in the file; 0 for one that comes from no file
}

// Range is the numbers from First to Last, both included.
type Range struct{ First, Last uint64 }

// Door is a door and its controller.
type Door struct {
	Name     string
	Enter    string // the form in which its controller takes a card, "" where not known
	Capacity int    // how many cardholders it holds, 0 where not known
	Line     int    // of its name in the file; 0 for one that comes from no file
}

// String returns the range as the site file writes it: 1-500, or one number.
func (r Range) String() string {
	if r.First == r.Last {
		return strconv.FormatUint(r.First, 10)
	}
	return fmt.Sprintf("%d-%d", r.First, r.Last)
}

// Has reports whether n is in the range.
func (r Range) Has(n uint64) bool { return r.First <= n && n <= r.Last }

// ParseRanges reads numbers as the site file writes them, such as "1-500, 1001-1100", and puts them in rising order. White
// space counts for nothing. A range that runs backwards or overlaps another is an error.
func ParseRanges(text string) ([]Range, error) {
	var all []Range
	for part := range strings.SplitSeq(text, ",") {
		first, last, isRange := strings.Cut(part, "-")
		if !isRange {
			last = first
		}
		a, errA := strconv.ParseUint(strings.TrimSpace(first), 10, 64)
		b, errB := strconv.ParseUint(strings.TrimSpace(last), 10, 64)
		switch {
		case errA != nil || errB != nil:
			return nil, fmt.Errorf("%q is no block of numbers; write 1-500, or several as 1-500, 1001-1100", cutShort(strings.TrimSpace(part)))
		case a > b:
			return nil, fmt.Errorf("the block %s runs backwards; write %d-%d", strings.TrimSpace(part), b, a)
		}
		all = append(all, Range{a, b})
	}
	slices.SortFunc(all, func(a, b Range) int {
		if a.First < b.First {
			return -1
		}
		return 1
	})
	for i := 1; i < len(all); i++ {
		if all[i-1].Last >= all[i].First {
			return nil, fmt.Errorf("the blocks %s and %s overlap; make them separate", all[i-1], all[i])
		}
	}
	return all, nil
}

// FormatRanges returns what [ParseRanges] reads.
func FormatRanges(all []Range) string {
	var parts []string
	for _, r := range all {
		parts = append(parts, r.String())
	}
	return strings.Join(parts, ", ")
}

// Has reports whether a card with this facility and number can be of the population. hasFacility is false where the card has
// none, or it is not known.
func (p Population) Has(facility uint64, hasFacility bool, number uint64) bool {
	return (!hasFacility || p.HasFacility(facility)) && p.HasNumber(number)
}

// HasFacility reports whether the population can have this facility.
func (p Population) HasFacility(facility uint64) bool {
	return len(p.Facilities) == 0 || slices.Contains(p.Facilities, facility)
}

// HasNumber reports whether the population can have this card number.
func (p Population) HasNumber(number uint64) bool {
	if len(p.Numbers) == 0 {
		return true
	}
	i, exact := slices.BinarySearchFunc(p.Numbers, number, func(r Range, n uint64) int {
		if r.First < n {
			return -1
		}
		if r.First > n {
			return 1
		}
		return 0
	})
	return exact || i > 0 && p.Numbers[i-1].Has(number)
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

// Facilities returns the facilities of the cards of a format, each once and rising. all is false where some population of it
// does not say.
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
		return Door{}, fmt.Errorf("door %q: the site file has no doors; add one as [[doors]]", cutShort(name))
	}
	return Door{}, fmt.Errorf("door %q: no such door; there are %s", cutShort(name), near.List(strconv.Quote(name), names, 8))
}

// maxQuoted is how much of an input an error repeats, in bytes.
const maxQuoted = 48

func cutShort(s string) string {
	if len(s) <= maxQuoted {
		return s
	}
	return strings.ToValidUTF8(s[:maxQuoted], "") + "…"
}
