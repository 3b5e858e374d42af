package main

import (
	"bytes"
	"flag"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// update rewrites what the README and the pages show, instead of comparing: go test ./cmd/cardtell -run README -update
var update = flag.Bool("update", false, "rewrite the console blocks of README.md and of cmd/cardtell/doc")

// console is a fenced block of commands and what they print.
var console = regexp.MustCompile("(?s)```console\n(.*?)```")

// TestREADME runs every command that the README and the pages under doc show, from the top folder as a newcomer would,
// and compares what it prints, remarks and errors included.
func TestREADME(t *testing.T) {
	t.Chdir("../..")
	pages, err := filepath.Glob("cmd/cardtell/doc/*.md")
	require.NoError(t, err)
	require.NotEmpty(t, pages)
	commands := 0
	for _, name := range append(pages, "README.md") {
		old, err := os.ReadFile(name)
		require.NoError(t, err)
		text := console.ReplaceAllFunc(old, func(block []byte) []byte {
			session := string(console.FindSubmatch(block)[1])
			var out strings.Builder
			for line := range strings.Lines(session) {
				if command, ok := strings.CutPrefix(line, "$ cardtell "); ok {
					commands++
					out.WriteString(line + transcript(t, strings.TrimSpace(command)))
				} else if strings.HasPrefix(line, "$ ") {
					t.Errorf("%s: a session runs something else than cardtell: %s", name, line)
				}
			}
			return []byte("```console\n" + out.String() + "```")
		})
		if *update {
			require.NoError(t, os.WriteFile(name, text, 0o644))
			continue
		}
		assert.Equal(t, string(old), string(text), "%s is stale; -update rewrites it", name)
	}
	require.Positive(t, commands, "no sessions found")
}

// TestREADMELinks: what the README and the pages link to is there, and the README stays short.
func TestREADMELinks(t *testing.T) {
	pages, err := filepath.Glob("doc/*.md")
	require.NoError(t, err)
	for _, name := range append(pages, "../../README.md") {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		for _, m := range regexp.MustCompile(`\]\(([^)#]+)\)`).FindAllStringSubmatch(string(console.ReplaceAll(text, nil)),
			-1) {
			_, err := os.Stat(filepath.Join(filepath.Dir(name), m[1]))
			assert.NoError(t, err, "%s links to %s", name, m[1])
		}
	}
	info, err := os.Stat("../../README.md")
	require.NoError(t, err)
	assert.Less(t, info.Size(), int64(12<<10), "bytes of README.md")
}

// transcript runs one command line and returns what it prints on both outputs.
func transcript(t *testing.T, line string) string {
	t.Helper()
	var out bytes.Buffer
	run(split(line), strings.NewReader(""), &out, &out)
	return out.String()
}

// split cuts a command line into words, as a shell does with plain words and double quotes.
func split(line string) []string {
	var words []string
	for i, part := range strings.Split(line, `"`) {
		if i%2 == 1 {
			words = append(words, part)
		} else {
			words = append(words, strings.Fields(part)...)
		}
	}
	return words
}

// The program that the README embeds the library in compiles and runs as it stands.
func TestREADMELibrary(t *testing.T) {
	if testing.Short() {
		t.Skip("builds a program")
	}
	readme, err := os.ReadFile("../../README.md")
	require.NoError(t, err)
	m := regexp.MustCompile("(?s)```go\n(.*?)```").FindSubmatch(readme)
	require.NotNil(t, m, "the program is not in the README")
	name := filepath.Join(t.TempDir(), "main.go")
	require.NoError(t, os.WriteFile(name, m[1], 0o600))
	out, err := exec.Command("go", "run", name).CombinedOutput()
	require.NoError(t, err, string(out))
	assert.Regexp(t, `^26-8-16 0\.99\d\d\n(.*\n)*none of these 0\.\d{4}\n$`, string(out))
}
