package main

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

// sureAlike is from which probability on two commands must not say different things of one number.
const sureAlike = 0.9

// lineFaults are the rules by which the number at the door is not the number of the card.
var lineFaults = []string{"byte order", "bit order", "lines swapped", "another format", "another facility", "cut short",
	"one bit misread", "one bit lost"}

// Of the same number at the same site identify, convert and match don't contradict one another where they are sure.
// identify and convert know the site file, match the list and the other cards of the log as well. Where they say that
// the number is one of the site's own cards, match finds its holder, or a row that was typed wrong, or nobody. It says
// seldom that it is another card with a fault on its way, and is right then: numbers of the block lie so far apart that
// one bit from a holder's is hardly ever another card.
func TestMatchAgreesWithIdentifyAndConvert(t *testing.T) {
	rnd := rand.New(rand.NewPCG(77, 78))
	cat := formats.Builtin()
	form, _ := formats.FormByName("decimal10")
	pair, _ := formats.FormByName("pair")
	asked, own, known, otherwise, right, worlds := 0, 0, 0, 0, 0, 120
	if testing.Short() {
		worlds = 30
	}
	for range worlds {
		w := newWorld(rnd)
		list, events, siteText, truth := w.files()
		for _, v := range w.listed[:5] {
			events += fmt.Sprintf("%010d\n", v)
		}
		_, stdout, stderr := cli("match", write(t, "events.csv", events), "-c", "Card", "--list", write(t, "list.csv", list),
			"--list-column", "Card", "--site", write(t, "site.toml", siteText), "--door", "A", "--json", "--all")
		var r found.Match
		require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
		unknown := map[string]found.Unknown{}
		for _, u := range r.Unknown {
			unknown[u.Card] = u
		}
		s, err := site.Parse("site.toml", []byte(siteText), cat)
		require.NoError(t, err)
		ranker, err := rank.New(cat, s.Cards...)
		require.NoError(t, err)
		for shown := range strings.FieldsSeq(events[len("Card\n"):]) {
			identify, err := ranker.RankTexts([]string{shown})
			require.NoError(t, err)
			convert := ranker.RankForm(form, shown, "", nil)
			card := identify.Candidates[0].Cards[0]
			text, err := pair.Text(&card) // of the number alone the facility is not known
			if identify.Candidates[0].Probability < sureAlike || err != nil {
				continue
			}
			asked++
			if convert.Probability[0] > sureAlike {
				assert.Equal(t, card.Record.Bits(), convert.Cards[0].Record.Bits(), shown)
			}
			u, there := unknown[shown]
			if !there {
				known++
				assert.Contains(t, list, ";"+text+"\n", "%s: match knows its holder", shown)
				continue
			}
			plain, err := form.Text(&card) // as it is shown, and not with its bytes turned round
			require.NoError(t, err)
			if plain != shown || !s.Cards[0].Belongs(&card) || len(s.Cards[0].Numbers) == 0 {
				continue
			}
			own++
			if u.Probability > sureAlike && slices.Contains(lineFaults, u.Rule) {
				otherwise++
				if u.Holder == fmt.Sprintf("Person %d", truth[shown]) {
					right++
				}
			}
			if u.Holder == "" {
				assert.True(t, u.Own, "%s is %s", shown, text)
			}
		}
	}
	t.Logf("%d numbers, %d of them of holders, %d the site's own and on no list, %d of these with a fault by match, %d truly", asked, known, own, otherwise, right)
	assert.LessOrEqual(t, otherwise, own/5+1)
	assert.GreaterOrEqual(t, float64(right), sureAlike*float64(otherwise))
	assert.Greater(t, known, worlds*5/4)
	assert.Greater(t, own, worlds*3/8)
}
