package formats

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// definition is a file with one format that holds together; the tests change one line of it.
const definition = `# formats of a site
[[format]]
id          = "8-2-4"
description = "a small one"
length      = 8
kind        = "card"
fields      = [
    { name = "facility", bits = "2-3" },
    { name = "number", bits = "4-7", order = "lsb" },
]
checks = [
    { kind = "even", bit = 1, over = "2-4" },
    { kind = "odd", bit = 8, over = "5-7" },
]
source   = "made up"
standing = "learned"
weight   = 2.5
example  = [{ read = "1 01 0010 0", fields = { facility = "1", number = "4" } }]
`

func TestParseDefinitions(t *testing.T) {
	all, err := ParseDefinitions("site.toml", []byte("\xef\xbb\xbf"+definition)) // a byte order mark is left out
	require.NoError(t, err)
	require.Len(t, all, 1)
	f := &all[0]
	assert.Equal(t, []any{"8-2-4", "a small one", "made up", Learned, KindCard, 2.5, 3, []int{0, 1}},
		[]any{f.ID, f.Description, f.Source, f.Standing, f.Kind, f.Weight, f.Line, f.Joined})
	assert.Equal(t, []int{0, 1, -1}, []int{f.Facility(), f.Number(), f.FieldByName("agency")})
	require.Len(t, f.Examples, 1)
	assert.Equal(t, wiegand.MustParseBits("10100100"), f.Examples[0].Read)
	assert.Equal(t, "even parity over bits 1-4; odd parity over bits 5-8", f.DescribeChecks(3))

	// What may be left out.
	all, err = ParseDefinitions("f", []byte("[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = 3\nfields = [{ name = \"n\", bits = \"1-$\" }]\n"))
	require.NoError(t, err)
	assert.Equal(t, []any{FromMemory, KindCard, 1.0, -1, -1, 3}, []any{
		all[0].Standing, all[0].Kind, all[0].Weight, all[0].Facility(), all[0].Number(),
		all[0].Layout.Spec().Fields[0].Bits.Len()})
}

// A format of several lengths is one for each; the weight is shared, and $ is the last bit of each.
func TestDefinitionOfSeveralLengths(t *testing.T) {
	_, err := ParseDefinitions("f", []byte(`
[[format]]
id = "n-bits"
description = "any number and a parity bit"
lengths = "8-16/4, 32"
fields = [{ name = "number", bits = "1-$-1" }]
checks = [{ kind = "odd", bit = 99, over = "1-$-1" }]
`))
	require.Error(t, err, "a check's own bit is a number, so that it can't be the last of each")
	all, err := ParseDefinitions("f", []byte(`
[[format]]
id = "n-bits"
description = "any number and two bits that never change"
lengths = "8-16/4, 32"
fields = [{ name = "number", bits = "1-$-2" }]
checks = [{ kind = "fixed", bits = "$ - 1-$", value = "10" }]
weight = 8
example = [{ read = "12:00E" }, { read = "000000000000000000000000 000011 10", fields = { number = "3" } }]
`))
	require.NoError(t, err)
	require.Len(t, all, 4)
	for i, n := range []int{8, 12, 16, 32} {
		assert.Equal(t, n, all[i].Layout.Len())
		assert.Equal(t, n-2, all[i].Layout.Spec().Fields[0].Bits.Len())
		assert.InEpsilon(t, 2.0, all[i].Weight, 1e-12)
	}
	assert.Len(t, all[1].Examples, 1)
	assert.Len(t, all[3].Examples, 1)
}

