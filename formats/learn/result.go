package learn

import (
	"fmt"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/internal/undocumented"
	"github.com/cardtell/cardtell/formats/internal/words"
	"github.com/cardtell/cardtell/wiegand"
)

// Result is what reads of one kind of card say about their layout.
type Result struct {
	Length  int   // bits of a read
	Reads   int   // different reads that the layout was worked out from: misreads and repetitions left out
	Printed int   // how many of them have a printed number
	Lines   []int // of the reads of this kind in rising order, misreads counted and repetitions not
	// Example is the first read that the layout explains, by line, as it came; empty where there was nothing to learn from.
	Example wiegand.Bits

	// Spec is the likeliest layout. Bits that were the same in all reads are fixed bits, or a facility where what is
	// printed names it; bits that vary and follow from nothing are fields named unknown. Empty where there was nothing to
	// learn from.
	Spec   wiegand.Spec
	Number Number // where the card number is, and how what is printed comes from it

	// Probability is how likely it is that the layout gives the right read for every number that a card of the same
	// facility can have. Layouts that agree on all of these count as one. 0 where there was nothing to learn from.
	Probability float64
	Several     float64 // probability that the reads learned from are of several kinds; Probability takes account of it

	Known     []Known // formats of the catalogue that are this layout, the likeliest first; Spec is its then
	Unknown   float64 // probability that the frame is in no table
	Unrelated float64 // probability that what is printed has nothing to do with the reads
	// the reads have every bit changed: the two data lines are swapped. Spec is for the right way round
	Swapped      bool
	Open         wiegand.Spans // bits whose part could not be determined
	Constant     wiegand.Spans // bits that were the same in all reads
	Evidence     []string      // what speaks for the layout, one line each
	Alternatives []Alternative // other layouts that are still possible and predict something else, likeliest first
	Settle       []string      // what to present next, one line each
	Misreads     []Misread     // reads and prints that the layout does not explain, by line
	Warnings     []string
}

// Known is a format of the catalogue that explains the reads.
type Known struct {
	ID          string
	Form        string  // the form in which numbers are printed; "" where none are
	Probability float64 // as rank gives it
}

// Number says where the card number is in a read, and how what is printed comes from it.
type Number struct {
	Bits    wiegand.Spans // most significant part first; empty where no number was found
	Order   wiegand.Order
	Coding  wiegand.Coding
	Inverse bool // every bit of it is changed: most likely the reader's two data lines are swapped
	Print   PrintForm
	Digits  int    // PrintLast, PrintJoined: of the number, in decimal
	Offset  int64  // PrintOffset: what is printed less what is read
	Part    string // PrintSerial: which part of the chip serial it is, in words
}

// PrintForm says how a printed number comes from the number in the read.
type PrintForm = undocumented.PrintForm

// The print forms.
const (
	PrintNone   = undocumented.PrintNone   // no number is printed, or none that has to do with the read
	PrintFull   = undocumented.PrintFull   // the number, with or without zeros before it
	PrintLast   = undocumented.PrintLast   // its last digits
	PrintJoined = undocumented.PrintJoined // the facility and then the number, in a fixed count of digits
	PrintPair   = undocumented.PrintPair   // the same two with a separator between
	PrintOffset = undocumented.PrintOffset // the number and a constant added
	PrintWhole  = undocumented.PrintWhole  // all data bits as one number, whatever their parts are
	PrintSerial = undocumented.PrintSerial // nothing is printed: the chip serial, or a part of it, is the number
)

// Alternative is a layout that is less likely than the best one.
type Alternative struct {
	Spec        wiegand.Spec
	Number      Number
	Probability float64
	Differs     string // in what, in one line
}

// Misread is a read that the layout does not explain, or a print that does not follow from its read.
type Misread struct {
	Line int
	Read wiegand.Bits
	// on the card, where the read has another number; "" where checks fail that hold in the other reads, or where the read
	// has more or fewer bits than they
	Printed string
}

// Definition returns the layout as a definition file for one format, with the evidence in comments. It is empty where
// nothing was learned. The error is of package formats: an id that is none.
func (r *Result) Definition(id string) ([]byte, error) {
	layout, err := wiegand.Compile(r.Spec)
	if err != nil {
		return nil, err
	}
	f := formats.Format{
		ID: id, Layout: layout, Standing: formats.Learned, Weight: 20,
		Description: fmt.Sprintf("%d bits, learned from %s of one site", r.Length, words.Count(r.Reads, "read")),
		Source:      fmt.Sprintf("learned from %s, probability %s", words.Count(r.Reads, "read"), decimals(r.Probability)),
	}
	comment := append([]string{"A format learned from reads. What speaks for it:"}, r.Evidence...)
	comment = append(comment, "The probability that it gives the right read for every number of the same facility is "+decimals(r.Probability)+".")
	if len(r.Open) > 0 {
		comment = append(comment, "Open, since the sample can't tell what they are for: bits "+r.Open.String()+".")
	}
	for _, a := range r.Alternatives {
		comment = append(comment, fmt.Sprintf("Also possible (%.4f): %s.", a.Probability, a.Differs))
	}
	comment = append(append(comment, r.Settle...), r.Warnings...)
	text := formats.AppendDefinition(nil, &f, comment...)
	if _, err := formats.ParseDefinitions("learned format", text); err != nil {
		return nil, err
	}
	return text, nil
}

// decimals writes a probability so that certainty is never claimed.
func decimals(p float64) string {
	if p > 0.9999 {
		return "over 0.9999"
	}
	return fmt.Sprintf("%.4f", p)
}
