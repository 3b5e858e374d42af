package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/relate"
)

const relateHelp = `Finds the rule that turns one number into another, from cards of which both are
known: what is printed and what the controller shows, say.

Each pair is A=B, in any spelling of a card:
  0009876543=150,46143    a decimal and a pair
  E2:9A:04:7B=3801744507  a chip serial and a decimal
  26:32D687E=46143        a read and a number

Two pairs are enough for nearly every rule; with one the answer says what else
fits. A pair that is probably typed wrong is named. With -o the first rule is
written to a file that batch and match take.`

type relateOptions struct {
	*app
	out  string
	rule int
	args []string // the pairs as they were given
}

func (a *app) relateCommand() *cobra.Command {
	o := relateOptions{app: a}
	c := &cobra.Command{
		Use:   "relate A=B…",
		Short: "Finds the rule between two ways of numbering the same cards",
		Long:  relateHelp,
		Example: `  cardtell relate 0009876543=150,46143 0007625328=116,23152
  cardtell relate 3974465139=1938220524 70892138=1790589188 -o shown.toml`,
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	c.Flags().StringVarP(&o.out, "output", "o", "", "write the rule to a rule file (TOML `FILE`)")
	c.Flags().IntVar(&o.rule, "rule", 1, "which of the rules to write, `N` as they are listed")
	return c
}

func (o *relateOptions) run(args []string) error {
	if o.out == "-" {
		return errors.New("relate: -o -: the answer goes to standard output; write the rule to a file")
	}
	cat, err := o.catalogue()
	if err != nil {
		return err
	}
	o.args = args
	pairs, err := pairsOf(args)
	if err != nil {
		return fmt.Errorf("relate: %w", err)
	}
	rel, err := relate.Find(pairs, cat)
	if err != nil {
		return fmt.Errorf("relate: %w", err)
	}
	if o.out != "" && len(rel.Rules) > 0 && (o.rule < 1 || o.rule > len(rel.Rules)) {
		return fmt.Errorf("relate: --rule %d: there is no such rule; write 1 to %d", o.rule, len(rel.Rules))
	}
	if o.out != "" { // first, so that nothing is on standard output if it fails
		if err := o.write(&rel, pairs); err != nil {
			return err
		}
	}
	if o.json {
		err = o.printJSON(o.newRelationJSON(&rel))
	} else {
		o.print(&rel)
	}
	if err == nil && (len(rel.Rules) == 0 || rel.Rules[0].Probability < rel.Unknown) {
		err = errNo
	}
	return err
}

// pairsOf takes every A=B apart.
func pairsOf(args []string) ([]relate.Pair, error) {
	var pairs []relate.Pair
	for _, arg := range args {
		a, b, ok := strings.Cut(arg, "=")
		if !ok || strings.Contains(b, "=") {
			return nil, fmt.Errorf("%q: is no pair; write A=B, such as 0009876543=150,46143", say.Clip(arg, 48))
		}
		pairs = append(pairs, relate.Pair{A: a, B: b})
	}
	return pairs, nil
}

func (o *relateOptions) print(rel *relate.Answer) {
	w, style := o.app.out, o.style()
	for i, f := range rel.Rules {
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
	if len(rel.Rules) > 0 {
		fmt.Fprintf(w, "%s     another rule, not among these\n", say.Percent(rel.Unknown))
		if back, err := rel.Rules[0].Rule.Reverse(); err != nil {
			say.PrintList(w, "The other way round:", []string{err.Error()}, style)
		} else {
			say.PrintList(w, "The other way round:", []string{back.String()}, style)
		}
	} else {
		fmt.Fprintf(w, "No rule fits.\n")
	}
	say.PrintList(w, "Where they differ:", differenceLines(rel), style)
	say.PrintList(w, "Take care:", o.warnings(rel), style)
}

// probablyTyped is from which probability on a pair is said to be typed wrong.
const probablyTyped = 0.1

// warnings says what to be careful about: pairs that are probably typed wrong above all.
func (o *relateOptions) warnings(rel *relate.Answer) (lines []string) {
	for _, s := range rel.Slips {
		if s.Probability < probablyTyped {
			break
		}
		line := fmt.Sprintf("%s, %s: %s that it is typed wrong", pairName(s.Pair), o.args[s.Pair],
			strings.TrimSpace(say.Percent(s.Probability)))
		if s.Meant != (relate.Pair{}) {
			line += fmt.Sprintf("; it should be %s=%s", s.Meant.A, s.Meant.B)
		}
		lines = append(lines, line)
	}
	if m := rel.Mixed; m.Probability >= probablyTyped {
		lines = append(lines, fmt.Sprintf("%s that no rule is of all these cards: %s do not go by that of the others (%s); if there "+
			"are two kinds of card, ask about each by itself", strings.TrimSpace(say.Percent(m.Probability)), pairNames(m.Apart),
			m.Rule.String()))
	}
	if rel.Run {
		lines = append(lines, "the numbers follow one another; what is added may be another elsewhere, as in the next box of "+
			"cards: give a pair from far away")
	}
	if z := rel.Zeros; z != nil {
		lines = append(lines, fmt.Sprintf("whether zeros are written before a number can't be seen: %s may become %s or %s",
			z.A, z.First, z.Another))
	}
	for _, r := range rel.Repeats {
		lines = append(lines, fmt.Sprintf("%s is the same as %s", pairName(r[0]), pairName(r[1])))
	}
	return lines
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

func differenceLines(rel *relate.Answer) []string {
	var lines []string
	for _, d := range rel.Differences {
		lines = append(lines, fmt.Sprintf("%s: %s by rule 1, %s by rule %d", d.A, orNothing(d.First), orNothing(d.Another),
			d.Rule+1))
	}
	if lines != nil {
		lines = append(lines, "look one of these up, or any other card, and give it as a further pair")
	}
	return lines
}

func orNothing(s string) string {
	if s == "" {
		return "nothing"
	}
	return s
}

// write writes one of the rules to a file.
func (o *relateOptions) write(rel *relate.Answer, pairs []relate.Pair) error {
	if len(rel.Rules) == 0 {
		return nil
	}
	fit := &rel.Rules[o.rule-1]
	text := fit.Rule.AppendFile(nil, fmt.Sprintf("A rule from %s; probability %s.", say.Count(len(pairs), "pair"),
		strings.TrimSpace(say.Percent(fit.Probability))))
	if err := o.replaceText(o.out, text); err != nil {
		return err
	}
	o.remark("%s written", o.out)
	return nil
}

// The document of relate.

type relationJSON struct {
	Rules       []ruleJSON       `json:"rules"`
	Unknown     float64          `json:"unknown"`
	Mixed       *mixedJSON       `json:"mixed,omitempty"`
	Mistyped    []mistypedJSON   `json:"mistyped,omitempty"`
	Differences []differenceJSON `json:"differences,omitempty"`
	Warnings    []string         `json:"warnings,omitempty"`
}

type ruleJSON struct {
	Rule        string        `json:"rule"`
	Probability float64       `json:"probability"`
	From        relate.Text   `json:"from"`
	Steps       []relate.Step `json:"steps"`
	To          relate.Text   `json:"to"`
	Reversible  bool          `json:"reversible"`
}

type differenceJSON struct {
	Rule    int    `json:"rule"` // by its place in rules, from 0
	Number  string `json:"number"`
	First   string `json:"first,omitempty"`
	Another string `json:"another,omitempty"`
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

func (o *relateOptions) newRelationJSON(rel *relate.Answer) relationJSON {
	doc := relationJSON{Rules: []ruleJSON{}, Unknown: rel.Unknown, Warnings: o.warnings(rel)}
	for i := range rel.Rules {
		doc.Rules = append(doc.Rules, newRuleJSON(&rel.Rules[i].Rule, rel.Rules[i].Probability))
	}
	if m := rel.Mixed; m.Probability > 0 {
		doc.Mixed = &mixedJSON{m.Probability, m.Rule.String(), []int{}}
		for _, p := range m.Apart {
			doc.Mixed.Apart = append(doc.Mixed.Apart, p+1)
		}
	}
	for _, d := range rel.Differences {
		doc.Differences = append(doc.Differences, differenceJSON{d.Rule, d.A, d.First, d.Another})
	}
	for _, s := range rel.Slips {
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
