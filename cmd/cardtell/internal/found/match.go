package found

import (
	"fmt"
	"io"
	"slices"
	"sort"
	"strings"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/picture"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
)

// Match is what match reports.
type Match struct {
	Rows      int         `json:"rows"`
	Converted int         `json:"converted"` // events whose holder is on the list
	Rejected  int         `json:"rejected"`  // events of unknown cards, or without one
	Seen      int         `json:"cards_seen"`
	Holders   int         `json:"cardholders"`
	Unread    int         `json:"list_rows_not_read,omitempty"`
	Input     string      `json:"input,omitempty"`
	Output    string      `json:"output,omitempty"`
	Rules     []RuleShare `json:"rules,omitempty"`
	Known     []Found     `json:"known,omitempty"` // of numbers that were asked about by themselves
	Unknown   []Unknown   `json:"unknown"`
	Strangers int         `json:"unknown_cards"`
	Unlisted  int         `json:"unknown_not_listed,omitempty"`
	Problems  []Problem   `json:"problems"`
}

// Found is a card of the list.
type Found struct {
	Card   string `json:"card"`
	Holder string `json:"holder,omitempty"`
	Number string `json:"holder_card"`
	Line   int    `json:"holder_line"`
}

// RuleShare is how many unknown cards a rule explains.
type RuleShare struct {
	Rule  string `json:"rule"`
	Cards int    `json:"cards"`
}

// Unknown is an unknown card.
type Unknown struct {
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
	HolderLine  int     `json:"holder_line,omitempty"`
	Rule        string  `json:"rule"`
	Probability float64 `json:"probability"`
}

// shownCards is how many unknown cards people are shown, most events first.
const shownCards = 20

// Events are those of a log of which the cards were looked for on a list.
type Events struct {
	*match.Matcher
	Order               []*match.Unknown // most events first
	Ragged              []int            // lines of events with too many or too few cells
	Rows                int
	ListRows, ListWrong int
	Input, Output       string
	Asked               []string // numbers, in place of a file of events
	Elsewhere           string   // where the numbers may be, if no event could be read
	All                 bool     // all unknown cards are told, and not just the most frequent ones
	Masks               *Masks   // of numbers; nil where none is to be masked
}

// Summary is what the events show.
func (m *Events) Summary() Match {
	r := Match{
		Rows: m.Rows, Converted: m.Known(), Rejected: m.Rows - m.Known(), Seen: m.Seen(), Holders: m.ListRows - m.ListWrong,
		Unread: m.ListWrong, Input: m.Input, Output: m.Output, Unknown: []Unknown{}, Problems: []Problem{},
	}
	for _, number := range m.Asked {
		if i := m.Find([]byte(number)); i >= 0 {
			h := m.Holders()[i]
			r.Known = append(r.Known, Found{m.Masks.Value(number), m.HolderName(h), m.Masks.Value(h.Number), h.Line})
		}
	}
	shares := map[match.Rule]int{}
	for i, u := range m.Order {
		if u.Value != "" {
			shares[u.Best.Rule]++
			r.Strangers++
		}
		if i < ListedOfKind || m.All {
			r.Unknown = append(r.Unknown, m.unknown(u))
			r.Problems = append(r.Problems, m.problem(u))
		} else {
			r.Unlisted++
		}
	}
	for i, line := range m.Ragged {
		if i < ListedOfKind || m.All {
			r.Problems = append(r.Problems, Problem{Line: line, Kind: string(Ragged), Message: RaggedWords})
		}
	}
	for i := range howToMakeSure {
		if shares[match.Rule(i)] > 0 {
			r.Rules = append(r.Rules, RuleShare{match.Rule(i).String(), shares[match.Rule(i)]})
		}
	}
	sort.SliceStable(r.Rules, func(i, j int) bool { return r.Rules[i].Cards > r.Rules[j].Cards })
	return r
}

func (m *Events) problem(u *match.Unknown) Problem {
	p := Problem{Line: u.First, Kind: "unknown-card", Message: "the card is not on the list"}
	switch {
	case u.Best.Rule == match.Unread:
		p.Message = "the card may be that of a row of the list that was not read"
	case u.Value == "":
		p.Kind, p.Message = "empty", "no card number"
	case u.Err != nil && m.Masks == nil:
		p.Kind, p.Message = "unreadable", u.Err.Error()
	case u.Err != nil:
		p.Kind, p.Message = "unreadable", "the number can't be read as the events write theirs"
	}
	return p
}

