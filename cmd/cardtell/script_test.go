package main

import (
	"encoding/hex"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"runtime"
	"slices"
	"strconv"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/testscript"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
)

// TestMain makes the test binary the program as well, for scripts and for tests that need a process of its own, and
// one that copies a list by encoding/csv, to compare with.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"cardtell": main,
		"barecopy": func() {
			if err := copyBare(os.Args[1], os.Args[2]); err != nil {
				panic(err)
			}
		},
	})
}

// TestScripts runs the stories of testdata/script, each in a folder of its own, in which are testdata/demo,
// testdata/line and, unless the story has its own, a site.toml with the text siteText. go test ./cmd/cardtell -run
// Scripts -update rewrites what cmp compares with.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "script"), UpdateScripts: *update, RequireUniqueNames: true, Cmds: words,
		Setup: func(env *testscript.Env) error {
			env.Setenv("GORACE", os.Getenv("GORACE")) // which scripts don't have by themselves
			for _, name := range []string{"demo", "line"} {
				from := filepath.Join("..", "..", "testdata", name)
				if err := os.CopyFS(filepath.Join(env.WorkDir, "testdata", name), os.DirFS(from)); err != nil {
					return err
				}
			}
			own := filepath.Join(env.WorkDir, "site.toml")
			if exists(own) {
				return nil
			}
			return os.WriteFile(own, []byte(siteText), 0o600)
		},
	})
}

// words are what scripts say besides the words of testscript. All but those that run a command look at the last one.
var words = map[string]func(*testscript.TestScript, bool, []string){
	"alike":    alike,
	"bytes":    fromHex,
	"drawing":  wellFormed,
	"exits":    exits,
	"files":    files,
	"first":    first,
	"fits":     func(s *testscript.TestScript, _ bool, _ []string) { fits(s, s.ReadFile("stdout")) },
	"json":     jsonHas,
	"kept":     kept,
	"private":  private,
	"recorded": record,
	"refused":  refused,
	"rows":     rows,
	"says":     says,
}

// must ends a script where something does not hold.
func must(s *testscript.TestScript, holds bool, format string, args ...any) {
	if !holds {
		s.Fatalf(format, args...)
	}
}

// cardtell runs the program and returns its exit code.
func cardtell(s *testscript.TestScript, args ...string) int {
	err := s.Exec("cardtell", args...)
	var ended *exec.ExitError
	if errors.As(err, &ended) {
		return ended.ExitCode()
	}
	s.Check(err)
	return exitDone
}

// exits CODE ARGS…: the program ends with that code.
func exits(s *testscript.TestScript, _ bool, args []string) {
	code := cardtell(s, args[1:]...)
	must(s, strconv.Itoa(code) == args[0], "exit code %d, not %s", code, args[0])
}

// refused CODE TEXT ARGS…: the program ends with that code, with nothing on standard output and one line of error
// that has the text.
func refused(s *testscript.TestScript, _ bool, args []string) {
	exits(s, false, append(args[:1:1], args[2:]...))
	out, err := s.ReadFile("stdout"), s.ReadFile("stderr")
	must(s, out == "", "something on standard output")
	must(s, strings.HasPrefix(err, "cardtell: ") && strings.Count(err, "\n") == 1, "not one line of error: %q", err)
	must(s, strings.Contains(err, args[1]), "%q does not say %q", err, args[1])
}

// first TEXT ARGS…: the program answers on one screen, and the first line begins with the text.
func first(s *testscript.TestScript, _ bool, args []string) {
	code := cardtell(s, args[1:]...)
	out := s.ReadFile("stdout")
	must(s, code <= exitNo && strings.HasPrefix(out, args[0]), "exit code %d; not first: %q", code, args[0])
	must(s, strings.Count(out, "\n") < say.Lines, "more than a screen")
	fits(s, out)
}

// fits: every line of the answer is on 80 columns, and ends in no blank.
func fits(s *testscript.TestScript, out string) {
	for line := range strings.Lines(out) {
		line = strings.TrimSuffix(line, "\n")
		must(s, utf8.RuneCountInString(line) <= say.Width, "wider than the screen: %q", line)
		must(s, line == strings.TrimRight(line, " "), "ends in a blank: %q", line)
	}
}

// alike LINE LINE…: command lines with the same exit code and the same on both outputs.
func alike(s *testscript.TestScript, neg bool, args []string) {
	var want string
	for i, line := range args {
		code := cardtell(s, split(line)...)
		got := fmt.Sprintf("%d\n%s\n%s", code, s.ReadFile("stdout"), s.ReadFile("stderr"))
		must(s, i == 0 || (got == want) != neg, "%q and %q: alike is %t", args[0], line, got == want)
		want = got
	}
}

// mask is what --redact writes, in whose signs any number can be.
var mask = regexp.MustCompile(`masked-.{0,12}`)

// says WHERE TEXT…: the texts are there, also broken over lines; with ! none of them is, masks left out. WHERE is
// stdout, stderr, both or a file.
func says(s *testscript.TestScript, neg bool, args []string) {
	var text string
	if args[0] == "both" {
		text = s.ReadFile("stdout") + s.ReadFile("stderr")
	} else {
		text = s.ReadFile(args[0])
	}
	if neg {
		text = mask.ReplaceAllString(text, "")
	}
	must(s, len(args) > 1 && (neg || text != ""), "nothing to look for, or in")
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range args[1:] {
		there := strings.Contains(text, want) || strings.Contains(flat, want)
		must(s, there != neg, "%s: %q is there: %t", args[0], want, neg)
	}
}

