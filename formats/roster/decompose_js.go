package roster

import "syscall/js"

// decomposed returns a text with its accents as signs of their own (Unicode Standard Annex 15, form NFD). Where there
// is JavaScript it can do that (ECMA-262, String.prototype.normalize), and a table of Unicode need not be sent with
// the page, of which it would be two parts in a hundred.
func decomposed(text string) string {
	return js.Global().Get("String").New(text).Call("normalize", "NFD").String()
}
