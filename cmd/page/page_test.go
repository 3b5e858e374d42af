package main

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"github.com/xuri/excelize/v2"
)

// questions are texts as people type them: reads, prints, serials, both at once, spellings with words, several cards,
// and what is no card at all.
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

// answered is what the page shows for a question: of each card the number, and the kinds with their probabilities; of a
// chip's serial what it is, and what readers send of it.
type answered struct{ Digits, Kinds, Errors, Serial []string }

// identified is the JSON of identify, as far as the page shows it.
type identified struct {
	Candidates []struct {
		Format, Frame string
		Probability   float64
		Cards         []struct {
			Fault string
			Forms map[string]string
		}
	}
	Unknown     float64
	Given       []int
	Populations []identified
	Serial      *struct {
		Facts []string
		Reads []struct {
			Length     int
			Part, Read string
			Forms      map[string]string
		}
	}
}

// serial is what a serial is and what readers send of it, as a pair where there is one.
func (doc *identified) serial() (all []string) {
	all = append(all, doc.Serial.Facts...)
	for _, r := range doc.Serial.Reads {
		value := r.Forms["pair"]
		if value == "" {
			value = "decimal: " + r.Forms["decimal"]
		}
		all = append(all, fmt.Sprintf("%d bits, %s: %s %s", r.Length, r.Part, r.Read, value))
	}
	return all
}

// expected works the same out from the JSON of the command line.
func expected(t *testing.T, text string) (want answered) {
	t.Helper()
	texts := strings.Split(text, "\n")
	out, errs, code := run(t, "", append([]string{"identify", "--json", "--top", "50", "--"}, texts...)...)
	if code > 1 {
		return answered{Errors: []string{said(errs)}}
	}
	var doc identified
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	if doc.Serial != nil {
		return answered{Serial: doc.serial()}
	}
	if doc.Populations == nil {
		doc.Populations = []identified{doc}
	}
	lines := make([]string, len(texts))
	for _, part := range doc.Populations {
		want.Kinds = append(want.Kinds, part.kinds()...)
		for i := range texts {
			if part.Given == nil {
				lines[i] = part.line(i, "pair")
			} else if i < len(part.Given) {
				lines[part.Given[i]-1] = part.line(i, "pair")
			}
		}
	}
	if len(texts) == 1 {
		lines = []string{converted(t, text)}
	}
	for _, line := range lines {
		if strings.HasSuffix(line, " %") {
			want.Digits = append(want.Digits, line)
		} else {
			want.Errors = append(want.Errors, line)
		}
	}
	return want
}

// kinds are the first five, and none of these.
func (part *identified) kinds() (all []string) {
	for i, c := range part.Candidates {
		name := c.Format
		if name == "" {
			name = "like " + c.Frame
		}
		if i < 5 {
			all = append(all, name+" "+percent(c.Probability))
		}
	}
	return append(all, "none of these "+percent(part.Unknown))
}

// line is the i-th card in a form and its probability, or why there is none.
func (part *identified) line(i int, form string) string {
	sums := map[string]float64{}
	for k, c := range part.Candidates {
		if i >= len(c.Cards) || c.Cards[i].Fault != "" || c.Cards[i].Forms[form] == "" {
			if k == 0 {
				return "The likeliest reading, " + c.Format + ", has no " + form + "."
			}
			continue
		}
		sums[c.Cards[i].Forms[form]] += c.Probability
	}
	return likeliest(sums)
}

