package main

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// Whatever is asked, the answer goes on a screen of 80 columns.
func TestAnyAnswerFitsTheScreen(t *testing.T) {
	const seed = 3
	rng := rand.New(rand.NewPCG(seed, seed))
	t.Logf("seed %d", seed)
	for round := range 200 {
		cards, ways := make([]string, 1+rng.IntN(5)), 8
		if round >= 150 { // of many kinds
			cards, ways = make([]string, 3+rng.IntN(12)), 14
		}
		for i := range cards {
			facility, number := 121+rng.Uint64N(2), 1+rng.Uint64N(60000)
			read := frame26(facility, number)
			cards[i] = []string{
				fmt.Sprintf("26:%07X", read), fmt.Sprintf("26:%07X=%05d", read, number), fmt.Sprintf("26:%07X=%05d", read,
					number+1), fmt.Sprintf("26:%07X", read^1<<rng.IntN(26)),
				fmt.Sprintf("%07X", read), fmt.Sprintf("26:%07X=%03d,%05d", read, facility, number), "26:0",
				fmt.Sprintf("25:%07X", read>>1), fmt.Sprintf("34:%09X", read<<3), fmt.Sprintf("37:%010X", read<<7|number),
				fmt.Sprintf("04:A2:3B:5C:11:%02X:80", number&255), fmt.Sprint(number), fmt.Sprintf("4:%X", number&15),
				fmt.Sprintf("56:%014X", read<<20),
			}[rng.IntN(ways)]
		}
		args := []string{}
		if rng.IntN(3) == 0 {
			args = []string{"--site", "../../testdata/demo/site.toml"}
		}
		code, out, errs := cli(append(append([]string{"identify"}, args...), cards...)...)
		assert.Contains(t, []int{exitDone, exitNo}, code, "%q: %s", cards, errs)
		assert.Less(t, strings.Count(out, "\n"), say.Lines, "%q:\n%s", cards, out)
		for line := range strings.SplitSeq(out, "\n") {
			assert.LessOrEqual(t, utf8.RuneCountInString(line), say.Width, "%q: %s", cards, line)
		}
	}
	assert.Contains(t, do("identify 26:0 26:0F30B44 26:0F3A7BD=54239", "").out, "card 1 ",
		"a card of which nothing is likely")
}

// The sections of the highest turn are cut first and from their end, down to what has to stay; what is cut is said.
func TestFit(t *testing.T) {
	lines := func(n int) (all []string) {
		for i := range n {
			all = append(all, fmt.Sprint(i))
		}
		return all
	}
	sections := func() []say.Section {
		return []say.Section{
			say.Listed("A:", lines(3), picture.Style{Width: 80}, 2, 1), say.Listed("B:", lines(4), picture.Style{Width: 80}, 1, 3),
			say.Listed("C:", nil, picture.Style{Width: 80}, 0, 2),
		}
	}
	out, cut := say.Fitted(sections(), 10)
	assert.False(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n  - 2\n\nB:\n  - 0\n  - 1\n  - 2\n  - 3\n", out)
	whole, cut := say.Fitted(sections(), 0)
	assert.False(t, cut)
	assert.Equal(t, out, whole)
	out, cut = say.Fitted(sections(), 9) // two lines are for saying so
	assert.True(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n  - 2\n\nB:\n  - 0\n", out)
	out, cut = say.Fitted(sections(), 1)
	assert.True(t, cut)
	assert.Equal(t, "A:\n  - 0\n  - 1\n\nB:\n  - 0\n", out)
}
