package worlds_test

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/calibration/worlds"
	"github.com/cardtell/cardtell/wiegand"
)

// each calls use with some samples of every world.
func each(t *testing.T, n int, use func(t *testing.T, s *worlds.Sample, rng *rand.Rand)) {
	for _, w := range worlds.Worlds() {
		t.Run(w.Name, func(t *testing.T) {
			for i := range n {
				s := w.Sample(7, i)
				use(t, &s, rand.New(rand.NewPCG(7, uint64(i))))
				if t.Failed() {
					t.Fatalf("sample %d of seed 7: %s: %s", i, s.Describe(), s.Arguments())
				}
			}
		})
	}
}

// told returns what somebody says who knows the truth: each kind with its readings, or that it is in no table.
func told(s *worlds.Sample) []worlds.Group {
	all := make([]worlds.Group, len(s.Kinds))
	for k := range all {
		h := worlds.Hypothesis{Probability: 1, Format: s.Kinds[k].Format, None: s.Kinds[k].Format == ""}
		for i, c := range s.Truth {
			if c.Kind == k {
				all[k].Cards = append(all[k].Cards, i)
				h.Cards = append(h.Cards, worlds.Reading{Layout: s.Kinds[k].Layout, Read: c.Read, Chance: 1})
			}
		}
		all[k].Hypotheses = []worlds.Hypothesis{h}
	}
	return all
}

// taught returns what somebody learned who knows the truth. What a reader that sends the last bit first makes of a
// layout is that layout from the other end.
func taught(s *worlds.Sample) []worlds.Learned {
	var all []worlds.Learned
	for _, g := range told(s) {
		spec := s.Kinds[s.Truth[g.Cards[0]].Kind].Layout.Spec()
		if s.Line.Reversed {
			spec = mirrored(spec)
		}
		all = append(all, worlds.Learned{Stated: 1, Spec: spec, Swapped: s.Line.Swapped, Cards: g.Cards})
	}
	return all
}

func mirrored(spec wiegand.Spec) wiegand.Spec {
	turn := func(spans wiegand.Spans) wiegand.Spans {
		var all wiegand.Spans
		for _, s := range slices.Backward(spans) {
			step := max(s.Step, 1)
			last := s.From + (s.To-s.From)/step*step
			all = append(all, wiegand.Span{From: spec.Length + 1 - last, To: spec.Length + 1 - s.From, Step: s.Step})
		}
		return all
	}
	m := wiegand.Spec{Length: spec.Length}
	for _, f := range spec.Fields {
		f.Bits, f.Order = turn(f.Bits), 1-f.Order
		m.Fields = append(m.Fields, f)
	}
	for _, c := range spec.Checks {
		c.Bit, c.Over, c.Bits, c.Value = spec.Length+1-c.Bit, turn(c.Over), turn(c.Bits), c.Value.Reverse()
		if c.Kind == wiegand.Fixed {
			c.Bit = 0
		}
		m.Checks = append(m.Checks, c)
	}
	return m
}

func all(verdicts []worlds.Verdict, want bool) bool {
	return !slices.ContainsFunc(verdicts, func(v worlds.Verdict) bool { return v.True != want })
}

// TestTheTruthIsRight: who knows the truth is right in every world.
func TestTheTruthIsRight(t *testing.T) {
	each(t, 30, func(t *testing.T, s *worlds.Sample, rng *rand.Rand) {
		groups := told(s)
		require.NotEmpty(t, s.Identify(groups))
		assert.True(t, all(s.Identify(groups), true), "identify")
		assert.True(t, all(s.Doubted(groups), true), "cards")
		assert.True(t, all(s.Learn(taught(s), rng), true), "learn")
	})
}

// TestLiesAreWrong: who says something else is wrong in every world.
func TestLiesAreWrong(t *testing.T) {
	each(t, 30, func(t *testing.T, s *worlds.Sample, _ *rand.Rand) {
		none := told(s)
		for k := range none {
			h := &none[k].Hypotheses[0]
			h.None = !h.None
		}
		for k, v := range s.Identify(none) {
			if i := none[k].Cards[0]; s.Kinds[s.Truth[i].Kind].Format != "" {
				assert.False(t, v.True, "a known format is called none")
			}
		}
		last := told(s)
		for k := range last { // one good card has another number
			h, g := &last[k].Hypotheses[0], &last[k]
			at := slices.IndexFunc(g.Cards, func(i int) bool { return !s.Truth[i].Spoilt })
			if h.None = false; at < 0 {
				return
			}
			h.Cards[at].Read = other(h.Cards[at])
		}
		assert.True(t, all(s.Identify(last), false), "another number")
	})
}

