package relate_test

import (
	"encoding/json"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/relate"
)

func pairsOf(texts ...string) []relate.Pair {
	var pairs []relate.Pair
	for _, s := range texts {
		a, b, _ := strings.Cut(s, "=")
		pairs = append(pairs, relate.Pair{A: a, B: b})
	}
	return pairs
}

// published are pairs from public texts, and what is said there of the relation.
var published = []struct {
	source string
	pairs  []string
	ask    string // another number, and what the rule makes of it
	want   string
}{
	// Public questions and answers on numbers printed on fobs: 0007625328 is 116,23152 and 0007666343 is 116,64167.
	{"printed decimal to pair", []string{"0007625328=116,23152", "0007666343=116,64167"}, "0009876543", "150,46143"},
	{"pair to printed decimal", []string{"116,23152=0007625328", "116,64167=0007666343"}, "150,46143", "0009876543"},
	{"joined", []string{"0007625328=11623152", "0007666343=11664167"}, "0009876543", "15046143"},
	// The same serials as big-endian and little-endian decimals; memory start EC E5 86 73 of a tag whose print is 73 86 E5
	// EC.
	{"byte order of decimals", []string{"3974465139=1938220524", "70892138=1790589188"}, "144814787", "3283263752"},
	{"byte order of a serial", []string{"uid:ECE58673=uid:7386E5EC"}, "04:39:BA:6A", "6ABA3904"},
	// ISO/IEC 15693: one telephone shows E0 04 01 50 76 D2 81 05, another 05 81 D2 76 50 01 04 E0.
	{"serial of 8 bytes", []string{"E0:04:01:50:76:D2:81:05=05:81:D2:76:50:01:04:E0"}, "E0:04:01:50:11:22:33:44",
		"44:33:22:11:50:01:04:E0"},
	// The 26-bit frame of SIA AC-01-1996.10: facility 150, number 46143 and facility 212, number 7041.
	{"read to number", []string{"26:32D687E=46143", "26:3A83702=7041"}, "26:2F764DD", "45678"},
	{"read to decimal of the data bits", []string{"26:32D687E=9876543", "26:3A83702=13900673"}, "26:2F764DD", "8106606"},
	{"pair to read", []string{"150,46143=26:32D687E", "212,7041=26:3A83702"}, "123,45678", "26:2F764DD"},
	// A public bug report: facility 1, number 11572 is 77108 as 24 bits.
	{"pair without zeros", []string{"1,11572=77108"}, "150,46143", "9876543"},
	// Printed hex and decimal of the same tag: 0031EF53 and 0003272531.
	{"hex to decimal", []string{"hex:0031EF53=0003272531"}, "hex:0096B43F", "0009876543"},
}

// TestPublished relates pairs that were published, and asks for another number of the same kind.
func TestPublished(t *testing.T) {
	cat := formats.Builtin()
	for _, c := range published {
		t.Run(c.source, func(t *testing.T) {
			rel, err := relate.Find(pairsOf(c.pairs...), cat)
			require.NoError(t, err)
			require.NotEmpty(t, rel.Rules)
			rule := &rel.Rules[0].Rule
			got, err := rule.Apply(c.ask)
			require.NoError(t, err, rule.String())
			require.Equal(t, c.want, got, rule.String())
			requireKept(t, &rel, pairsOf(c.pairs...), cat)
		})
	}
}

// requireKept fails unless every rule maps every pair as it stands, is the same after being written to a file and read
// back, and undoes itself where it can be reversed.
func requireKept(t *testing.T, rel *relate.Answer, pairs []relate.Pair, cat formats.Catalogue) {
	t.Helper()
	total := rel.Unknown
	for i := range rel.Rules {
		rule := &rel.Rules[i].Rule
		total += rel.Rules[i].Probability
		text := rule.AppendFile(nil, "a comment\x7f\r\n", "\x1b")
		again, err := relate.ParseRule("rule.toml", text, cat)
		require.NoError(t, err, "%s", text)
		require.Equal(t, rule.String(), again.String())
		back, backErr := rule.Reverse()
		for _, p := range pairs {
			for _, r := range []*relate.Rule{rule, &again} {
				got, err := r.Apply(p.A)
				require.NoError(t, err)
				require.Equal(t, bareText(p.B), got, "%s", text)
			}
			if backErr == nil {
				got, err := back.Apply(p.B)
				require.NoError(t, err, "%s back from %s", back.String(), p.B)
				require.Equal(t, bareText(p.A), got)
			}
		}
	}
	require.InDelta(t, 1, total, 1e-9)
}

func bareText(s string) string {
	for _, prefix := range []string{"hex:", "uid:"} {
		s = strings.TrimPrefix(s, prefix)
	}
	return s
}

// TestUnrelated: random numbers have no rule, and none is made up.
func TestUnrelated(t *testing.T) {
	answer, err := relate.Find(pairsOf("0007625328=8123770", "0007666343=551", "0009876543=99120342"), formats.Builtin())
	require.NoError(t, err)
	require.Greater(t, answer.Unknown, 0.9)
}

