package relate

import (
	"fmt"
	"slices"
	"strings"
)

// Rule turns one way of writing a card's number into another: read the text as a number, do some steps, write it out.
// [Find] and [ParseRule] make rules. It is immutable; share it freely. The zero Rule does nothing but fail, and so does
// a nil one.
type Rule struct {
	from, to Text
	steps    []Step
}

// From returns how the rule reads a number.
func (r *Rule) From() Text { return r.orNone().from }

// To returns how the rule writes a number.
func (r *Rule) To() Text { return r.orNone().to }

// Steps returns what the rule does between reading and writing.
func (r *Rule) Steps() []Step { return slices.Clone(r.orNone().steps) }

func (r *Rule) orNone() *Rule {
	if r == nil {
		return &Rule{}
	}
	return r
}

// Append appends what the rule makes of s. It allocates nothing but room for that. A prefix such as hex: before s, and
// zeros before a number, make no difference. The error is ErrInput where s is not written as the rule expects, ErrFit
// where a step can't take the number; dst is returned as it was then.
func (r *Rule) Append(dst []byte, s string) ([]byte, error) {
	r = r.orNone()
	v, ok := r.from.parse(s)
	if !ok {
		return dst, fail("number", s, "is not "+r.from.words(), ErrInput)
	}
	for i := range r.steps {
		if v, ok = r.steps[i].apply(v); !ok {
			return dst, fail("number", s, "can't go through the step: "+r.steps[i].String(), ErrFit)
		}
	}
	out, ok := r.to.append(dst, v)
	if !ok {
		return dst, fail("number", s, fmt.Sprintf("becomes %d, which can't be written as %s", v, r.to.words()), ErrFit)
	}
	return out, nil
}

// Apply returns what [Rule.Append] appends.
func (r *Rule) Apply(s string) (string, error) {
	var buf [96]byte
	b, err := r.Append(buf[:0], s)
	return string(b), err
}

// appendText is Append without its error, for searches where most rules fail.
func (r *Rule) appendText(dst []byte, s string) ([]byte, bool) {
	v, ok := r.from.parse(s)
	if !ok {
		return dst, false
	}
	return r.appendNumber(dst, v)
}

// appendNumber is appendText for what was read already.
func (r *Rule) appendNumber(dst []byte, v uint64) ([]byte, bool) {
	ok := true
	for i := 0; ok && i < len(r.steps); i++ {
		v, ok = r.steps[i].apply(v)
	}
	if !ok {
		return dst, false
	}
	return r.to.append(dst, v)
}

// Reverse returns the rule that undoes this one. The error is ErrRule and says what is lost where there is none, such
// as bits that a step drops.
func (r *Rule) Reverse() (Rule, error) {
	r = r.orNone()
	if r.from.Kind == 0 {
		return Rule{}, fail("the rule", "", "can't be reversed: it is none", ErrRule)
	}
	back := Rule{from: r.to, to: r.from}
	for i := len(r.steps) - 1; i >= 0; i-- {
		s, why := r.steps[i].inverse()
		if why != "" {
			return Rule{}, fail("the rule", "", fmt.Sprintf("can't be reversed: in step %d %s", i+1, why), ErrRule)
		}
		back.steps = append(back.steps, s)
	}
	return back, nil
}

// String says in one line what the rule does.
func (r *Rule) String() string {
	r = r.orNone()
	parts := []string{"read as " + r.from.words()}
	for _, s := range r.steps {
		parts = append(parts, s.String())
	}
	return strings.Join(append(parts, "write as "+r.to.words()), "; ")
}
