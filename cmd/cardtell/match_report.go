package main

import (
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats/match"
)

// matchResult is what match reports.
type matchResult struct {
	Rows      int           `json:"rows"`
	Converted int           `json:"converted"` // events whose holder is on the list
	Rejected  int           `json:"rejected"`  // events of unknown cards, or without one
	Seen      int           `json:"cards_seen"`
	Holders   int           `json:"cardholders"`
	Unread    int           `json:"list_rows_not_read,omitempty"`
	Input     string        `json:"input,omitempty"`
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

	Second *secondJSON `json:"second,omitempty"`
}

// secondJSON is the next likeliest holder.
type secondJSON struct {
	Holder      string  `json:"holder,omitempty"`
	HolderLine  int     `json:"holder_line"`
	Rule        string  `json:"rule"`
	Probability float64 `json:"probability"`
}

// shownCards is how many unknown cards people are shown, most events first.
const shownCards = 20

// summary is what the events as such show.
func (m *matcher) summary() matchResult {
	r := matchResult{
		Rows: m.rows, Converted: m.Known(), Rejected: m.rows - m.Known(), Seen: m.Seen(), Holders: m.listRows - m.listWrong,
		Unread: m.listWrong, Input: m.input, Output: m.flags.out, Unknown: []unknownJSON{}, Problems: []problem{},
	}
	shares := map[match.Rule]int{}
	for i, u := range m.order {
		if u.Value != "" {
			shares[u.Best.Rule]++
			r.Strangers++
		}
		if i < found.ListedOfKind || m.flags.all {
			r.Unknown = append(r.Unknown, m.unknownJSON(u))
			r.Problems = append(r.Problems, m.problem(u))
		} else {
			r.Unlisted++
		}
	}
	for i, line := range m.ragged {
		if i < found.ListedOfKind || m.flags.all {
			r.Problems = append(r.Problems, problem{Line: line, Kind: string(kindRagged), Message: kindWords[kindRagged]})
		}
	}
	for i := range howToMakeSure {
		if shares[match.Rule(i)] > 0 {
			r.Rules = append(r.Rules, ruleShare{match.Rule(i).String(), shares[match.Rule(i)]})
		}
	}
	slices.SortStableFunc(r.Rules, func(a, b ruleShare) int { return b.Cards - a.Cards })
	return r
}

