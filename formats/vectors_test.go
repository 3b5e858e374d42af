package formats

import (
	"encoding/hex"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/wiegand"
)

// vector is one worked example of testdata/vectors; the README there explains the grammar.
type vector struct {
	file string
	line int // of its first key

	name, source, format, read, left, fields, fails string
	forms                                           []formText
}

// formText is a text in a form and what is to be done with it: "form", "reads" or "drops".
type formText struct{ what, form, text string }

// parseVectors reads a file of examples.
func parseVectors(file, text string) ([]vector, error) {
	var all []vector
	var v vector
	names := map[string]bool{}
	for i, line := range strings.Split(text+"\n\n", "\n") {
		switch line = strings.TrimRight(line, "\r"); {
		case strings.HasPrefix(line, "#"):
		case line != "":
			if v.line == 0 {
				v.line = i + 1
			}
			if err := v.set(line); err != nil {
				return nil, fmt.Errorf("%s:%d: %w", file, i+1, err)
			}
		case v.line > 0:
			if v.name == "" || v.source == "" || v.format == "" || v.read == "" || names[v.name] {
				return nil, fmt.Errorf("%s:%d: name, source, format or read is missing, or the name is used twice", file, v.line)
			}
			names[v.name] = true
			v.file = file
			all = append(all, v)
			v = vector{}
		}
	}
	return all, nil
}

func (v *vector) set(line string) error {
	key, value, ok := strings.Cut(line, ": ")
	if !ok {
		return fmt.Errorf("%q is no key: value", line)
	}
	if what, form, ok := strings.Cut(key, " "); ok && (what == "form" || what == "reads" || what == "drops") {
		v.forms = append(v.forms, formText{what, form, value})
		return nil
	}
	to := map[string]*string{
		"name": &v.name, "source": &v.source, "format": &v.format, "read": &v.read, "left": &v.left, "fields": &v.fields,
		"fails": &v.fails,
	}[key]
	if to == nil || *to != "" {
		return fmt.Errorf("key %q is unknown or there twice", key)
	}
	*to = value
	return nil
}

func TestVectors(t *testing.T) {
	files, err := filepath.Glob("../testdata/vectors/*.txt")
	require.NoError(t, err)
	require.NotEmpty(t, files)
	catalogue := Builtin()
	walked := map[string]bool{}
	for _, file := range files {
		text, err := os.ReadFile(file)
		require.NoError(t, err)
		vectors, err := parseVectors(filepath.Base(file), string(text))
		require.NoError(t, err)
		require.NotEmpty(t, vectors, file)
		for _, v := range vectors {
			walked[v.format] = true
			t.Run(v.file+"/"+v.name, func(t *testing.T) { v.check(t, catalogue) })
		}
	}
	// What no standard or outside arithmetic gives an example of is checked by the example in its row alone.
	for _, id := range catalogue.IDs() {
		if !walked[id] && !slices.Contains([]string{"48-22-23", "58-0-56", "66-0-64", "uuid-128"}, id) {
			t.Errorf("format %s has no vector", id)
		}
	}
}

// check walks one example.
func (v *vector) check(t *testing.T, catalogue Catalogue) {
	b, err := wiegand.ParseBits(v.read)
	require.NoError(t, err)
	if v.left != "" {
		p, err := hex.DecodeString(strings.ReplaceAll(v.left, " ", ""))
		require.NoError(t, err)
		assert.Equal(t, p, b.AppendBytesLeft(nil))
		fromLeft, err := wiegand.BitsFromLeft(p, b.Len())
		require.NoError(t, err)
		assert.Equal(t, b, fromLeft)
	}
	f := formatOfLength(catalogue, v.format, b.Len())
	require.NotNil(t, f, "no such format")
	c, err := f.Read(b)
	require.NoError(t, err)
	for field := range strings.FieldsSeq(v.fields) {
		name, want, _ := strings.Cut(field, "=")
		assert.Equal(t, want, c.Text(f.FieldByName(name)), name)
	}
	if v.fails != "" {
		v.checkWrong(t, f, &c)
		return
	}
	assert.True(t, c.Record.OK(), f.DescribeChecks(c.Record.Failed()))
	v.checkEncoding(t, f, &c)
	for _, x := range v.forms {
		x.check(t, f, &c)
	}
}

// checkEncoding builds the read from the fields alone, where the layout has no unknown bits.
func (v *vector) checkEncoding(t *testing.T, f *Format, c *Card) {
	assert.Equal(t, c.Record.Bits(), c.Record.Encode())
	r := c.Record
	if f.FieldByName(wiegand.FieldUnknown) < 0 {
		r = f.Layout.Blank()
	}
	for field := range strings.FieldsSeq(v.fields) {
		name, value, _ := strings.Cut(field, "=")
		var err error
		r, err = r.WithText(f.FieldByName(name), value)
		require.NoError(t, err)
	}
	assert.Equal(t, c.Record.Bits(), r.Encode(), "fields encode to the same bits")
}