// other returns the read of another card.
func other(r worlds.Reading) wiegand.Bits {
	for i := range r.Read.Len() {
		x, err := r.Layout.Decode(r.Read.WithBit(i, 1-r.Read.Bit(i)))
		if err == nil && x.Encode() != r.Read {
			return x.Encode()
		}
	}
	panic("no other card")
}

// TestWrongLayoutsAreWrong: what is learned wrong in one thing is wrong.
func TestWrongLayoutsAreWrong(t *testing.T) {
	w := worlds.Worlds()
	at := slices.IndexFunc(w, func(w worlds.World) bool { return w.Name == "undocumented frames" })
	for name, change := range map[string]func(spec *wiegand.Spec){
		"odd for even":           func(spec *wiegand.Spec) { spec.Checks[0].Kind = 1 - spec.Checks[0].Kind },
		"the last bit first":     func(spec *wiegand.Spec) { number(spec).Order = wiegand.LSBFirst },
		"a check a bit too far":  func(spec *wiegand.Spec) { spec.Checks[1].Over[0].From-- },
		"a check a bit too near": func(spec *wiegand.Spec) { spec.Checks[1].Over[0].From++ },
		"parity taken for data": func(spec *wiegand.Spec) {
			spec.Fields = append(spec.Fields, wiegand.Field{Name: wiegand.FieldUnknown,
				Bits: wiegand.Spans{{From: spec.Length, To: spec.Length}}})
			spec.Checks = spec.Checks[:1]
		},
		"a low bit left out": func(spec *wiegand.Spec) {
			n := number(spec)
			spec.Fields = append(spec.Fields, wiegand.Field{Name: wiegand.FieldUnknown,
				Bits: wiegand.Spans{{From: n.Bits[0].To, To: n.Bits[0].To}}})
			number(spec).Bits[0].To--
		},
	} {
		right, n := 0, 0
		for i := range 60 {
			s := w[at].Sample(8, i)
			if spec := s.Kinds[0].Layout.Spec(); number(&spec).Bits[0].To-number(&spec).Bits[0].From < 15 ||
				spec.Checks[1].Over[0].From < number(&spec).Bits[0].From+1 {
				continue // the ends of the check have to be inside the number
			}
			l := taught(&s)[0]
			l.Spec = cloned(l.Spec)
			change(&l.Spec)
			if n++; !all(s.Learn([]worlds.Learned{l}, rand.New(rand.NewPCG(8, uint64(i)))), false) {
				right++
			}
		}
		require.Greater(t, n, 10, name)
		assert.Zero(t, right, "%s: called right in some of %d samples", name, n)
	}
}

func number(spec *wiegand.Spec) *wiegand.Field {
	for i := range spec.Fields {
		if spec.Fields[i].Name == wiegand.FieldNumber {
			return &spec.Fields[i]
		}
	}
	panic("no number")
}

func cloned(spec wiegand.Spec) wiegand.Spec {
	spec.Fields, spec.Checks = slices.Clone(spec.Fields), slices.Clone(spec.Checks)
	for i := range spec.Fields {
		spec.Fields[i].Bits = slices.Clone(spec.Fields[i].Bits)
	}
	for i := range spec.Checks {
		spec.Checks[i].Over = slices.Clone(spec.Checks[i].Over)
	}
	return spec
}

