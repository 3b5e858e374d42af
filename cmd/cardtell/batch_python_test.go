package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"golang.org/x/text/encoding/charmap"
	"golang.org/x/text/encoding/unicode"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/independent"
)

// judged is a question of batch_rows.py.
type judged struct {
	In        string          `json:"in"`
	Out       string          `json:"out"`
	Rejects   string          `json:"rejects"`
	Delimiter string          `json:"delimiter"`
	Encoding  string          `json:"encoding"`
	Card      int             `json:"card"`
	Report    json.RawMessage `json:"report"`
}

// Of 1,000 lists with everything in them that lists have, no row is lost, made up or moved, and no number comes out
// wrong: Python's csv module is the judge. Delimiter and encoding are found out by the program, and told to the judge.
func TestNoRowIsLost(t *testing.T) {
	const seed = 2718
	files, refused := 1000, 0
	if testing.Short() {
		files = 120
	}
	rnd := rand.New(rand.NewPCG(seed, 1))
	dir := t.TempDir()
	var questions []judged
	var texts []string
	for i := range files {
		q := judged{In: filepath.Join(dir, fmt.Sprint(i, ".csv")), Out: filepath.Join(dir, fmt.Sprint(i, ".out.csv")),
			Card: 1}
		text := messyList(rnd, &q)
		require.NoError(t, os.WriteFile(q.In, []byte(text), 0o600))
		code, stdout, stderr := cli("batch", q.In, "-c", "Card", "--format", "26-8-16", "--from", "pair", "--to", "decimal",
			"--ragged", "--json", "-o", q.Out)
		if code > 1 {
			refused++
			t.Logf("list %d is refused: %s", i, stderr)
			continue
		}
		q.Report = json.RawMessage(stdout)
		if q.Rejects = q.Out + ".rejects.csv"; !exists(q.Rejects) {
			q.Rejects = ""
		}
		texts = append(texts, text)
		questions = append(questions, q)
	}
	assert.Less(t, refused, files/50, "lists that are refused")
	for i, a := range independent.Ask[struct{ Wrong string }](t, "batch_rows.py", questions) {
		assert.Empty(t, a.Wrong, "seed %d, list %d:\n%q", seed, i, texts[i])
	}
}

// messyList makes a list of cardholders as offices have them: titles, blank rows, quotes, line ends in cells, damaged
// and empty numbers, rows too long and too short, totals, footers.
func messyList(rnd *rand.Rand, q *judged) string {
	q.Delimiter = []string{",", ";", "\t", "|"}[rnd.IntN(4)]
	end := []string{"\n", "\r\n"}[rnd.IntN(2)]
	var b strings.Builder
	row := func(cells ...string) {
		for i, c := range cells {
			if i > 0 {
				b.WriteString(q.Delimiter)
			}
			if strings.ContainsAny(c, q.Delimiter+"\"\r\n") || c != "" && rnd.IntN(9) == 0 {
				c = `"` + strings.ReplaceAll(c, `"`, `""`) + `"`
			}
			b.WriteString(c)
		}
		b.WriteString(end)
	}
	pick := func(all ...string) string { return all[rnd.IntN(len(all))] }
	row("Name", "Card", "Hall", "Remark")
	card := func() string {
		f, n := rnd.IntN(256), rnd.IntN(1<<16)
		switch rnd.IntN(14) {
		case 0:
			return pick("", "x", "12-May", "1.2E+10", "121", "300,1", "1,70000", "7 930 174", "#REF!", "1,2,3", "12,5 and 12,6",
				"=\"1,2\"")
		case 1:
			return fmt.Sprintf(" %d,%05d ", f, n)
		case 2:
			return fmt.Sprintf("%d-%d", f, n)
		case 3:
			return fmt.Sprintf("%03d/%05d", f, n)
		}
		return fmt.Sprintf("%03d,%05d", f, n)
	}
	rows := 3 + rnd.IntN(25)
	if rnd.IntN(3) == 0 {
		rows = 60 + rnd.IntN(400) // more than are looked at for the names of columns
	}
	for range rows {
		name := pick("Ann Okafor", "Zoë Lindqvist", `Ana "Nan" Ruiz`, "O'Brien, Pat", "Total Fitness Ltd", "Mara; Tom",
			"Bo\nLi", "Count Otto", "-", "=1+1", "Li | Wei") +
			pick("", "", fmt.Sprint(" ", rnd.IntN(99)))
		switch rnd.IntN(30) {
		case 0:
			b.WriteString(end)
		case 1:
			row("", "", "", "")
		case 2:
			row(pick("Total", "Sum", "Count", "Grand total"), fmt.Sprint(rnd.IntN(300)), "", "")
		case 3:
			row(pick("Page 1 of 2", "Printed on 27.11.2026 07:15", "End of list"), "", "", "")
		case 4:
			row("Name", "Card", "Hall", "Remark")
		case 5:
			row(name, card())
		case 6:
			row(name, card(), "East", "", "one more")
		default:
			row(name, card(), pick("East", "West", "Joinery", ""), pick("", "", "left", "a,b;c", "spare\tkey"))
		}
	}
	text := b.String()
	if rnd.IntN(8) == 0 {
		text = strings.TrimSuffix(text, end)
	}
	switch rnd.IntN(6) {
	case 0:
		q.Encoding = "utf-16"
		// nolint:errcheck // it has every character
		text, _ = unicode.UTF16(unicode.LittleEndian, unicode.UseBOM).NewEncoder().String(text)
	case 1:
		q.Encoding = "utf-8-sig"
		text = "\ufeff" + text
	case 2:
		q.Encoding = "windows-1252"
		text, _ = charmap.Windows1252.NewEncoder().String(text) //nolint:errcheck // as above
	default:
		q.Encoding = "utf-8"
	}
	return text
}
