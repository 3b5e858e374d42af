package formats

import (
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// The built-in table tests itself: every row has what a row must have, every example decodes to what it says (Builtin
// checks that), encodes back to the same read, and is refused one bit shorter or longer.
func TestCatalogueRows(t *testing.T) {
	c := Builtin()
	for f := range c.All() {
		t.Run(f.ID, func(t *testing.T) {
			assert.NotEmpty(t, f.Source, "a row says where its facts come from")
			assert.Positive(t, f.Weight)
			if len(c.Find(f.ID)) == 1 {
				assert.NotEmpty(t, f.Examples, "a row has an example")
			}
			for _, e := range f.Examples {
				r, err := f.Layout.Decode(e.Read)
				require.NoError(t, err)
				assert.Equal(t, e.Read, r.Encode())
				for n := range e.Read.Len() {
					_, err := f.Layout.Decode(e.Read.Slice(0, n))
					assert.ErrorIs(t, err, wiegand.ErrLength)
				}
				if long, ok := e.Read.Append(0); ok {
					_, err := f.Layout.Decode(long)
					assert.ErrorIs(t, err, wiegand.ErrLength)
				}
			}
		})
	}
}

// A format's id says what it is made of: total, facility and number bits.
func TestIDsSayWhatFormatsAreMadeOf(t *testing.T) {
	c := Builtin()
	for f := range c.All() {
		parts := strings.Split(f.ID, "-")
		if len(parts) < 3 || parts[0][0] < '0' || parts[0][0] > '9' {
			continue // a term of a standard's, or a kind of keypad
		}
		spec := f.Layout.Spec()
		width := func(field int) int {
			if field < 0 {
				return 0
			}
			return spec.Fields[field].Bits.Len()
		}
		first := width(f.Facility())
		if first == 0 {
			first = width(f.FieldByName("version"))
		}
		assert.Equal(t, parts[0], itoa(spec.Length), f.ID)
		assert.Equal(t, parts[1], itoa(first), f.ID)
		assert.Equal(t, parts[2], itoa(width(f.Number())), f.ID)
	}
}

// What AppendDefinition writes reads back as the same format.
func TestDefinitionRoundTrip(t *testing.T) {
	c := Builtin()
	for f := range c.All() {
		text := AppendDefinition(nil, f, "a comment", "and another")
		back, err := ParseDefinitions("written", text)
		require.NoError(t, err, string(text))
		require.Len(t, back, 1)
		back[0].Line = f.Line
		assert.Equal(t, f.Layout.Spec(), back[0].Layout.Spec())
		assert.Equal(t, f.Joined, back[0].Joined)
		assert.InEpsilon(t, f.Weight, back[0].Weight, 1e-12)
		assert.Equal(t, []any{f.ID, f.Description, f.Source, f.Standing, f.Kind, len(f.Examples)},
			[]any{back[0].ID, back[0].Description, back[0].Source, back[0].Standing, back[0].Kind, len(back[0].Examples)})
	}
}

func itoa(n int) string { return string(appendUint(nil, must(wiegand.BitsFromUint(uint64(n), 64)))) }

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}

// A user's format takes the place of the one with its id, all lengths of it; others are added.
func TestCatalogueWith(t *testing.T) {
	c := Builtin()
	mine, err := ParseDefinitions("mine", []byte(`
[[format]]
id = "26-8-16"
description = "mine"
length = 26
fields = [{ name = "number", bits = "1-26" }]
[[format]]
id = "track2"
description = "one length only"
length = 20
fields = [{ name = "number", bits = "1-20" }]
[[format]]
id = "zebra"
description = "another"
length = 26
fields = [{ name = "number", bits = "1-26" }]
`))
	require.NoError(t, err)
	with, err := c.With(mine)
	require.NoError(t, err)
	assert.Len(t, c.Find("track2"), 37, "the catalogue itself never changes")
	assert.Len(t, with.Find("track2"), 1)
	assert.Equal(t, "mine", with.Find("26-8-16")[0].Description)
	assert.Equal(t, c.Len()-37+2, with.Len())
	assert.Equal(t, len(c.IDs())+1, len(with.IDs()))
	assert.Len(t, slices.Collect(with.OfLength(26)), len(slices.Collect(c.OfLength(26)))+1)
	assert.Nil(t, with.Find("none"))
	assert.Empty(t, slices.Collect(with.OfLength(257)))

	_, err = c.With(append(mine, mine...))
	assert.ErrorIs(t, err, ErrDefinition)
	assert.EqualError(t, err, `format "track2": there are two of 20 bits; give one another id`)

	var empty Catalogue
	assert.Zero(t, empty.Len())
	assert.Empty(t, empty.IDs())
	assert.Empty(t, slices.Collect(empty.OfLength(26)))
	_, err = empty.With(mine)
	assert.NoError(t, err)
}

// Formats are in the order of length and id, whatever the order of the file, and each is found by its length.
func TestCatalogueOrder(t *testing.T) {
	c := Builtin()
	backwards := make([]Format, c.Len())
	for i := range c.Len() {
		backwards[c.Len()-1-i] = *c.At(i)
	}
	again, err := NewCatalogue(backwards)
	require.NoError(t, err)
	assert.Equal(t, c.IDs(), again.IDs())
	for i := range c.Len() {
		f := c.At(i)
		assert.Equal(t, f.ID, again.At(i).ID)
		assert.Contains(t, slices.Collect(c.OfLength(f.Layout.Len())), f)
		if i > 0 {
			before := c.At(i - 1)
			assert.LessOrEqual(t, before.Layout.Len(), f.Layout.Len())
		}
	}
}

// An error quotes an input cut short, and never inside a character.
func TestErrorsQuoteInputsCutShort(t *testing.T) {
	_, err := ParseSighting(strings.Repeat("1", 47) + "é" + strings.Repeat("1", 100))
	assert.ErrorContains(t, err, `card "`+strings.Repeat("1", 47)+`…": `)
	// 48 bytes need no cut; of bytes that begin no character nothing can be quoted.
	for text, quoted := range map[string]string{
		strings.Repeat("x", 48): strings.Repeat("x", 48), strings.Repeat("x", 49): strings.Repeat("x", 48) + "…",
		strings.Repeat("\x80", 49): "…",
	} {
		_, err = ParseSighting(text)
		var e *Error
		require.ErrorAs(t, err, &e)
		assert.Equal(t, quoted, e.Input)
	}
	_, err = ParseSighting("a\nb\x1b[31m")
	assert.ErrorContains(t, err, `card "a\nb\x1b[31m": `)
}
