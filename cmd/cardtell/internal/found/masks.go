package found

import (
	"fmt"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/reading"
)

// Masks turns numbers in messages and outputs into masks; nil where nothing is to be masked.
type Masks struct{ masker *list.Masker }

// NewMasks returns masks with a key of their own, nil where nothing is to be masked.
func NewMasks(redact bool) *Masks {
	if !redact {
		return nil
	}
	return &Masks{masker: list.NewMasker()}
}

// Value returns a number, or its mask.
func (m *Masks) Value(v string) string {
	if m == nil || v == "" {
		return v
	}
	return m.masker.Mask(v)
}

// Card appends the mask of a card: the same whatever the form that it is written in.
func (m *Masks) Card(dst []byte, c *formats.Card) []byte {
	b := c.Record.Bits()
	key := fmt.Sprintf("%s %d %s", c.Format.ID, c.Known, b.Hex())
	return m.Append(dst, []byte(key))
}

// Ragged appends masks for the cells of a row with too many or too few cells: its number can be in any of them, or in
// two.
func (m *Masks) Ragged(edits []list.Edit, row *list.Row) []list.Edit {
	for i := range row.Len() {
		if text := strings.TrimSpace(row.Text(i)); strings.ContainsFunc(text, unicode.IsDigit) {
			edits = append(edits, list.Edit{Column: i, Value: []byte(m.Value(text))})
		}
	}
	return edits
}

// Message returns a message about a value. Masked it says what kind of thing is wrong and no number.
func (m *Masks) Message(kind reading.Kind, reason, value string) string {
	if m == nil {
		return reason
	}
	if value = strings.TrimSpace(value); value == "" {
		return Words(kind)
	}
	return fmt.Sprintf("%s: %s", m.Value(value), Words(kind))
}

// Append appends the mask of a text.
func (m *Masks) Append(dst, text []byte) []byte { return m.masker.Append(dst, text) }