// converted is the same for one card alone, by convert.
func converted(t *testing.T, text string) string {
	t.Helper()
	out, errs, code := run(t, "", "convert", "--to", "pair", "--json", "--", text)
	if code > 1 {
		return said(errs)
	}
	var doc struct {
		Results []struct {
			Value       string
			Probability float64
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	sums := map[string]float64{}
	for _, r := range doc.Results {
		sums[r.Value] += r.Probability
	}
	return likeliest(sums)
}

func likeliest(sums map[string]float64) string {
	best := ""
	for value, p := range sums {
		if p > sums[best] {
			best = value
		}
	}
	return best + " " + percent(sums[best])
}

func percent(p float64) string {
	switch {
	case p > 0.9995:
		return ">99.9 %"
	case p < 0.0005:
		return "<0.1 %"
	}
	return fmt.Sprintf("%.1f %%", 100*p) // rounded once, as the program does
}

const shown = `return {
	Digits: [...document.querySelectorAll(".type")].filter(e => e.querySelector(".digits")).map(e => e.querySelector(".digits").textContent + " " + e.querySelector(".digits + div").textContent.replace("Not sure: ", "")),
	Kinds: [...document.querySelectorAll(".kinds li")].map(e => e.querySelector("b").textContent + " " + e.querySelector(".odds").textContent).filter(text => !text.startsWith("others ")),
	Serial: [...document.querySelectorAll(".serial ul.notes li, .serial .type > div")].map(e => [...(e.children.length ? e.children : [e])].map(part => part.textContent).join(" ")),
	Errors: [...document.querySelectorAll(".answer .bad:not(.about)")].filter(e => !e.textContent.startsWith("Not sure")).map(e => e.textContent),
}`

// Typed into the page, thirty questions have the answers of the command line: the number with its probability, the
// kinds with theirs, the same errors. The network is silent. From a file, and over loopback.
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
				assert.Equal(t, want.Digits, empty(got.Digits), "%q", q)
				assert.Equal(t, want.Serial, empty(got.Serial), "%q", q)
			}
			b.silent()
			refused := get[bool](b, `try { await fetch("http://127.0.0.1:9/"); return false; } catch { return true; }`)
			assert.True(t, refused, "the policy lets the page ask the network")
		})
	}
}

// said is an error of the program as the page has it: without the program's name, which nobody there has called.
func said(errs string) string { return strings.TrimPrefix(strings.TrimSpace(errs), "cardtell: ") }

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
	{"check", "staff.xlsx", "--site", "site.toml", "-c", "Card"},
	{"batch", "staff.xlsx", "--site", "site.toml", "-c", "Card", "--door", "Yard gate", "-o", "dates.csv"},
	{"batch", "staff.xlsx", "--site", "site.toml", "-c", "Card", "--door", "Yard gate", "-o", "copy.xlsx"},
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
	book := workbook(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "staff.xlsx"), book, 0o600))
	given["staff.xlsx"] = latin1(book)
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

// workbook is a list with dates, by a general-purpose library. The page has its own way to read dates, which has to
// agree with that library's: around the day of 1900 that never was, and with hours.
func workbook(t *testing.T) []byte {
	t.Helper()
	book := excelize.NewFile()
	style, err := book.NewStyle(&excelize.Style{NumFmt: 22})
	require.NoError(t, err)
	rows := [][]any{{"Name", "Card", "Since"}, {"Tam", "121,00017", 1.0}, {"Nia", "121,00018", 59.0},
		{"Ivo", "121,00019", 60.0},
		{"Finn", "121,00020", 61.0}, {"Ann", "121,00021", 45292.75}, {"Vik", "121,00022", 45292.999988}}
	for i, row := range rows {
		require.NoError(t, book.SetSheetRow("Sheet1", fmt.Sprintf("A%d", i+1), &row))
	}
	require.NoError(t, book.SetCellStyle("Sheet1", "C2", "C7", style))
	text, err := book.WriteToBuffer()
	require.NoError(t, err)
	return text.Bytes()
}

// latin1 writes bytes as a text of as many characters, which JSON carries.
func latin1(b []byte) string {
	runes := make([]rune, len(b))
	for i, c := range b {
		runes[i] = rune(c)
	}
	return string(runes)
}

const demoSite = "../../testdata/demo/site.toml"

// give opens a file in the page as a user would choose it.
func (b *tab) give(name string, text []byte) {
	b.t.Helper()
	q, err := json.Marshal([]string{name, latin1(text)})
	require.NoError(b.t, err)
	get[bool](b, `const [name, text] = `+string(q)+`;
		await openFiles([new File([Uint8Array.from(text, c => c.charCodeAt(0))], name)]);
		return true;`)
}

