package answer

import (
	"cmp"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/wiegand"
)

// doubt says that a read may have been another card's, "" where it is nearly sure that it was not.
func doubt(r *rank.Repair) string {
	switch {
	case r.Ways > 1 && r.Bit == 0: // more is wrong than one bit
		return "  (present it again)"
	case r.Ways > 1:
		return fmt.Sprintf("  (one of %d it can be)", r.Ways)
	case r.Chance < say.Surely && r.Fault.Wiring():
		return fmt.Sprintf("  (%.0f %%: look at the card)", 100*r.Chance)
	case r.Chance < say.Surely:
		return fmt.Sprintf("  (%.0f %%: present it again)", 100*r.Chance)
	}
	return ""
}

// CardWords says what a card is: its fields, or that nothing is known.
func CardWords(c *formats.Card) string {
	if c.Format == nil {
		return "(nothing known)"
	}
	return SureWords(c, c)
}

// SureWords says what is known of a card for sure, and of what it has nothing. A bad read of which nothing is likely
// may tell a field all the same.
func SureWords(sure, card *formats.Card) string {
	if sure.Format == nil {
		return CardWords(card)
	}
	var parts []string
	for i, field := range sure.Format.Layout.Spec().Fields {
		switch {
		case field.Name == wiegand.FieldUnknown:
		case sure.Known.Has(i):
			parts = append(parts, field.Name+" "+sure.Text(i))
		case card.Known.Has(i) || card.Format == nil:
			parts = append(parts, field.Name+" unknown")
		}
	}
	if len(parts) == 0 { // a print shows the end of its number alone
		return "number not shown whole"
	}
	return strings.Join(parts, "  ")
}

// keysPressed writes keys that were pressed one after another, "" where the cards are something else.
func keysPressed(c *rank.Candidate) string {
	if c.Format.Kind != formats.KindKeypad || c.Format.Layout.Len() > 8 {
		return ""
	}
	var keys []string
	for i := range c.Cards {
		if c.Cards[i].Format == nil {
			return ""
		}
		code, _ := c.Cards[i].Number()
		keys = append(keys, cmp.Or(Key(code), fmt.Sprintf("(code %d)", code)))
	}
	return strings.Join(keys, " ")
}

// Key returns the key of a keypad that has a code: common practice, no source. "" where none has.
func Key(code uint64) string {
	const keys = "0123456789*#"
	if code >= uint64(len(keys)) {
		return ""
	}
	return keys[code : code+1]
}

// FormLines are a card in every form that its format has but those that the picture shows, one a line.
func FormLines(card *formats.Card) (lines []string) {
	for _, form := range everyForm {
		if text, err := form.Text(card); err == nil && form.Name != "bits" && form.Name != "fields" {
			lines = append(lines, fmt.Sprintf("  %-20s %s", form.Name, text))
		}
	}
	return lines
}

// inShort are the forms of a short answer, the most wanted first.
var inShort = []string{"pair", "number", "decimal10", "hex", "words", "uid", "uid-decimal", "uid-reversed-decimal"}

// numbers writes a card that was read, or not, in every form; in short in the usual ones, and what the doors of the
// site want.
func (s *screen) numbers(card *formats.Card, read bool) (items [][]string) {
	if s.Verbose {
		for _, line := range FormLines(card) {
			items = append(items, []string{line})
		}
		return items
	}
	for _, d := range s.Doors {
		if text := inForm(card, d.Enter); text != "" {
			items = append(items, []string{fmt.Sprintf("  %s  (%s, as %s wants it)", text, d.Enter,
				picture.Clean(say.Clip(d.Name, 30)))})
		}
	}
	names := inShort
	if !read {
		names = append([]string{"bits-hex"}, names...)
	}
	var parts []string
	for _, name := range names {
		if text := inForm(card, name); text != "" {
			parts = append(parts, strings.ReplaceAll(name+" "+text, " ", "\u00a0")) // stays together
		}
	}
	for _, line := range say.Wrap(strings.Join(parts, "  "), s.Style.Width-2) {
		items = append(items, []string{"  " + strings.ReplaceAll(line, "\u00a0", " ")})
	}
	return items
}

// inForm writes a card in the form of a name; "" where it has none.
func inForm(card *formats.Card, name string) string {
	form, ok := formats.FormByName(name)
	if !ok {
		return ""
	}
	text, err := form.Text(card)
	if err != nil {
		return ""
	}
	return text
}
