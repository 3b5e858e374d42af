package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
)

// matchResult is what match reports.
type matchResult struct {
	Rows      int           `json:"rows"`
	Converted int           `json:"converted"` // events whose holder is on the list
	Rejected  int           `json:"rejected"`  // events of unknown cards, or without one
	Seen      int           `json:"cards_seen"`
	Holders   int           `json:"cardholders"`
	Unread    int           `json:"list_rows_not_read,omitempty"`
	Input     string        `json:"input"`
	Output    string        `json:"output,omitempty"`
	Rules     []ruleShare   `json:"rules,omitempty"`
	Unknown   []unknownJSON `json:"unknown"`
	Strangers int           `json:"unknown_cards"`
	Unlisted  int           `json:"unknown_not_listed,omitempty"`
	Problems  []problem     `json:"problems"`
}

// ruleShare is how many unknown cards a rule explains.
type ruleShare struct {
	Rule  string `json:"rule"`
	Cards int    `json:"cards"`
}

type unknownJSON struct {
	Card        string  `json:"card"`
	Events      int     `json:"events"`
	FirstLine   int     `json:"first_line"`
	LastLine    int     `json:"last_line"`
	Holder      string  `json:"holder,omitempty"`
	HolderCard  string  `json:"holder_card,omitempty"`
	HolderLine  int     `json:"holder_line,omitempty"`
	Rule        string  `json:"rule"`
	Own         bool    `json:"own_block,omitempty"` // nobody's on the list, and one of the site's own numbers
	Probability float64 `json:"probability"`
	Settle      string  `json:"settle,omitempty"`
}

// shownCards is how many unknown cards people are shown, most events first.
const shownCards = 20

func (m *matcher) report() error {
	r := matchResult{
		Rows: m.rows, Converted: m.known, Rejected: m.rows - m.known, Holders: len(m.holders), Unread: m.listWrong, Input: m.input, Output: m.flags.out,
		Unknown: []unknownJSON{}, Problems: []problem{},
	}
	for _, seen := range m.seen {
		if seen {
			r.Seen++
		}
	}
	shares := map[int]int{}
	for i, u := range m.order {
		if u.value != "" {
			shares[u.best.rule]++
			r.Strangers++
		}
		if i < listedOfKind || m.flags.all {
			r.Unknown = append(r.Unknown, m.unknownJSON(u))
			r.Problems = append(r.Problems, m.problem(u))
		} else {
			r.Unlisted++
		}
	}
	for i, line := range m.ragged {
		if i < listedOfKind || m.flags.all {
			r.Problems = append(r.Problems, problem{Line: line, Kind: string(kindRagged), Message: kindWords[kindRagged]})
		}
	}
	for i := range rules {
		if shares[i] > 0 {
			r.Rules = append(r.Rules, ruleShare{rules[i].name, shares[i]})
		}
	}
	slices.SortStableFunc(r.Rules, func(a, b ruleShare) int { return b.Cards - a.Cards })
	if m.app.json {
		if err := m.app.printJSON(r); err != nil {
			return err
		}
	} else {
		m.print(m.app.out, &r)
	}
	if r.Rejected > 0 {
		return errNo
	}
	return nil
}

func (m *matcher) problem(u *unknownCard) problem {
	p := problem{Line: u.first, Kind: "unknown-card", Message: "the card is not on the list"}
	switch {
	case u.value == "":
		p.Kind, p.Message = "empty", "no card number"
	case u.reason != "" && m.masks == nil:
		p.Kind, p.Message = "unreadable", u.reason
	case u.reason != "":
		p.Kind, p.Message = "unreadable", "the number can't be read in the form that the events have"
	}
	return p
}