func (b *tab) giveDemo(name string) {
	b.t.Helper()
	text, err := os.ReadFile("../../testdata/demo/" + name)
	require.NoError(b.t, err)
	b.give(name, text)
}

// until waits for a condition in the page.
func (b *tab) until(condition string) {
	b.t.Helper()
	ok := get[bool](b, `for (let i = 0; i < 400; i++) { if (`+condition+`) { return true; } await new Promise(f => setTimeout(f, 50)); } return false;`)
	require.True(b.t, ok, "not within 20 s: %s; the answer is %q", condition,
		get[string](b, `return $("answer").textContent`))
}

// states are pages as people see them, each of which has to be usable by everybody.
var states = []struct {
	name string
	make func(*tab)
}{
	{"begin", func(*tab) {}},
	{"one", func(b *tab) {
		b.ask("26:32D687E=46143")
		b.until(`document.querySelector(".picture svg")`)
		get[bool](b, `for (const d of document.querySelectorAll("details")) { d.open = true; } return true`)
		b.until(`document.querySelector("details pre")`)
	}},
	{"unsure", func(b *tab) { b.ask("26:32D687E") }},
	{"several", func(b *tab) {
		b.ask("26:2F20023=121,00017\n26:2B13883=5807169\n26:2F20057=121,00043\n26:2B13885=5807170")
		b.until(`document.querySelector(".picture svg")`)
	}},
	{"nothing", func(b *tab) { b.ask("what is this") }},
	{"each", func(b *tab) {
		b.ask(strings.Join(strangers, "\n"))
		b.choose("kind", "each")
		b.until(`document.querySelector(".type .bad")`)
	}},
	{"log", func(b *tab) {
		b.giveDemo("staff.csv")
		b.giveDemo("events.csv")
		b.until(`$("answer").textContent.startsWith("A logWhose")`) // no site yet: what the list shows is offered
		b.press("Use this as the site")
		b.until(`$("answer").textContent.includes("Gita Ingram")`)
	}},
	{"site", func(b *tab) {
		b.giveDemo("site.toml")
		b.ask("121,00014")
		b.until(`$("doors").childElementCount === 3`)
	}},
	{"list", func(b *tab) {
		b.giveDemo("site.toml")
		get[bool](b, `$("what").value = ""; return true`)
		b.giveDemo("staff.csv")
		b.until(`$("answer").textContent.includes("probably typed wrong")`)
	}},
	{"recording", func(b *tab) {
		b.giveDemo("back-door.vcd")
		b.until(`$("answer").textContent.includes("Where to look first")`)
	}},
}

// press presses a button by what is on it, as soon as it is there.
func (b *tab) press(name string) {
	b.t.Helper()
	b.until(`[...document.querySelectorAll("button")].some(e => e.textContent === "` + name + `")`)
	get[bool](b, `[...document.querySelectorAll("button")].find(e => e.textContent === "`+name+`").click(); return true`)
}

// choose takes an entry of a list to choose from.
func (b *tab) choose(list, entry string) {
	b.t.Helper()
	get[bool](b, `$("`+list+`").value = "`+entry+`"; $("`+list+`").dispatchEvent(new Event("change")); return true`)
}

// strangers are cards that have nothing to do with each other.
var strangers = []string{"26:2F20023", "37:00FAC09C57", "what is this", "26:2F20057=00043", "04:A2:3B:5C"}

