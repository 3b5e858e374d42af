package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/cobra/doc"
	"github.com/spf13/pflag"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/manual"
)

// manFolder holds the manual pages, which are made of the same texts as the help. They are made by this test and not by
// the program, so that nobody who installs it gets the code that makes them.
const manFolder = "man"

// manDate stands at the foot of every page. It changes with the pages' shape, not with every build, so that the same
// texts make the same files.
var manDate = time.Date(2026, 11, 1, 0, 0, 0, 0, time.UTC)

// manPages returns every page by the name of its file.
func manPages(t *testing.T) map[string]string {
	t.Helper()
	pages := map[string]string{}
	for _, c := range commands(t) {
		section := "1"
		if manual.IsTopic(c) {
			section = "7"
		}
		c.DisableAutoGenTag = true
		// A line that begins with a space is shown as it is, here as in the help.
		c.Long = verbatim(c.Long)
		var b bytes.Buffer
		header := &doc.GenManHeader{Section: section, Source: "cardtell", Manual: "cardtell manual", Date: &manDate}
		require.NoError(t, doc.GenMan(c, header, &b))
		called := manual.Usage(c) // as the help says it, and not as the generator does
		if manual.IsTopic(c) {
			called = "cardtell help " + c.Name()
		}
		require.Contains(t, b.String(), c.UseLine())
		pages[manName(c, section)] = strings.Replace(b.String(), c.UseLine(), called, 1)
	}
	return pages
}

// verbatim makes indented blocks those of Markdown, which the pages are made through.
func verbatim(long string) string {
	var b strings.Builder
	for line := range strings.Lines(long) {
		if strings.HasPrefix(line, "  ") {
			line = "  " + line
		}
		b.WriteString(line)
	}
	return b.String()
}

func manName(c *cobra.Command, section string) string {
	return strings.ReplaceAll(c.CommandPath(), " ", "-") + "." + section
}

// The manual pages say what the help says: go test ./cmd/cardtell -run Man -update rewrites them.
func TestManPages(t *testing.T) {
	pages := manPages(t)
	require.Greater(t, len(pages), 15)
	if *update {
		require.NoError(t, os.RemoveAll(manFolder))
		require.NoError(t, os.Mkdir(manFolder, 0o755))
		for name, text := range pages {
			require.NoError(t, os.WriteFile(filepath.Join(manFolder, name), []byte(text), 0o644))
		}
		return
	}
	files, err := os.ReadDir(manFolder)
	require.NoError(t, err)
	for _, f := range files {
		assert.Contains(t, pages, f.Name(), "a page of no command; -update removes it")
	}
	for name, text := range pages {
		have, err := os.ReadFile(filepath.Join(manFolder, name))
		if assert.NoError(t, err, "-update writes it") {
			assert.Equal(t, text, strings.ReplaceAll(string(have), "\r\n", "\n"), "%s is stale; -update rewrites it", name)
		}
	}
}

// Every option of a command is in its page.
func TestManPagesHaveEveryOption(t *testing.T) {
	t.Parallel()
	pages := manPages(t)
	for path, c := range commands(t) {
		if manual.IsTopic(c) {
			continue
		}
		page := strings.ReplaceAll(pages[manName(c, "1")], `\-`, "-")
		c.LocalFlags().VisitAll(func(f *pflag.Flag) { assert.Contains(t, page, "--"+f.Name, path) })
		for _, line := range examples(c) {
			assert.Contains(t, page, line[:min(len(line), 40)], path)
		}
	}
}
