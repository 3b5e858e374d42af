package tomlfile

import (
	"errors"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

type list struct {
	Name string `toml:"name"`
	Rows []row  `toml:"rows"`
}

type row struct {
	N     int      `toml:"n"`
	Words []string `toml:"words"`
	Own   own      `toml:"own"`
}

// own reads itself from a text, a number not.
type own struct{ text string }

func (o *own) UnmarshalText(text []byte) error {
	if o.text = string(text); o.text < "a" {
		return errors.New("is no letter")
	}
	return nil
}

// What is wrong comes with its line and key, whatever the parser says of them.
func TestErrors(t *testing.T) {
	t.Parallel()
	for text, want := range map[string]Error{
		"name = 5":              {Line: 1, Key: "name", Reason: "is of type integer; write a text in quotes"},
		"\n[[rows]]\nn = \"x\"": {Line: 3, Key: "rows.n", Reason: "is of type string; write a whole number"},
		"[[rows]]\nwords = 1.5": {Line: 2, Key: "rows.words",
			Reason: "is of type float; write a list of texts in square brackets"},
		"rows = 1": {Line: 1, Key: "rows",
			Reason: "is of type integer; write tables, each in braces or begun with [[rows]]"},
		"name = \"a\"\nx.y = 1\nz = 2":                            {Line: 2, Key: "x.y", Unknown: true, Reason: "no such key"},
		"name = \"a\"\n[[rows]]\nown=5\nn = 3\n\n[[rows]]\nn = 1": {Line: 3, Reason: "is no letter"},
	} {
		e := Decode([]byte(text), &list{})
		require.NotNil(t, e, text)
		assert.Equal(t, want, *e, text)
	}
	var read list
	assert.Nil(t, Decode([]byte("[[rows]]\nown = \"o\"\nn = 2"), &read))
	assert.Equal(t, []row{{N: 2, Own: own{"o"}}}, read.Rows)
	assert.Equal(t, `no such key "x"`, Decode([]byte("x = 1"), &read).Text())
	assert.Equal(t, "key name: is of type integer; write a text in quotes", Decode([]byte("name = 1"), &read).Text())
	long := strings.Repeat("k", 1000)
	assert.Less(t, len(Decode([]byte(long+" = 1\n"), &read).Text()), 320)
	twice := Decode([]byte("\""+long+"\\n\" = 1\n\""+long+"\\n\" = 1\n"), &read)
	assert.Equal(t, 2, twice.Line)
	assert.Less(t, len(twice.Text()), 320)
	assert.NotContains(t, twice.Text(), "\n")
	assert.Equal(t, "key n is already defined", Decode([]byte("[[rows]]\nn = 1\nn = 2"), &read).Text())
	last := Decode([]byte("[[rows]]\nown=5"), &read)
	assert.Equal(t, "is no letter", last.Text())
	assert.Equal(t, 2, last.Line)
}

// Any text that is quoted is read as it was; a line of comment stays one.
func TestQuote(t *testing.T) {
	t.Parallel()
	assert.Equal(t, `"a b\"\u000A"`, Quote("a b\"\n"))
	var first strings.Builder
	for r := range rune(0x100) {
		first.WriteRune(r)
	}
	texts := rapid.OneOf(rapid.Just(first.String()), rapid.String())
	rapid.Check(t, func(t *rapid.T) {
		text := texts.Draw(t, "text")
		var read list
		require.NoError(t, toml.Unmarshal([]byte("# "+OneLine(text)+"\nname = "+Quote(text)), &read))
		require.Equal(t, text, read.Name)
	})
}
