package main

import (
	"bytes"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// slowly gives a text in small pieces of changing size, as a pipe does.
type slowly struct {
	text io.Reader
	rnd  *rand.Rand
}

func (s slowly) Read(p []byte) (int, error) { return s.text.Read(p[:1+s.rnd.IntN(min(len(p), 3000))]) }

// A list from standard input is read as the same list in a file is: the outputs, the rejects and what is said are the
// same bytes. The lists need a sample to be read: two kinds of card, damaged cells, a format that is found out.
func TestStandardInputIsReadAsAFile(t *testing.T) {
	site := write(t, "site.toml", "[[cards]]\nformat = \"34-16-16\"\nfacility = 57385\nprinted = \"decimal10\"\n"+
		"[[cards]]\nformat = \"37-0-35\"\nprinted = \"number10\"\n[[doors]]\nname = \"a\"\nenter = \"decimal10\"\n")
	rnd := rand.New(rand.NewPCG(12, 13))
	sizes := []int{3, 60, 30_000} // 30,000 rows are more than are kept for the sample
	if testing.Short() {
		sizes = sizes[:2]
	}
	for _, rows := range sizes {
		var two, pairs strings.Builder
		two.WriteString("Name;Card;Notes\n")
		pairs.WriteString("Name\tCard\n")
		for i := range rows {
			text := fmt.Sprintf("%010d", uint64(57_385)<<16+uint64(1+rnd.IntN(2000))) // 34 bits: facility · 65536 + number
			if rnd.IntN(3) == 0 {
				text = fmt.Sprintf("%010d", 55_000+rnd.IntN(1000))
			}
			if rnd.IntN(30) == 0 {
				text = text[:rnd.IntN(10)]
			}
			fmt.Fprintf(&two, "Somebody %d;%s;-\n", i, text)
			fmt.Fprintf(&pairs, "Somebody %d\t%03d,%05d\n", i, 121, 1+rnd.IntN(2000))
		}
		for name, q := range map[string]struct {
			list string
			args []string
		}{
			"batch":        {two.String(), []string{"batch", "LIST", "-c", "Card", "--site", site, "--door", "a"}},
			"check":        {two.String(), []string{"check", "LIST", "-c", "Card", "--site", site, "--all"}},
			"batch, found": {pairs.String(), []string{"batch", "LIST", "-c", "Card", "--from", "pair", "--to", "hex"}},
		} {
			answer := func(list string, in io.Reader) []string {
				dir := t.TempDir()
				args := append([]string(nil), q.args...)
				args[1] = list
				if args[0] == "batch" {
					args = append(args, "-o", filepath.Join(dir, "out.csv"))
				}
				var out, errw bytes.Buffer
				code := run(args, in, &out, &errw)
				require.Less(t, code, 2, "%s: %s", name, errw.String())
				said := strings.NewReplacer(dir, "", "batch "+list, "batch LIST", list+":", "LIST:", "standard input", "LIST", "batch - ", "batch LIST ").Replace(
					strings.Join(strings.Fields(out.String()+errw.String()), " "))
				all := []string{fmt.Sprint(code), said}
				for _, file := range names(t, dir) {
					text, err := os.ReadFile(filepath.Join(dir, file))
					require.NoError(t, err)
					all = append(all, file, string(text))
				}
				return all
			}
			file := answer(write(t, "in.csv", q.list), nil)
			assert.Equal(t, file, answer("-", slowly{strings.NewReader(q.list), rnd}), "%s, %d rows", name, rows)
		}
	}
}
