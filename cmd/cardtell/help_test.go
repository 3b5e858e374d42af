package main

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
	"github.com/cardtell/cardtell/cmd/cardtell/internal/say"
	"github.com/cardtell/cardtell/formats"
	"github.com/cardtell/cardtell/formats/site"
)

// tree is the program's command tree.
func tree(t *testing.T) *cobra.Command {
	t.Helper()
	a := &app{err: io.Discard, tables: newTables()}
	root := a.root()
	root.InitDefaultHelpCmd()
	return root
}

// commands returns every command and topic by its path.
func commands(t *testing.T) map[string]*cobra.Command {
	t.Helper()
	all := map[string]*cobra.Command{}
	manual.Walk(tree(t), func(c *cobra.Command) {
		if !c.Hidden {
			all[c.CommandPath()] = c
		}
	})
	return all
}

// Every page begins with what the command is for, and ends with two examples or more; --help fits a screen.
func TestHelpPages(t *testing.T) {
	t.Parallel()
	all := commands(t)
	require.Greater(t, len(all), 12)
	for path, c := range all {
		var page, short bytes.Buffer
		manual.Page(&page, c)
		manual.Screen(&short, c)
		assert.LessOrEqual(t, strings.Count(short.String(), "\n"), say.Lines, "%s: lines of --help", path)
		for _, out := range []string{page.String(), short.String()} {
			lines := strings.Split(strings.TrimRight(out, "\n"), "\n")
			for _, line := range lines {
				assert.False(t, strings.HasSuffix(line, " "))
				assert.LessOrEqual(t, len([]rune(line)), say.Width, "%s: %q", path, line)
				assert.NotContains(t, line, "\t")
			}
			assert.Regexp(t, `^[A-Z]`, lines[0], path)
			assert.True(t, strings.HasSuffix(examples(c)[len(examples(c))-1], strings.TrimSpace(lines[len(lines)-1])),
				"%s: the page ends with them", path)
			c.LocalFlags().VisitAll(func(f *pflag.Flag) {
				if f.Name != "help" {
					assert.Contains(t, out, "--"+f.Name, path)
				}
			})
		}
		assert.NotEmpty(t, c.Short, path)
		assert.False(t, strings.HasSuffix(c.Short, "."), "%s: a short text is no sentence", path)
		assert.GreaterOrEqual(t, len(examples(c)), 2, "%s: examples", path)
	}
}

// examples returns the command lines that a page ends with.
func examples(c *cobra.Command) (lines []string) {
	text := c.Example
	if manual.IsTopic(c) {
		text = c.Long
	}
	for line := range strings.Lines(strings.ReplaceAll(text, " \\\n   ", "")) { // a line that ends in \ goes on
		if line = strings.TrimSpace(line); strings.HasPrefix(line, "cardtell ") {
			lines = append(lines, line)
		}
	}
	return lines
}

// Every option says what it is for, and is in the command's page; every command is listed by the one above it.
func TestEveryOptionIsDocumented(t *testing.T) {
	t.Parallel()
	for path, c := range commands(t) {
		c.LocalFlags().VisitAll(func(f *pflag.Flag) {
			assert.NotEmpty(t, f.Usage, "%s --%s", path, f.Name)
			assert.NotContains(t, f.Usage, "`int`")
			name, _ := pflag.UnquoteUsage(f)
			assert.NotContains(t, []string{"int", "string", "duration", "stringArray", "strings"}, name,
				"%s --%s: name its value in `quotes`", path, f.Name)
		})
		if parent := c.Parent(); parent != nil {
			var out bytes.Buffer
			manual.Page(&out, parent)
			assert.Contains(t, out.String(), c.Name(), "%s is not listed", path)
		}
	}
}

// place is a folder like the project's top one, in which examples can write.
func place(t *testing.T) string {
	t.Helper()
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(filepath.Join(dir, "testdata", "demo"), os.DirFS("../../testdata/demo")))
	require.NoError(t, os.CopyFS(filepath.Join(dir, "testdata", "line"), os.DirFS("../../testdata/line")))
	text, err := os.ReadFile("../../formats/catalogue.toml")
	require.NoError(t, err)
	require.NoError(t, os.Mkdir(filepath.Join(dir, "formats"), 0o755))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "formats", "catalogue.toml"), text, 0o644))
	return dir
}

// Every example of every page runs as it stands, and does not fail.
func TestEveryExampleRuns(t *testing.T) {
	all := commands(t)
	t.Chdir(place(t))
	ran := 0
	for path, c := range all {
		for _, line := range examples(c) {
			command, input, _ := strings.Cut(strings.TrimPrefix(line, "cardtell "), " < ")
			stdin := ""
			if input != "" {
				text, err := os.ReadFile(input)
				require.NoError(t, err, line)
				stdin = string(text)
			}
			r := do(command, stdin)
			assert.LessOrEqual(t, r.code, exitNo, "%s: %s: %s", path, line, r.err)
			assert.True(t, r.out != "" || r.err != "", line)
			ran++
		}
	}
	assert.Greater(t, ran, 24)
}

// Each topic is found by its name, which no command has.
func TestTopics(t *testing.T) {
	t.Parallel()
	for _, topic := range manual.Topics() {
		assert.Equal(t, topic.Long+"\n", do("help "+topic.Name(), "").out)
	}
}

// The files that the topics show can be used as they stand.
func TestTopicsShowGoodFiles(t *testing.T) {
	t.Parallel()
	indented := func(topic, from, to string) []byte {
		_, text, _ := strings.Cut(do("help "+topic, "").out, from)
		text, _, _ = strings.Cut(text, to)
		return []byte(from + text)
	}
	defs, err := formats.ParseDefinitions("topic", indented("definitions", "  [[format]]", "\nEvery bit"))
	require.NoError(t, err)
	assert.Equal(t, "28-8-18", defs[0].ID)
	s, err := site.Parse("topic", indented("site-file", "  name = ", "\nA card that"), formats.Builtin())
	require.NoError(t, err)
	assert.Len(t, s.Doors, 1)
	assert.Len(t, s.Cards, 1)
}
