package wiegand

import (
	"fmt"
	"iter"
	"math/bits"
	"strconv"
	"strings"
)

// Span is a run of bits of a read, numbered from 1, both ends included: 2-9 is eight bits. With a Step of 2 or more it
// is every second bit, every third, and so on: 10-55/5 is bits 10, 15, 20, … 55. A Step of 0 means 1.
type Span struct {
	From int // the first bit, 1 to 256
	To   int // the last bit, From to 256; with a Step, a bit that need not be one of them
	Step int // from one bit to the next; 0 means 1
}

// Spans is a list of spans, in the order in which their bits count: the first bit of the first span is the most
// significant one of a number that they hold.
type Spans []Span

// ParseSpans reads spans the way the trade writes them: "2-9", "5", "25-32, 17-24", and "10-55/5" for every fifth bit.
// Empty text is no spans. The error is ErrSyntax where the text is not of that form, ErrRange where an end is not 1 to
// 256 or comes before the beginning.
func ParseSpans(s string) (Spans, error) {
	if strings.TrimSpace(s) == "" {
		return nil, nil
	}
	var spans Spans
	for part := range strings.SplitSeq(s, ",") {
		span, err := parseSpan(s, strings.TrimSpace(part))
		if err != nil {
			return nil, err
		}
		spans = append(spans, span)
	}
	return spans, nil
}

func parseSpan(whole, part string) (Span, error) {
	const op = "parse bits of a read"
	ends, step, stepped := strings.Cut(part, "/")
	from, to, ranged := strings.Cut(ends, "-")
	if !ranged {
		to = from
	}
	if !stepped {
		step = "1"
	}
	var n [3]int
	for i, text := range []string{from, to, step} {
		v, err := strconv.ParseUint(strings.TrimSpace(text), 10, 16) // no sign, and room for what check refuses
		if err != nil {
			return Span{}, fail(op, whole,
				fmt.Sprintf("%q is no span; write 2-9, 5, or 10-55/5 for every fifth bit", cutShort(part)), ErrSyntax)
		}
		n[i] = int(v)
	}
	span := Span{From: n[0], To: n[1], Step: n[2]}
	if err := span.check(); err != nil {
		return Span{}, fail(op, whole, fmt.Sprintf("%s: %s", span, err), ErrRange)
	}
	if span.Step == 1 {
		span.Step = 0
	}
	return span, nil
}

// check returns what is wrong with a span, if anything.
func (s Span) check() error {
	switch {
	case s.From < 1:
		return fmt.Errorf("bits are numbered from 1")
	case s.To > MaxBits:
		return fmt.Errorf("a read has at most %d bits", MaxBits)
	case s.To < s.From:
		return fmt.Errorf("ends before it begins; write %d-%d; which end counts most is the field's order", s.To, s.From)
	case s.Step < 0 || s.Step > MaxBits:
		return fmt.Errorf("a step is 1 to %d", MaxBits)
	}
	return nil
}

// String returns the span as [ParseSpans] reads it.
func (s Span) String() string { return string(s.append(nil)) }

func (s Span) append(dst []byte) []byte {
	dst = strconv.AppendInt(dst, int64(s.From), 10)
	if s.From != s.To {
		dst = strconv.AppendInt(append(dst, '-'), int64(s.To), 10)
	}
	if s.From != s.To && s.Step > 1 {
		dst = strconv.AppendInt(append(dst, '/'), int64(s.Step), 10)
	}
	return dst
}

// String returns the spans as [ParseSpans] reads them, separated by commas.
func (s Spans) String() string {
	text, _ := s.AppendText(nil)
	return string(text)
}

// AppendText appends what [Spans.String] returns. The error is always nil.
func (s Spans) AppendText(dst []byte) ([]byte, error) {
	for i, span := range s {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = span.append(dst)
	}
	return dst, nil
}

// MarshalText returns what [Spans.String] returns.
func (s Spans) MarshalText() ([]byte, error) { return s.AppendText(nil) }

// UnmarshalText reads what [ParseSpans] reads.
func (s *Spans) UnmarshalText(text []byte) error {
	r, err := ParseSpans(string(text))
	if err == nil {
		*s = r
	}
	return err
}

// Bits yields the bits of the spans in order, numbered from 1. A span with ends out of bounds yields none.
func (s Spans) Bits() iter.Seq[int] {
	return func(yield func(int) bool) {
		for _, span := range s {
			if span.check() != nil {
				continue
			}
			for bit := span.From; bit <= span.To; bit += max(span.Step, 1) {
				if !yield(bit) {
					return
				}
			}
		}
	}
}

// Len returns how many bits the spans hold.
func (s Spans) Len() int {
	n := 0
	for _, span := range s {
		if span.check() == nil {
			n += (span.To-span.From)/max(span.Step, 1) + 1
		}
	}
	return n
}

// shift returns the spans moved k bits to the right, for checks that repeat.
func (s Spans) shift(k int) Spans {
	r := make(Spans, len(s))
	for i, span := range s {
		r[i] = Span{From: span.From + k, To: span.To + k, Step: span.Step}
	}
	return r
}

// spansOf returns the bits of a mask as the fewest spans without steps, in rising order.
func spansOf(m words) Spans {
	var spans Spans
	for k, w := range m {
		for w != 0 { // runs of ones, from the left
			from := bits.LeadingZeros64(w)
			n := bits.LeadingZeros64(^(w << from))
			w &^= ^uint64(0) << (64 - n) >> from
			if last := len(spans) - 1; last >= 0 && spans[last].To == 64*k+from {
				spans[last].To += n
			} else {
				spans = append(spans, Span{From: 64*k + from + 1, To: 64*k + from + n})
			}
		}
	}
	return spans
}
