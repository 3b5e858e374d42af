// Package related is what relate says: rules between two numberings in, text for people or a document for programs out.
package related

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/relate"
)

// Answer is the rules between two numberings, and the pairs as they were given.
type Answer struct {
	*relate.Answer
	Pairs []string
}

// Print writes the rules for people, the likeliest first.
func (a *Answer) Print(w io.Writer, style picture.Style) {
	for i, f := range a.Rules {
		for k, line := range say.Wrap(f.Rule.String(), style.Width-13) {
			head := strings.Repeat(" ", 12)
			if k == 0 {
				head = fmt.Sprintf("%s %2d. ", say.Percent(f.Probability), i+1)
			}
			if i == 0 {
				line = style.Bold(line)
			}
			fmt.Fprintf(w, "%s%s\n", head, line)
		}
	}
	if len(a.Rules) > 0 {
		fmt.Fprintf(w, "%s     another rule, not among these\n", say.Percent(a.Unknown))
		back, err := a.Rules[0].Rule.Reverse()
		words := back.String()
		if err != nil {
			words = err.Error()
		}
		say.PrintList(w, "The other way round:", []string{words}, style)
	} else {
		fmt.Fprintf(w, "No rule fits.\n")
	}
	say.PrintList(w, "Where they differ:", a.differences(), style)
	say.PrintList(w, "Take care:", a.warnings(), style)
}

// probablyTyped is from which probability on a pair is said to be typed wrong.
const probablyTyped = 0.1

// warnings says what to be careful about: pairs that are probably typed wrong above all.
func (a *Answer) warnings() (lines []string) {
	for _, s := range a.Slips {
		if s.Probability < probablyTyped {
			break
		}
		line := fmt.Sprintf("%s, %s: %s that it is typed wrong", pairName(s.Pair), a.Pairs[s.Pair],
			say.Chance(s.Probability))
		if s.Meant != (relate.Pair{}) {
			line += fmt.Sprintf("; it should be %s=%s", s.Meant.A, s.Meant.B)
		}
		lines = append(lines, line)
	}
	if m := a.Mixed; m.Probability >= probablyTyped {
		lines = append(lines, fmt.Sprintf("%s that no rule is of all these cards: that of the others (%s) does not make %s; if "+
			"there are two kinds of card, or two facilities, ask about each by itself", say.Chance(m.Probability),
			m.Rule.String(), pairNames(m.Apart)))
	}
	for _, s := range a.steps() {
		if s.Op == relate.SetFacility {
			lines = append(lines, fmt.Sprintf("facility %d is that of these cards; give a pair of another order to see whether it "+
				"is that of all", s.C))
		}
	}
	if a.Run {
		lines = append(lines, "the numbers follow one another; what is added may be another elsewhere, as in the next box of "+
			"cards: give a pair from far away")
	}
	if z := a.Zeros; z != nil {
		lines = append(lines, fmt.Sprintf("whether zeros are written before a number can't be seen: %s may become %s or %s",
			z.A, z.First, z.Another))
	}
	for _, r := range a.Repeats {
		lines = append(lines, fmt.Sprintf("%s is the same as %s", pairName(r[0]), pairName(r[1])))
	}
	return lines
}

// steps are those of the likeliest rule, if there is one.
func (a *Answer) steps() []relate.Step {
	if len(a.Rules) == 0 {
		return nil
	}
	return a.Rules[0].Rule.Steps()
}

func pairName(place int) string { return fmt.Sprintf("pair %d", place+1) }

// pairNames names the first few pairs.
func pairNames(places []int) string {
	const most = 6
	var names []string
	for _, p := range places[:min(len(places), most)] {
		names = append(names, pairName(p))
	}
	if n := len(places) - most; n > 0 {
		names = append(names, fmt.Sprintf("%d more", n))
	}
	return strings.Join(names, ", ")
}

func (a *Answer) differences() []string {
	var lines []string
	for _, d := range a.Differences {
		lines = append(lines, fmt.Sprintf("%s: %s by rule 1, %s by rule %d", d.A, cmp.Or(d.First, "nothing"),
			cmp.Or(d.Another, "nothing"),
			d.Rule+1))
	}
	if lines != nil {
		lines = append(lines, "look one of these up, or any other card, and give it as a further pair")
	}
	return lines
}

// Document is the rules for programs.
type Document struct {
	Rules       []ruleJSON          `json:"rules"`
	Unknown     float64             `json:"unknown"`
	Mixed       *mixedJSON          `json:"mixed,omitempty"`
	Mistyped    []mistypedJSON      `json:"mistyped,omitempty"`
	Differences []relate.Difference `json:"differences,omitempty"`
	Warnings    []string            `json:"warnings,omitempty"`
}

type ruleJSON struct {
	Rule        string        `json:"rule"`
	Probability float64       `json:"probability"`
	From        relate.Text   `json:"from"`
	Steps       []relate.Step `json:"steps"`
	To          relate.Text   `json:"to"`
	Reversible  bool          `json:"reversible"`
}

// mixedJSON is what some of the pairs say, if the others are of another kind.
type mixedJSON struct {
	Probability float64 `json:"probability"`
	Rule        string  `json:"rule"`
	Apart       []int   `json:"apart"` // pairs that do not go by the rule, from 1
}

// mistypedJSON is a pair that may be typed wrong, and what it most likely should be.
type mistypedJSON struct {
	Pair        int     `json:"pair"` // from 1
	Probability float64 `json:"probability"`
	A           string  `json:"a,omitempty"`
	B           string  `json:"b,omitempty"`
}

// Document is the rules for programs.
func (a *Answer) Document() Document {
	doc := Document{Rules: []ruleJSON{}, Unknown: a.Unknown, Differences: a.Differences,
		Warnings: a.warnings()}
	for i := range a.Rules {
		doc.Rules = append(doc.Rules, newRuleJSON(&a.Rules[i].Rule, a.Rules[i].Probability))
	}
	if m := a.Mixed; m.Probability > 0 {
		doc.Mixed = &mixedJSON{m.Probability, m.Rule.String(), []int{}}
		for _, p := range m.Apart {
			doc.Mixed.Apart = append(doc.Mixed.Apart, p+1)
		}
	}
	for _, s := range a.Slips {
		doc.Mistyped = append(doc.Mistyped, mistypedJSON{s.Pair + 1, s.Probability, s.Meant.A, s.Meant.B})
	}
	return doc
}

func newRuleJSON(r *relate.Rule, p float64) ruleJSON {
	_, err := r.Reverse()
	return ruleJSON{
		Rule: r.String(), Probability: p, From: r.From(), Steps: append([]relate.Step{}, r.Steps()...), To: r.To(),
		Reversible: err == nil,
	}
}
