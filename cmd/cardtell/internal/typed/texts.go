// Package typed makes cards of what people type, paste and log: words of a command line, and lines of files.
package typed

import (
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
)

// Texts are the cards asked about as they were written, and what each text can be.
type Texts struct {
	Text    []string
	Spelled [][]formats.Spelling
}

// Add adds a text. The error is that of [formats.Spellings].
func (t *Texts) Add(text string) error {
	ways, err := formats.Spellings(text)
	if err == nil {
		t.Text, t.Spelled = append(t.Text, text), append(t.Spelled, ways)
	}
	return err
}

// Joined puts reads and numbers that were written by turns together, where each number is what its read has printed on
// it: two cards that agree so are one.
func (t *Texts) Joined(ranker *rank.Ranker) (one Texts, ok bool) {
	for i := 0; i+1 < len(t.Text); i += 2 {
		read, print := t.Spelled[i][0].Sightings, t.Spelled[i+1][0].Sightings
		if len(read) != 1 || len(print) != 1 || read[0].Kind != formats.Read || print[0].Kind != formats.Printed ||
			one.Add(t.Text[i]+"="+t.Text[i+1]) != nil {
			return one, false
		}
	}
	if len(one.Text) == 0 || len(t.Text)%2 != 0 {
		return one, false
	}
	ans, err := ranker.RankSpellings(one.Spelled)
	if err != nil || len(ans.Candidates) == 0 {
		return one, false
	}
	first := &ans.Candidates[0]
	for i := range one.Text {
		if !first.Follows(ans.Taken[ans.Way(0)].Cards, i) {
			return one, false
		}
	}
	return one, true
}
