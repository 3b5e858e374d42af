package picture

import (
	"errors"
	"io"
)

// WriteHTML returns an error: a page has the drawings in it, and the library that writes pages is left out of it.
func (s Sheet) WriteHTML(io.Writer) error {
	return errors.New("a sheet in HTML can't be written in a browser; print the page, or write SVG")
}
