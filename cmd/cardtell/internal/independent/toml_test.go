package independent

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/pelletier/go-toml/v2"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
	"github.com/cardtell/cardtell/formats/site"
)

// tomlText is a question of toml_values.py, and tomlValue its answer.
type tomlText struct {
	Text string `json:"text"`
}

type tomlValue struct {
	Value map[string]any `json:"value"`
	Wrong string         `json:"wrong"`
}

// tomllib returns what Python's tomllib reads in each text, after seeing to it that the reader that this program has
// says the same.
func tomllib(t *testing.T, texts []string) []map[string]any {
	t.Helper()
	var questions []tomlText
	for _, text := range texts {
		questions = append(questions, tomlText{text})
	}
	var values []map[string]any
	for i, a := range Ask[tomlValue](t, "toml_values.py", questions) {
		require.Empty(t, a.Wrong, "%s", texts[i])
		var ours map[string]any
		require.NoError(t, toml.Unmarshal([]byte(texts[i]), &ours), "%s", texts[i])
		require.Equal(t, a.Value, plain(ours), "%s", texts[i])
		values = append(values, a.Value)
	}
	return values
}

// plain returns a value as toml_values.py writes it.
func plain(v any) any {
	switch v := v.(type) {
	case map[string]any:
		all := map[string]any{}
		for key, x := range v {
			all[key] = plain(x)
		}
		return all
	case []any:
		all := []any{}
		for _, x := range v {
			all = append(all, plain(x))
		}
		return all
	case int64:
		return map[string]any{"int": strconv.FormatInt(v, 10)}
	}
	return v
}

// The files that come with the program.
func TestFilesThatTomllibReads(t *testing.T) {
	texts := []string{site.Starter}
	for _, name := range []string{"formats/catalogue.toml", "testdata/demo/site.toml"} {
		text, err := os.ReadFile("../../../../" + name)
		require.NoError(t, err)
		texts = append(texts, string(text))
	}
	values := tomllib(t, texts)
	assert.Len(t, values[1]["format"], len(formats.Builtin().IDs()))
}

// Definitions of every format of the catalogue, with texts at random, are read by tomllib with the values that they
// were written from.
func TestDefinitionsThatTomllibReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 8))
	catalogue := formats.Builtin()
	var texts []string
	var of []formats.Format
	for i := range catalogue.Len() {
		f := *catalogue.At(i)
		f.Description, f.Source, f.Weight = randomText(rnd), randomText(rnd), rnd.ExpFloat64()*1e4
		texts, of = append(texts, string(formats.AppendDefinition(nil, &f, randomText(rnd), randomText(rnd)))), append(of, f)
	}
	for i, v := range tomllib(t, texts) {
		f, row := of[i], v["format"].([]any)[0].(map[string]any)
		spec := f.Layout.Spec()
		assert.Equal(t, f.ID, row["id"])
		assert.Equal(t, f.Description, row["description"], "%s", texts[i])
		assert.Equal(t, f.Source, row["source"], "%s", texts[i])
		assert.Equal(t, f.Weight, row["weight"], "%s", texts[i])
		assert.Equal(t, integer(spec.Length), row["length"])
		require.Len(t, row["fields"], len(spec.Fields))
		for k, field := range row["fields"].([]any) {
			assert.Equal(t, spec.Fields[k].Name, field.(map[string]any)["name"])
		}
		assert.Len(t, row["checks"], len(spec.Checks))
		if len(f.Examples) > 0 {
			assert.Len(t, row["example"], len(f.Examples))
		}
	}
}