// Each kind of mistake is an error that gives the file, the line, and the key or the id.
func TestDefinitionMistakes(t *testing.T) {
	inRow := func(reason string) string { return `site.toml:3: format "8-2-4": ` + reason }
	for _, c := range []struct{ old, new, message string }{
		{`length      = 8`, `length      = 8` + "\ncolour = 1", `site.toml:6: no such key "format.colour"`},
		{`bits = "2-3" }`, `bits = "2-3", width = 2 }`, `site.toml:8: no such key "format.width"`},
		{`length      = 8`, `length      = "8"`,
			`site.toml:5: key format.length: is of type string; write a whole number`},
		{`bits = "2-3"`, `bits = [2, 3]`, `site.toml:8: key format.fields: is of type array; write a text in quotes`},
		{`order = "lsb"`, `order = ["lsb"]`, `site.toml:9: key format.fields: is of type array; write a text in quotes`},
		{`{ name = "facility", bits = "2-3" }`, `2`,
			`site.toml:8: key format.fields: is of type integer; write a table in braces`},
		{`{ facility = "1", number = "4" }`, `4`,
			`site.toml:18: key format.example: is of type integer; write a table in braces`},
		{`weight   = 2.5`, `joined   = 1`, `site.toml:17: key format.joined: is of type integer; write a list of texts in square brackets`},
		{`weight   = 2.5`, `weight   = "x"`, `site.toml:17: key format.weight: is of type string; write a number`},
		{`length      = 8`, `length      = `,
			"site.toml:5: unexpected character U+000A at start of value; a line is KEY = VALUE, with texts in \"quotes\""},
		{`[[format]]`, `[[format]`,
			"site.toml:2: expected ']]' to close array table name; a line is KEY = VALUE, with texts in \"quotes\""},
		{`weight   = 2.5`, `weight   = 2.5` + "\nweight = 3",
			`site.toml:18: key weight is already defined`},
		{`kind        = "card"`, `kind        = "badge"`,
			`site.toml:6: key format.kind: kind "badge": is none of card, serial, keypad, either`},
		{`standing = "learned"`, `standing = "sure"`,
			`site.toml:16: key format.standing: standing "sure": is none of published, common practice, from memory, learned`},
		{`standing = "learned"`, `standing = 3`,
			`site.toml:16: standing "3": is none of published, common practice, from memory, learned`},
		{`kind = "even"`, `kind = 9`, `site.toml:14: kind "9": is none of even, odd, lrc, fixed`},
		{`order = "lsb"`, `order = "LSB"`,
			`site.toml:9: key format.fields: order "LSB": is none of msb, lsb`},
		{`bits = "2-3"`, `bits = "2..3"`,
			`site.toml:8: key format.fields: parse bits of a read "2..3": "2..3" is no span; ` +
				`write 2-9, 5, or 10-55/5 for every fifth bit`},
		{`bits = "2-3"`, `bits = "3-2"`,
			`site.toml:8: key format.fields: parse bits of a read "3-2": 3-2: ends before it begins; ` +
				`write 2-3; which end counts most is the field's order`},
		{`kind = "even"`, `kind = "parity"`,
			`site.toml:12: key format.checks: kind "parity": is none of even, odd, lrc, fixed`},
		{`read = "1 01 0010 0"`, `read = "1 01 0010 x"`,
			`site.toml:18: key format.example: parse bits "1 01 0010 x": character 11 is 'x'; ` +
				`write 0s and 1s, or LENGTH:HEX such as 26:32D687E`},

		{`id          = "8-2-4"`, `id          = "8 2 4"`,
			`site.toml:3: format "8 2 4": an id is lower-case letters and digits, with single dashes between, such as 26-8-16`},
		{`id          = "8-2-4"`, ``,
			`site.toml:2: format "": an id is lower-case letters and digits, with single dashes between, such as 26-8-16`},
		{`description = "a small one"`, ``, inRow(`it has no description; write one line that says what it is`)},
		{`length      = 8`, ``, inRow(`layout: a length of 0; 1 to 256 are possible`)},
		{`length      = 8`, "length = 8\nlengths = \"8-9\"", inRow(`it has both length and lengths; give one of them`)},
		{`kind = "even", bit = 1`, `kind = "even", value = "1", bit = 1`,
			inRow(`check 1 "even": has no use for value; leave it out`)},
		{`kind = "even", bit = 1`, `kind = "even", step = 2, bit = 1`,
			inRow(`check 1 "even": has no use for step; leave it out`)},
		{`weight   = 2.5`, `weight   = 0`, inRow(`a weight of 0; it is a number above 0`)},
		{`weight   = 2.5`, `weight   = -1.0`, inRow(`a weight of -1; it is a number above 0`)},
		{`weight   = 2.5`, `weight   = nan`, inRow(`a weight of NaN; it is a number above 0`)},
		{`weight   = 2.5`, `weight   = inf`, inRow(`a weight of +Inf; it is a number above 0`)},
		{`weight   = 2.5`, `joined   = ["facility", "digits"]`,
			inRow(`joined names "digits", which is no field; there are facility, number`)},
		{`weight   = 2.5`, `joined   = ["facility", "facility"]`, inRow(`joined names "facility" twice; name it once`)},
		{`bits = "2-3"`, `bits = "2-9"`, inRow(`field 1 "facility": bits 2-9: the read has 8 bits`)},
		{`bits = "2-3"`, `bits = "2"`, inRow(`check 1 "even": covers bit 3, which is computed later or claimed by nothing; ` +
			`put the check that computes it first`)},
		{`over = "2-4"`, `over = "$-9"`, inRow(`parse bits of a read "-1": "-1" is no span; write 2-9, 5, or 10-55/5 for every fifth bit`)},
		{`bits = "2-3"`, `bits = "$-9"`, inRow(`parse bits of a read "-1": "-1" is no span; write 2-9, 5, or 10-55/5 for every fifth bit`)},
		{`kind = "even", bit = 1, over = "2-4"`, `kind = "fixed", bits = "$-9", value = "1"`,
			inRow(`parse bits of a read "-1": "-1" is no span; write 2-9, 5, or 10-55/5 for every fifth bit`)},
		{`, over = "2-4"`, ``, inRow(`check 1 "even": covers no bits`)},
		{`read = "1 01 0010 0"`, `read = "1 01 0010"`, inRow(`example 1 has 7 bits, which is not the length`)},
		{`read = "1 01 0010 0"`, `read = "0 01 0010 0"`, inRow(`example 1: a check fails (even parity over bits 1-4)`)},
		{`number = "4"`, `number = "2"`, inRow(`example 1: number decodes to 4, not 2`)},
		{`number = "4"`, `digits = "4"`, inRow(`example 1 names "digits", which is no field; there are facility, number`)},
	} {
		text := strings.Replace(definition, c.old, c.new, 1)
		require.NotEqual(t, definition, text, c.old)
		all, err := ParseDefinitions("site.toml", []byte(text))
		assert.Nil(t, all)
		assert.ErrorIs(t, err, ErrDefinition, c.new)
		assert.EqualError(t, err, c.message, c.new)
		assert.NotContains(t, err.Error(), "\n")
	}
}