// Each card by itself is written in the form that is asked for, as identify --each says it; what has none says why.
func TestEach(t *testing.T) {
	b := open(t, file(t), 390, "")
	b.ask(strings.Join(strangers, "\n"))
	b.choose("kind", "each")
	b.until(`document.querySelectorAll(".type").length === 5`)
	for _, form := range []string{"pair", "number"} {
		b.choose("form", "form:"+form)
		b.until(`document.querySelector("#answer h2")?.textContent.endsWith("as ` + form + `")`)
		out, _, _ := run(t, "", append([]string{"identify", "--each", "--json", "--top", "50", "--"}, strangers...)...)
		var want []string
		for line := range strings.Lines(out) {
			var doc identified
			require.NoError(t, json.Unmarshal([]byte(line), &doc))
			if len(doc.Candidates) > 0 && doc.Serial == nil && doc.Candidates[0].Cards[0].Forms[form] != "" {
				want = append(want, doc.line(0, form))
			}
		}
		require.NotEmpty(t, want)
		assert.Equal(t, want, get[answered](b, shown).Digits, form)
	}
	b.silent()
}

// In every state, on a phone and a desk, light and dark: an audit by a general-purpose library finds nothing, nothing
// is wider than the screen, and what is to be pressed is at least 44 pixels high (WCAG 2.2, success criterion 2.5.5).
func TestUsable(t *testing.T) {
	for _, c := range []struct {
		name  string
		width int64
		dark  bool
	}{{"small", 320, true}, {"phone", 390, false}, {"desk", 1280, true}} {
		t.Run(c.name, func(t *testing.T) {
			b := open(t, file(t), c.width, "")
			b.dark(c.dark)
			for _, s := range states {
				b.run(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html[data-ready]")))
				s.make(b)
				b.shoot(c.name + "-" + s.name + ".png")
				b.audit()
				b.fits(s.name)
			}
			b.silent()
		})
	}
}

// fits fails where the page is wider than its window, or something to be pressed is too small.
func (b *tab) fits(state string) {
	b.t.Helper()
	assert.LessOrEqual(b.t, get[int64](b, "return document.documentElement.scrollWidth"), b.width,
		"%s: wider than the screen", state)
	assert.Empty(b.t, get[[]string](b, `return [...document.querySelectorAll("button, select, textarea, summary, input:not([type=checkbox]), .tick")]
		.filter(e => e.offsetHeight > 0 && e.offsetHeight < 44).map(e => e.outerHTML.slice(0, 80))`), "%s: too small to press", state)
}

// A site file makes every door one tap. Nothing is kept unless asked, and what is kept can be forgotten.
func TestSite(t *testing.T) {
	b := open(t, served(t), 390, "")
	b.giveDemo("site.toml")
	b.ask("121,00014")
	for _, c := range [][2]string{{"North stair", "121,00014"}, {"Yard gate", "0007929870"}, {"Print room", "79000E"}} {
		door, want := c[0], c[1]
		out, _, code := run(t, "", "convert", "121,00014", "--site", demoSite, "--door", door)
		require.Equal(t, want+"\n", out)
		require.Zero(t, code)
		get[bool](b, `[...$("doors").children].find(e => e.textContent === "`+door+`").click(); return true`)
		b.until(`document.querySelector(".digits")?.textContent === "` + want + `"`)
	}
	b.ask("121,00014\n37:00FAC09C57=20011") // one of the site, and a stranger's card, which no door takes
	_, stranger, code := run(t, "", "convert", "37:00FAC09C57=20011", "--site", demoSite, "--door", "Print room")
	require.Equal(t, 2, code)
	assert.Equal(t, said(stranger),
		strings.ReplaceAll(get[string](b, `return document.querySelector(".type .bad").textContent`), "site.toml", demoSite))
	assert.Zero(t, get[int](b, "return localStorage.length"), "kept without being asked")
	get[bool](b, `$("keep").click(); return true`)
	b.run(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html[data-ready]")))
	b.until(`$("doors").childElementCount === 3`)
	get[bool](b, `$("forget").click(); return true`)
	b.until(`$("doors").childElementCount === 0`)
	assert.Zero(t, get[int](b, "return localStorage.length"), "not forgotten")
	b.run(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html[data-ready]")))
	assert.Empty(t, get[string](b, `return $("toml").value`))

	get[bool](b, `for (const [form, fields] of [["block", {format: "26-8-16", facility: "121", numbers: "1-500", printed: "pair"}], ["door", {name: "Gate \"2\"", enter: "hex"}]]) {
		for (const [name, value] of Object.entries(fields)) { $(form).elements[name].value = value; }
		$(form).requestSubmit();
		for (let i = 0; i < 100 && !$("toml").value.includes(form === "block" ? "[[cards]]" : "[[doors]]"); i++) { await new Promise(f => setTimeout(f, 50)); }
	} return true`)
	b.ask("121,00014")
	b.until(`document.querySelector(".digits")?.textContent === "79000E"`)
	b.silent()
}

// A list is written as batch writes it, with the formulas in it made harmless; a log is read beside the list.
func TestLists(t *testing.T) {
	b := open(t, file(t), 1280, "")
	b.giveDemo("site.toml")
	dir, text := t.TempDir(), "Name,Card no\n=1+cmd|x,\"121,00014\"\nTam,\"121,00017\"\n"
	require.NoError(t, os.WriteFile(filepath.Join(dir, "pasted.csv"), []byte(text), 0o600))
	site, err := os.ReadFile(demoSite)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "site.toml"), site, 0o600))
	run(t, dir, "batch", "pasted.csv", "--site", "site.toml", "--door", "North stair", "-o", "new.csv")
	want, err := os.ReadFile(filepath.Join(dir, "new.csv"))
	require.NoError(t, err)
	require.Contains(t, string(want), "'=1+cmd")

	get[bool](b, `globalThis.saved = {}; save = (name, bytes) => { saved[name] = typeof bytes === "string" ? bytes : new TextDecoder().decode(bytes); }; return true`)
	b.until(`doors.length === 3`)
	b.ask(text)
	b.press("Save new.csv")
	assert.Equal(t, string(want), get[string](b, `return saved["new.csv"]`))

	b.ask("121,00014\n121,00017")
	b.press("Save numbers.csv")
	assert.Equal(t, "\"card\",\"North stair\",\"probability\"",
		strings.Split(get[string](b, `return saved["numbers.csv"]`), "\r\n")[0])
	assert.Equal(t, `"'=1+1" "-" "-5" "'+a"`, get[string](b, `return ["=1+1", "-", "-5", "+a"].map(cell).join(" ")`))

	get[bool](b, `$("what").value = ""; return true`)
	b.giveDemo("staff.csv")
	b.giveDemo("events.csv")
	b.until(`$("answer").textContent.includes("Gita Ingram")`)
	b.silent()
}

