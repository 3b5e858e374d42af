package list

import (
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/charmap"
)

// encodingNamed returns the encoding of a name in lower case, nil where there is none. The tables of all others would
// double the size of a page.
func encodingNamed(name string) encoding.Encoding {
	if name == "windows-1252" {
		return charmap.Windows1252
	}
	return nil
}
