package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/related"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/relate"
)

type relateOptions struct {
	*app
	out  string
	rule int
}

func (a *app) relateCommand() *cobra.Command {
	o := relateOptions{app: a}
	c := &cobra.Command{
		Use:  "relate A=B…",
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
	answer := related.Answer{Answer: &rel, Pairs: args}
	return o.report(answer.Document(), func() { answer.Print(o.app.out, o.style()) },
		len(rel.Rules) == 0 || rel.Rules[0].Probability < rel.Unknown)
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

func (o *relateOptions) write(rel *relate.Answer, pairs []relate.Pair) error {
	if len(rel.Rules) == 0 {
		return nil
	}
	fit := &rel.Rules[o.rule-1]
	text := fit.Rule.AppendFile(nil, fmt.Sprintf("A rule from %s; probability %s.", say.Count(len(pairs), "pair"),
		say.Chance(fit.Probability)))
	if err := o.replaceText(o.out, text); err != nil {
		return err
	}
	o.remark("%s written", o.out)
	return nil
}
