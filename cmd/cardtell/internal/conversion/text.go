package conversion

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
)

// result is one result.
type result struct {
	input, format, from, value, to string
	p                              float64
	taken                          string // what the value was taken for, where the question does not say
}

// Write writes the results as objects.
func (a *Answer) Write(w *object.Writer) {
	if a.failed != nil {
		w.Object("", func() {
			w.Text("input", say.Clip(a.input, 48))
			w.Text("door", a.of.Door)
			w.Text("to", a.of.to.Name)
			w.Object("error", func() { w.Text("message", a.failed.Error()) })
		})
	}
	for _, r := range a.results {
		w.Object("", func() {
			w.Text("input", r.input)
			w.Text("door", a.of.Door)
			w.Text("format", r.format)
			w.Text("from", r.from)
			w.Text("value", r.value)
			w.Text("to", r.to)
			w.Float("probability", r.p)
			w.Text("taken", r.taken)
		})
	}
}

// JSON is a document of the results, value by value.
func JSON(answers []Answer) json.RawMessage {
	return object.Of(func(w *object.Writer) {
		w.Array("results", func() {
			for i := range answers {
				answers[i].Write(w)
			}
		})
	})
}

// Text writes the results for people, answers about one value together: a value alone where it is nearly certain, else
// a ranked list; after the name of the door, where there are several. remark tells what is no result.
func Text(w io.Writer, answers []Answer, remark func(format string, args ...any)) {
	width, values := 0, 0
	for i := range answers {
		width = max(width, len([]rune(say.Clip(answers[i].of.Door, 30))))
		if i == 0 || answers[i].input != answers[i-1].input {
			values++
		}
	}
	for i := range answers {
		a := &answers[i]
		next := i == 0 || a.input != answers[i-1].input
		if next && values > 1 && (width > 0 || !a.Sure()) {
			fmt.Fprintln(w, picture.Clean(a.input))
		}
		door := ""
		if width > 0 {
			door = fmt.Sprintf("%-*s  ", width, picture.Clean(say.Clip(a.of.Door, 30)))
		}
		switch {
		case a.failed != nil:
			say.Print(w, door, "none: "+strings.TrimPrefix(a.failed.Error(), a.of.where(a.input)+": "))
			continue
		case a.Sure():
			fmt.Fprintln(w, door+a.groups[0].value)
			if first := a.results[0]; first.taken != "" && !a.of.named && next {
				remark("%s: taken for %s, %s of %s (%s)", say.Clip(a.input, 40), first.taken, first.from,
					say.Few(a.groups[0].ids, 2), say.Chance(a.groups[0].p))
			}
			continue
		case door != "":
			fmt.Fprintln(w, strings.TrimSpace(door)+":")
		}
		a.of.printReadings(w, a)
		if why := a.settles(); next || why != answers[i-1].settles() {
			remark("%s: %s", say.Clip(a.input, 40), why)
		}
	}
}

// alike is how many results have the format and the form of the first.
func (a *Answer) alike() (n int) {
	for _, r := range a.results {
		if r.format == a.results[0].format && r.from == a.results[0].from {
			n++
		}
	}
	return n
}

// settles says what would tell the results of a value apart.
func (a *Answer) settles() string {
	taken, forms, ids := map[string]bool{}, map[string]bool{}, map[string]bool{}
	for _, r := range a.results {
		if r.p >= 1-say.Surely {
			taken[r.taken], ids[r.format] = true, true
			if _, is := formats.FormByName(r.from); is {
				forms[r.from] = true
			}
		}
	}
	var ways []string
	if len(taken) > 1 {
		ways = append(ways, "bits:, LENGTH:HEX, hex:, uid: or printed: before the value")
	}
	if len(forms) > 1 {
		ways = append(ways, "--from FORM")
	}
	if len(ids) > 1 {
		ways = append(ways, "--format ID")
	}
	if ways == nil {
		ways = []string{"--format ID, or the card's read"}
		if a.alike() > 1 { // the site has several facilities
			ways = []string{"the card's read, or --facility F"}
		}
	}
	return "no result is more than 99 % sure; what settles it: " + strings.Join(ways, ", or ")
}

// printReadings writes what one value can be, formats that give the same result together.
func (c *Conversion) printReadings(w io.Writer, a *Answer) {
	width := 0
	for _, g := range a.groups {
		width = max(width, min(len(g.value), 50))
	}
	for _, g := range a.groups {
		words := say.Few(g.ids, 2)
		if c.from.Name == "" {
			i := slices.IndexFunc(a.results, func(r result) bool { return strings.EqualFold(r.value, g.value) })
			words += ", from " + a.results[i].from
		}
		fmt.Fprintf(w, "%s  %-*s  %s\n", say.Percent(g.p), width, g.value, words)
	}
	if a.rest >= 0.0005 {
		what := "none of these"
		if len(c.site) > 0 {
			what = "none of the site's cards"
		}
		if 2*a.ends > a.rest {
			what = "the end of a longer number, whose beginning is not shown; or " + what
		}
		fmt.Fprintf(w, "%s  %s\n", say.Percent(a.rest), what)
	}
}
