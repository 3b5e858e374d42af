package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// cli runs a command.
func cli(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(args, strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

// write makes a file in a new folder, and returns its path.
func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func read(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// names returns what is in a folder.
func names(t testing.TB, dir string) (all []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

// siteText is a site of two lots of cards and two doors, one of which leaves the facility out.
const siteText = `name = "Test"
[[cards]]
format   = "26-8-16"
facility = [121, 122]
numbers  = "1-500, 1001-1100"
printed  = "pair"
[[doors]]
name     = "North"
enter    = "decimal10"
capacity = 4
[[doors]]
name     = "South"
enter    = "number"
`

// Nothing from a file or a file's name steers the terminal of whoever asks: a name could wipe out the line that
// complains of it.
func TestNothingSteersTheTerminal(t *testing.T) {
	const evil = "\x1b[2J\x1b]0;x\x07\u202e"
	list := write(t, "list.csv", "Name,Card"+evil+"\nAnn"+evil+",\"121,43\"\n"+evil+",\"121,43\"\nBo"+evil+",x"+evil+"\n")
	events := write(t, "events.csv", "Card\n7929900\n7929901\n"+evil+"\n")
	site := write(t, "site.toml", "[[cards]]\nformat = \"26-8-16\"\nfacility = 121\nprinted = \"pair\"\n[[doors]]\nname = \"\\u001b[2J\"\nenter = \"decimal\"\ncapacity = 1\n")
	defs := write(t, "defs.toml", "[[format]]\nid = \"27-0-27\"\ndescription = \"x\\u001b[2J\"\nsource = \"y\\u001b[2J\"\nlength = 27\nfields = [{ name = \"number\", bits = \"1-27\" }]\n")
	vcd := write(t, "line.vcd", strings.Replace(goodVCD, "DATA0", "DATA0\x1b[2J", 1))
	for _, args := range [][]string{
		{"check", list, "-c", "2", "--site", site},
		{"batch", list, "-c", "2", "--site", site, "--door", "all", "--dry-run"},
		{"match", events, "-c", "1", "--list", list, "--list-column", "2", "--site", site, "--door", "\x1b[2J"},
		{"identify", "27:1234567", "--formats", defs},
		{"formats", "show", "27-0-27", "--formats", defs},
		{"formats", "--formats", defs},
		{"draw", "27:1234567", "--format", "27-0-27", "--formats", defs, "--title", evil},
		{"capture", vcd},
		{"identify", "26:2F20023" + evil},
		{"identify", "--file", evil},
		{"identify", "--" + evil},
		{evil},
		{"__complete", "batch", list, "-c", ""},
		{"site", "--from", list, "-c", "2", "--format", "26-8-16", "--printed", "pair"},
	} {
		_, stdout, stderr := cli(args...)
		assert.NotEmpty(t, stdout+stderr, "%q", args)
		for _, sign := range []string{"\x1b", "\x07", "\u202e"} {
			assert.NotContains(t, stdout+stderr, sign, "%q", args)
		}
	}
}