// TestDoubt: one small number fits many rules, and the answer says so: several rules, each with a number that tells it
// apart.
func TestDoubt(t *testing.T) {
	rel, err := relate.Find(pairsOf("5=5"), formats.Builtin())
	require.NoError(t, err)
	require.Greater(t, len(rel.Rules), 2)
	require.Len(t, rel.Differences, len(rel.Rules)-1)
	for _, d := range rel.Differences {
		first, _ := rel.Rules[0].Rule.Apply(d.A)
		other, _ := rel.Rules[d.Rule].Rule.Apply(d.A)
		require.Equal(t, d.First, first)
		require.Equal(t, d.Another, other)
		require.NotEqual(t, first, other)
	}
}

// TestBadPairs: what can't be used is an error that names its line.
func TestBadPairs(t *testing.T) {
	for _, c := range []struct {
		pairs []relate.Pair
		want  string
	}{
		{nil, "pairs: there are none; write A=B"},
		{pairsOf("1=2", "2=zz"), `pair 2: card "zz"`},
		{pairsOf("7=2", "150,1=3"), `pair 2 "150,1": is written in another way than "7"`},
		{pairsOf("99999999999999999999=1"), `can't be worked with`},
		{pairsOf("200:00=1"), `can't be worked with`},
		{pairsOf("26:1=1", "27:1=2"), `pair 2 "27:1": is written in another way than "26:1"`},
	} {
		_, err := relate.Find(c.pairs, formats.Catalogue{})
		require.ErrorContains(t, err, c.want, "%v", c.pairs)
		var own *formats.Error
		require.ErrorAs(t, err, &own)
	}
	rel, err := relate.Find(pairsOf("10=266", "10=266"), formats.Catalogue{})
	require.NoError(t, err)
	require.Equal(t, [][2]int{{1, 0}}, rel.Repeats)
}

// TestRuleFile: every kind of mistake in a rule file, with its place.
func TestRuleFile(t *testing.T) {
	cat := formats.Builtin()
	head := "version = 1\nfrom = { form = \"decimal\" }\nto = { form = \"decimal\" }\n"
	for _, c := range []struct{ text, want string }{
		{"", "r.toml: no version"},
		{"version = 2\nnew-key = true", "r.toml: version 2; this program reads versions up to 1, so take a newer one"},
		{"version = \"one\"", `r.toml:1: key version: is of type string; write a whole number`},
		{"version = 1\nfrom = 3", `r.toml:2: key from: is of type integer; write a table`},
		{head + "fast = true", `r.toml:4: no such key "fast"`},
		{"version = 1\nto = { form = \"decimal\" }", `r.toml: from: form = "" is none of decimal, hex`},
		{strings.Replace(head, "form = \"decimal\"", "form = \"pair\", bits = 64, separator = \",\"", 1),
			"r.toml: from: pair has a number of 64 bits"},
		{strings.Replace(head, "form = \"decimal\"", "form = \"pair\", bits = 16, separator = \";\"", 1),
			"r.toml: from: pair has no such separator"},
		{strings.Replace(head, "form = \"decimal\"", "form = \"hex\", bits = 16", 1),
			"r.toml: from: form hex has no bits; leave it out"},
		{strings.Replace(head, "form = \"decimal\"", "form = \"decimal\", digits = \"5\"", 1),
			"is of type string; write a whole number"},
		{strings.Replace(head, "form = \"decimal\"", "form = \"decimal\", digits = -1", 1), "-1 digits"},
		{head + "[[steps]]\ndo = \"shuffle\"", `r.toml: step 1: do = "shuffle" is no step; there are swap-bytes`},
		{head + "[[steps]]\ndo = \"swap-bytes\"\nbytes = 9", "r.toml: step 1: swap-bytes has bytes = 9; 2 to 8 are possible"},
		{head + "[[steps]]\ndo = \"keep-low\"\nbits = 16\nbytes = 2",
			"r.toml: step 1: keep-low has a key that it does not know"},
		{head + "[[steps]]\ndo = \"keep-high\"\nbits = 24\nof = 24",
			"r.toml: step 1: keep-high has bits = 24; 1 to 23 are possible"},
		{head + "[[steps]]\ndo = \"set-facility\"\nbits = 60\nfacility = 150",
			"r.toml: step 1: set-facility has facility = 150, which does not fit before 60 bits"},
		{head + "[[steps]]\ndo = \"strip-parity\"\nformat = \"no-such\"",
			`r.toml: step 1: strip-parity names format "no-such"`},
		{head + "[[steps]]\ndo = \"strip-parity\"\nformat = \"fascn-200\"",
			"format fascn-200: it has 200 bits; rules work on up to 64"},
		{head + strings.Repeat("[[steps]]\ndo = \"to-bcd\"\n", 33), "33 steps; 32 are possible"},
	} {
		_, err := relate.ParseRule("r.toml", []byte(c.text), cat)
		require.ErrorIs(t, err, relate.ErrRule, c.text)
		require.ErrorContains(t, err, c.want)
		require.NotContains(t, err.Error(), "\n")
	}
}

