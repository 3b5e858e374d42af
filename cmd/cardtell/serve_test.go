//go:build !js

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/serve"
)

// answerLine is an answer as another program reads it.
type answerLine struct {
	ID     any
	Result json.RawMessage
	Error  *struct {
		Kind, Message string
		Line          int
	}
}

// served returns the answers to some lines.
func served(t *testing.T, flags, in string) []answerLine {
	t.Helper()
	r := do("serve --stdio "+flags, in)
	require.Equal(t, exitDone, r.code, r.err)
	assert.Empty(t, r.err)
	var all []answerLine
	for line := range strings.Lines(r.out) {
		var a answerLine
		require.NoError(t, json.Unmarshal([]byte(line), &a), line)
		assert.NotEqual(t, a.Error == nil, a.Result == nil, "a result or an error: %s", line)
		all = append(all, a)
	}
	return all
}

// The answers are those of the commands.
func TestServe(t *testing.T) {
	in := `{"id":1,"do":"identify","cards":["26:32D687E=46143"],"top":2}
{"id":"b","do":"convert","values":["150,46143","1,2"],"from":"pair","to":"decimal","format":"26-8-16"}
{"id":3,"do":"decode","format":"26-8-16","read":"26:32D687F"}

{"id":4,"do":"encode","format":"26-8-16","fields":{"facility":"150","number":"46143"}}
{"id":"\"a\":,\"a\":{","do":"encode","format":"track2","length":75,"fields":{"text":";0123456789?"}}`
	all := served(t, "", in)
	require.Len(t, all, 5)
	assert.JSONEq(t, do("identify --json --top 2 26:32D687E=46143", "").out, string(all[0].Result))
	assert.Equal(t, "b", all[1].ID)
	assert.JSONEq(t, do("convert --json 150,46143 1,2 --from pair --to decimal --format 26-8-16", "").out,
		string(all[1].Result))
	// Bit 26 is wrong: the answer has the bits as they came, and no form that would show them mended.
	var decoded struct {
		Bits     string
		BitsHex  string `json:"bits_hex"`
		OK       bool
		Card     struct{ Forms, Fields map[string]string }
		Length   int
		Facility string
	}
	require.NoError(t, json.Unmarshal(all[2].Result, &decoded))
	assert.False(t, decoded.OK)
	assert.Equal(t, "26:32D687F", decoded.BitsHex)
	assert.Equal(t, map[string]string{"facility": "150", "number": "46143"}, decoded.Card.Fields)
	assert.NotContains(t, decoded.Card.Forms, "bits")
	assert.NotContains(t, decoded.Card.Forms, "bits-hex")
	require.NoError(t, json.Unmarshal(all[3].Result, &decoded))
	assert.True(t, decoded.OK)
	assert.Equal(t, "11001011010110100001111110", decoded.Bits)
}

// A request that is too long is answered with an error that has its id, wherever that is, and the next one is
// read. What else is refused is in testdata/script/serve-refuses.txtar.
func TestServeLongLines(t *testing.T) {
	const long = "longer than 65536 bytes"
	for _, test := range []struct{ line, id, says string }{
		{`{"id":3,"do":"identify","cards":[` + strings.Repeat(`"1",`, 256) + `"1"]}`, "3", "at most 256"},
		{`{"id":3,"do":"` + strings.Repeat("x", serve.MaxLine) + `"}`, "3", long},
		{`{"top":1,"cards":["` + strings.Repeat("x", 3*serve.MaxLine) + `"],"id":"a,\"b"}`, `a,"b`, long},
		// over the border of two pieces
		{`{"cards":["` + strings.Repeat("x", 2*serve.MaxLine-20) + `"],"ID" : -4 } `, "-4", long},
		// in a text
		{`{"cards":["` + strings.Repeat("x", serve.MaxLine) + `,\"id\":4}"]}`, "<nil>", long},
		{`{"fields":{"a":"` + strings.Repeat("x", serve.MaxLine) + `","id":"4"}}`, "<nil>", long},
		{`[` + strings.Repeat("1,", serve.MaxLine) + `{"id":4}]`, "<nil>", long},
	} {
		in := "\n" + test.line + "\n" + `{"id":"next","do":"decode","format":"26-8-16","read":"26:32D687E"}`
		all := served(t, "", in)
		require.Len(t, all, 2, test.says)
		require.NotNil(t, all[0].Error, test.says)
		assert.Equal(t, test.id, fmt.Sprint(all[0].ID), "%.80s", test.line)
		assert.Equal(t, "request", all[0].Error.Kind, "%.80s: %s", test.line, all[0].Error.Message)
		assert.Contains(t, all[0].Error.Message, test.says, "%.80s", test.line)
		assert.Equal(t, 2, all[0].Error.Line)
		assert.Less(t, len(all[0].Error.Message), 400)
		assert.Equal(t, "next", all[1].ID)
		assert.Nil(t, all[1].Error)
	}
}

