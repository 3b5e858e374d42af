package list

import "errors"

// emptyBook returns an error: a page writes CSV, and copies of workbooks that were read. The spreadsheet library is
// three times as large as all the rest of the program.
func emptyBook(string) ([]byte, error) {
	return nil, errors.New("a new workbook can't be written in a browser; write CSV")
}
