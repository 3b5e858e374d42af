package main

import (
	"encoding/json"
	"fmt"
	"math/bits"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
)

// matchSite is a site of one lot of cards with facility 121, whose door shows all data bits.
const matchSite = `[[cards]]
format = "26-8-16"
facility = 121
printed = "pair"
[[doors]]
name = "A"
enter = "decimal10"
`

// staff makes a list of people with card numbers at random.
func staff(rnd *rand.Rand, n, spread int) (text string, numbers []uint64) {
	var b strings.Builder
	b.WriteString("Name;Card\n")
	used := map[uint64]bool{}
	for len(numbers) < n {
		v := uint64(1000 + rnd.IntN(spread))
		if used[v] {
			continue
		}
		used[v] = true
		fmt.Fprintf(&b, "Person %d;121,%05d\n", len(numbers), v)
		numbers = append(numbers, v)
	}
	return b.String(), numbers
}

// runMatch runs match and reads its JSON.
func runMatch(t testing.TB, list, events string, args ...string) found.Match {
	t.Helper()
	site := write(t, "site.toml", matchSite)
	code, stdout, stderr := cli(append([]string{"match", write(t, "events.csv", events), "-c", "Card", "--list",
		write(t, "list.csv", list),
		"--list-column", "Card", "--site", site, "--door", "A", "--json", "--all"}, args...)...)
	var r found.Match
	require.NoError(t, json.Unmarshal([]byte(stdout), &r), "%d %s", code, stderr)
	assert.Equal(t, r.Rows, r.Converted+r.Rejected)
	return r
}

// Each rule is found by one card that differs by it, on a list of forty.
func TestMatchFindsTheRule(t *testing.T) {
	rnd := rand.New(rand.NewPCG(21, 22))
	list, numbers := staff(rnd, 40, 50_000)
	n := numbers[7]
	v := 121<<16 | n
	swapped := v&0xFF<<16 | v&0xFF00 | v>>16
	for rule, shown := range map[string]string{
		"byte order":       fmt.Sprintf("%010d", swapped),
		"bit order":        fmt.Sprintf("%010d", bits.Reverse64(v)>>40),
		"lines swapped":    fmt.Sprintf("%010d", 1<<24-1-v), // a pulse on the other line is the other bit
		"one bit misread":  fmt.Sprintf("%010d", v^1<<13),
		"one bit lost":     fmt.Sprintf("%010d", v>>9<<8|v&0xFF),
		"another facility": fmt.Sprintf("%010d", 77<<16|n),
		"cut short":        fmt.Sprintf("%010d", n),
		"another form":     fmt.Sprintf("121,%05d", n),
	} {
		t.Run(rule, func(t *testing.T) {
			r := runMatch(t, list, "Card\n"+quoteCell(shown)+"\n")
			require.Len(t, r.Unknown, 1)
			u := r.Unknown[0]
			assert.Equal(t, "Person 7", u.Holder)
			assert.Equal(t, 9, u.HolderLine)
			assert.Equal(t, rule, u.Rule)
			assert.Greater(t, u.Probability, 0.5)
			assert.NotEmpty(t, u.Settle)
		})
	}
	r := runMatch(t, list, "Card\n"+fmt.Sprintf("%010d", 99<<16|60123)+"\n")
	assert.Empty(t, r.Unknown[0].Holder, "nobody's card is nobody's")
	assert.Equal(t, "not on the list", r.Unknown[0].Rule)
}

func quoteCell(s string) string { return `"` + s + `"` }

// Three hundred thousand events, a third of them of cards that are not on the list.
func BenchmarkMatch(b *testing.B) {
	rnd := rand.New(rand.NewPCG(25, 26))
	list, numbers := staff(rnd, 2000, 50_000)
	var events strings.Builder
	events.WriteString("Card\n")
	for i := range 300_000 {
		v := 121<<16 | numbers[rnd.IntN(len(numbers))]
		if i%3 == 0 {
			v = rnd.Uint64N(1<<24) % 40_009
		}
		fmt.Fprintf(&events, "%010d\n", v)
	}
	text := events.String()
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		runMatch(b, list, text)
	}
}