// Site files with values at random are read by tomllib with the values that they were written from.
func TestSitesThatTomllibReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 9))
	var texts []string
	var of []site.Site
	for range 100 {
		s := site.Site{Name: "x" + randomText(rnd)}
		for range 1 + rnd.IntN(3) {
			p := formats.Population{Format: "26-8-16", Printed: "pair",
				Numbers: []formats.Range{{First: rnd.Uint64N(100), Last: 100}}}
			for range rnd.IntN(3) {
				p.Facilities = append(p.Facilities, rnd.Uint64N(256))
			}
			s.Cards = append(s.Cards, p)
		}
		s.Doors = []site.Door{{Name: "y" + randomText(rnd), Enter: "pair", Capacity: 1 + rnd.IntN(9999)}}
		texts, of = append(texts, string(s.Append(nil, randomText(rnd), randomText(rnd)))), append(of, s)
	}
	for i, v := range tomllib(t, texts) {
		s := of[i]
		assert.Equal(t, s.Name, v["name"], "%s", texts[i])
		require.Len(t, v["cards"], len(s.Cards))
		for k, row := range v["cards"].([]any) {
			row, p := row.(map[string]any), s.Cards[k]
			var facilities any
			switch len(p.Facilities) {
			case 0:
			case 1:
				facilities = integer(p.Facilities[0])
			default:
				facilities = []any{integer(p.Facilities[0]), integer(p.Facilities[1])}
			}
			assert.Equal(t, facilities, row["facility"], "%s", texts[i])
			assert.Equal(t, p.Numbers[0].String(), row["numbers"], "%s", texts[i])
			assert.Equal(t, p.Printed, row["printed"], "%s", texts[i])
		}
		door := v["doors"].([]any)[0].(map[string]any)
		assert.Equal(t, s.Doors[0].Name, door["name"], "%s", texts[i])
		assert.Equal(t, integer(s.Doors[0].Capacity), door["capacity"], "%s", texts[i])
	}
}

// Rule files of rules of every kind are read by tomllib with the keys and values of the rule.
func TestRulesThatTomllibReads(t *testing.T) {
	rnd := rand.New(rand.NewPCG(seed, 10))
	var texts []string
	var of []relate.Rule
	for _, pairs := range [][]relate.Pair{
		{{A: "26:32D687E", B: "46143"}, {A: "26:3A83702", B: "7041"}},
		{{A: "150,46143", B: "26:32D687E"}, {A: "212,7041", B: "26:3A83702"}},
		{{A: "1,11572", B: "77108"}, {A: "150,46143", B: "9876543"}},
		{{A: "hex:0031EF53", B: "0003272531"}, {A: "hex:0096B43F", B: "0009876543"}},
		{{A: "uid:ece58673", B: "1938220524"}, {A: "uid:0439ba6a", B: "1790589188"}}, // ISO/IEC 14443-3, byte orders
		{{A: "10", B: "266"}, {A: "20", B: "276"}, {A: "977", B: "1233"}},
	} {
		rel, err := relate.Find(pairs, formats.Builtin())
		require.NoError(t, err)
		require.NotEmpty(t, rel.Rules, "%v", pairs)
		for _, fit := range rel.Rules {
			texts, of = append(texts, string(fit.Rule.AppendFile(nil, randomText(rnd), randomText(rnd)))), append(of, fit.Rule)
		}
	}
	done := map[string]bool{}
	for i, v := range tomllib(t, texts) {
		r := of[i]
		assert.Equal(t, r.String(), v["rule"], "%s", texts[i])
		assert.Equal(t, keysOf(t, r.From()), loose(v["from"]), "%s", texts[i])
		assert.Equal(t, keysOf(t, r.To()), loose(v["to"]), "%s", texts[i])
		steps, _ := v["steps"].([]any)
		require.Len(t, steps, len(r.Steps()), "%s", texts[i])
		for k, step := range r.Steps() {
			assert.Equal(t, keysOf(t, step), loose(steps[k]), "%s", texts[i])
			done[step.Op.String()] = true
		}
	}
	t.Logf("%d rules, with the steps %v", len(texts), done)
	assert.Greater(t, len(done), 4)
}

// integer returns a whole number as toml_values.py writes it.
func integer(n any) map[string]any { return map[string]any{"int": fmt.Sprint(n)} }

// keysOf returns the keys and values of a part of a rule, every value as a text.
func keysOf(t *testing.T, part any) map[string]string {
	text, err := json.Marshal(part)
	require.NoError(t, err)
	var all map[string]any
	require.NoError(t, json.Unmarshal(text, &all))
	return loose(all)
}

// loose returns keys and values, every value as a text.
func loose(v any) map[string]string {
	all := map[string]string{}
	for key, x := range v.(map[string]any) {
		if m, ok := x.(map[string]any); ok {
			x = m["int"]
		}
		all[key] = fmt.Sprint(x)
	}
	return all
}

// randomText returns a text with the signs that are hard to quote.
func randomText(rnd *rand.Rand) string {
	signs := []rune("ab \"\\'#=[]{}\t\n\r\x00\x1b\x7f\u0085\u00e9\u6f22\u2028\ufeff\U0001F6AA")
	var b strings.Builder
	for range rnd.IntN(12) {
		b.WriteRune(signs[rnd.IntN(len(signs))])
	}
	return b.String()
}