// learn, relate, check and match answer what the commands do, but for the files.
func TestServeLists(t *testing.T) {
	t.Chdir("../..")
	var cards []string
	text, err := os.ReadFile("testdata/demo/barrier.txt")
	require.NoError(t, err)
	for line := range strings.Lines(string(text)) {
		if line = strings.TrimSpace(line); line != "" && line[0] != '#' {
			cards = append(cards, line)
		}
	}
	dir := t.TempDir()
	file := func(name string, lines ...string) string {
		name = filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(name, []byte(strings.Join(lines, "\n")+"\n"), 0o600))
		return name
	}
	values, names := []string{"121,00043", "121,00043", "121,70000", "121,00044"}, []string{"Ann", "Bea", "Cy", ""}
	events := []string{"0007929899", "0007929898", "7929899", "x"}
	rows := []string{"Name;Card"}
	for i := range values {
		rows = append(rows, names[i]+";"+values[i])
	}
	staff, log := file("staff.csv", rows...), file("events.csv", append([]string{"Card"}, events...)...)
	ask := func(v map[string]any) string {
		line, err := json.Marshal(v)
		require.NoError(t, err)
		all := served(t, "--site testdata/demo/site.toml", string(line))
		require.Len(t, all, 1)
		require.NotNil(t, all[0].Result, "%+v", all[0].Error)
		return string(all[0].Result)
	}
	site := " --json --site testdata/demo/site.toml"
	assert.JSONEq(t, withLines(t, do("learn --json "+file("cards.txt", cards...), "").out),
		ask(map[string]any{"do": "learn", "cards": cards}))
	assert.JSONEq(t, do("relate --json 0009876543=150,46143", "").out,
		ask(map[string]any{"do": "relate", "pairs": []string{"0009876543=150,46143"}}))
	checked := do("check "+staff+" --all -c Card --format 26-8-16 --from pair"+site, "").out
	assert.JSONEq(t, withLines(t, checked, "line", "other_line"),
		withLines(t, ask(map[string]any{"do": "check", "values": values, "names": names, "format": "26-8-16",
			"from": "pair"})))
	matched := do("match "+log+" -c Card --list "+staff+" --list-column Card --format 26-8-16 --from pair --shown decimal10"+site, "").out
	assert.JSONEq(t, withLines(t, matched, "line", "first_line", "last_line", "holder_line"),
		withLines(t, ask(map[string]any{
			"do": "match", "events": events, "values": values, "names": names, "format": "26-8-16", "from": "pair",
			"shown": "decimal10"})))
}

// withLines returns a document without what it says of files, and with the lines under some keys counted from the first
// card below a head.
func withLines(t *testing.T, text string, keys ...string) string {
	t.Helper()
	var doc any
	require.NoError(t, json.Unmarshal([]byte(text), &doc), text)
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			delete(v, "input")
			delete(v, "name_columns")
			for key, inner := range v {
				if n, ok := inner.(float64); ok && slices.Contains(keys, key) && n > 0 {
					v[key] = n - 1
				}
				if s, ok := inner.(string); ok && len(keys) > 0 {
					v[key] = lineWord.ReplaceAllStringFunc(s, func(m string) string {
						var n int
						_, _ = fmt.Sscanf(m, "line %d", &n)
						return fmt.Sprintf("line %d", n-1)
					})
				}
				walk(inner)
			}
		case []any:
			for _, inner := range v {
				walk(inner)
			}
		}
	}
	walk(doc)
	out, err := json.Marshal(doc)
	require.NoError(t, err)
	return string(out)
}

var lineWord = regexp.MustCompile(`line \d+`)

// A program may ask one thing at a time: each answer comes before the next request is sent.
func TestServeAnswersAtOnce(t *testing.T) {
	in, ask := io.Pipe()
	answers, out := io.Pipe()
	ended := make(chan int)
	go func() {
		code := run([]string{"serve", "--stdio"}, in, out, io.Discard)
		out.Close()
		ended <- code
	}()
	lines := bufio.NewScanner(answers)
	for i := range 20 {
		fmt.Fprintf(ask, `{"id":%d,"do":"decode","format":"26-8-16","read":"26:32D687E"}`+"\n", i)
		require.True(t, lines.Scan())
		assert.Contains(t, lines.Text(), fmt.Sprintf(`{"id":%d,"result"`, i))
	}
	require.NoError(t, lines.Err())
	ask.Close()
	assert.Equal(t, exitDone, <-ended)
}

// endless makes n requests without holding them.
type endless struct {
	left    int
	pending []byte
}

func (e *endless) Read(p []byte) (int, error) {
	if len(e.pending) == 0 {
		if e.left == 0 {
			return 0, io.EOF
		}
		e.left--
		e.pending = fmt.Appendf(e.pending, `{"id":%d,"do":"identify","cards":["26:32D687E=46143"],"top":1}`+"\n", e.left)
	}
	n := copy(p, e.pending)
	e.pending = e.pending[n:]
	return n, nil
}

// heapWatch counts lines, and measures from time to time how much memory is in use when what is no longer needed is
// gone.
type heapWatch struct {
	lines, every int
	live         []uint64
}

