package line

import (
	"fmt"
	"slices"
	"strings"
)

var (
	levelNames   = []string{"unknown", "low", "high", "pulsed"}
	codingNames  = []string{"two-wire", "clock-and-data"}
	verdictNames = []string{"healthy", "marginal", "suspect"}
)

// String returns "unknown", "low", "high" or "pulsed"; Level(9) for what is no level.
func (l Level) String() string { return nameOf("Level", levelNames, l) }

// MarshalText returns what String returns. The error is ErrSyntax for what is no level.
func (l Level) MarshalText() ([]byte, error) { return marshalName("Level", levelNames, l) }

// UnmarshalText reads the names that String returns. The error is ErrSyntax for any other text.
func (l *Level) UnmarshalText(text []byte) error { return unmarshalName(l, "level", levelNames, text) }

// String returns "two-wire" or "clock-and-data"; Coding(9) for what is no coding.
func (c Coding) String() string { return nameOf("Coding", codingNames, c) }

// MarshalText returns what String returns. The error is ErrSyntax for what is no coding.
func (c Coding) MarshalText() ([]byte, error) { return marshalName("Coding", codingNames, c) }

// UnmarshalText reads the names that String returns. The error is ErrSyntax for any other text.
func (c *Coding) UnmarshalText(text []byte) error {
	return unmarshalName(c, "coding", codingNames, text)
}

// String returns "healthy", "marginal" or "suspect"; Verdict(9) for what is no verdict.
func (v Verdict) String() string { return nameOf("Verdict", verdictNames, v) }

// MarshalText returns what String returns. The error is ErrSyntax for what is no verdict.
func (v Verdict) MarshalText() ([]byte, error) { return marshalName("Verdict", verdictNames, v) }

// UnmarshalText reads the names that String returns. The error is ErrSyntax for any other text.
func (v *Verdict) UnmarshalText(text []byte) error {
	return unmarshalName(v, "verdict", verdictNames, text)
}

func nameOf[T ~uint8](kind string, names []string, v T) string {
	if int(v) < len(names) {
		return names[v]
	}
	return fmt.Sprintf("%s(%d)", kind, v)
}

func marshalName[T ~uint8](kind string, names []string, v T) ([]byte, error) {
	if name := nameOf(kind, names, v); int(v) >= len(names) {
		return nil, &Error{Op: "write", Input: name, Reason: "is none of " + strings.Join(names, ", "), Err: ErrSyntax}
	}
	return []byte(names[v]), nil
}

func unmarshalName[T ~uint8](v *T, what string, names []string, text []byte) error {
	i := slices.Index(names, string(text))
	if i < 0 {
		return &Error{Op: what, Input: cutShort(text), Reason: "is none of " + strings.Join(names, ", "), Err: ErrSyntax}
	}
	*v = T(i)
	return nil
}
