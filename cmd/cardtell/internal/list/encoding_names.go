//go:build !js

package list

import (
	"golang.org/x/text/encoding"
	"golang.org/x/text/encoding/htmlindex"
	"golang.org/x/text/encoding/ianaindex"
)

// encodingNamed returns the encoding of a name in lower case, nil where there is none.
func encodingNamed(name string) encoding.Encoding {
	enc, err := htmlindex.Get(name)
	if err != nil || enc == nil {
		enc, err = ianaindex.IANA.Encoding(name)
	}
	if err != nil || enc == encoding.Replacement {
		return nil
	}
	return enc
}