// cardRead is a reply of a reader with a read of 26 bits, as the tests of capture have it: IEC 60839-11-5, the raw card
// read.
const cardRead = "53 80 10 00 05 50 00 01 1A 00 EA 0D C0 80 6D 4B"

// port is a stand-in for a serial adapter: what a real one sends has not been tried.
const port = `navigator.serial ?? Object.defineProperty(navigator, "serial", {value: {}, configurable: true});
	Object.defineProperty(navigator.serial, "requestPort", {value: async () => ({
		open: async options => { globalThis.speed = options.baudRate; },
		close: async () => { globalThis.portClosed = true; },
		readable: new ReadableStream({start: c => { globalThis.send = bytes => c.enqueue(Uint8Array.from(bytes)); }}),
	})});`

// Lines of a reader go to the same program as they come. The port is a stand-in.
func TestReader(t *testing.T) {
	b := open(t, file(t), 390, port)
	get[bool](b, `$("listen").click(); $("baud").value = "19200"; $("connect").click(); return true`)
	b.until(`globalThis.send && globalThis.speed === 19200`)
	get[bool](b, `send([..."26:32D687E=46"].map(c => c.charCodeAt())); send([..."143\r\n"].map(c => c.charCodeAt())); return true`)
	b.until(`document.querySelector(".digits")?.textContent === "150,46143"`)
	get[bool](b, `$("hangup").click(); return true`)
	b.until(`globalThis.portClosed`)

	b.run(chromedp.Reload(), chromedp.WaitReady(chromedp.CSS("html[data-ready]")))
	get[bool](b, `$("listen").click(); $("speaks").value = "bus"; $("connect").click(); return true`)
	b.until(`globalThis.send`)
	get[bool](b, `send("`+cardRead+`".split(" ").map(byte => parseInt(byte, 16))); return true`)
	b.until(`$("answer").textContent.includes("26:3A83702")`)
	b.silent()
}

