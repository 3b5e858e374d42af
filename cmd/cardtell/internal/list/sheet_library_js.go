package list

import (
	"errors"
	"math"
	"time"
)

// In a page there is no spreadsheet library: it is three times as large as all the rest of the program.

// emptyBook returns an error: a page writes CSV, and copies of workbooks that were read.
func emptyBook(string) ([]byte, error) {
	return nil, errors.New("a new workbook can't be written in a browser; write CSV")
}

// dayTime returns the time that a spreadsheet means by a number of days: ECMA-376, part 1, 18.17.4.1. Before March 1900
// its calendar has a day that never was.
func dayTime(days float64, use1904 bool) (time.Time, error) {
	first := time.Date(1899, 12, 30, 0, 0, 0, 0, time.UTC)
	switch {
	case use1904:
		first = time.Date(1904, 1, 1, 0, 0, 0, 0, time.UTC)
	case days < 60:
		first = first.AddDate(0, 0, 1)
	}
	whole, part := math.Modf(days)
	return first.AddDate(0, 0, int(whole)).Add(time.Duration(part * 24 * float64(time.Hour))), nil
}

// cellCharacters is how many characters a cell can hold.
const cellCharacters = 32767