func (m *Events) unknown(u *match.Unknown) Unknown {
	j := Unknown{
		Card: m.Masks.Value(u.Value), Events: u.Events, FirstLine: u.First, LastLine: u.Last, Rule: u.Best.Rule.String(),
		Probability: u.Best.Probability, Own: u.Best.Holder < 0 && u.Own,
	}
	if u.Best.Holder >= 0 {
		h := m.Holders()[u.Best.Holder]
		j.Holder, j.HolderCard, j.HolderLine = m.HolderName(h), m.Masks.Value(h.Number), h.Line
		j.Settle = m.toMakeSure(&u.Best)
	}
	if other := m.Perhaps(u); other != nil {
		j.Second = &secondJSON{Rule: other.Rule.String(), Probability: other.Probability}
		if other.Holder >= 0 {
			h := m.Holders()[other.Holder]
			j.Second.Holder, j.Second.HolderLine = m.HolderName(h), h.Line
		}
	}
	return j
}

// worthSaying is from which probability on a second holder is named beside the first, or beside nobody.
const worthSaying = 0.2

// Perhaps returns the second likeliest holder, nil where nobody is worth naming.
func (m *Events) Perhaps(u *match.Unknown) *match.Verdict {
	if u.Value == "" || u.Second.Holder < 0 && u.Second.Rule != match.Unread || u.Second.Probability < worthSaying {
		return nil
	}
	return &u.Second
}

// WhoOf names the holder of a verdict.
func (m *Events) WhoOf(v *match.Verdict) string {
	switch {
	case v.Holder >= 0:
		return m.who(m.Holders()[v.Holder])
	case v.Rule == match.Unread:
		return "in a row not read"
	}
	return "nobody on the list"
}

// HolderName names a holder, and others who have the same card on the list.
func (m *Events) HolderName(h match.Holder) string {
	names := []string{h.Name}
	for _, i := range h.Same {
		if other := m.Holders()[i].Name; !slices.Contains(names, other) && other != "" {
			names = append(names, other)
		}
	}
	return strings.TrimPrefix(strings.Join(names, " or "), " or ")
}

// who names a holder: by name, or by card where there is none.
func (m *Events) who(h match.Holder) string {
	if name := m.HolderName(h); name != "" {
		return say.Clip(name, 40)
	}
	return fmt.Sprintf("line %d (%s)", h.Line, m.Masks.Value(h.Number))
}

// Print writes the report for people.
func (m *Events) Print(w io.Writer, r *Match) {
	m.printHead(w, r)
	for i := range r.Known {
		if i == 0 {
			fmt.Fprintln(w)
		}
		f := &r.Known[i]
		words := fmt.Sprintf("line %d (%s), on the list", f.Line, f.Number)
		if f.Holder != "" {
			words = say.Clip(f.Holder, 40) + ", " + words
		}
		say.Print(w, fmt.Sprintf("  %-20s ", say.Clip(f.Card, 20)), words)
	}
	if r.Strangers > 0 {
		m.printUnknown(w, r)
	} else if len(m.Order) > 0 {
		fmt.Fprintf(w, "  no number %s\n", say.Count(m.Order[0].Events, "event"))
	}
}

func (m *Events) printHead(w io.Writer, r *Match) {
	what := "event"
	if m.Asked != nil {
		what = "number"
	}
	fmt.Fprintf(w, "%s: %d with a holder on the list, %d without\n", say.Count(r.Rows, what), r.Converted, r.Rejected)
	if m.Asked == nil {
		say.Print(w, "  read as   ", r.Input)
	}
	seen := ""
	if m.Asked == nil {
		seen = fmt.Sprintf(", %d of them seen in the events", r.Seen)
	}
	fmt.Fprintf(w, "  list      %s%s\n", say.Count(r.Holders, "cardholder"), seen)
	doubt := 0
	for _, h := range m.Holders() {
		if h.Doubt > 0 {
			doubt++
		}
	}
	if n := r.Unread - doubt; n > 0 {
		fmt.Fprintf(w, "            %s of the list not read; check says why\n", say.Count(n, "row"))
	}
	if doubt > 0 {
		fmt.Fprintf(w, "            %s of the list can be several cards, and looked for as each\n", say.Count(doubt, "row"))
	}
	if n := len(m.Ragged); n > 0 {
		fmt.Fprintf(w, "  not read  %s with too many or too few cells, the first in line %d\n", say.Count(n, "event"),
			m.Ragged[0])
	}
	if r.Output != "" {
		fmt.Fprintf(w, "  written   %s\n", picture.Clean(r.Output))
	}
	read := func(u *match.Unknown) bool { return u.Value != "" && u.Err == nil }
	if m.Asked == nil && r.Rows > 0 && r.Converted == 0 && !slices.ContainsFunc(m.Order, read) {
		say.Print(w, "  note      ", "no event has a number that can be read: "+m.Elsewhere)
	}
}