func TestDefinitionFiles(t *testing.T) {
	for text, message := range map[string]string{
		"":                    `site.toml: no formats; each begins with [[format]]`,
		"# nothing\n":         `site.toml: no formats; each begins with [[format]]`,
		"name = \"a site\"\n": `site.toml:1: no such key "name"`,
		"[[format]]\n\x00":    `site.toml:2: unexpected control character U+0000`,
	} {
		all, err := ParseDefinitions("site.toml", []byte(text))
		assert.Nil(t, all)
		assert.ErrorIs(t, err, ErrDefinition)
		assert.Contains(t, err.Error(), strings.Split(message, ": ")[0])
		if text == "" || text[0] != '[' {
			assert.EqualError(t, err, message)
		}
	}

	// The second format of a file: its line, and its clash with the first.
	_, err := ParseDefinitions("site.toml", []byte(definition+definition))
	assert.EqualError(t, err, `site.toml:21: format "8-2-4": the id is used in line 3 already; choose another`)
	second := strings.Replace(definition, `"8-2-4"`, `"b"`, 1)
	_, err = ParseDefinitions("site.toml", []byte(definition+strings.Replace(second, "length      = 8", "length = 9", 1)))
	assert.ErrorContains(t, err, `site.toml:21: format "b": layout: bits 9 are claimed by nothing`)
	// An id is found however it is written.
	_, err = ParseDefinitions("site.toml", []byte(strings.Replace(definition, `"8-2-4"`, "'x y'", 1)))
	assert.ErrorContains(t, err, `site.toml:3: format "x y": an id is`)
	_, err = ParseDefinitions("site.toml", []byte(strings.Replace(definition, `"8-2-4"`, "'x y'", 1)+second))
	assert.ErrorContains(t, err, `site.toml:3: format "x y": an id is`, "of its own format, and not the next")
	_, err = ParseDefinitions("site.toml", []byte(`format = [{ id = "x y" }]`))
	assert.ErrorContains(t, err, `site.toml:1: format "x y": an id is`, "the tables of an array have no head")
	_, err = ParseDefinitions("site.toml", []byte("# the last line has no end\n[[format]]\nstanding = 3"))
	assert.EqualError(t, err, `site.toml:3: standing "3": is none of published, common practice, from memory, learned`)
	_, err = ParseDefinitions("site.toml", []byte("\nformat = 3"))
	assert.EqualError(t, err, `site.toml:2: key format: is of type integer; write tables, each in braces or begun with [[format]]`)
}

