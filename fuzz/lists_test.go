package fuzz

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"testing"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/match"
	"github.com/cardtell/cardtell/formats/reading"
	"github.com/cardtell/cardtell/formats/roster"
	"github.com/cardtell/cardtell/formats/site"
	"github.com/cardtell/cardtell/formats/survey"
)

// workshops is a site of two kinds of card and two doors.
var workshops = site.Site{
	Cards: []formats.Population{
		{Format: "26-8-16", Facilities: []uint64{121}, Numbers: []formats.Range{{First: 1, Last: 500}}, Printed: "pair"},
		{Format: "34-0-32", Printed: "number10"},
	},
	Doors: []site.Door{{Name: "Yard gate", Enter: "decimal10", Capacity: 3}, {Name: "Print room", Enter: "words"}},
}

const listSeed = "121,00014\n0007930174\n121,00017\n\nTotal 3\n121.00018\n58,2120"

// FuzzColumn: whatever stands in a column, each text is one card, some cards whose probabilities add up to 1, or none
// with a reason.
func FuzzColumn(f *testing.F) {
	f.Add(listSeed)
	f.Fuzz(func(t *testing.T, text string) {
		texts := strings.Split(text, "\n")
		column, err := reading.Settle(formats.Builtin(), workshops.Cards, slices.Values(texts),
			reading.Options{Second: []string{"words", "decimal10"}})
		if err != nil {
			t.Fatal(err)
		}
		for text, cell := range column.All(slices.Values(texts)) {
			sum := 0.0
			for _, w := range cell.Cards {
				sum += w.Probability
				if w.Card.Format == nil {
					t.Fatalf("%q: a card without a format", text)
				}
			}
			if (cell.Outcome == reading.NoCard) != (len(cell.Cards) == 0) || len(cell.Cards) > 0 && math.Abs(sum-1) > 1e-12 {
				t.Fatalf("%q: %+v", text, cell)
			}
			if cell.Outcome != reading.IsCard && (cell.Err == nil || cell.Err.Reason == "") {
				t.Fatalf("%q: no reason", text)
			}
		}
	})
}

// FuzzRoster: numbers that are proposed are no row's, however damaged, and adding them makes nothing new wrong at any
// door.
func FuzzRoster(f *testing.F) {
	f.Add(listSeed, 3)
	f.Fuzz(func(t *testing.T, text string, n int) {
		rows := strings.Split(text, "\n")
		plan, err := reading.New(formats.Builtin(), workshops, reading.Options{})
		if err != nil || n < 1 || n > 20 || len(rows) > 200 {
			return
		}
		check := func(rows []string) (*roster.Roster, int) {
			r, err := roster.New(workshops, plan, false)
			if err != nil {
				t.Fatal(err)
			}
			for i, row := range rows {
				r.Add(roster.Row{Line: i + 1, Number: []byte(row)})
			}
			wrong := 0
			for _, found := range r.Check() {
				if found.Kind == roster.SameCard || found.Kind == roster.Clash {
					wrong++
				}
			}
			return r, wrong
		}
		r, before := check(rows)
		blocks, _ := r.Free(n)
		for _, b := range blocks {
			more := slices.Clone(rows)
			for card := range r.New(b) {
				more = append(more, card.Card)
			}
			if _, after := check(more); after != before {
				t.Fatalf("%s to %s: %d wrong before, %d after", b.FirstCard, b.LastCard, before, after)
			}
		}
	})
}