func (m *matcher) unknownJSON(u *unknownCard) unknownJSON {
	j := unknownJSON{
		Card: m.masks.value(u.value), Events: u.events, FirstLine: u.first, LastLine: u.last, Rule: rules[u.best.rule].name, Probability: u.best.probability, Own: u.best.holder < 0 && u.own,
	}
	if u.best.holder >= 0 {
		h := &m.holders[u.best.holder]
		j.Holder, j.HolderCard, j.HolderLine = h.name, m.masks.value(h.number), h.line
		j.Settle = fmt.Sprintf("present the card of %s: %s", h.who(m), rules[u.best.rule].sure)
	}
	return j
}

// who names a holder: by name, or by card where there is none.
func (h *holder) who(m *matcher) string {
	if h.name != "" {
		return clip(h.name, 40)
	}
	return fmt.Sprintf("line %d (%s)", h.line, m.masks.value(h.number))
}

func (m *matcher) print(w io.Writer, r *matchResult) {
	fmt.Fprintf(w, "%s: %d with a holder on the list, %d without\n", count(r.Rows, "event"), r.Converted, r.Rejected)
	printWrapped(w, "  read as   ", r.Input)
	fmt.Fprintf(w, "  list      %s, %d of them seen in the events\n", count(r.Holders, "cardholder"), r.Seen)
	if r.Unread > 0 {
		fmt.Fprintf(w, "            %s of the list not read; check says why\n", count(r.Unread, "row"))
	}
	if n := len(m.ragged); n > 0 {
		fmt.Fprintf(w, "  not read  %s with too many or too few cells, the first in line %d\n", count(n, "event"), m.ragged[0])
	}
	if r.Output != "" {
		fmt.Fprintf(w, "  written   %s\n", picture.Clean(r.Output))
	}
	if len(m.order) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s:\n", count(r.Strangers, "unknown card"))
	for _, s := range r.Rules {
		fmt.Fprintf(w, "  %6d  %s\n", s.Cards, s.Rule)
	}
	fmt.Fprintf(w, "\n  %-20s %7s  %-24s %s\n", "card", "events", "likeliest", "by")
	limit := shownCards
	if m.flags.all {
		limit = len(m.order)
	}
	for _, u := range m.order[:min(limit, len(m.order))] {
		who, sure := "nobody on the list", percent(u.best.probability)
		if u.best.holder >= 0 {
			who = m.holders[u.best.holder].who(m)
		}
		by := rules[u.best.rule].name
		if u.best.rule == ruleStranger {
			by = ""
			if u.own {
				by = "own, not listed"
			}
		}
		value := m.masks.value(u.value)
		if value == "" {
			value, who, by, sure = "(no number)", "", "", ""
		}
		line := fmt.Sprintf("  %-20s %7d  %-24s %-17s %6s", clip(value, 20), u.events, clip(who, 24), by, sure)
		fmt.Fprintln(w, picture.Clean(strings.TrimRight(line, " ")))
	}
	if more := len(m.order) - limit; more > 0 {
		fmt.Fprintf(w, "  and %d more; --all lists them\n", more)
	}
	m.printSure(w)
}

// printSure says for each rule that explains a card how to make sure, with the most frequent one.
func (m *matcher) printSure(w io.Writer) {
	fmt.Fprint(w, "\nto make sure:\n")
	told := map[int]bool{}
	for _, u := range m.order {
		if u.best.holder < 0 || told[u.best.rule] {
			continue
		}
		told[u.best.rule] = true
		printWrapped(w, "  ", fmt.Sprintf("%s: present the card of %s: %s", rules[u.best.rule].name, m.holders[u.best.holder].who(m), rules[u.best.rule].sure))
	}
	if slices.ContainsFunc(m.order, func(u *unknownCard) bool { return u.best.holder < 0 && u.own }) {
		printWrapped(w, "  ", "own, not listed: one of the site's own numbers that no row of the list has; see who comes in with it, or whose row check complains of")
	}
	if slices.ContainsFunc(m.order, func(u *unknownCard) bool { return u.best.holder < 0 && !u.own && u.value != "" }) {
		printWrapped(w, "  ", "nobody on the list: no rule turns it into a card of the list; see who comes in with it, and ask identify")
	}
}