// A browser that lacks what the page needs is told so.
func TestOldBrowser(t *testing.T) {
	b := open(t, file(t), 390, "delete globalThis.DecompressionStream")
	assert.Contains(t, get[string](b, `return $("state").textContent`),
		"too old for this page: it lacks DecompressionStream")
}

// Where there is no serial line, there is no button for it.
func TestNoSerial(t *testing.T) {
	b := open(t, file(t), 390, "delete Navigator.prototype.serial")
	assert.True(t, get[bool](b, `return $("listen").hidden`))
}

// The keyboard alone reaches everything that can be pressed or filled in, in the order in which it stands.
func TestKeyboard(t *testing.T) {
	b := open(t, file(t), 1280, "")
	b.giveDemo("site.toml")
	b.ask("121,00014")
	// the site's doors make the page ask once more: what it shows until then is replaced
	b.until(`document.querySelector(".picture svg") && doors.length === 3 && !$("state").textContent.includes("orking…")`)
	want := get[[]string](b, `globalThis.all = [...document.querySelectorAll("button, select, textarea, input, summary")].filter(e => e.checkVisibility() && e.offsetHeight > 0);
		document.activeElement.blur(); return all.map(e => e.id || e.textContent)`)
	require.Greater(t, len(want), 12)
	for i := range want {
		b.run(chromedp.KeyEvent(kb.Tab))
		assert.Equal(t, i, get[int](b, "return all.indexOf(document.activeElement)"), "after %d times Tab: not %q", i+1,
			want[i])
	}
	get[bool](b, `document.querySelector("summary").focus(); return true`)
	b.run(chromedp.KeyEvent(kb.Enter))
	assert.True(t, get[bool](b, `return document.querySelector("details").open`))
}

// A question that takes long can be stopped, and the next one is answered.
func TestStop(t *testing.T) {
	b := open(t, file(t), 390, "")
	get[bool](b, `globalThis.late = ask(["identify", "26:32D687E"]).catch(error => error.message); await new Promise(f => setTimeout(f, 0)); stop(); return true`)
	assert.Equal(t, "Stopped.", get[string](b, "return await late"))
	b.ask("26:32D687E=46143")
	b.until(`document.querySelector(".digits")?.textContent === "150,46143"`)
}

// The sheets of draw and check pass the same audit, and fit a phone.
func TestSheets(t *testing.T) {
	chromium(t)
	dir := t.TempDir()
	demo, err := filepath.Abs("../../testdata/demo")
	require.NoError(t, err)
	for name, args := range map[string][]string{
		"one":   {"draw", "26:32D687E=46143", "-o"},
		"long":  {"draw", "200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC", "-o"},
		"dense": {"draw", "--file", filepath.Join(demo, "barrier.txt"), "-o"},
		"check": {"check", filepath.Join(demo, "staff.csv"), "--site", filepath.Join(demo, "site.toml"), "--draw"},
	} {
		sheet := filepath.Join(dir, name+".html")
		run(t, dir, append(args, sheet)...)
		for _, width := range []int64{390, 1280} {
			b := view(t, "file://"+sheet, width)
			b.audit()
			assert.LessOrEqual(t, get[int64](b, "return document.documentElement.scrollWidth"), width, "%s at %d", name, width)
			b.shoot(fmt.Sprintf("sheet-%s-%d.png", name, width))
			b.silent()
		}
	}
}

