package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/answer"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/typed"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

type identifyOptions struct {
	*app
	each, verbose, topGiven bool
	file                    string
	top                     int
}

func (a *app) identifyCommand() *cobra.Command {
	o := identifyOptions{app: a}
	c := &cobra.Command{
		Use: "identify CARD…",
		RunE: func(c *cobra.Command, args []string) error {
			o.topGiven = c.Flags().Changed("top")
			return o.run(args)
		},
	}
	c.Flags().BoolVar(&o.each, "each", false, "every card by itself, one line each")
	c.Flags().StringVar(&o.file, "file", "", "a card a line from `FILE`, a list or a log, - for standard input")
	c.Flags().IntVar(&o.top, "top", defaultTop, "print the `K` likeliest candidates")
	c.Flags().BoolVar(&o.verbose, "verbose", false, "print all there is to say, not a screen of it")
	return c
}

func (o *identifyOptions) run(args []string) error {
	if o.top < 1 {
		return fmt.Errorf("identify: --top %d: there is nothing to print; write 1 or more", o.top)
	}
	if len(args) == 0 && o.file == "" {
		return fmt.Errorf("identify: no cards; write one, such as 26:32D687E, or give --file FILE")
	}
	ranker, err := o.ranker()
	if err != nil {
		return err
	}
	if o.each {
		return o.runEach(ranker, args)
	}
	texts, ans, err := o.weighed(ranker, args)
	if err != nil {
		return err
	}
	a, err := answer.OfTexts(ranker, o.cat, texts.Text, &ans)
	if err != nil {
		return err
	}
	if err := o.print(&a); err != nil {
		return err
	}
	if !a.Fits() {
		return errNo
	}
	return nil
}

// defaultTop is how many candidates are printed unless --top says otherwise, and shortTop how many of them in short.
const defaultTop, shortTop = 5, 3

func (o *identifyOptions) print(a *answer.Answer) error {
	if o.json {
		return o.printJSON(a.JSON(o.top))
	}
	v := answer.View{Top: o.top, Verbose: o.verbose, Doors: o.doors, Style: o.style()}
	if !o.verbose && !o.topGiven {
		v.Top = min(v.Top, shortTop)
	}
	_, err := o.out.WriteString(a.Text(v))
	return err
}

// ranker makes the ranking of the catalogue and of what a site file says.
func (a *app) ranker() (*rank.Ranker, error) {
	k, err := a.knowledge()
	return k.ranker, err
}

func (a *app) rankerOf(cat formats.Catalogue, s site.Site) (*rank.Ranker, error) {
	if a.site == "" && len(a.formats) == 0 {
		return a.tables.ranker()
	}
	return rank.New(cat, s.Cards...)
}

// fromWords takes the card out of a text with more in it, such as a line of a log, which is said. The error is that of
// the text where there is none.
func (o *identifyOptions) fromWords(text string) (string, error) {
	card, err := formats.FromLog(text)
	if err == nil && card != text {
		o.remark("%s: had more in it than a card, of which this was taken: %s; see that it is the card", say.Clip(text, 60),
			say.Clip(card, 40))
	}
	return card, err
}

// texts reads the cards of the command line, and then those of the file. A read and a number that agree, as the whole
// command line, are one card.
func (o *identifyOptions) texts(ranker *rank.Ranker, args []string) (t typed.Texts, err error) {
	for _, arg := range typed.OneOfWords(args) {
		if err := t.Add(arg); err != nil {
			card, none := o.fromWords(arg)
			if errors.Is(none, formats.ErrMissing) || errors.Is(none, formats.ErrAmbiguous) {
				err = none
			}
			if none != nil || t.Add(card) != nil {
				return t, err
			}
		}
	}
	if joined, ok := t.Joined(ranker); ok && o.file == "" {
		o.remark("taken for %s, each a read with its print, which agree: %s; --each takes every card by itself",
			say.Count(len(joined.Text), "card"), say.Clip(strings.Join(joined.Text, " "), 80))
		return joined, nil
	}
	if o.file == "" {
		return t, nil
	}
	err = o.cardLines(o.file, false, func(line int, text string) error {
		if err := t.Add(text); err != nil {
			return fmt.Errorf("%s:%d: %w", source(o.file), line, err)
		}
		return nil
	})
	if err == nil && len(t.Text) == 0 {
		err = fmt.Errorf("%s: no cards in it; write one a line, such as 26:32D687E", source(o.file))
	}
	return t, err
}

// weighed reads the cards, and weighs what their texts can mean.
func (o *identifyOptions) weighed(ranker *rank.Ranker, args []string) (t typed.Texts, ans rank.TextAnswer, err error) {
	if t, err = o.texts(ranker, args); err == nil {
		ans, err = ranker.RankSpellings(t.Spelled)
	}
	return t, ans, err
}

// likeliest returns the cards as they are likeliest meant, and says so where that is in doubt.
func (o *identifyOptions) likeliest(args []string) ([]formats.Sightings, error) {
	ranker, err := o.ranker()
	if err != nil {
		return nil, err
	}
	texts, ans, err := o.weighed(ranker, args)
	if err != nil {
		return nil, err
	}
	if first := ans.Taken[0]; first.Probability < say.Surely {
		o.remark("%s: taken for %s (%s); write a prefix such as uid:, hex: or printed: if it is something else",
			say.Clip(texts.Text[0], 40), first.As[0], say.Chance(first.Probability))
	}
	return ans.Taken[0].Cards, nil
}