// FuzzSurvey: whatever stands in a column, each row is counted once, and what is proposed is a site file that reads.
func FuzzSurvey(f *testing.F) {
	f.Add(listSeed + "\n121,00018\n121,00019\n121,00020\n3405643012\n0719264380")
	f.Fuzz(func(t *testing.T, text string) {
		texts := strings.Split(text, "\n")
		if len(texts) > 60 || len(text) > 1000 {
			return
		}
		found, err := survey.New(formats.Builtin(), slices.All(texts), survey.Options{})
		if err != nil {
			return
		}
		read := 0
		for _, k := range found.Kinds {
			read += k.Rows
		}
		if read != found.Read || found.Read > found.Rows || found.Rows > len(texts) {
			t.Fatalf("%d rows, %d read, %d of some kind", found.Rows, found.Read, read)
		}
		s := site.Site{Cards: found.Cards()}
		if len(s.Cards) == 0 {
			return
		}
		if _, err := site.Parse("site.toml", s.Append(nil), formats.Builtin()); err != nil {
			t.Fatalf("%v: %s", err, s.Append(nil))
		}
	})
}

// FuzzPeople: names are put together whatever is in them, and nobody is named without a second row.
func FuzzPeople(f *testing.F) {
	f.Add("Zoé Müller\nzoe  muller\nAnn Strand\nAnn Srand\n\x00\xff")
	f.Fuzz(func(t *testing.T, names string) {
		plan, err := reading.New(formats.Builtin(), workshops, reading.Options{})
		if err != nil {
			t.Fatal(err)
		}
		r, err := roster.New(workshops, plan, true)
		if err != nil {
			t.Fatal(err)
		}
		for i, name := range strings.Split(names, "\n") {
			r.Add(roster.Row{Line: i + 1, Name: []byte(name), Number: fmt.Appendf(nil, "121,%05d", i%500+1)})
		}
		r.Check()
		people, _ := r.People()
		for _, p := range people {
			if len(p.Rows) < 2 || p.Rows[0].Line == p.Rows[1].Line || p.Cards < 1 {
				t.Fatalf("%+v", p)
			}
		}
	})
}

// FuzzMatch: every unknown card has a verdict with a probability, and the order of the events does not change it.
func FuzzMatch(f *testing.F) {
	f.Add(listSeed, "0000917625\n0007929873\n14\n\nx")
	f.Fuzz(func(t *testing.T, list, events string) {
		plan, err := reading.New(formats.Builtin(), workshops, reading.Options{Any: true, Others: true,
			Second: []string{"decimal10"}})
		if err != nil {
			t.Fatal(err)
		}
		shown := strings.Split(events, "\n")
		if len(list)+len(events) > 2000 {
			return
		}
		answer := func(shown []string) map[string]match.Verdict {
			m := match.New(match.Options{Catalogue: formats.Builtin(), Site: workshops, List: plan, Shown: plan})
			for i, number := range strings.Split(list, "\n") {
				_ = m.AddHolder(match.Row{Line: i + 1, Value: []byte(number)}) // what is no card is no holder
			}
			if len(m.Holders()) == 0 {
				return nil
			}
			for i, number := range shown {
				m.AddEvent(match.Row{Line: i + 1, Value: []byte(number)})
			}
			all := map[string]match.Verdict{}
			for _, u := range m.Weigh() {
				if p := u.Best.Probability; u.Value != "" && !(p >= 0 && p <= 1+1e-9) {
					t.Fatalf("%q: probability %v", u.Value, p)
				}
				all[u.Value] = u.Best
			}
			return all
		}
		a := answer(shown)
		slices.Reverse(shown)
		b := answer(shown)
		for value, x := range a {
			if y := b[value]; math.Abs(x.Probability-y.Probability) > 1e-6 {
				t.Fatalf("%q: %+v, and with the events turned round %+v", value, x, y)
			}
		}
	})
}

// FuzzSite: a site file is read or refused, and what is read is written so that it is read back.
func FuzzSite(f *testing.F) {
	f.Add([]byte(site.Starter))
	f.Fuzz(func(t *testing.T, text []byte) {
		s, err := site.Parse("site.toml", text, formats.Builtin())
		if err != nil {
			return
		}
		again := s.Append(nil)
		r, err := site.Parse("again.toml", again, formats.Builtin())
		if err != nil || string(r.Append(nil)) != string(again) {
			t.Fatalf("%v:\n%s", err, again)
		}
	})
}