// checkWrong holds an example that is wrong to the checks it must fail.
func (v *vector) checkWrong(t *testing.T, f *Format, c *Card) {
	var got []string
	for i, check := range f.Layout.Checks() {
		if c.Record.Failed().Has(i) {
			got = append(got, check.Kind.String()+" "+check.Bits.String())
		}
	}
	assert.Equal(t, v.fails, strings.Join(got, "; "))
	form, _ := FormByName("bits")
	_, err := form.Parse(f, v.read)
	assert.ErrorIs(t, err, ErrForm, "a read of a named format must be a good one")
	assert.Contains(t, err.Error(), "is no good read of format "+f.ID)
}

// check writes the card in a form and reads it back.
func (x formText) check(t *testing.T, f *Format, c *Card) {
	form, ok := FormByName(x.form)
	require.True(t, ok, "no such form: %s", x.form)
	if x.what != "reads" {
		got, err := form.Text(c)
		require.NoError(t, err)
		assert.Equal(t, x.text, got, x.form)
	}
	back, err := form.Parse(f, x.text)
	if x.what == "drops" {
		assert.ErrorIs(t, err, ErrMissing)
		return
	}
	require.NoError(t, err)
	assert.NotZero(t, back.Known, x.form)
	for i, field := range f.Layout.Spec().Fields {
		if back.Known.Has(i) {
			assert.Equal(t, c.Text(i), back.Text(i), "%s read from form %s", field.Name, x.form)
		}
	}
	if back.Whole() {
		assert.Equal(t, c.Record.Bits(), back.Record.Bits(), x.form)
	}
}

// formatOfLength returns the format of that id whose reads have n bits, nil where there is none.
func formatOfLength(catalogue Catalogue, id string, n int) *Format {
	for _, f := range catalogue.Find(id) {
		if f.Layout.Len() == n {
			return f
		}
	}
	return nil
}

// The walk of the vectors can fail: a file with a mistake in it is refused.
func TestVectorGrammar(t *testing.T) {
	const good = "name: a\nsource: s\nformat: 26-8-16\nread: 26:32D687E\n"
	_, err := parseVectors("f", good+"\n"+strings.Replace(good, ": a", ": b", 1))
	require.NoError(t, err)
	for text, want := range map[string]string{
		good + "colour: red\n": `f:5: key "colour" is unknown or there twice`,
		good + "read: 26:0\n":  `f:5: key "read" is unknown or there twice`,
		good + "\n" + good:     `f:6: name, source, format or read is missing, or the name is used twice`,
		strings.Replace(good, "source: s\n", "",
			1): `f:1: name, source, format or read is missing, or the name is used twice`,
		"# a\n\n" + good + "form\n":                    `f:7: "form" is no key: value`,
		strings.Replace(good, "read: 26", "read:6", 1): `f:4: "read:6:32D687E" is no key: value`,
	} {
		_, err := parseVectors("f", text)
		assert.EqualError(t, err, want)
	}
}

// The bit codes of the sixteen signs, ISO/IEC 7811 track 2; the table is also that of TIG SCEPACS v2.2, figure 7.
func TestPublishedCharacters(t *testing.T) {
	l := wiegand.MustCompile(wiegand.Spec{Length: 5, Fields: []wiegand.Field{
		{Name: "sign", Bits: wiegand.Spans{{From: 1, To: 5}}, Coding: wiegand.Signs5},
	}})
	for v, code := range strings.Fields(
		"00001 10000 01000 11001 00100 10101 01101 11100 00010 10011 01011 11010 00111 10110 01110 11111") {
		r := must(l.Decode(wiegand.MustParseBits(code)))
		assert.True(t, r.OK(), code)
		assert.Equal(t, string(rune(0x30+v)), r.Text(0), code)
		for i := range 5 { // odd parity sees any one bit
			b := r.Bits().WithBit(i, 1-r.Bits().Bit(i))
			wrong := must(l.Decode(b))
			assert.False(t, wrong.OK(), b)
		}
	}
}

// A public text gives site code bits 2-9 and number bits 10-25 of a 34-bit read beside parities over 16 bits each: 24
// data bits named where 32 are present (common practice, no source; own arithmetic).
func TestPublishedLayoutThatLeavesBitsOut(t *testing.T) {
	_, err := ParseDefinitions("text", []byte(`
[[format]]
id = "34-8-16"
description = "as printed"
length = 34
fields = [{ name = "facility", bits = "2-9" }, { name = "number", bits = "10-25" }]
checks = [{ kind = "even", bit = 1, over = "2-17" }, { kind = "odd", bit = 34, over = "18-33" }]
`))
	assert.ErrorIs(t, err, ErrDefinition)
	assert.False(t, errors.Is(err, wiegand.ErrLayout), "one kind of error, that of this package")
	assert.EqualError(t, err, `text:3: format "34-8-16": check 2 "odd": covers bit 26, which is computed later or claimed by nothing; `+
		`put the check that computes it first`)
}