// printUnknown lists the unknown cards, and says how to make sure of their holders.
func (m *Events) printUnknown(w io.Writer, r *Match) {
	fmt.Fprintf(w, "\n%s:\n", say.Count(r.Strangers, "unknown card"))
	for _, s := range r.Rules {
		fmt.Fprintf(w, "  %6d  %s\n", s.Cards, s.Rule)
	}
	fmt.Fprintf(w, "\n  %-20s %7s  %-24s %s\n", "card", "events", "likeliest", "by")
	limit := shownCards
	if m.All {
		limit = len(m.Order)
	}
	for _, u := range m.Order[:min(limit, len(m.Order))] {
		who, sure := m.WhoOf(&u.Best), say.Percent(u.Best.Probability)
		by := u.Best.Rule.String()
		if u.Best.Rule == match.Stranger {
			by = ""
			if u.Own {
				by = "own, not listed"
			}
		}
		value := m.Masks.Value(u.Value)
		switch {
		case value == "":
			value, who, by, sure = "(no number)", "", "", ""
		case noCard(u):
			who, by, sure = "(is no card number)", "", ""
		}
		line := fmt.Sprintf("  %-20s %7d  %-24s %-17s %6s", say.Clip(value, 20), u.Events, say.Clip(who, 24), by, sure)
		fmt.Fprintln(w, picture.Clean(strings.TrimRight(line, " ")))
		if other := m.Perhaps(u); other != nil {
			line := fmt.Sprintf("  %28s  or %-21s %-17v %6s", "", say.Clip(m.WhoOf(other), 21), other.Rule,
				say.Percent(other.Probability))
			fmt.Fprintln(w, picture.Clean(line))
		}
	}
	if more := len(m.Order) - limit; more > 0 {
		fmt.Fprintf(w, "  and %d more; --all lists them\n", more)
	}
	m.printSure(w)
}

// noCard reports whether what an event shows can be no card at all.
func noCard(u *match.Unknown) bool {
	_, err := formats.Spellings(u.Value)
	return u.Best.Holder < 0 && err != nil
}

// printSure says for each rule that explains a card how to make sure, with the most frequent one.
func (m *Events) printSure(w io.Writer) {
	fmt.Fprint(w, "\nto make sure:\n")
	told := map[match.Rule]bool{}
	for _, u := range m.Order {
		for _, v := range []*match.Verdict{&u.Best, m.Perhaps(u)} {
			if v != nil && (v.Holder >= 0 || v.Rule == match.Unread) && !told[v.Rule] {
				told[v.Rule] = true
				say.Print(w, "  - ", fmt.Sprintf("%s: %s", v.Rule, m.toMakeSure(v)))
			}
		}
	}
	if slices.ContainsFunc(m.Order, func(u *match.Unknown) bool { return u.Best.Rule == match.Stranger && u.Own }) {
		say.Print(w, "  - ", "own, not listed: one of the site's own numbers that no row of the list has; see who comes in with it, or whose row check complains of")
	}
	stranger := func(u *match.Unknown) bool { return u.Best.Rule == match.Stranger && !u.Own && !noCard(u) }
	if slices.ContainsFunc(m.Order, stranger) {
		say.Print(w, "  - ", "nobody on the list: no rule turns it into a card of the list; see who comes in with it, and ask identify")
	}
}

func (m *Events) toMakeSure(v *match.Verdict) string {
	if v.Rule == match.Unread {
		return "the card can be that of a row which was not read: mend those rows, which check names, and match again"
	}
	words := fmt.Sprintf("present the card of %s: %s", m.who(m.Holders()[v.Holder]), howToMakeSure[v.Rule])
	if v.Form != "" {
		words += fmt.Sprintf("; match again with --shown %s, or write it into the site file as what the door wants: enter = %q", v.Form, v.Form)
	}
	return words
}

// howToMakeSure says for each rule what to do after "present the card of NAME: ".
var howToMakeSure = [...]string{
	match.Form:      "if the door shows the same number, it writes cards in another way than was thought",
	match.ByteOrder: "if the door shows the same number, its reader sends the bytes in the other order; check one more card",
	match.BitOrder:  "if the door shows the same number, the bits come in the other order; check one more card",
	match.Swapped:   "if the door shows the same number, the two data wires of its reader are swapped; check one more card",
	match.Format:    "if the door shows the same number, its controller is set to another format",
	match.Facility:  "read the facility off the card, or with a reader that shows it; the list may have the wrong one, or the card is another site's",
	match.Cut:       "if the door shows the same number, it keeps only a part; then other cards can look the same: run check",
	match.Ending:    "compare it with the number on the card: the list has only the end of that; write all its digits there",
	match.Misread:   "do so three times; a number that changes means a bad cable or reader, one that stays means another card",
	match.Lost:      "do so three times; a number that changes means a bad cable or reader",
	match.Digit:     "compare the number that the door shows for it with the one in the events",
	match.Typed:     "compare the number printed on it with the list",
	match.Stranger:  "",
	match.Alike:     "the door shows it as it shows others of the list: whose it was can't be told; check names them",
	match.Doubtful:  "if the door shows the same number, the card is found: write it into the list as one that can't be another",
	match.Unread:    "",
}
