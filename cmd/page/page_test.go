package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// questions are texts as people type them: reads, prints, serials, both at once, spellings with words, several cards, and what
// is no card at all.
var questions = []string{
	"26:32D687E=46143",
	"26:32D687E",
	"150,46143",
	"FC 150 ID 46143",
	"46143",
	"0009876543",
	"7930174",
	"96B43F",
	"hex:96B43F",
	"bits:11001011010110100001111110",
	"11001011010110100001111110",
	"left:26:CB5A1F80",
	"04:A2:3B:5C",
	"uid:04A23B5C112280",
	"04-A2-3B-5C-11-22-80",
	"34:22D687E01=46143",
	"37:00FAC09C57=20011",
	"37:00FAC09C58",
	"26:2F20023",
	"26:32D687F",
	"25:196B43F",
	"35:2B5C3A1F7",
	"33:01B06DB49=93604",
	"printed:121,00017",
	"26:2F20023=121,00017",
	"26:2F20023\n26:2F20057=00043\n26:2F201A9",
	"26:2F20023=121,00017\n26:2B13883=5807169\n26:2F20057=121,00043\n26:2B13885=5807170",
	"150,46143\n150,46144\n150,46150",
	"26:FFFFFFFF",
	"what is this",
	"-1",
}

// run asks the program for this system.
func run(t *testing.T, dir string, args ...string) (out, errs string, code int) {
	t.Helper()
	name, err := native()
	require.NoError(t, err)
	var o, e strings.Builder
	c := exec.Command(name, args...)
	c.Dir, c.Stdout, c.Stderr = dir, &o, &e
	if err = c.Run(); err != nil {
		require.IsType(t, &exec.ExitError{}, err)
	}
	return o.String(), e.String(), c.ProcessState.ExitCode()
}

// answered is what the page shows for a question: of each card the number, and the kinds with their probabilities.
type answered struct{ Digits, Kinds, Errors []string }

// expected works the same out from the JSON of the command line.
func expected(t *testing.T, text string) (want answered) {
	t.Helper()
	texts := strings.Split(text, "\n")
	out, errs, code := run(t, "", append([]string{"identify", "--json", "--top", "50", "--"}, texts...)...)
	if code > 1 {
		return answered{Errors: []string{strings.TrimSpace(errs)}}
	}
	type identified struct {
		Candidates []struct {
			Format, Frame string
			Probability   float64
		}
		Unknown     float64
		Populations []identified
	}
	var doc identified
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	if doc.Populations == nil {
		doc.Populations = []identified{doc}
	}
	for _, part := range doc.Populations {
		for i, c := range part.Candidates {
			name := c.Format
			if name == "" {
				name = "like " + c.Frame
			}
			if i < 5 {
				want.Kinds = append(want.Kinds, name+" "+percent(c.Probability))
			}
		}
		want.Kinds = append(want.Kinds, "none of these "+percent(part.Unknown))
	}
	if len(texts) > 1 {
		return want
	}
	out, errs, code = run(t, "", "convert", "--to", "pair", "--json", "--", text)
	if code > 1 {
		want.Errors = []string{strings.TrimSpace(errs)}
		return want
	}
	var converted struct {
		Results []struct {
			Value       string
			Probability float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &converted))
	sums, best := map[string]float64{}, ""
	for _, r := range converted.Results {
		sums[r.Value] += r.Probability
		if best == "" || sums[r.Value] > sums[best] {
			best = r.Value
		}
	}
	want.Digits = []string{best + " " + percent(sums[best])}
	return want
}

func percent(p float64) string {
	switch {
	case p > 0.9995:
		return ">99.9 %"
	case p < 0.0005:
		return "<0.1 %"
	}
	return fmt.Sprintf("%.1f %%", math.Round(p*1e6)/1e4)
}

const shown = `return {
	Digits: [...document.querySelectorAll(".type")].filter(e => e.querySelector(".digits")).map(e => e.querySelector(".digits").textContent + " " + e.querySelector(".digits + div").textContent.replace("Not sure: ", "")),
	Kinds: [...document.querySelectorAll(".answer tr")].filter(e => e.querySelector("meter")).map(e => e.querySelector("th").textContent + " " + e.querySelector(".odds").textContent).filter(text => !text.startsWith("others ")),
	Errors: [...document.querySelectorAll(".answer .bad")].filter(e => !e.textContent.startsWith("Not sure")).map(e => e.textContent),
}`

