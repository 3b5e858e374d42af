package line

import "fmt"

var (
	levelNames   = []string{"unknown", "low", "high", "pulsed"}
	codingNames  = []string{"two-wire", "clock-and-data"}
	verdictNames = []string{"healthy", "marginal", "suspect"}
)

// String returns "unknown", "low", "high" or "pulsed"; Level(9) for what is no level.
func (l Level) String() string { return nameOf("Level", levelNames, l) }

// String returns "two-wire" or "clock-and-data"; Coding(9) for what is no coding.
func (c Coding) String() string { return nameOf("Coding", codingNames, c) }

// String returns "healthy", "marginal" or "suspect"; Verdict(9) for what is no verdict.
func (v Verdict) String() string { return nameOf("Verdict", verdictNames, v) }

func nameOf[T ~uint8](kind string, names []string, v T) string {
	if int(v) < len(names) {
		return names[v]
	}
	return fmt.Sprintf("%s(%d)", kind, v)
}