// TestApplyErrors: nothing is cut to fit, and the text at fault is quoted.
func TestApplyErrors(t *testing.T) {
	rel, err := relate.Find(pairsOf("26:32D687E=46143", "26:3A83702=7041"), formats.Builtin())
	require.NoError(t, err)
	rule := &rel.Rules[0].Rule
	_, err = rule.Apply("26:32D687F")
	require.ErrorIs(t, err, relate.ErrFit, "its parity fails")
	_, err = rule.Apply("27:32D687E")
	require.ErrorIs(t, err, relate.ErrInput)
	require.EqualError(t, err, `number "27:32D687E": is not a read of 26 bits`)
	_, err = rule.Reverse()
	require.ErrorIs(t, err, relate.ErrRule)
	require.EqualError(t, err, "the rule: can't be reversed: in step 2 the bits above the low 16 are dropped")
	var zero relate.Rule
	_, err = zero.Apply("1")
	require.Error(t, err)
}

// TestAppendAllocates: a rule allocates nothing.
func TestAppendAllocates(t *testing.T) {
	for _, c := range published {
		rel, err := relate.Find(pairsOf(c.pairs...), formats.Builtin())
		require.NoError(t, err)
		rule, buf := &rel.Rules[0].Rule, make([]byte, 0, 96)
		require.Zero(t, testing.AllocsPerRun(10, func() {
			if buf, err = rule.Append(buf[:0], c.ask); err != nil {
				t.Fatal(err)
			}
		}), c.source)
	}
}

func ExampleFind() {
	rel, err := relate.Find([]relate.Pair{
		{A: "3974465139", B: "1938220524"},
		{A: "70892138", B: "1790589188"},
	}, formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	rule := rel.Rules[0].Rule
	fmt.Println(rule.String())
	fmt.Println(rule.Apply("144814787"))
	fmt.Printf("%s", rule.AppendFile(nil))
	// Output:
	// read as decimal; swap the order of 4 bytes; write as decimal
	// 3283263752 <nil>
	// version = 1
	// rule = 'read as decimal; swap the order of 4 bytes; write as decimal'
	// from = {form = 'decimal'}
	// to = {form = 'decimal'}
	//
	// [[steps]]
	// do = 'swap-bytes'
	// bytes = 4
}

func ExampleRule_Reverse() {
	rule, err := relate.ParseRule("rule.toml", []byte(`
		version = 1
		from = { form = "decimal" }
		to = { form = "pair", bits = 16, separator = "," }
	`), formats.Builtin())
	if err != nil {
		fmt.Println(err)
		return
	}
	back, err := rule.Reverse()
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(rule.Apply("9876543"))
	fmt.Println(back.Apply("150,46143"))
	// Output:
	// 150,46143 <nil>
	// 9876543 <nil>
}

// Rules go through JSON: what comes back does the same. The numbers are those of a published question about a fob,
// 0007625328 and 116,23152, which is 116·65536+23152.
func TestRulesThroughJSON(t *testing.T) {
	t.Parallel()
	known := formats.Builtin()
	answer, err := relate.Find([]relate.Pair{{A: "0007625328", B: "116,23152"}}, known)
	require.NoError(t, err)
	text, err := json.Marshal(answer)
	require.NoError(t, err)
	var again relate.Answer
	require.NoError(t, json.Unmarshal(text, &again))
	require.Len(t, again.Rules, len(answer.Rules))
	for i := range answer.Rules {
		require.Equal(t, answer.Rules[i].Rule.String(), again.Rules[i].Rule.String())
	}
	b, err := again.Rules[0].Rule.Apply("0007625328")
	require.NoError(t, err)
	require.Equal(t, "116,23152", b)

	var none relate.Rule
	text, err = json.Marshal(none)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &none), "a rule that is none is none again")
	_, err = none.Apply("1")
	require.Error(t, err)
	require.ErrorIs(t, none.UnmarshalText([]byte("version = 2")), relate.ErrRule)
}

// What is always the same in a format is no data: a read that has something else there is none of that format. The
// reads are the example of the catalogue, whose facility is always 0, and one of SIA AC-01-1996.10 with facility 150.
func TestConstantIsNoData(t *testing.T) {
	rule, err := relate.ParseRule("r", []byte(`version = 1
from = { form = "bits", bits = 26 }
to = { form = "decimal" }
[[steps]]
do = "strip-parity"
format = "pin-26"
`), formats.Builtin())
	require.NoError(t, err)
	got, err := rule.Apply("00000000000000100110100100")
	require.NoError(t, err)
	require.Equal(t, "1234", got)
	_, err = rule.Apply("26:32D687E")
	require.ErrorIs(t, err, relate.ErrFit)
	back, err := rule.Reverse()
	require.NoError(t, err)
	got, err = back.Apply("1234")
	require.NoError(t, err)
	require.Equal(t, "00000000000000100110100100", got)
}