// Typed into the page, thirty questions have the answers of the command line: the number with its probability, the kinds with
// theirs, the same errors. The network is silent. From a file, and over loopback.
func TestQuestions(t *testing.T) {
	for name, address := range map[string]func(*testing.T) string{"file": file, "loopback": served} {
		t.Run(name, func(t *testing.T) {
			b := open(t, address(t), 1280, "")
			require.GreaterOrEqual(t, len(questions), 30)
			for _, q := range questions {
				b.ask(q)
				got, want := get[answered](b, shown), expected(t, q)
				assert.Equal(t, want.Errors, empty(got.Errors), "%q", q)
				assert.Equal(t, want.Kinds, empty(got.Kinds), "%q", q)
				if !strings.Contains(q, "\n") {
					assert.Equal(t, want.Digits, empty(got.Digits), "%q", q)
				}
			}
			b.silent()
			refused := get[bool](b, `try { await fetch("http://127.0.0.1:9/"); return false; } catch { return true; }`)
			assert.True(t, refused, "the policy lets the page ask the network")
		})
	}
}

func empty(all []string) []string {
	if len(all) == 0 {
		return nil
	}
	return all
}

// commands are command lines over the demo's files, of every kind that the page asks.
var commands = [][]string{
	{"identify", "26:2F20023", "26:2F20057=00043", "--site", "site.toml"},
	{"identify", "--file", "box.txt", "--verbose"},
	{"convert", "121,00014", "--site", "site.toml", "--door", "Yard gate"},
	{"relate", "0009876543=150,46143", "0007625328=116,23152", "-o", "rule.toml"},
	{"learn", "barrier.txt", "-o", "format.toml"},
	{"capture", "back-door.vcd", "--identify"},
	{"check", "staff.csv", "--site", "site.toml"},
	{"check", "staff.csv", "--site", "site.toml", "--json"},
	{"batch", "staff.csv", "--site", "site.toml", "--door", "Yard gate", "-o", "out.csv"},
	{"site", "--from", "staff.csv", "-o", "found.toml"},
	{"match", "events.csv", "--list", "staff.csv", "--site", "site.toml", "-o", "named.csv"},
	{"draw", "26:32D687E=46143", "-o", "card.svg"},
	{"draw", "26:32D687E=46143", "-o", "card.svg", "--narrow"},
	{"formats", "show", "26-8-16"},
	{"help", "safety"},
	{"convert", "150,46143", "--to", "nothing"},
}

// The program in the page prints what the one on the command line prints, and writes the same files, byte for byte.
func TestCommands(t *testing.T) {
	b := open(t, file(t), 1280, "")
	demo, err := filepath.Glob("../../testdata/demo/*")
	require.NoError(t, err)
	dir, given := t.TempDir(), map[string]string{}
	for _, name := range demo {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		require.NoError(t, os.WriteFile(filepath.Join(dir, filepath.Base(name)), text, 0o600))
		given[filepath.Base(name)] = latin1(text)
	}
	for _, args := range commands {
		wantOut, wantErr, wantCode := run(t, dir, args...)
		q, err := json.Marshal([]any{args, given})
		require.NoError(t, err)
		got := get[struct {
			Code     int
			Out, Err string
			Written  map[string]string
		}](b, `const [args, texts] = `+string(q)+`, given = {}, written = {};
			for (const [name, text] of Object.entries(texts)) { given[name] = Uint8Array.from(text, c => c.charCodeAt(0)); }
			const a = await ask(args, given, 80);
			for (const [name, bytes] of Object.entries(a.written)) { written[name] = [...bytes].map(c => String.fromCharCode(c)).join(""); }
			return {Code: a.code, Out: a.out, Err: a.err, Written: written};`)
		assert.Equal(t, wantCode, got.Code, "%q", args)
		assert.Equal(t, wantOut, got.Out, "%q", args)
		assert.Equal(t, wantErr, got.Err, "%q", args)
		for name, text := range got.Written {
			want, err := os.ReadFile(filepath.Join(dir, name))
			require.NoError(t, err)
			assert.Equal(t, latin1(want), text, "%q: %s", args, name)
		}
		if i := strings.Index(strings.Join(args, " "), "-o "); i >= 0 {
			assert.NotEmpty(t, got.Written, "%q", args)
		}
	}
	b.silent()
}

// latin1 writes bytes as a text of as many characters, which JSON carries.
func latin1(b []byte) string {
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}
