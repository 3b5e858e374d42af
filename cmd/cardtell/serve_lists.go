//go:build !js

package main

import (
	"errors"
	"fmt"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/layout"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/related"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/serve"
	"github.com/cardtell/cardtell/formats/learn"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/relate"
	"github.com/cardtell/cardtell/formats/roster"
)

// What serve answers about several cards at once. A line in an answer is the place of a value in the request, from 1.

func (s *server) learn(q *serve.Request) (any, error) {
	if len(q.Cards) == 0 {
		return nil, errors.New("cards: none; write reads with what is printed on the cards, such as 37:1B2A4C5D2=46143")
	}
	var reads []learn.Read
	for i, text := range q.Cards {
		card, err := oneCard(i+1, text)
		if err != nil {
			return nil, err
		}
		reads = append(reads, card...)
	}
	results, err := learn.Learn(reads, s.k.cat)
	if err != nil {
		return nil, err
	}
	return layout.JSON(results), nil
}

func (s *server) relate(q *serve.Request) (any, error) {
	pairs, err := pairsOf(q.Pairs)
	if err != nil {
		return nil, err
	}
	rel, err := relate.Find(pairs, s.k.cat)
	if err != nil {
		return nil, err
	}
	answer := related.Answer{Answer: &rel, Pairs: q.Pairs}
	return answer.Document(), nil
}

// listOf returns how the values of a request are to be read, and an error where there are none or too many names.
func listOf(q *serve.Request) (reading.Options, error) {
	switch {
	case len(q.Values) == 0:
		return reading.Options{}, errors.New("values: none; write the numbers of the list, such as 150,46143")
	case len(q.Names) > 0 && len(q.Names) != len(q.Values):
		return reading.Options{}, fmt.Errorf("names: %d for %d values; write one for each, or none", len(q.Names),
			len(q.Values))
	}
	opt := reading.Options{Format: q.Format, Facility: q.Facility}
	if q.From != "" {
		opt.Forms = []string{q.From}
	}
	return opt, nil
}

// nameOf is the name that goes with a value, "" where there are none.
func nameOf(q *serve.Request, i int) string {
	if i < len(q.Names) {
		return strings.TrimSpace(q.Names[i])
	}
	return ""
}

func (s *server) check(q *serve.Request) (any, error) {
	opt, err := listOf(q)
	if err != nil {
		return nil, err
	}
	if len(opt.Forms) == 0 {
		opt.Second = s.k.site.DoorForms()
	}
	known := s.k.site
	known.Cards = reading.Shown(s.k.cat, known.Cards, different(q.Values, settledBy), opt)
	plan, err := newPlan(s.k.cat, known, opt)
	if err != nil {
		return nil, err
	}
	plan = settledOn(plan, q.Values, true)
	c := &checker{app: s.app, flags: &checkFlags{all: true}, plan: plan}
	c.List = found.List{All: true, Reason: c.reason}
	if c.Roster, err = roster.New(known, plan, len(q.Names) > 0); err != nil {
		return nil, err
	}
	for i, value := range q.Values {
		c.Add(roster.Row{Line: i + 1, Name: []byte(nameOf(q, i)), Number: []byte(value)})
	}
	c.Findings, c.AtDoors = c.Check(), c.Doors()
	r := c.Summary()
	r.Problems, _ = c.Listed(len(c.Findings))
	return r, nil
}

func (s *server) match(q *serve.Request) (any, error) {
	opt, err := listOf(q)
	if err != nil {
		return nil, err
	}
	switch {
	case len(q.Events) == 0:
		return nil, errors.New("events: none; write the numbers that the door shows, such as 0007929898")
	case q.Shown != "" && q.Door != "":
		return nil, errors.New("shown: the site file says what a door shows; leave shown or door out")
	}
	f := matchFlags{door: q.Door, numbers: numberFlags{opt}}
	if q.Shown != "" {
		f.shown = []string{q.Shown}
	}
	known := s.k.site
	known.Cards = reading.Shown(s.k.cat, known.Cards, different(q.Values, settledBy), opt)
	plans, err := f.plans("site", s.k.cat, known)
	if err != nil {
		return nil, err
	}
	m := &found.Events{Matcher: match.New(plans), All: true}
	m.SettleList(settledOn(plans.List, q.Values, true))
	for i, value := range q.Values {
		m.ListRows++
		if m.AddHolder(match.Row{Line: i + 1, Name: nameOf(q, i), Value: []byte(value)}) != nil {
			m.ListWrong++
		}
	}
	if m.ListWrong == m.ListRows {
		return nil, errors.New("values: none is a card number that can be read; are they written as from says?")
	}
	for i, value := range q.Events {
		m.Rows++
		m.AddEvent(match.Row{Line: i + 1, Value: []byte(value)})
	}
	m.Order = m.Weigh()
	return m.Summary(), nil
}
