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

// update rewrites what the README shows, instead of comparing: go test ./cmd/cardtell -run README -update
var update = flag.Bool("update", false, "rewrite the sessions of README.md")

// console is a fenced block of commands and what they print.
var console = regexp.MustCompile("(?s)```console\n(.*?)```")

// TestREADME runs every command that the README shows, from the top folder as a newcomer would, and compares what it prints,
// remarks and errors included.
func TestREADME(t *testing.T) {
	t.Chdir("../..")
	old, err := os.ReadFile("README.md")
	require.NoError(t, err)
	commands := 0
	text := console.ReplaceAllFunc(old, func(block []byte) []byte {
		session := string(console.FindSubmatch(block)[1])
		var out strings.Builder
		for line := range strings.Lines(session) {
			if command, ok := strings.CutPrefix(line, "$ cardtell "); ok {
				commands++
				out.WriteString(line + transcript(t, strings.TrimSpace(command)))
			} else if strings.HasPrefix(line, "$ ") {
				t.Errorf("a session runs something else than cardtell: %s", line)
			}
		}
		return []byte("```console\n" + out.String() + "```")
	})
	require.Positive(t, commands, "no sessions found")
	if *update {
		require.NoError(t, os.WriteFile("README.md", text, 0o644))
		return
	}
	assert.Equal(t, string(old), string(text), "stale; -update rewrites it")
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
