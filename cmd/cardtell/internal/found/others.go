package found

import (
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// OtherRow is a row that is no cardholder.
type OtherRow struct {
	Line    int    `json:"line"`
	Kind    string `json:"kind"`
	Text    string `json:"text,omitempty"`
	LeftOut bool   `json:"left_out,omitempty"` // of the outputs
}

// Others are the rows of a list that are no cardholders. The zero Others has none.
type Others struct {
	Rows []OtherRow // the first MaxProblems
	of   map[list.Kind]int
	n    int
}

// Add adds a row; what stands in it is kept unless it is to be masked.
func (o *Others) Add(row *list.Row, masked bool) {
	if o.n++; o.of == nil {
		o.of = map[list.Kind]int{}
	}
	o.of[row.Kind]++
	if len(o.Rows) == MaxProblems {
		return
	}
	other := OtherRow{Line: row.Line, Kind: row.Kind.String(), LeftOut: !row.Kind.PassedOn()}
	if !masked {
		other.Text = row.Summary()
	}
	o.Rows = append(o.Rows, other)
}

// print says how many there are, and names those that are no title and not blank: each could be a cardholder after all.
func (o *Others) print(w io.Writer, then string) {
	var kinds []string
	for _, k := range []list.Kind{list.Blank, list.Title, list.Header, list.Total, list.Footer} {
		if n := o.of[k]; n > 0 {
			kinds = append(kinds, fmt.Sprintf("%d %s", n, k))
		}
	}
	if o.n > 0 {
		say.Print(w, "  other     ", strings.Join(kinds, ", "))
	}
	for _, row := range o.Rows {
		if row.LeftOut {
			say.Print(w, fmt.Sprintf("    line %-5d ", row.Line), strings.TrimSpace(row.Kind+" "+row.Text)+then)
		}
	}
}
