package main

import (
	"encoding/json"
	"fmt"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/independent"
)

// siteList is a question of site_lists.py.
type siteList struct {
	Seed    int             `json:"seed"`
	List    int             `json:"list"`
	Dir     string          `json:"dir"`
	Out     string          `json:"out,omitempty"`
	Rejects string          `json:"rejects,omitempty"`
	Report  json.RawMessage `json:"report,omitempty"`
}

// Of 1,000 lists of sites with one to three kinds of cards, in many forms, damaged, with titles, totals and two
// columns, not one wrong number is written, and of the rows that nothing is wrong with 97 in 100 are converted, where
// the command says what the list is. The lists are made and judged in Python, which knows the cards and works out their
// numbers itself. "untold" is a back-up of a door passed off as a list of prints: its rows may be rejected, and are
// never wrong.
func TestListsOfSites(t *testing.T) {
	const seed = 9203
	lists := 1000
	if testing.Short() {
		lists = 100
	}
	dir := t.TempDir()
	var questions []siteList
	for i := range lists {
		questions = append(questions, siteList{Seed: seed, List: i, Dir: dir})
	}
	made := independent.Ask[struct{ Args []string }](t, "site_lists.py", questions)
	for i := range questions {
		q := &questions[i]
		q.Out = filepath.Join(dir, fmt.Sprint(i, ".out.csv"))
		code, stdout, stderr := cli(append(made[i].Args, "-o", q.Out)...)
		require.LessOrEqual(t, code, 1, "list %d: %s", i, stderr)
		q.Report = json.RawMessage(stdout)
		if name := q.Out + ".rejects.csv"; exists(name) {
			q.Rejects = name
		}
	}
	good, converted := map[bool]int{}, map[bool]int{}
	for i, a := range independent.Ask[struct {
		Wrong           []string
		Good, Converted int
		Way             string
	}](t, "site_lists.py", questions) {
		assert.Empty(t, a.Wrong, "seed %d, list %d", seed, i)
		good[a.Way != "untold"] += a.Good
		converted[a.Way != "untold"] += a.Converted
	}
	share := float64(converted[true]) / float64(good[true])
	t.Logf("%d of %d good rows converted, %.2f %%; %d of %d of back-ups passed off as prints",
		converted[true], good[true], 100*share, converted[false], good[false])
	assert.GreaterOrEqual(t, share, 0.97, "good rows that are converted")
}