func (w *heapWatch) Write(p []byte) (int, error) {
	w.lines += bytes.Count(p, []byte("\n"))
	if w.lines >= w.every*(len(w.live)+1) {
		runtime.GC()
		var m runtime.MemStats
		runtime.ReadMemStats(&m)
		w.live = append(w.live, m.HeapAlloc)
	}
	return len(p), nil
}

// 20,000 requests in a row are all answered, in memory that does not grow with their number: by fewer than 50 bytes for
// each, which is less than anything that could be kept of one.
func TestServeInConstantMemory(t *testing.T) {
	n := 20_000
	if testing.Short() {
		n = 5000
	}
	w := heapWatch{every: n / 10}
	require.Equal(t, exitDone, run([]string{"serve", "--stdio"}, &endless{left: n}, &w, io.Discard))
	assert.Equal(t, n, w.lines)
	require.Greater(t, len(w.live), 5)
	first, last := w.live[0], w.live[len(w.live)-1]
	assert.Less(t, last, first+20_000*50, "bytes in use, after a tenth and in the end")
	t.Logf("%d answers; bytes in use by tenths: %v", n, w.live)
}

// The client in the page for scripts runs as it stands and prints what it says that it does.
func TestServeClient(t *testing.T) {
	python, err := exec.LookPath("python3")
	if err != nil {
		t.Skip("no python3 here")
	}
	page, err := os.ReadFile("doc/scripts.md")
	require.NoError(t, err)
	m := regexp.MustCompile("(?s)```python\n(.*?)```\n+prints\n+```text\n(.*?)```").FindSubmatch(page)
	require.NotNil(t, m, "the client is not in the page")
	assert.LessOrEqual(t, bytes.Count(m[1], []byte("\n")), 10, "ten lines")
	client := exec.Command(python, "-c", string(m[1]))
	text, err := client.CombinedOutput()
	require.NoError(t, err, string(text))
	assert.Equal(t, string(m[2]), string(text))
}

// FuzzServe: whatever lines come, each that is not blank gets one answer, in order, with its id and either a result or
// an error.
func FuzzServe(f *testing.F) {
	for _, text := range []string{
		`{"id":1,"do":"identify","cards":["26:32D687E=46143","26:32D6880"],"top":1}`,
		`{"id":"a","do":"convert","values":["150,46143"],"from":"pair","to":"decimal"}`,
		`{"id":1,"do":"decode","format":"fascn-200","read":"200:D0439458210C2C19A0846D83685A1082108CE73984108CA3FC"}`,
		`{"id":1,"do":"encode","format":"26-8-16","fields":{"facility":"150","number":"46143"}}`,
		`{"id":1,"do":"relate","pairs":["0009876543=150,46143"]}`,
		`{"id":1,"do":"learn","cards":["26:32D687E=46143","26:32D6880"]}`,
		`{"id":1,"do":"check","values":["150,46143","x"],"names":["a","b"],"format":"26-8-16","from":"pair"}`,
		`{"id":1,"do":"match","events":["9876543","1"],"values":["150,46143"],"format":"26-8-16","from":"pair","shown":"decimal"}`,
		"{\"id\":1}\n\n \r\n{\"id\":1e400}\n{\"id\":{\"a\":1}}\n[",       // blank lines, odd ids, an end in the middle
		"{\"id\":\"\\u0000\\ud800\"}\n\x00\xff\u2028\n{\"do\":\"\xff\"}", // texts that are none
		`{"id":1,"id":2,"DO":"decode","do":"encode"}`,                    // keys twice, and in capitals
	} {
		f.Add(text)
	}
	a := &app{tables: newTables()}
	k, err := a.knowledge()
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, in string) {
		var text bytes.Buffer
		out := bufio.NewWriter(&text)
		if err := serve.Run(strings.NewReader(in), out, func() func(*serve.Request) (any, error) {
			return (&server{a, k}).answerer()
		}); err != nil {
			t.Fatal(err)
		}
		out.Flush()
		var asked []string
		for line := range strings.SplitSeq(in, "\n") {
			if line = strings.TrimSpace(line); line != "" {
				asked = append(asked, line)
			}
		}
		answers := strings.Split(strings.TrimSuffix(text.String(), "\n"), "\n")
		if len(asked) == 0 {
			answers = nil
		}
		if len(asked) != len(answers) && text.Len() > 0 || len(asked) > 0 && text.Len() == 0 {
			t.Fatalf("%d requests, %d answers", len(asked), len(answers))
		}
		for i, text := range answers {
			var a struct {
				ID     json.RawMessage `json:"id"`
				Result map[string]any
				Error  *serve.Error
			}
			if err := json.Unmarshal([]byte(text), &a); err != nil {
				t.Fatalf("%q: %v", text, err)
			}
			if (a.Result == nil) == (a.Error == nil) {
				t.Fatalf("not a result or an error: %s", text)
			}
			if a.Error != nil && (a.Error.Kind == "" || a.Error.Line < 1 || strings.ContainsAny(a.Error.Message, "\r\n") ||
				a.Error.Message == "") {
				t.Fatalf("an error that says nothing: %s", text)
			}
			if a.Result != nil && !json.Valid([]byte(asked[i])) {
				t.Fatalf("an answer to what is no request: %q", asked[i])
			}
		}
	})
}
