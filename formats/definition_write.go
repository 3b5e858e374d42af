package formats

import (
	"fmt"
	"strconv"
	"strings"
	"unicode"

	"github.com/cardtell/cardtell/wiegand"
)

// AppendDefinition appends the format as a row of a definition file, which [ParseDefinitions] reads back. Lines of
// comment, if any, come before it; put there what speaks for the format.
func AppendDefinition(dst []byte, f *Format, comment ...string) []byte {
	for _, line := range comment {
		dst = append(append(append(dst, "# "...), noControls(line)...), '\n')
	}
	spec := f.Layout.Spec()
	dst = fmt.Appendf(dst, "[[format]]\nid          = %s\ndescription = %s\nlength      = %d\n",
		quote(f.ID), quote(f.Description), spec.Length)
	if f.Kind != KindCard {
		dst = fmt.Appendf(dst, "kind        = %s\n", quote(f.Kind.String()))
	}
	dst = append(dst, "fields      = [\n"...)
	for _, field := range spec.Fields {
		dst = append(dst, "    "...)
		dst = append(appendField(dst, field), ",\n"...)
	}
	dst = append(dst, "]\nchecks      = [\n"...)
	for _, c := range spec.Checks {
		dst = append(dst, "    "...)
		dst = append(appendCheck(dst, c), ",\n"...)
	}
	dst = append(dst, "]\n"...)
	if len(f.Joined) > 0 && !f.joinedByDefault() {
		var names []string
		for _, i := range f.Joined {
			names = append(names, quote(spec.Fields[i].Name))
		}
		dst = fmt.Appendf(dst, "joined      = [%s]\n", strings.Join(names, ", "))
	}
	dst = fmt.Appendf(dst, "source      = %s\nstanding    = %s\nweight      = %s\n",
		quote(f.Source), quote(f.Standing.String()), strconv.FormatFloat(f.Weight, 'g', -1, 64))
	if len(f.Examples) > 0 {
		dst = append(dst, "example     = [\n"...)
		for _, e := range f.Examples {
			dst = append(dst, "    "...)
			dst = append(appendExample(dst, e), ",\n"...)
		}
		dst = append(dst, "]\n"...)
	}
	return dst
}

// noControls returns a text with control characters, which neither a comment nor a line of an error may hold, as
// spaces.
func noControls(s string) string {
	return strings.Map(func(r rune) rune {
		if unicode.IsControl(r) {
			return ' '
		}
		return r
	}, s)
}

// quote writes a TOML basic string. Its escapes are those of JSON, and strconv's differ from them for control
// characters only, which are written out here.
func quote(s string) string {
	var b strings.Builder
	b.WriteByte('"')
	for _, r := range s {
		switch {
		case r == '"' || r == '\\':
			b.WriteByte('\\')
			b.WriteRune(r)
		case r < 0x20 || r == 0x7f:
			fmt.Fprintf(&b, `\u%04X`, r)
		default:
			b.WriteRune(r)
		}
	}
	b.WriteByte('"')
	return b.String()
}

func (f *Format) joinedByDefault() bool {
	return len(f.Joined) == 2 && f.Joined[0] == f.Facility() && f.Joined[1] == f.Number()
}

func appendField(dst []byte, f wiegand.Field) []byte {
	dst = fmt.Appendf(dst, "{ name = %s, bits = %s", quote(f.Name), quote(spaced(f.Bits)))
	if f.Order != wiegand.MSBFirst {
		dst = fmt.Appendf(dst, ", order = %s", quote(f.Order.String()))
	}
	if f.Coding != wiegand.Binary {
		dst = fmt.Appendf(dst, ", coding = %s", quote(f.Coding.String()))
	}
	if f.Constant != "" {
		dst = fmt.Appendf(dst, ", value = %s", quote(f.Constant))
	}
	return append(dst, " }"...)
}

func appendCheck(dst []byte, c wiegand.Check) []byte {
	dst = fmt.Appendf(dst, "{ kind = %s", quote(c.Kind.String()))
	if c.Kind == wiegand.Even || c.Kind == wiegand.Odd {
		dst = fmt.Appendf(dst, ", bit = %d", c.Bit)
	} else {
		dst = fmt.Appendf(dst, ", bits = %s", quote(spaced(c.Bits)))
	}
	if c.Kind == wiegand.Fixed {
		dst = fmt.Appendf(dst, ", value = %s", quote(c.Value.String()))
	} else {
		dst = fmt.Appendf(dst, ", over = %s", quote(spaced(c.Over)))
	}
	if c.Repeat > 1 {
		dst = fmt.Appendf(dst, ", repeat = %d, step = %d", c.Repeat, c.Step)
	}
	return append(dst, " }"...)
}

func appendExample(dst []byte, e Example) []byte {
	dst = fmt.Appendf(dst, "{ read = %s, fields = {", quote(e.Read.Hex()))
	for i, name := range sortedKeys(e.Fields) {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = fmt.Appendf(dst, " %s = %s", name, quote(e.Fields[name]))
	}
	return append(dst, " } }"...)
}

// spaced writes spans with a space after each comma, as people do.
func spaced(s wiegand.Spans) string { return strings.ReplaceAll(s.String(), ",", ", ") }
