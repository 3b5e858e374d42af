package fuzz

import (
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
)

// FuzzSighting: whatever reads as a card reads as the same card once its kind is spelled out.
func FuzzSighting(f *testing.F) {
	for _, text := range []string{
		"26:32D687E=46143",           // a read and what is printed on it
		"bits:1", "left:26:CB5A1F80", // reads
		"0009876543", "150,46143", "printed:12-34-56-78", // printed numbers
		"04:A2:3B:5C:11:22:80", "uid:04A23B5C", "04-A2-3B-5C", // chip serials
		"hex:96B43F",              // a number in hex
		"12-34-56-78", "04A23B5C", // two kinds
		// as other programs write
		"0x7920E1", "0b0011", "0B0", "26bit 0F241C3", "26: 0F 24 1C 3", "04 A2 3B 5C", "UID: 04:A2:3B:5C",
		"FC 121 ID 8417", "#8417", "HD-08417", "0007938273 121,08417", // with labels
		"[08:14:22] reader 1: 26 bit data = 0F241C3", "2026-03-02 08:14,North stair,unknown card,\"121,08417\"", // of logs
		"4B-CB0E", "26:32D687E=96:B4:3F", "hex:12-3456", // hex in parts
		"04::A2:3B:5C", "uid:04:A2-3B:5C", "=", // none
		strings.Repeat("1", 257), strings.Repeat("7", 81), // too long
	} {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, text string) {
		fromLog(t, text)
		all, err := formats.ParseSightings(text)
		if err != nil {
			declared(t, err)
			if all != nil {
				t.Fatal("an error, and sightings")
			}
			return
		}
		if parts := strings.Count(text, "=") + 1; len(all) == 0 || len(all) > 2*parts || !digitsFrom(all, text) {
			t.Fatalf("%+v made of %q", all, text)
		}
		for _, s := range all {
			prefix := map[formats.SightingKind]string{formats.Printed: "printed:", formats.Serial: "uid:",
				formats.Hex: "hex:"}[s.Kind]
			again, err := formats.ParseSighting(prefix + s.Text)
			if err != nil || again != s {
				t.Fatalf("%q is %+v, not %+v: %v", prefix+s.Text, again, s, err)
			}
			bits := s.Kind == formats.Read || s.Kind == formats.Serial
			if bits != (s.Bits.Len() > 0) {
				t.Fatalf("%+v made of %q", s, text)
			}
		}
	})
}

// fromLog holds that what is found in a line is a card, whose digits stand in the line.
func fromLog(t *testing.T, line string) {
	text, err := formats.FromLog(line)
	if err != nil {
		declared(t, err)
		return
	}
	ways, err := formats.Spellings(text)
	if err != nil {
		t.Fatalf("%q of %q: %v", text, line, err)
	}
	for _, w := range ways {
		// a read can be of a decimal
		if text != line && w.Sightings[0].Kind != formats.Read && !digitsFrom(w.Sightings, line) {
			t.Fatalf("%+v of %q", w, line)
		}
	}
}

// digitsFrom reports whether all digits of a card stand in the text that it was made of, in the same order and each
// once: a prefix and the signs between digits can be others, 0b01 being bits:01 and FC 121 ID 8417 being 121,8417, but
// no digit is made up. Of a facility and a number alone the order can be the other one: 8417 FC 121 is 121,8417 too.
func digitsFrom(made formats.Sightings, text string) bool {
	if len(made) == 1 && made[0].Kind == formats.Printed {
		if facility, number, ok := strings.Cut(made[0].Text, ","); ok && inOrder(formats.Sightings{{Text: number +
			"," + facility}}, text) {
			return true
		}
	}
	return inOrder(made, text)
}

func inOrder(made formats.Sightings, text string) bool {
	text = strings.ToUpper(strings.NewReplacer("_", "", ".", "", "(", "", ")", "", "[", "", "]", "", "{", "", "}", "", "<", "",
		">", "", `"`, "", "'", "", "`", "").Replace(strings.Join(strings.Fields(text), "")))
	noDigit := func(r rune) bool { return !strings.ContainsRune("0123456789ABCDEF", r) }
	for _, s := range made {
		if s.Kind == formats.Read { // which can be in groups, as 0011-0100
			text = strings.ReplaceAll(text, "-", "")
		}
		if s.Kind == formats.Hex { // which can be in two parts, as 4B-CB0E, or in bytes
			text = strings.NewReplacer("-", "", ":", "", ",", "", "/", "").Replace(text)
		}
		own := strings.TrimPrefix(strings.TrimPrefix(s.Text, "bits:"), "left:")
		for run := range strings.FieldsFuncSeq(strings.ToUpper(strings.NewReplacer(" ", "", "_", "", ".", "").Replace(own)),
			noDigit) {
			if s.Kind == formats.Read && !strings.Contains(text, run) { // zeros before a read of a given length
				run = strings.TrimLeft(run, "0")
			}
			_, rest, found := strings.Cut(text, run)
			if !found {
				return false
			}
			text = rest
		}
	}
	return true
}
