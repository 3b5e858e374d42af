//go:build !js

package roster

import "golang.org/x/text/unicode/norm"

// decomposed returns a text with its accents as signs of their own (Unicode Standard Annex 15, form NFD).
func decomposed(text string) string { return norm.NFD.String(text) }
