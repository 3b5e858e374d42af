package learn

import (
	"fmt"
	"strings"
)

// Rule turns one way of writing a card's number into another: read the text as a number, do some steps, write it out. It is
// immutable; share it freely. The zero Rule does nothing but fail.
type Rule struct {
	From, To Text
	steps    []Step
}

// Steps returns what the rule does between reading and writing. The slice is the rule's own: do not change it.
func (r *Rule) Steps() []Step { return r.steps }

// Append appends what the rule makes of s. It allocates nothing but room for that. A prefix such as hex: before s, and zeros
// before a number, make no difference. The error is ErrInput where s is not written as the rule expects, ErrFit where a step
// can't take the number; dst is returned as it was then.
func (r *Rule) Append(dst []byte, s string) ([]byte, error) {
	v, ok := r.From.parse(s)
	if !ok {
		return dst, fail("", s, "is not "+r.From.words(), ErrInput)
	}
	for i := range r.steps {
		if v, ok = r.steps[i].apply(v); !ok {
			return dst, fail("", s, "can't go through the step: "+r.steps[i].String(), ErrFit)
		}
	}
	out, ok := r.To.append(dst, v)
	if !ok {
		return dst, fail("", s, fmt.Sprintf("becomes %d, which can't be written as %s", v, r.To.words()), ErrFit)
	}
	return out, nil
}

// Apply returns what [Rule.Append] appends.
func (r *Rule) Apply(s string) (string, error) {
	var buf [96]byte
	b, err := r.Append(buf[:0], s)
	return string(b), err
}

// Reverse returns the rule that undoes this one. The error is ErrRule and says what is lost where there is none, such as
// bits that a step drops.
func (r *Rule) Reverse() (Rule, error) {
	back := Rule{From: r.To, To: r.From}
	for i := len(r.steps) - 1; i >= 0; i-- {
		s, why := r.steps[i].inverse()
		if why != "" {
			return Rule{}, fail("", "", fmt.Sprintf("the rule can't be reversed: in step %d %s", i+1, why), ErrRule)
		}
		back.steps = append(back.steps, s)
	}
	return back, nil
}

// String says in one line what the rule does.
func (r *Rule) String() string {
	parts := []string{"read as " + r.From.words()}
	for _, s := range r.steps {
		parts = append(parts, s.String())
	}
	return strings.Join(append(parts, "write as "+r.To.words()), "; ")
}
