package main

import (
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/list"
)

// Two cards in a row, in one cell or in two columns: without --split the row is rejected, and the reason says what to
// do; with it there is a row for each card, or none where one of them can't be converted. The numbers are those of the
// published 26-bit standard: 121·65536 + number (SIA AC-01-1996.10).
func TestRowsWithSeveralCards(t *testing.T) {
	const text = "Name;Card;Badge no\n" +
		"Ann;121,00001;\n" +
		"Bo;121,00002 / 121,00003;\n" +
		"Cy;\"121,00004\n121,00005\";\n" +
		"Di;121,00006;121,00007\n" +
		"Ed;;121,00008\n" +
		"Flo;121,00009;122,00001\n" +
		"Gus;;\n" +
		"Hal;121,00011 -> 121,00012;\n" +
		"Ivy;121/00013;\n"
	site := write(t, "site.toml", "[[cards]]\nformat = \"26-8-16\"\nfacility = 121\nnumbers = \"1-100\"\nprinted = \"pair\"\n"+
		"[[doors]]\nname = \"a\"\nenter = \"decimal\"\n")
	in := write(t, "in.csv", text)
	out := filepath.Join(t.TempDir(), "out.csv")
	args := []string{in, "--site", site, "--door", "a", "-o", out}

	r := batchJSON(t, 1, append(args, "-c", "Card")...)
	assert.Equal(t, []int{9, 4, 5}, []int{r.Rows, r.Converted, r.Rejected})
	assert.Equal(t, problem{Line: 3, Kind: "several", Message: `"121,00002 / 121,00003": 2 numbers in one cell; ` +
		`give each card a row of its own, or --split`}, r.Problems[0])
	assert.Contains(t, r.Warnings[0], `column "Badge no" has card numbers too by its name`)

	r = batchJSON(t, 1, append(args, "-c", "Card", "-c", "Badge no", "--split")...)
	assert.Equal(t, []int{9, 6, 3, 9}, []int{r.Rows, r.Converted, r.Rejected, r.Cards})
	assert.Equal(t, "Name;Card;Badge no;decimal\nAnn;121,00001;;7929857\n"+
		"Bo;121,00002 / 121,00003;;7929858\nBo;121,00002 / 121,00003;;7929859\n"+
		"Cy;\"121,00004\n121,00005\";;7929860\nCy;\"121,00004\n121,00005\";;7929861\n"+
		"Di;121,00006;121,00007;7929862\nDi;121,00006;121,00007;7929863\n"+
		"Ed;;121,00008;7929864\nIvy;121/00013;;7929869\n", read(t, out))
	assert.Equal(t, []int{8, 9, 10}, []int{r.Problems[0].Line, r.Problems[1].Line, r.Problems[2].Line})
	assert.Contains(t, r.Problems[0].Message, "facility 122 is not one of this site's cards")

	book := filepath.Join(t.TempDir(), "out.xlsx")
	batchJSON(t, 1, in, "--site", site, "--door", "a", "-o", book, "-c", "Card", "-c", "Badge no", "--split")
	again := filepath.Join(t.TempDir(), "again.xlsx") // from XLSX to XLSX
	batchJSON(t, 1, book, "--site", site, "--door", "a", "-o", again, "-c", "Card", "--split", "--name", "more", "--rejects",
		filepath.Join(t.TempDir(), "r.csv"), "--any", "--ragged")
	l, err := list.Open(again, list.Options{})
	require.NoError(t, err)
	defer l.Close()
	rows := 0
	for {
		if _, err := l.Next(); err != nil {
			break
		}
		rows++
	}
	assert.Equal(t, 1+8+4, rows, "Bo and Cy have two rows in the first, and two for each of those in the second")

	_, stdout, _ := cli("batch", in, "--site", site, "--door", "a", "-o", out, "-c", "Card", "-c", "Badge no", "--split",
		"--redact")
	assert.Contains(t, stdout, "9 rows: 6 converted, 3 rejected; 9 cards")
	masked := read(t, out) + read(t, out+".rejects.csv")
	for _, number := range []string{"00001", "00002", "00005", "00007", "00009", "79298"} {
		assert.NotContains(t, masked, number)
	}
	for _, bad := range [][]string{{"-c", "Card", "-c", "Badge no", "--split", "--replace"}, {"-c", "Card", "-c", "Card", "--split"},
		{"-c", "Name", "-c", "Card", "-c", "Badge no"}} {
		code, _, stderr := cli(append([]string{"batch"}, append(args, bad...)...)...)
		assert.Equal(t, 2, code, stderr)
	}
	_, stdout, _ = cli("batch", in, "--site", site, "--door", "a", "-o", out, "-c", "Card", "-c", "Badge no")
	assert.Contains(t, stdout, "--split where each")
}
