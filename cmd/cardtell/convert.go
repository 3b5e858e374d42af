package main

import (
	"cmp"
	"errors"
	"slices"

	"github.com/spf13/cobra"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/conversion"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/rank"
	"github.com/cardtell/cardtell/formats/site"
)

type convertOptions struct {
	*app
	conversion.Question
	doors []string
}

func (a *app) convertCommand() *cobra.Command {
	o := convertOptions{app: a, Question: conversion.Question{Dash: "--"}}
	c := &cobra.Command{
		Use:  "convert VALUE…",
		RunE: func(_ *cobra.Command, args []string) error { return o.run(args) },
	}
	f := c.Flags()
	f.StringVar(&o.From, "from", "", "the `FORM` that the values are in, where you know it")
	f.StringVar(&o.To, "to", "", "the `FORM` that is wanted")
	f.StringVar(&o.Format, "format", "", "the `ID` of the cards' format")
	f.StringVar(&o.Facility, "facility", "", "the facility `F`, where the values leave it out")
	f.StringArrayVar(&o.doors, "door", nil, "with --site: the form that the door `NAME` wants; may repeat (every door)")
	return c
}

func (o *convertOptions) run(args []string) error {
	if len(args) == 0 {
		return errNoValues
	}
	k, err := o.knowledge()
	if err != nil {
		return err
	}
	convs, err := o.conversions(k)
	if err != nil {
		return err
	}
	values, err := o.values(args)
	if err != nil {
		return err
	}
	answers, sure := make([]conversion.Answer, 0, len(values)*len(convs)), true
	for _, v := range values {
		var failed error
		none := len(answers)
		for _, conv := range convs {
			answer, err := conv.Convert(v)
			if err != nil && len(convs) == 1 {
				return err
			}
			if err != nil {
				failed, answer = cmp.Or(failed, err), conv.Failed(v, err)
			}
			answers, sure = append(answers, answer), sure && answer.Sure()
		}
		if !slices.ContainsFunc(answers[none:], conversion.Answer.Any) {
			return failed // no door can have it
		}
	}
	return o.report(conversion.JSON(answers),
		func() { conversion.Text(o.out, answers, o.remark) }, !sure)
}

// conversions returns what each value is to become: one thing, or what each of several doors wants.
func (o *convertOptions) conversions(k knowledge) (all []*conversion.Conversion, err error) {
	if len(o.doors) == 0 && o.To == "" && len(k.site.Doors) > 0 {
		o.doors = []string{site.EveryDoor}
	}
	doors := []site.Door{{}} // none: the form is named
	if len(o.doors) > 0 {
		if doors, err = o.doorsNamed(k.site, o.doors); err != nil {
			return nil, err
		}
	}
	for _, d := range doors {
		q := o.Question
		q.Door = d.Name
		one, err := conversion.New(k.cat, k.site, k.ranker, q)
		if err != nil {
			return nil, err
		}
		if len(doors) > 1 {
			one.Door = d.Name
		}
		all = append(all, one)
	}
	return all, nil
}

var errNoValues = errors.New("convert: no values; write one, such as 150,46143, or - to read them from standard input")

// values returns the arguments, with the lines of standard input in place of a "-".
func (o *convertOptions) values(args []string) ([]string, error) {
	var values []string
	for _, arg := range args {
		if arg != "-" {
			values = append(values, arg)
			continue
		}
		if err := o.lines("-", func(_ int, text string) error { values = append(values, text); return nil }); err != nil {
			return nil, err
		}
	}
	if len(values) == 0 {
		return nil, errNoValues
	}
	return values, nil
}

// knowledge is what the files of the command line say, read once.
type knowledge struct {
	cat    formats.Catalogue
	site   site.Site
	ranker *rank.Ranker
}

func (a *app) knowledge() (k knowledge, err error) {
	if k.cat, k.site, err = a.known(); err == nil {
		k.ranker, err = a.rankerOf(k.cat, k.site)
	}
	return k, err
}
