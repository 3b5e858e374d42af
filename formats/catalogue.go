package formats

import (
	"cmp"
	_ "embed"
	"fmt"
	"iter"
	"slices"
	"sort"
	"strings"
	"sync"
)

//go:embed catalogue.toml
var builtin []byte

// Catalogue is a set of formats. It is immutable, and so are the formats that it hands out; share it freely. The zero
// value is empty.
type Catalogue struct {
	formats  []Format
	byLength map[int][]int // positions in formats
}

// Builtin returns the catalogue that comes with this package. It is read once, by the first call.
func Builtin() Catalogue { return readBuiltin() }

var readBuiltin = sync.OnceValue(func() Catalogue {
	formats, err := ParseDefinitions("built-in catalogue", builtin)
	if err != nil {
		panic(err) // a test reads it, so that this cannot reach a user
	}
	c, err := NewCatalogue(formats)
	if err != nil {
		panic(err)
	}
	return c
})

// NewCatalogue makes a catalogue of formats, sorted by length and id. The error is ErrDefinition where two formats have
// the same id and length.
func NewCatalogue(formats []Format) (Catalogue, error) {
	c := Catalogue{formats: slices.Clone(formats), byLength: map[int][]int{}}
	sort.SliceStable(c.formats, func(i, j int) bool {
		a, b := &c.formats[i], &c.formats[j]
		return cmp.Or(a.Layout.Len()-b.Layout.Len(), strings.Compare(a.ID, b.ID)) < 0
	})
	for i := range c.formats {
		f := &c.formats[i]
		n := f.Layout.Len()
		if i > 0 && c.formats[i-1].ID == f.ID && c.formats[i-1].Layout.Len() == n {
			return Catalogue{}, fail("format", f.ID, fmt.Sprintf("there are two of %d bits; give one another id", n),
				ErrDefinition)
		}
		c.byLength[n] = append(c.byLength[n], i)
	}
	return c, nil
}

// With returns the catalogue and more formats. One with an id that is there already takes the place of the old one, so
// that a user can correct a row.
func (c Catalogue) With(more []Format) (Catalogue, error) {
	ids := map[string]bool{}
	for i := range more {
		ids[more[i].ID] = true
	}
	all := slices.Clone(more)
	for i := range c.formats {
		if !ids[c.formats[i].ID] {
			all = append(all, c.formats[i])
		}
	}
	return NewCatalogue(all)
}

// Len returns the number of formats, each length of a format of several lengths counted.
func (c Catalogue) Len() int { return len(c.formats) }

// At returns the i-th format in the order of length and id, 0 <= i < Len; as of a slice, there is no other, and to ask
// for one panics.
func (c Catalogue) At(i int) *Format { return &c.formats[i] }

// All goes over the formats in the order of length and id.
func (c Catalogue) All() iter.Seq[*Format] {
	return func(yield func(*Format) bool) {
		for i := range c.formats {
			if !yield(&c.formats[i]) {
				return
			}
		}
	}
}

// OfLength goes over the formats whose reads have n bits, in the order of id.
func (c Catalogue) OfLength(n int) iter.Seq[*Format] {
	return func(yield func(*Format) bool) {
		for _, i := range c.byLength[n] {
			if !yield(&c.formats[i]) {
				return
			}
		}
	}
}

// Find returns the formats of that id: none, one, or one for each length of a format of several lengths.
func (c Catalogue) Find(id string) []*Format {
	var found []*Format
	for i := range c.formats {
		if c.formats[i].ID == id {
			found = append(found, &c.formats[i])
		}
	}
	return found
}

// IDs returns every id once, in the order of length and id.
func (c Catalogue) IDs() []string {
	var ids []string
	seen := map[string]bool{}
	for i := range c.formats {
		if id := c.formats[i].ID; !seen[id] {
			seen[id] = true
			ids = append(ids, id)
		}
	}
	return ids
}