func (m *matcher) report() error {
	r := m.summary()
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

func (m *matcher) problem(u *match.Unknown) problem {
	p := problem{Line: u.First, Kind: "unknown-card", Message: "the card is not on the list"}
	switch {
	case u.Value == "":
		p.Kind, p.Message = "empty", "no card number"
	case u.Err != nil && m.masks == nil:
		p.Kind, p.Message = "unreadable", u.Err.Error()
	case u.Err != nil:
		p.Kind, p.Message = "unreadable", "the number can't be read in the form that the events have"
	}
	return p
}

func (m *matcher) unknownJSON(u *match.Unknown) unknownJSON {
	j := unknownJSON{
		Card: m.masks.value(u.Value), Events: u.Events, FirstLine: u.First, LastLine: u.Last, Rule: u.Best.Rule.String(),
		Probability: u.Best.Probability, Own: u.Best.Holder < 0 && u.Own,
	}
	if u.Best.Holder >= 0 {
		h := m.Holders()[u.Best.Holder]
		j.Holder, j.HolderCard, j.HolderLine = m.name(h), m.masks.value(h.Number), h.Line
		j.Settle = m.toMakeSure(&u.Best)
	}
	if other := m.perhaps(u); other != nil {
		j.Second = &secondJSON{m.name(m.Holders()[other.Holder]), m.Holders()[other.Holder].Line, other.Rule.String(),
			other.Probability}
	}
	return j
}

// worthSaying is from which probability on a second holder is named beside the first, or beside nobody.
const worthSaying = 0.2

// perhaps returns the second likeliest holder, nil where nobody is worth naming.
func (m *matcher) perhaps(u *match.Unknown) *match.Verdict {
	if u.Value == "" || u.Second.Holder < 0 || u.Second.Probability < worthSaying {
		return nil
	}
	return &u.Second
}

// name names a holder, and others who have the same card on the list.
func (m *matcher) name(h match.Holder) string {
	names := []string{h.Name}
	for _, i := range h.Same {
		if other := m.Holders()[i].Name; !slices.Contains(names, other) && other != "" {
			names = append(names, other)
		}
	}
	return strings.TrimPrefix(strings.Join(names, " or "), " or ")
}

// who names a holder: by name, or by card where there is none.
func (m *matcher) who(h match.Holder) string {
	if name := m.name(h); name != "" {
		return say.Clip(name, 40)
	}
	return fmt.Sprintf("line %d (%s)", h.Line, m.masks.value(h.Number))
}

func (m *matcher) print(w io.Writer, r *matchResult) {
	fmt.Fprintf(w, "%s: %d with a holder on the list, %d without\n", say.Count(r.Rows, "event"), r.Converted, r.Rejected)
	say.Print(w, "  read as   ", r.Input)
	fmt.Fprintf(w, "  list      %s, %d of them seen in the events\n", say.Count(r.Holders, "cardholder"), r.Seen)
	if r.Unread > 0 {
		fmt.Fprintf(w, "            %s of the list not read; check says why\n", say.Count(r.Unread, "row"))
	}
	if n := len(m.ragged); n > 0 {
		fmt.Fprintf(w, "  not read  %s with too many or too few cells, the first in line %d\n", say.Count(n, "event"),
			m.ragged[0])
	}
	if r.Output != "" {
		fmt.Fprintf(w, "  written   %s\n", picture.Clean(r.Output))
	}
	if len(m.order) == 0 {
		return
	}
	fmt.Fprintf(w, "\n%s:\n", say.Count(r.Strangers, "unknown card"))
	for _, s := range r.Rules {
		fmt.Fprintf(w, "  %6d  %s\n", s.Cards, s.Rule)
	}
	fmt.Fprintf(w, "\n  %-20s %7s  %-24s %s\n", "card", "events", "likeliest", "by")
	limit := shownCards
	if m.flags.all {
		limit = len(m.order)
	}
	for _, u := range m.order[:min(limit, len(m.order))] {
		who, sure := "nobody on the list", say.Percent(u.Best.Probability)
		if u.Best.Holder >= 0 {
			who = m.who(m.Holders()[u.Best.Holder])
		}
		by := u.Best.Rule.String()
		if u.Best.Rule == match.Stranger {
			by = ""
			if u.Own {
				by = "own, not listed"
			}
		}
		value := m.masks.value(u.Value)
		if value == "" {
			value, who, by, sure = "(no number)", "", "", ""
		}
		line := fmt.Sprintf("  %-20s %7d  %-24s %-17s %6s", say.Clip(value, 20), u.Events, say.Clip(who, 24), by, sure)
		fmt.Fprintln(w, picture.Clean(strings.TrimRight(line, " ")))
		if other := m.perhaps(u); other != nil {
			line := fmt.Sprintf("  %28s  or %-21s %-17v %6s", "", say.Clip(m.who(m.Holders()[other.Holder]), 21), other.Rule,
				say.Percent(other.Probability))
			fmt.Fprintln(w, picture.Clean(line))
		}
	}
	if more := len(m.order) - limit; more > 0 {
		fmt.Fprintf(w, "  and %d more; --all lists them\n", more)
	}
	m.printSure(w)
}

// printSure says for each rule that explains a card how to make sure, with the most frequent one.
func (m *matcher) printSure(w io.Writer) {
	fmt.Fprint(w, "\nto make sure:\n")
	told := map[match.Rule]bool{}
	for _, u := range m.order {
		for _, v := range []*match.Verdict{&u.Best, m.perhaps(u)} {
			if v != nil && v.Holder >= 0 && !told[v.Rule] {
				told[v.Rule] = true
				say.Print(w, "  ", fmt.Sprintf("%s: %s", v.Rule, m.toMakeSure(v)))
			}
		}
	}
	if slices.ContainsFunc(m.order, func(u *match.Unknown) bool { return u.Best.Holder < 0 && u.Own }) {
		say.Print(w, "  ", "own, not listed: one of the site's own numbers that no row of the list has; see who comes in with it, or whose row check complains of")
	}
	if slices.ContainsFunc(m.order, func(u *match.Unknown) bool { return u.Best.Holder < 0 && !u.Own && u.Value != "" }) {
		say.Print(w, "  ", "nobody on the list: no rule turns it into a card of the list; see who comes in with it, and ask identify")
	}
}

// toMakeSure says how to make sure of a verdict.
func (m *matcher) toMakeSure(v *match.Verdict) string {
	words := fmt.Sprintf("present the card of %s: %s", m.who(m.Holders()[v.Holder]), howToMakeSure[v.Rule])
	if v.Form != "" {
		words += fmt.Sprintf("; match again with --shown %s, or write it into the site file as what the door wants: enter = %q", v.Form, v.Form)
	}
	return words
}

// howToMakeSure says for each rule what to do after "present the card of NAME: ".
var howToMakeSure = [...]string{
	match.Form:      "if the door shows the same number, it shows cards in another form than was thought",
	match.ByteOrder: "if the door shows the same number, its reader sends the bytes in the other order; check one more card",
	match.BitOrder:  "if the door shows the same number, the bits come in the other order; check one more card",
	match.Format:    "if the door shows the same number, its controller is set to another format",
	match.Facility:  "read the facility off the card, or with a reader that shows it; the list may have the wrong one, or the card is another site's",
	match.Cut:       "if the door shows the same number, it keeps only a part; then other cards can look the same: run check",
	match.Misread:   "do so three times; a number that changes means a bad cable or reader, one that stays means another card",
	match.Lost:      "do so three times; a number that changes means a bad cable or reader",
	match.Typed:     "compare the number printed on it with the list",
	match.Stranger:  "",
	match.Alike:     "the door shows it as it shows others of the list: whose it was can't be told; check names them",
	match.Doubtful:  "if the door shows the same number, the card is found: write it into the list as one that can't be another",
}
