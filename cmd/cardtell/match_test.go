package main

import (
	"encoding/json"
	"fmt"
	"math/bits"
	"math/rand/v2"
	"os"
	"path/filepath"
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

// The probabilities are honest: on sites at random with faults and strangers, of the answers given with about a
// probability that share is right.
func TestMatchProbabilitiesAreHonest(t *testing.T) {
	sites := 150
	if testing.Short() {
		sites = 15
	}
	rnd := rand.New(rand.NewPCG(23, 24))
	var stated, right [10]float64
	var count [10]int
	for i := range sites {
		list, numbers := staff(rnd, 60, []int{50_000, 2000, 300, 120}[i%4])
		events, truth := "Card\n", map[string]string{}
		for range 12 {
			who := rnd.IntN(len(numbers))
			v := 121<<16 | numbers[who]
			name := fmt.Sprintf("Person %d", who)
			switch rnd.IntN(6) {
			case 0:
				v ^= 1 << rnd.UintN(24)
			case 1:
				v = v&0xFF<<16 | v&0xFF00 | v>>16
			case 2:
				v = uint64(rnd.IntN(255))<<16 | numbers[who]
			case 3:
				v = numbers[who]
			case 4:
				v, name = 121<<16|rnd.Uint64N(1<<16), ""
			case 5:
				v, name = rnd.Uint64N(1<<24), ""
			}
			shown := fmt.Sprintf("%010d", v)
			if _, ok := truth[shown]; ok {
				continue
			}
			truth[shown] = name
			events += shown + "\n"
		}
		for _, u := range runMatch(t, list, events).Unknown {
			i := min(int(u.Probability*10), 9)
			count[i]++
			stated[i] += u.Probability
			if u.Holder == truth[u.Card] {
				right[i]++
			}
		}
	}
	for i := range count {
		if count[i] == 0 {
			continue
		}
		n := float64(count[i])
		t.Logf("stated %.1f %%, right %.1f %% of %d", 100*stated[i]/n, 100*right[i]/n, count[i])
		if count[i] >= 50 {
			assert.InDelta(t, stated[i]/n, right[i]/n, 0.12, "decile %d of %d answers", i, count[i])
		}
	}
}

// Events are passed on with the holder of each.
func TestMatchWritesEvents(t *testing.T) {
	list := "Name;Card\nAnn;121,43\nBo;121,44\n"
	events := write(t, "events.csv", "Time,Card,Door\n1,0007929899,A\n2,0000000044,A\n3,,A\n4,0009999999,A\n")
	out := filepath.Join(t.TempDir(), "named.csv")
	site := write(t, "site.toml", matchSite)
	code, stdout, stderr := cli("match", events, "-c", "Card", "--list", write(t, "list.csv", list), "--list-column",
		"Card", "--site", site, "--door", "A", "-o", out)
	assert.Equal(t, 1, code, stderr)
	assert.Contains(t, stdout, "4 events: 1 with a holder on the list, 3 without")
	lines := strings.Split(read(t, out), "\n")
	assert.Equal(t, "Time,Card,Door,holder,match", lines[0])
	assert.Equal(t, "1,0007929899,A,Ann,on the list", lines[1])
	assert.Contains(t, lines[2], "2,0000000044,A,Bo,")
	assert.Contains(t, lines[2], "likely, cut short")
	assert.NotContains(t, lines[2], "  ", "the number is not padded")
	assert.Equal(t, "3,,A,,unknown", lines[3])
	assert.Equal(t, "4,0009999999,A,,unknown", lines[4])
	info, err := os.Stat(out)
	require.NoError(t, err)
	assert.Equal(t, os.FileMode(0o600), info.Mode().Perm())
}

// An event with too many or too few cells gets no holder: its number may be in another cell.
func TestMatchRaggedEvents(t *testing.T) {
	list := write(t, "list.csv", "Name,Card\nAnn,\"121,43\"\nBo,\"121,44\"\n")
	events := write(t, "events.csv", "Card,T\n7929899,1\n7929899,7929900,2\n7929900\n")
	out := filepath.Join(t.TempDir(), "out.csv")
	code, stdout, stderr := cli("match", events, "-c", "Card", "--list", list, "--list-column", "Card", "--format",
		"26-8-16", "--from", "pair", "--shown", "decimal", "--ragged", "-o", out)
	assert.Equal(t, 1, code, stderr)
	assert.Contains(t, stdout, "3 events: 1 with a holder on the list, 2 without")
	assert.Contains(t, stdout, "not read  2 events with too many or too few cells, the first in line 3")
	assert.Equal(t, "Card,T,holder,match\n7929899,1,Ann,on the list\n7929899,7929900,2,,the row has too many or too few cells\n"+
		"7929900,,the row has too many or too few cells\n", read(t, out))
	_, stdout, _ = cli("match", events, "-c", "Card", "--list", list, "--list-column", "Card", "--format", "26-8-16",
		"--from", "pair", "--shown", "decimal", "--ragged", "--json")
	assert.Contains(t, stdout, `{"line":3,"kind":"ragged"`)
}

func TestMatchErrors(t *testing.T) {
	list, events := write(t, "list.csv", "Name;Card\nAnn;121,43\n"), write(t, "events.csv", "Card\n1\n")
	site := write(t, "site.toml", matchSite)
	none := write(t, "none.csv", "Who;What\nAnn;121,43\n")
	for name, tt := range map[string]struct {
		args []string
		code int
		says string
	}{
		"no list": {[]string{events, "-c", "Card"}, 2, "--list: no list of cardholders"},
		"no list column": {[]string{events, "-c", "Card", "--list", none, "--site", site, "--door", "A"}, 2,
			"none.csv:1: --column: no column that by its head holds card numbers"},
		"wrong list column": {[]string{events, "-c", "Card", "--list", list, "--list-column", "Name", "--site", site,
			"--door", "A"}, 2, "no row has a card number"},
		"no such list": {[]string{events, "-c", "Card", "--list", list + "x", "--list-column", "Name", "--site", site,
			"--door", "A"}, 3, "no such file"},
		"no such door": {[]string{events, "-c", "Card", "--list", list, "--list-column", "Card", "--site", site,
			"--door", "B"}, 2, `there are "A"`},
		"output is input": {[]string{events, "-c", "Card", "--list", list, "--list-column", "Card", "--site", site,
			"--door", "A", "-o", list}, 2, "a file that is read"},
	} {
		code, stdout, stderr := cli(append([]string{"match"}, tt.args...)...)
		assert.Equal(t, tt.code, code, name)
		assert.Empty(t, stdout, name)
		assert.Contains(t, stderr, tt.says, name)
	}
}

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

// Without --door the events can have the form of any door, and where no door is known, a number that is a holder's card
// in another form is that: no bit was lost on the way, and no cable is to blame.
func TestMatchWithoutADoorBlamesNoCable(t *testing.T) {
	list, events := "Name;Card\n", "Card\n"
	for i := range 101 {
		list += fmt.Sprintf("P%d;121,%05d\n", i, 100+i)
		events += fmt.Sprintf("%010d\n", 121<<16|(100+i))
	}
	in, log := write(t, "list.csv", list), write(t, "events.csv", events)
	var r found.Match
	code, stdout, stderr := cli("match", log, "--list", in, "--site", write(t, "site.toml", matchSite), "--json")
	require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
	assert.Equal(t, 0, code)
	assert.Equal(t, 101, r.Converted)
	_, stdout, stderr = cli("match", log, "--list", in, "--format", "26-8-16", "--from", "pair", "--json")
	r = found.Match{}
	require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
	assert.Equal(t, []found.RuleShare{{Rule: "another form", Cards: 101}}, r.Rules)
	assert.Contains(t, r.Unknown[0].Settle, "match again with --shown decimal10")
}