// The example for developers is built as its own page says, works on a phone, and asks for its own files alone.
func TestExample(t *testing.T) {
	chromium(t)
	dir, from := t.TempDir(), filepath.Join("..", "examples", "browser")
	page, err := os.ReadFile(filepath.Join(from, "index.html"))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "index.html"), page, 0o600))
	build := exec.Command("go", "build", "-o", filepath.Join(dir, "cardtell.wasm"), from)
	build.Env = append(os.Environ(), "GOOS=js", "GOARCH=wasm")
	text, err := build.CombinedOutput()
	require.NoError(t, err, "%s", text)
	root, err := goRoot()
	require.NoError(t, err)
	script, err := os.ReadFile(filepath.Join(root, supportFile))
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "wasm_exec.js"), script, 0o600))
	server := httptest.NewServer(http.FileServer(http.Dir(dir)))
	t.Cleanup(server.Close)
	b := view(t, server.URL+"/", 390)
	ok := get[bool](b, `for (let i = 0; i < 400; i++) { if (answer.textContent.includes("46143")) { return true; } await new Promise(f => setTimeout(f, 50)); } return false;`)
	assert.True(t, ok)
	b.audit()
	b.fits("example")
	b.shoot("example.png")
	b.mu.Lock()
	defer b.mu.Unlock()
	own := slices.DeleteFunc(b.requests, func(url string) bool { return strings.HasSuffix(url, "/favicon.ico") }) // the browser's
	assert.Equal(t, []string{server.URL + "/wasm_exec.js", server.URL + "/cardtell.wasm"}, own)
}

// How large the page is, and how soon it answers. The goals are 2.0 MB, 500 ms and 5 ms; the times, which depend on the
// machine and its load, are logged.
func TestSizeAndTime(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program for the browser")
	}
	text, err := built()
	require.NoError(t, err)
	assert.Less(t, len(text), 2_000_000)
	b := open(t, file(t), 390, "")
	ready := get[string](b, "return document.documentElement.dataset.ready")
	first := get[float64](b, `const t = performance.now(); await ask(["identify", "26:32D687E=46143"]); return performance.now() - t`)
	next := get[float64](b, `const all = []; for (let i = 0; i < 40; i++) { const t = performance.now(); await ask(["identify", "26:32D687E=46143"]); all.push(performance.now() - t); } return all.sort((a, b) => a - b)[20]`)
	t.Logf("%d bytes; ready %s ms after opening; first answer %.0f ms; later ones %.0f ms (median of 40)", len(text),
		ready, first, next)
}

// The licences and the worker's script are in the page, packed as RFC 1952 says.
func TestTextsArePackedIntoThePage(t *testing.T) {
	licences, err := notices()
	require.NoError(t, err)
	page, err := assemble("", "", licences)
	require.NoError(t, err)
	for id, want := range map[string]string{"notices": licences, "worker": bare(unpackJS + workerJS)} {
		z, err := gzip.NewReader(bytes.NewReader(readSigns(t, page, id)))
		require.NoError(t, err)
		got, err := io.ReadAll(z)
		require.NoError(t, err)
		assert.True(t, strings.HasSuffix(string(got), want), id)
	}
}

// readSigns reads what a script element holds in signs, bit by bit: above 11 bits of each, five digits to base 29 are
// three bytes.
func readSigns(t *testing.T, page []byte, id string) []byte {
	units := make([]uint16, len(page)/2)
	for i := range units {
		units[i] = binary.LittleEndian.Uint16(page[2*i:])
	}
	_, text, ok := strings.Cut(string(utf16.Decode(units)), `<script id="`+id+`" type="text/plain">`)
	require.True(t, ok, id)
	text, _, _ = strings.Cut(text, "<")
	var high, low []byte
	n, power, bits, have := 0, 1, 0, 0
	for i, sign := range []rune(text) {
		digit := int(sign)>>11 - 1
		if digit >= 27 {
			digit-- // the halves of others are left out
		}
		n += digit * power
		if power *= 29; i%5 == 4 {
			high = append(high, byte(n), byte(n>>8), byte(n>>16))
			n, power = 0, 1
		}
		for bits, have = bits<<11|int(sign)&0x7ff, have+11; have >= 8; have -= 8 {
			low = append(low, byte(bits>>(have-8)))
		}
	}
	all := append(high, low...)
	return all[4 : 4+binary.LittleEndian.Uint32(all)]
}
