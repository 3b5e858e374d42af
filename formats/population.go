package formats

import (
	"cmp"
	"fmt"
	"slices"
	"sort"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Population is a lot of cards that were bought alike. What it does not say is not known: an empty list of facilities
// or numbers says nothing about them.
type Population struct {
	Format     string // the id of a format in the catalogue
	Facilities []uint64
	Numbers    []Range // in rising order, none overlapping
	Printed    string  // the form that is printed on them, "" where not known
	Line       int     // of its format in the file; 0 for one that comes from no file
}

// Range is the numbers from First to Last, both included.
type Range struct{ First, Last uint64 }

// String returns the range as the site file writes it: 1-500, or one number.
func (r Range) String() string {
	if r.First == r.Last {
		return strconv.FormatUint(r.First, 10)
	}
	return fmt.Sprintf("%d-%d", r.First, r.Last)
}

// Has reports whether n is in the range.
func (r Range) Has(n uint64) bool { return r.First <= n && n <= r.Last }

// ParseRanges reads numbers as the site file writes them, such as "1-500, 1001-1100", and puts them in rising order.
// White space counts for nothing. The error is an [*Error]: ErrSyntax for a text of another shape or numbers of more
// than 64 bits, wiegand.ErrRange where a range runs backwards or overlaps another.
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
			return nil, bad("", fmt.Sprintf("%q is no block of numbers; write 1-500, or several as 1-500, 1001-1100",
				words.Cut(strings.TrimSpace(part))), ErrSyntax)
		case a > b:
			return nil, bad("", fmt.Sprintf("the block %s runs backwards; write %d-%d", strings.TrimSpace(part), b, a),
				wiegand.ErrRange)
		}
		all = append(all, Range{a, b})
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].First < all[j].First })
	for i := 1; i < len(all); i++ {
		if all[i-1].Last >= all[i].First {
			return nil, bad("", fmt.Sprintf("the blocks %s and %s overlap; make them separate", all[i-1], all[i]),
				wiegand.ErrRange)
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

// HasFacility reports whether the population can have this facility.
func (p Population) HasFacility(facility uint64) bool {
	return len(p.Facilities) == 0 || slices.Contains(p.Facilities, facility)
}

// HasNumber reports whether the population can have this card number.
func (p Population) HasNumber(number uint64) bool {
	if len(p.Numbers) == 0 {
		return true
	}
	i, exact := slices.BinarySearchFunc(p.Numbers, number, func(r Range, n uint64) int { return cmp.Compare(r.First, n) })
	return exact || i > 0 && p.Numbers[i-1].Has(number)
}

// Belongs reports whether a card is of this population, as far as both are known.
func (p Population) Belongs(c *Card) bool {
	if c.Format == nil || c.Format.ID != p.Format {
		return false
	}
	facility, hasFacility := c.Facility()
	number, hasNumber := c.Number()
	return (!hasFacility || p.HasFacility(facility)) && (!hasNumber || p.HasNumber(number))
}

// Meets reports whether one card can be of both populations.
func (p Population) Meets(q Population) bool {
	switch {
	case p.Format != q.Format, len(p.Facilities) > 0 && !slices.ContainsFunc(p.Facilities, q.HasFacility):
		return false
	case len(p.Numbers) == 0 || len(q.Numbers) == 0:
		return true
	}
	for i, j := 0, 0; i < len(p.Numbers) && j < len(q.Numbers); {
		a, b := p.Numbers[i], q.Numbers[j]
		if a.First <= b.Last && b.First <= a.Last {
			return true
		}
		if a.Last < b.Last {
			i++
		} else {
			j++
		}
	}
	return false
}