// json PATH [VALUE]: standard output, one JSON document or one a line, has that value under the keys and positions
// of the path; * is every position, len their number. A VALUE that begins with < or > is a bound. With ! the path
// is not there.
func jsonHas(s *testscript.TestScript, neg bool, args []string) {
	var docs []any
	for d := json.NewDecoder(strings.NewReader(s.ReadFile("stdout"))); ; {
		var doc any
		err := d.Decode(&doc)
		if err == io.EOF {
			break
		}
		s.Check(err)
		docs = append(docs, doc)
	}
	var doc any = docs
	if len(docs) == 1 {
		doc = docs[0]
	}
	if rows, ok := doc.(map[string]any); ok && rows["converted"] != nil { // of a list no row is lost
		n := func(key string) float64 { x, _ := rows[key].(float64); return x }
		must(s, n("rows") == n("converted")+n("rejected")+n("other"), "rows do not add up")
	}
	found := follow(doc, strings.Split(args[0], "."))
	if neg {
		must(s, len(found) == 0, "%s is there: %q", args[0], found)
		return
	}
	must(s, len(found) > 0, "%s is not there", args[0])
	got := strings.Join(found, " ")
	if len(args) == 1 {
		return
	}
	if strings.HasPrefix(args[1], "<") || strings.HasPrefix(args[1], ">") {
		bound, err := strconv.ParseFloat(args[1][1:], 64)
		s.Check(err)
		x, err := strconv.ParseFloat(got, 64)
		s.Check(err)
		must(s, x != bound && (x > bound) == (args[1][0] == '>'), "%s is %s, not %s", args[0], got, args[1])
		return
	}
	must(s, got == args[1], "%s is %q, not %q", args[0], got, args[1])
}

// follow returns what is at the end of a path.
func follow(doc any, path []string) []string {
	if len(path) == 0 {
		if text, ok := doc.(string); ok {
			return []string{text}
		}
		text, _ := json.Marshal(doc) //nolint:errcheck // it came from JSON
		return []string{string(text)}
	}
	switch doc := doc.(type) {
	case map[string]any:
		if inner, ok := doc[path[0]]; ok {
			return follow(inner, path[1:])
		}
	case []any:
		if path[0] == "len" {
			return []string{strconv.Itoa(len(doc))}
		}
		var all []string
		for i, inner := range doc {
			if path[0] == "*" || path[0] == strconv.Itoa(i) {
				all = append(all, follow(inner, path[1:])...)
			}
		}
		return all
	}
	return nil
}

// files FOLDER NAME…: these are in the folder and nothing else.
func files(s *testscript.TestScript, _ bool, args []string) {
	entries, err := os.ReadDir(s.MkAbs(args[0]))
	s.Check(err)
	var have []string
	for _, e := range entries {
		have = append(have, e.Name())
	}
	must(s, slices.Equal(have, args[1:]), "there are %q", have)
}

// private FILE…: nobody but the owner can read them, since they hold card numbers.
func private(s *testscript.TestScript, _ bool, args []string) {
	for _, name := range args {
		info, err := os.Stat(s.MkAbs(name))
		s.Check(err)
		must(s, info.Mode().Perm() == 0o600 || runtime.GOOS == "windows", "%s: mode %o", name, info.Mode().Perm())
	}
}

// drawing FILE TEXT…: well-formed XML that has the texts, with single blanks between words.
func wellFormed(s *testscript.TestScript, _ bool, args []string) {
	text := s.ReadFile(args[0])
	s.Check(xml.Unmarshal([]byte(text), new(struct{})))
	flat := strings.Join(strings.Fields(text), " ")
	for _, want := range args[1:] {
		must(s, strings.Contains(flat, want), "%s does not say %q", args[0], want)
	}
}

// kept FILE NAME: the file is the one that is kept in testdata/demo under the name; -update rewrites that.
func kept(s *testscript.TestScript, _ bool, args []string) {
	text, name := s.ReadFile(args[0]), filepath.Join("..", "..", "testdata", "demo", args[1])
	if *update {
		s.Check(os.WriteFile(name, []byte(text), 0o644))
	}
	have, err := os.ReadFile(name)
	s.Check(err)
	must(s, text == string(have), "%s is stale; -update rewrites it:\n%s", name, text)
}

// rows FILE LINE FROM TO [STEP]: adds a line for each number, which stands where the line has %d.
func rows(s *testscript.TestScript, _ bool, args []string) {
	number := func(i int) int {
		if i >= len(args) {
			return 1
		}
		n, err := strconv.Atoi(args[i])
		s.Check(err)
		return n
	}
	f, err := os.OpenFile(s.MkAbs(args[0]), os.O_APPEND|os.O_CREATE|os.O_WRONLY, 0o600)
	s.Check(err)
	for n := number(2); n <= number(3); n += number(4) {
		fmt.Fprintln(f, numberVerb.ReplaceAllStringFunc(args[1], func(verb string) string { return fmt.Sprintf(verb, n) }))
	}
	s.Check(f.Close())
}

var numberVerb = regexp.MustCompile(`%\d*d`)

// bytes FILE HEX…: makes a file of these bytes.
func fromHex(s *testscript.TestScript, _ bool, args []string) {
	text, err := hex.DecodeString(strings.ReplaceAll(strings.Join(args[1:], ""), " ", ""))
	s.Check(err)
	s.Check(os.WriteFile(s.MkAbs(args[0]), text, 0o600))
}

// recorded FILE READ…: a recording of reads, as the function of that name makes it.
func record(s *testscript.TestScript, _ bool, args []string) {
	s.Check(os.WriteFile(s.MkAbs(args[0]), []byte(recorded(args[1:]...)), 0o600))
}
