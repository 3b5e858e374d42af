package reading

import "strings"

// fillUp settles to how many digits the list fills up numbers with zeros, where their forms do otherwise: it fills up
// all of them, or some. A zero that hardly any number has before it is a digit typed wrong, or what is left of more.
func (p *Plan) fillUp(sample []string) {
	written := make([]bool, len(sample))
	for i, text := range sample {
		written[i] = p.isWritten(text)
	}
	whole := func(text string) string { return text }
	first := func(text string) string { return text[:max(0, strings.IndexAny(text, signs))] }
	for i := range p.readings {
		switch r := &p.readings[i]; {
		case r.shape.bare():
			r.shape.Width = r.filledTo(sample, written, whole)
		case r.shape.Second > 0:
			r.shape.Filled = [2]int{r.filledTo(sample, written, first), r.filledTo(sample, written, secondOf)}
		}
	}
}

// isWritten reports whether a text is a card just as a form of the plan writes it.
func (p *Plan) isWritten(text string) bool {
	for i := range p.readings {
		one := candidate{}
		r := &p.readings[i]
		if !r.second && !r.guessed && r.try([]byte(text), p, &one.seen) == nil && one.fit(len(stripped([]byte(text)))) {
			return true
		}
	}
	return false
}

// filledTo returns the number of digits to which a sample fills up one of its numbers; 0 where it does not, or as the
// form does. written says which texts are as some form writes them: their zeros are that form's.
func (r *Reading) filledTo(sample []string, written []bool, number func(string) string) (width int) {
	var filled, plain [maxDigits + 2]int
	letters := map[int]bool{} // there are texts of this length that are hex
	var s Seen
	own := 0
	for i, text := range sample {
		switch n := number(text); {
		case len(n) >= len(filled):
		case !digitsOnly(n):
			letters[len(n)] = letters[len(n)] || isHex(n)
		case r.try([]byte(text), &Plan{asIs: true}, &s) != nil:
		case n[0] != '0' || len(n) == 1:
			plain[len(n)]++
		case written[i]:
			own++
		default:
			filled[len(n)]++
		}
	}
	all, shorter, longer := 0, 0, 0
	for n, with := range filled {
		if all += with; with > filled[width] {
			width = n
		}
	}
	for n, without := range plain {
		if n < width {
			shorter += without
		} else if n > width {
			longer += without
		}
	}
	with := filled[width]
	if letters[width] || own*hardlyAny > with || 2*with <= all || with < shorter || with < longer {
		return 0
	}
	return width
}