// What the TOML parser says of a key comes on one line, whatever the key holds and however long it is.
func TestLongAndStrangeKeys(t *testing.T) {
	_, err := ParseDefinitions("f", []byte("\"x\\ny\" = 1\n\"x\\ny\" = 2\n"))
	require.ErrorIs(t, err, ErrDefinition)
	assert.NotContains(t, err.Error(), "\n")
	for _, n := range []int{10, 100, 300, 1000} {
		key := strings.Repeat("k", n)
		_, err = ParseDefinitions("f", []byte(key+" = 1\n"+key+" = 2\n"))
		require.ErrorIs(t, err, ErrDefinition)
		assert.Equal(t, n >= 300, strings.HasSuffix(err.Error(), "…"), err)
		assert.Less(t, len(err.Error()), 320)
	}
}

// A definition that is written out reads back whatever its texts hold.
func TestAppendDefinitionQuotes(t *testing.T) {
	all, err := ParseDefinitions("f", []byte(definition))
	require.NoError(t, err)
	f := all[0]
	f.Description = "quotes \" and \\, a tab\tand\na line, \u007f, \x1f, é"
	f.Source = "'"
	text := AppendDefinition(nil, &f, "learned from\r\ntwo lines\x00 and \x1b[31m colour")
	back, err := ParseDefinitions("f", text)
	require.NoError(t, err, string(text))
	assert.Equal(t, f.Description, back[0].Description)
	assert.Equal(t, f.Source, back[0].Source)
	assert.Equal(t, text, AppendDefinition(nil, &back[0], "learned from\r\ntwo lines\x00 and \x1b[31m colour"),
		"the same bytes every time")
}

// What a format does not need is not written; what the file would otherwise say differently is, and comes back.
func TestAppendDefinitionLeavesOutDefaults(t *testing.T) {
	write := func(change ...string) (text string, back Format) {
		all, err := ParseDefinitions("f", []byte(strings.NewReplacer(change...).Replace(definition)))
		require.NoError(t, err)
		text = string(AppendDefinition(nil, &all[0]))
		again, err := ParseDefinitions("f", []byte(text))
		require.NoError(t, err, text)
		assert.Equal(t, all[0].Joined, again[0].Joined)
		assert.Equal(t, all[0].Layout.Spec(), again[0].Layout.Spec())
		return text, again[0]
	}
	text, f := write("example  =", "# example")
	for _, key := range []string{"joined", "example", "repeat", "kind        ="} {
		assert.NotContains(t, text, key)
	}
	assert.Equal(t, []int{0, 1}, f.Joined)
	for joined, want := range map[string][]int{
		`["number"]`: {1}, `["facility"]`: {0}, `["number", "facility"]`: {1, 0}, `["facility", "number", "x"]`: {0, 1, 2},
		`["facility", "x"]`: {0, 2}, `["x", "number"]`: {2, 1},
	} {
		_, f = write("weight   = 2.5", "joined = "+joined, `"4-7", order = "lsb" }`, `"4-6" }, { name = "x", bits = "7" }`,
			"example  =", "# example")
		assert.Equal(t, want, f.Joined)
	}
	text, _ = write(`{ name = "facility", bits = "2-3" }`, `{ name = "facility", bits = "3" }`,
		`bit = 1, over = "2-4"`, `bit = 1, over = "3", repeat = 2, step = 1`, `over = "5-7"`, `over = "4-7"`, `bits = "4-7"`,
		`bits = "4-7"`,
		"example  =", "# example")
	assert.Contains(t, text, "repeat = 2, step = 1")
	once := must(ParseDefinitions("f", []byte(strings.Replace(definition, `over = "2-4"`, `over = "2-4", repeat = 1`,
		1))))[0]
	assert.NotContains(t, string(AppendDefinition(nil, &once)), "repeat", "once is what it is anyway")
}

