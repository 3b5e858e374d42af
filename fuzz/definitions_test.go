package fuzz

import (
	"reflect"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// FuzzDefinitions: whatever reads as definitions is written and read again as the same formats, and its examples
// decode.
func FuzzDefinitions(f *testing.F) {
	catalogue := formats.Builtin()
	for i := range catalogue.Len() { // every row of the catalogue, as written out
		f.Add(string(formats.AppendDefinition(nil, catalogue.At(i))))
	}
	row := "[[format]]\nid = \"a\"\ndescription = \"d\"\n"
	for _, text := range []string{
		"",  // no formats
		row, // no length
		row + "lengths = \"8-40/8\"\nfields = [{ name = \"number\", bits = \"1-$\" }]\n", // several lengths
		row + "length = 8\nfields = [{ name = \"number\", bits = \"$ - 300\" }]\n",       // before the first bit
		row + "length = 8\nfields = [{ name = \"unknown\", bits = \"1-8\" }]\n",          // nothing known
		row + "length = 4\njoined = [\"number\"]\nfields = [{ name = \"number\", bits = \"1-4\", coding = \"bcd\", value = \"7\" }]\n",
		"a = " + strings.Repeat("[", 1000),                    // deep
		"\"a\\nb\" = 1\n",                                     // a key with a line break
		"\xef\xbb\xbf" + row,                                  // a byte order mark
		row + "length = 8\nexample = [{ read = \"8:ZZ\" }]\n", // no read
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		all, err := formats.ParseDefinitions("file.toml", []byte(text))
		if err != nil {
			declared(t, err)
			if !strings.HasPrefix(err.Error(), "file.toml") {
				t.Fatalf("no place: %v", err)
			}
			return
		}
		if len(all) == 0 {
			t.Fatal("no formats and no error")
		}
		for i := range all {
			again(t, &all[i])
		}
		if _, err := formats.NewCatalogue(all); err != nil {
			declared(t, err)
		}
	})
}

// again writes a format out and reads it.
func again(t *testing.T, f *formats.Format) {
	text := formats.AppendDefinition(nil, f, "written again")
	back, err := formats.ParseDefinitions("again.toml", text)
	if err != nil || len(back) != 1 {
		t.Fatalf("%d formats, %v in\n%s", len(back), err, text)
	}
	b := &back[0]
	if !reflect.DeepEqual(f.Layout.Checks(), b.Layout.Checks()) || f.Layout.Len() != b.Layout.Len() {
		t.Fatalf("another layout:\n%s", text)
	}
	want := []any{f.ID, f.Description, f.Source, f.Standing, f.Kind, len(f.Examples), len(f.Joined)}
	if got := []any{b.ID, b.Description, b.Source, b.Standing, b.Kind, len(b.Examples),
		len(b.Joined)}; !reflect.DeepEqual(got, want) {
		t.Fatalf("%q is now %q", want, got)
	}
	for i, e := range f.Examples {
		c, err := f.Read(e.Read)
		if err != nil || !c.Record.OK() || c.Record.Encode() != e.Read || b.Examples[i].Read != e.Read {
			t.Fatalf("example %s: %v", e.Read, err)
		}
	}
}
