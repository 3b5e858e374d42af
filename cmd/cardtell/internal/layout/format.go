package layout

import (
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/object"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// What is said of the formats of a catalogue.

// ShortDescription is that of a format without its length, where that stands beside it.
func ShortDescription(f *formats.Format) string {
	return strings.TrimPrefix(f.Description, fmt.Sprintf("%d bits: ", f.Layout.Len()))
}

// CatalogueJSON is a document of all formats, in short.
func CatalogueJSON(cat formats.Catalogue) json.RawMessage {
	return object.Of(func(w *object.Writer) {
		object.List(w, "formats", cat.IDs(), func(id *string) { writeSummary(w, cat.Find(*id)) })
	})
}

// FormsJSON is a document of all forms of card numbers.
func FormsJSON() json.RawMessage {
	return object.Of(func(w *object.Writer) {
		object.List(w, "forms", formats.Forms(), func(f *formats.Form) {
			w.Text("name", f.Name)
			w.Text("description", f.Description)
			w.Text("example", f.Example)
		})
	})
}

// writeSummary describes the formats of one id, which differ in length only.
func writeSummary(w *object.Writer, found []*formats.Format) {
	f, lengths, weight := found[0], []int(nil), 0.0
	for _, one := range found {
		lengths = append(lengths, one.Layout.Len())
		weight += one.Weight
	}
	w.Text("id", f.ID)
	w.Text("description", f.Description)
	w.Ints("lengths", lengths)
	w.Text("kind", f.Kind.String())
	w.Text("standing", f.Standing.String())
	w.Text("source", f.Source)
	w.Float("weight", weight)
}

// FormatJSON is a document of all that there is to say of the formats of one id.
func FormatJSON(found []*formats.Format) json.RawMessage {
	f := example(found)
	return object.Of(func(w *object.Writer) {
		writeSummary(w, found)
		writeFields(w, f.Layout.Spec())
		if checks := f.Layout.Checks(); len(checks) > 0 {
			object.List(w, "checks", checks, func(c *wiegand.CheckInfo) {
				w.Text("kind", c.Kind.String())
				w.Int("bit", c.Bit)
				w.Text("bits", c.Bits.String())
			})
		}
		w.Texts("forms", formsOf(f))
	})
}

func formsOf(f *formats.Format) (names []string) {
	for _, form := range formats.Forms() {
		if ok, _ := form.Fits(f); ok {
			names = append(names, form.Name)
		}
	}
	return names
}

// example returns the one of the formats that has an example to show, or the first.
func example(found []*formats.Format) *formats.Format {
	for _, f := range found {
		if len(f.Examples) > 0 {
			return f
		}
	}
	return found[0]
}

// Format prints all that there is to say of the formats of one id.
func Format(w io.Writer, found []*formats.Format, style picture.Style) {
	f := example(found)
	about := strings.Join(say.Hang(fmt.Sprintf("%-8s  ", f.ID), f.Description, style.Width), "\n")
	fmt.Fprintln(w, strings.Replace(about, f.ID, style.Bold(f.ID), 1))
	standing := f.Standing.String()
	if f.Source != "" {
		standing += " (" + f.Source + ")"
	}
	fmt.Fprintln(w, strings.Join(say.Hang("standing  ", standing, style.Width), "\n"))
	if len(found) > 1 {
		fmt.Fprintf(w, "length    %d to %d bits; shown for %d\n", found[0].Layout.Len(), found[len(found)-1].Layout.Len(),
			f.Layout.Len())
	}
	fmt.Fprintf(w, "\n%s\n", style.Bold("Fields"))
	for _, field := range f.Layout.Spec().Fields {
		fmt.Fprintf(w, "  %-14s bits %s%s\n", field.Name, field.Bits, fieldNotes(field))
	}
	printChecks(w, f, style)
	fmt.Fprintf(w, "\n%s\n", style.Bold("Forms"))
	fmt.Fprintln(w, strings.Join(say.Hang("  ", strings.Join(formsOf(f), ", "), style.Width), "\n"))
	for _, e := range f.Examples[:min(1, len(f.Examples))] {
		if c, err := f.Read(e.Read); err == nil {
			fmt.Fprintf(w, "\n%s  %s\n\n", style.Bold("Example"), e.Read.Hex())
			picture.Text(w, &c, style)
		}
	}
}

func fieldNotes(f wiegand.Field) string {
	notes := ""
	if f.Coding != wiegand.Binary {
		notes += ", " + f.Coding.String()
	}
	if f.Order != wiegand.MSBFirst {
		notes += ", last bit first"
	}
	if f.Constant != "" {
		notes += ", always " + f.Constant
	}
	if f.Name == wiegand.FieldUnknown {
		notes += ", kept as they are"
	}
	return notes
}

// printChecks lists the checks; many of one kind are summed up.
func printChecks(w io.Writer, f *formats.Format, style picture.Style) {
	checks := f.Layout.Checks()
	if len(checks) == 0 {
		fmt.Fprintf(w, "\nNo checks: any read of %d bits fits.\n", f.Layout.Len())
		return
	}
	fmt.Fprintf(w, "\n%s\n", style.Bold("Checks"))
	count := map[wiegand.CheckKind]int{}
	for _, c := range checks {
		count[c.Kind]++
	}
	said := map[wiegand.CheckKind]bool{}
	for _, c := range checks {
		switch {
		case count[c.Kind] <= 4:
			fmt.Fprintf(w, "  %s\n", picture.CheckWords(c))
		case !said[c.Kind]:
			fmt.Fprintf(w, "  %d times %s parity or digits, the first over bits %s\n", count[c.Kind], c.Kind, c.Bits)
			said[c.Kind] = true
		}
	}
}
