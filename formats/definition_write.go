package formats

import (
	"fmt"
	"strconv"
	"strings"

	"github.com/cardtell/cardtell/formats/internal/tomlfile"
	"github.com/cardtell/cardtell/wiegand"
)

// AppendDefinition appends the format as a row of a definition file, which [ParseDefinitions] reads back. Lines of
// comment, if any, come before it; put there what speaks for the format.
func AppendDefinition(dst []byte, f *Format, comment ...string) []byte {
	for _, line := range comment {
		dst = append(append(append(dst, "# "...), tomlfile.OneLine(line)...), '\n')
	}
	spec := f.Layout.Spec()
	dst = fmt.Appendf(dst, "[[format]]\nid          = %s\ndescription = %s\nlength      = %d\n",
		tomlfile.Quote(f.ID), tomlfile.Quote(f.Description), spec.Length)
	if f.Kind != KindCard {
		dst = fmt.Appendf(dst, "kind        = %s\n", tomlfile.Quote(f.Kind.String()))
	}
	dst = appendRows(dst, "fields ", spec.Fields, appendField)
	dst = appendRows(dst, "checks ", spec.Checks, appendCheck)
	if len(f.Joined) > 0 && !f.joinedByDefault() {
		var names []string
		for _, i := range f.Joined {
			names = append(names, tomlfile.Quote(spec.Fields[i].Name))
		}
		dst = fmt.Appendf(dst, "joined      = [%s]\n", strings.Join(names, ", "))
	}
	dst = fmt.Appendf(dst, "source      = %s\nstanding    = %s\nweight      = %s\n",
		tomlfile.Quote(f.Source), tomlfile.Quote(f.Standing.String()), strconv.FormatFloat(f.Weight, 'g', -1, 64))
	if len(f.Examples) > 0 {
		dst = appendRows(dst, "example", f.Examples, appendExample)
	}
	return dst
}

// appendRows appends a list of tables, a line each.
func appendRows[T any](dst []byte, key string, rows []T, one func([]byte, T) []byte) []byte {
	dst = append(append(dst, key...), "     = [\n"...)
	for _, row := range rows {
		dst = append(one(append(dst, "    "...), row), ",\n"...)
	}
	return append(dst, "]\n"...)
}

func (f *Format) joinedByDefault() bool {
	return len(f.Joined) == 2 && f.Joined[0] == f.Facility() && f.Joined[1] == f.Number()
}

func appendField(dst []byte, f wiegand.Field) []byte {
	dst = fmt.Appendf(dst, "{ name = %s, bits = %s", tomlfile.Quote(f.Name), tomlfile.Quote(spaced(f.Bits)))
	if f.Order != wiegand.MSBFirst {
		dst = fmt.Appendf(dst, ", order = %s", tomlfile.Quote(f.Order.String()))
	}
	if f.Coding != wiegand.Binary {
		dst = fmt.Appendf(dst, ", coding = %s", tomlfile.Quote(f.Coding.String()))
	}
	if f.Constant != "" {
		dst = fmt.Appendf(dst, ", value = %s", tomlfile.Quote(f.Constant))
	}
	return append(dst, " }"...)
}

func appendCheck(dst []byte, c wiegand.Check) []byte {
	dst = fmt.Appendf(dst, "{ kind = %s", tomlfile.Quote(c.Kind.String()))
	if c.Kind == wiegand.Even || c.Kind == wiegand.Odd {
		dst = fmt.Appendf(dst, ", bit = %d", c.Bit)
	} else {
		dst = fmt.Appendf(dst, ", bits = %s", tomlfile.Quote(spaced(c.Bits)))
	}
	if c.Kind == wiegand.Fixed {
		dst = fmt.Appendf(dst, ", value = %s", tomlfile.Quote(c.Value.String()))
	} else {
		dst = fmt.Appendf(dst, ", over = %s", tomlfile.Quote(spaced(c.Over)))
	}
	if c.Repeat > 1 {
		dst = fmt.Appendf(dst, ", repeat = %d, step = %d", c.Repeat, c.Step)
	}
	return append(dst, " }"...)
}

func appendExample(dst []byte, e Example) []byte {
	dst = fmt.Appendf(dst, "{ read = %s, fields = {", tomlfile.Quote(e.Read.Hex()))
	for i, name := range sortedKeys(e.Fields) {
		if i > 0 {
			dst = append(dst, ',')
		}
		dst = fmt.Appendf(dst, " %s = %s", name, tomlfile.Quote(e.Fields[name]))
	}
	return append(dst, " } }"...)
}

// spaced writes spans with a space after each comma, as people do.
func spaced(s wiegand.Spans) string { return strings.ReplaceAll(s.String(), ",", ", ") }
