package independent

import (
	"math/big"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/wiegand"
)

// numbers is a question of numbers.py: name, bits and value of each field.
type numbers struct {
	Fields [][3]any `json:"fields"`
}

// Random cards of every format with binary fields are written in every form as the independent implementation writes
// them, and what is written reads back as the card, or as the part of it that the form shows.
func TestFormsAgainstIndependentNumbers(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 15))
	catalogue := formats.Builtin()
	var questions []numbers
	var cards []formats.Card
	for f := range catalogue.All() {
		for range perFormat() / 10 {
			if card, q, ok := randomCard(t, rnd, f); ok {
				questions, cards = append(questions, q), append(cards, card)
			}
		}
	}
	seen := map[string]int{}
	for i, texts := range Ask[map[string]string](t, "numbers.py", questions) {
		c := &cards[i]
		for _, form := range formats.Forms() {
			fits, _ := form.Fits(c.Format)
			want, has := texts[form.Name]
			if form.OfRead() || form.Name == "fields" {
				continue // of the read, not of a number
			}
			require.Equal(t, has, fits, "format %s, form %s", c.Format.ID, form.Name)
			if !fits {
				continue
			}
			got, err := form.Text(c)
			require.NoError(t, err)
			require.Equal(t, want, got, "format %s, form %s, read %v, seed %d", c.Format.ID, form.Name, c.Record.Bits(), seed)
			seen[form.Name]++
			back, err := form.Parse(c.Format, want)
			if err != nil { // a form that drops bits
				require.Contains(t, []string{"pair24", "joined24", "number24"}, form.Name)
				continue
			}
			for field := range c.Format.Layout.Spec().Fields {
				if back.Known.Has(field) {
					require.Equal(t, c.Text(field), back.Text(field), "format %s, form %s, %q", c.Format.ID, form.Name, want)
				}
			}
		}
	}
	assert.Len(t, seen, len(formats.Forms())-6, "%v", seen)
}

// randomCard returns a card with random values; ok is false for a format that does not have binary fields alone, all of
// them known and free.
func randomCard(t *testing.T, rnd *rand.Rand, f *formats.Format) (c formats.Card, q numbers, ok bool) {
	t.Helper()
	c = f.Blank()
	for i, field := range f.Layout.Spec().Fields {
		if field.Coding != wiegand.Binary || field.Constant != "" || field.Name == wiegand.FieldUnknown {
			return c, q, false
		}
		v := new(big.Int)
		for range 1 + rnd.IntN(field.Bits.Len()) { // small numbers as well
			v = v.Lsh(v, 1).Or(v, big.NewInt(rnd.Int64N(2)))
		}
		var err error
		c, err = c.With(i, v.String())
		require.NoError(t, err)
		q.Fields = append(q.Fields, [3]any{field.Name, field.Bits.Len(), v})
	}
	return c, q, true
}
