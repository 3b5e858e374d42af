package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// asProgram makes the test binary the program itself, for tests that have to kill it.
const asProgram = "CARDTELL_AS_PROGRAM"

func TestMain(m *testing.M) {
	if os.Getenv(asProgram) != "" {
		os.Exit(run(os.Args[1:], os.Stdin, os.Stdout, os.Stderr))
	}
	os.Exit(m.Run())
}

// cli runs a command.
func cli(args ...string) (code int, stdout, stderr string) {
	var out, errs bytes.Buffer
	code = run(args, strings.NewReader(""), &out, &errs)
	return code, out.String(), errs.String()
}

// write makes a file in a new folder, and returns its path.
func write(t testing.TB, name, text string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	require.NoError(t, os.WriteFile(path, []byte(text), 0o600))
	return path
}

func read(t testing.TB, path string) string {
	t.Helper()
	text, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(text)
}

// names returns what is in a folder.
func names(t testing.TB, dir string) (all []string) {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

// siteText is a site of two lots of cards and two doors, one of which leaves the facility out.
const siteText = `name = "Test"
[[cards]]
format   = "26-8-16"
facility = [121, 122]
numbers  = "1-500, 1001-1100"
printed  = "pair"
[[doors]]
name     = "North"
enter    = "decimal10"
capacity = 4
[[doors]]
name     = "South"
enter    = "number"
`