// Facility and number are joined by default where a format has both, wherever they stand; one alone is not.
func TestJoinedByDefault(t *testing.T) {
	for fields, want := range map[string][]int{
		`{ name = "number", bits = "1-4" }, { name = "facility", bits = "5-8" }`: {1, 0},
		`{ name = "number", bits = "1-8" }`:                                      nil,
		`{ name = "facility", bits = "1-8" }`:                                    nil,
	} {
		all, err := ParseDefinitions("f", []byte("[[format]]\nid = \"a\"\ndescription = \"d\"\nlength = 8\nfields = ["+fields+"]\n"))
		require.NoError(t, err)
		assert.Equal(t, want, all[0].Joined)
		for _, name := range []string{"pair", "joined"} {
			form, _ := FormByName(name)
			fits, _ := form.Fits(&all[0])
			assert.Equal(t, want != nil, fits, name)
		}
		form, _ := FormByName("joined")
		fits, _ := form.Fits(&all[0])
		assert.Equal(t, want != nil, fits)
		all[0].Joined = nil // a caller may set it, and is believed
		fits, _ = form.Fits(&all[0])
		assert.False(t, fits)
	}
}

// A form that joins one field only is read back too.
func TestJoinedOfOneField(t *testing.T) {
	all, err := ParseDefinitions("f", []byte(strings.Replace(definition, "weight   = 2.5", `joined = ["number"]`, 1)))
	require.NoError(t, err)
	form, _ := FormByName("joined")
	c, err := form.Parse(&all[0], "07")
	require.NoError(t, err)
	assert.Equal(t, "7", c.Text(1))
	_, err = form.Parse(&all[0], "007")
	assert.ErrorIs(t, err, ErrForm)
}

func TestFormatNames(t *testing.T) {
	for k := KindCard; k <= KindEither; k++ {
		var got Kind
		require.NoError(t, got.UnmarshalText([]byte(k.String())))
		assert.Equal(t, k, got)
	}
	for s := Published; s <= Learned; s++ {
		var got Standing
		require.NoError(t, got.UnmarshalText([]byte(s.String())))
		assert.Equal(t, s, got)
	}
	assert.Equal(t, "Standing(4) Standing(255) Kind(4) Kind(255)", fmt.Sprint(Learned+1, Standing(255), KindEither+1,
		Kind(255)))
}

// Nesting that no definition needs does not exhaust the stack.
func TestDeepNesting(t *testing.T) {
	depth := 1 << 20
	if testing.Short() {
		depth = 1 << 15
	}
	for _, text := range []string{
		"a = " + strings.Repeat("[", depth), "a = " + strings.Repeat("{a=", depth), strings.Repeat("a.", depth) + "a = 1",
		"[" + strings.Repeat("a.", depth) + "a]",
	} {
		_, err := ParseDefinitions("f", []byte(text))
		assert.ErrorIs(t, err, ErrDefinition)
		assert.Less(t, len(err.Error()), 1000)
	}
}
