//go:build !js

package list

import (
	"time"

	"github.com/xuri/excelize/v2"
)

// emptyBook returns a workbook with one empty sheet, called name where that is not "".
func emptyBook(name string) ([]byte, error) {
	book := excelize.NewFile()
	defer book.Close() //nolint:errcheck // it has no files
	if name != "" {
		if err := book.SetSheetName(book.GetSheetName(0), name); err != nil {
			return nil, err
		}
	}
	text, err := book.WriteToBuffer()
	if err != nil {
		return nil, err
	}
	return text.Bytes(), nil
}

// dayTime returns the time that a spreadsheet means by a number of days.
func dayTime(days float64, use1904 bool) (time.Time, error) {
	return excelize.ExcelDateToTime(days, use1904)
}

// cellCharacters is how many characters a cell can hold.
const cellCharacters = excelize.TotalCellChars
