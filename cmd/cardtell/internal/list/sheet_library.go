//go:build !js

package list

import "github.com/xuri/excelize/v2"

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
