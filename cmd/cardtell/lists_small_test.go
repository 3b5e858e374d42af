package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// smallSite is two kinds of cards; what is expected of them below is worked out by hand from the published rule: 26
// bits are facility · 65536 + number as one decimal (SIA AC-01-1996.10).
const smallSite = `name = "Harbour Row Workshops"
[[cards]]
format = "26-8-16"
printed = "pair"
[[cards]]
format = "34-0-32"
printed = "number10"
[[doors]]
name = "Yard gate"
enter = "decimal10"
[[doors]]
name = "North stair"
enter = "joined"
`

// converted runs batch and returns its new file and the reasons of the rejects.
func converted(t *testing.T, list, site string, args ...string) (out, rejects string) {
	t.Helper()
	dir := t.TempDir()
	to := filepath.Join(dir, "out.csv")
	code, _, stderr := cli(append([]string{"batch", write(t, "list.csv", list), "-c", "Card", "-o", to, "--site",
		write(t, "site.toml", site), "--out-encoding", "utf-8", "--out-delimiter", ","}, args...)...)
	require.Less(t, code, 2, stderr)
	if code == 1 {
		rejects = read(t, to+".rejects.csv")
	}
	return read(t, to), rejects
}

// New numbers keep clear of rows that leave the facility out: it may be the one of the new cards.
func TestNextKeepsClearOfNumbersWithoutFacility(t *testing.T) {
	site := "[[cards]]\nformat = \"26-8-16\"\nfacility = [121, 122]\nnumbers = \"1-100\"\nprinted = \"number\"\n"
	code, stdout, stderr := cli("check", write(t, "list.csv", "Name,Card\nAnn,1\nBo,2\nCleo,99\nDov,100\n"), "-c", "Card",
		"--site", write(t, "site.toml", site), "--next", "2", "--json")
	require.Less(t, code, 2, stderr)
	assert.Contains(t, stdout, `"facility":"121","first":"3","last":"4"`)
}

// New numbers keep clear of rows in hex that can be a card of two kinds: 5D is 93.
func TestNextKeepsClearOfHexInDoubt(t *testing.T) {
	site := "[[cards]]\nformat = \"26-0-24\"\nnumbers = \"92-100\"\nprinted = \"hex\"\n[[cards]]\nformat = \"34-0-32\"\nprinted = \"hex\"\n"
	code, stdout, stderr := cli("check", write(t, "list.csv", "Name,Card\nAnn,00005C\nBo,00005D\nCleo,000040\nDov,00002DB4\nEve,(5D)\n"),
		"-c", "Card", "--site", write(t, "site.toml", site), "--next", "1", "--json")
	require.Less(t, code, 2, stderr)
	assert.Contains(t, stdout, `"first":"94"`)
}

// A door says what a print leaves out: the facility, or the first digits.
func TestShowsOfPrintsThatLeaveSomethingOut(t *testing.T) {
	site := write(t, "site.toml", "[[cards]]\nformat = \"37-16-19\"\nprinted = \"number\"\n"+
		"[[cards]]\nformat = \"34-0-32\"\nprinted = \"pair24\"\n")
	for shows, form := range map[string]string{
		"459=00149,000459":     "pair",
		"028,40762=1495047994": "number10", // 1495047994 is 89 · 2^24 + 28 · 65536 + 40762
	} {
		code, stdout, stderr := cli("site", "--site", site, "--door", "Gate", "--shows", shows, "--json")
		assert.Less(t, code, 2, stderr)
		assert.Contains(t, stdout, `"`+form+`"`, shows)
	}
}
