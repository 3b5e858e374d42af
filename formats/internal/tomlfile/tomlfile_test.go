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
		"name = \"a\"\nx.y = 1\nz = 2":  {Line: 2, Key: "x.y", Unknown: true, Reason: "no such key"},
		"name = \"a\"\n[[rows]]\nown=5": {Line: 3, Reason: "is no letter"},
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
	long := Decode([]byte(strings.Repeat("k", 1000)+" = 1\n"), &read)
	assert.Less(t, len(long.Text()), 320)
}

// Any text that is quoted is read as it was; a line of comment stays one.
func TestQuote(t *testing.T) {
	t.Parallel()
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.String().Draw(t, "text")
		var read list
		require.NoError(t, toml.Unmarshal([]byte("# "+OneLine(text)+"\nname = "+Quote(text)), &read))
		require.Equal(t, text, read.Name)
	})
}