// TestTwinsCountAsOne: two formats that give every card the same add up, and either is right.
func TestTwinsCountAsOne(t *testing.T) {
	cat := formats.Builtin()
	read := func(id string) worlds.Reading {
		// facility 0, number 1234: the catalogue's example of pin-26
		b, err := wiegand.ParseBits("00000000000000100110100100")
		require.NoError(t, err)
		return worlds.Reading{Layout: cat.Find(id)[0].Layout, Read: b, Chance: 1}
	}
	r := read("26-8-16")
	s := worlds.Sample{
		Cards: []formats.Sightings{{{Kind: formats.Read, Bits: r.Read}}},
		Truth: []worlds.Card{{Read: r.Read, Number: 1234}},
		Kinds: []worlds.Kind{{Format: "26-8-16", Layout: r.Layout}},
	}
	g := worlds.Group{Cards: []int{0}, Hypotheses: []worlds.Hypothesis{
		{Probability: 0.4, None: true},
		{Probability: 0.35, Format: "pin-26", Cards: []worlds.Reading{read("pin-26")}},
		{Probability: 0.25, Format: "26-8-16", Cards: []worlds.Reading{r}},
	}}
	v := s.Identify([]worlds.Group{g})
	require.Len(t, v, 1)
	assert.InDelta(t, 0.6, v[0].Stated, 1e-12)
	assert.True(t, v[0].True)
}

// TestArgumentsAreTheSample: what is pasted is what was drawn, a sample can be drawn again, and good reads keep their
// checks.
func TestArgumentsAreTheSample(t *testing.T) {
	for _, w := range worlds.Worlds() {
		for i := range 10 {
			s, again := w.Sample(9, i), w.Sample(9, i)
			require.Equal(t, s.Arguments(), again.Arguments(), w.Name)
			for k, text := range splitArguments(s.Arguments()) {
				cards, err := formats.ParseSightings(text)
				require.NoError(t, err, w.Name)
				require.Len(t, cards, len(s.Cards[k]))
				for j, one := range s.Cards[k] {
					require.Equal(t, one.Kind, cards[j].Kind)
					require.Equal(t, one.Bits, cards[j].Bits)
					require.True(t, one.Kind == formats.Read || one.Text == cards[j].Text)
				}
				c := s.Truth[k]
				require.True(t, s.Kinds[c.Kind].Layout.Holds(c.Read), w.Name)
				if came := s.Cards[k][0]; came.Kind == formats.Read { // in some worlds no card was read
					require.Equal(t, c.Spoilt, s.Line.Send(came.Bits) != c.Read, w.Name)
				}
			}
		}
	}
}

// splitArguments splits arguments as a shell does, of those quotes that Arguments writes.
func splitArguments(text string) []string {
	var words []string
	quoted := false
	start := 0
	for i, r := range text + " " {
		switch {
		case r == '\'':
			quoted = !quoted
		case r == ' ' && !quoted:
			words = append(words, strings.Trim((text + " ")[start:i], "'"))
			start = i + 1
		}
	}
	return words
}

// TestPrintsAreForms: what sites print is what the forms of package formats give, which were written without these
// habits.
func TestPrintsAreForms(t *testing.T) {
	cat := formats.Builtin()
	seen := map[string]int{}
	for _, w := range worlds.Worlds() {
		if !slices.Contains([]string{"sparse numbers", "low 24 bits as a pair", "three facilities"}, w.Name) {
			continue
		}
		for i := range 100 {
			s := w.Sample(10, i)
			f := cat.Find(s.Kinds[0].Format)[0]
			for k, c := range s.Cards {
				if len(c) < 2 {
					continue
				}
				card, err := f.Read(s.Truth[k].Read)
				require.NoError(t, err)
				name := formOf(&card, c[1].Text)
				assert.NotEmpty(t, name, "%s: %q is printed on a card of %s, %s", w.Name, c[1].Text, f.ID, s.Truth[k].Read.Hex())
				seen[name]++
			}
		}
	}
	for _, name := range []string{"number", "pair", "joined", "decimal", "decimal10", "hex", "pair24"} {
		assert.NotZero(t, seen[name], "%s is printed somewhere; seen: %v", name, seen)
	}
}

// formOf returns a form that gives a text for a card, signs and zeros before the number aside; "" where none does.
func formOf(c *formats.Card, text string) string {
	text = strings.NewReplacer("-", ",", " ", ",").Replace(text)
	for _, f := range formats.Forms() {
		got, err := f.Text(c)
		if err != nil {
			continue
		}
		if got == text || !strings.Contains(text, ",") && f.Name == "number" &&
			strings.TrimLeft(got, "0") == strings.TrimLeft(text, "0") {
			return f.Name
		}
	}
	return ""
}
