package formats

import (
	"encoding/json"
	"fmt"

	"github.com/cardtell/cardtell/wiegand"
)

// formatJSON is a format as JSON has it: what the layout was compiled from stands for the layout.
type formatJSON struct {
	ID          string       `json:"id"`
	Description string       `json:"description,omitempty"`
	Source      string       `json:"source,omitempty"`
	Standing    Standing     `json:"standing"`
	Kind        Kind         `json:"kind"`
	Weight      float64      `json:"weight"`
	Spec        wiegand.Spec `json:"spec"`
	Joined      []int        `json:"joined,omitempty"`
	Examples    []Example    `json:"examples,omitempty"`
	Line        int          `json:"line,omitempty"`
}

// MarshalJSON returns an object of everything that the format says, with its layout as a [wiegand.Spec] under "spec".
// The error is ErrDefinition for a format that has no layout.
func (f Format) MarshalJSON() ([]byte, error) {
	if f.Layout == nil {
		return nil, fail("format", f.ID, "has no layout; compile one", ErrDefinition)
	}
	return json.Marshal(formatJSON{
		ID: f.ID, Description: f.Description, Source: f.Source, Standing: f.Standing, Kind: f.Kind, Weight: f.Weight,
		Spec: f.Layout.Spec(), Joined: f.Joined, Examples: f.Examples, Line: f.Line,
	})
}

// UnmarshalJSON reads what [Format.MarshalJSON] returns, and compiles the layout. The errors are those of encoding/json
// and of [wiegand.Compile].
func (f *Format) UnmarshalJSON(text []byte) error {
	var d formatJSON
	if err := json.Unmarshal(text, &d); err != nil {
		return err
	}
	layout, err := wiegand.Compile(d.Spec)
	if err != nil {
		return err
	}
	for _, i := range d.Joined {
		if i < 0 || i >= len(d.Spec.Fields) {
			return fail("format", d.ID, fmt.Sprintf("joined: no field %d; it has %d, counted from 0", i, len(d.Spec.Fields)),
				ErrDefinition)
		}
	}
	*f = Format{
		ID: d.ID, Description: d.Description, Source: d.Source, Standing: d.Standing, Kind: d.Kind, Weight: d.Weight,
		Layout: layout, Joined: d.Joined, Examples: d.Examples, Line: d.Line,
	}
	return nil
}

// cardJSON is a card as JSON has it: its format, and its read where that is known whole, or else what is known of each
// field.
type cardJSON struct {
	Format *Format      `json:"format"`
	Read   wiegand.Bits `json:"read,omitzero"`
	Fields []string     `json:"fields,omitempty"` // in the format's order, "" for one that is not known
}

// MarshalJSON returns an object that holds the card and its whole format, so that it can be read anywhere; null for a
// card without a format.
func (c Card) MarshalJSON() ([]byte, error) {
	if c.Format == nil {
		return []byte("null"), nil
	}
	d := cardJSON{Format: c.Format}
	var whole bool
	if d.Read, whole = c.Bits(); !whole {
		for i := range c.Format.Layout.Spec().Fields {
			d.Fields = append(d.Fields, c.Text(i))
		}
	}
	return json.Marshal(d)
}

// UnmarshalJSON reads what [Card.MarshalJSON] returns. The card has a format of its own, equal to the one that was
// written. The errors are those of encoding/json, [Format.Read] and [Card.With], and ErrForm where there is not one
// text for each field.
func (c *Card) UnmarshalJSON(text []byte) error {
	var d cardJSON
	if err := json.Unmarshal(text, &d); err != nil {
		return err
	}
	if d.Format == nil {
		*c = Card{}
		return nil
	}
	if d.Fields == nil {
		card, err := d.Format.Read(d.Read)
		if err == nil {
			*c = card
		}
		return err
	}
	if n := len(d.Format.Layout.Spec().Fields); len(d.Fields) != n {
		return fail("fields", "", fmt.Sprintf("there are %d; format %s has %d", len(d.Fields), d.Format.ID, n), ErrForm)
	}
	card := d.Format.Blank()
	for i, value := range d.Fields {
		if value == "" || card.Known.Has(i) {
			continue
		}
		var err error
		if card, err = card.With(i, value); err != nil {
			return err
		}
	}
	*c = card
	return nil
}
