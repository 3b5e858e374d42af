package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

const sample = `package p

import "fmt"

const limit = 7

type T[A, B any] struct{ n int }

func (t *T[A, B]) Add(_ int, more ...int) (err error) {
	for i, m := range more {
		if m > limit && i != 0 {
			return fmt.Errorf("too much")
		}
		t.n += m
	}
	return nil
}
`

func readSample(t *testing.T) []*mutant {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "p.go"), []byte(sample), 0o644); err != nil {
		t.Fatal(err)
	}
	return mutantsOf(dir, ".")
}

// Every kind of change that the sample has a place for, in the order of the source.
func TestMutants(t *testing.T) {
	var got []string
	for _, m := range readSample(t) {
		got = append(got, m.String())
	}
	want := []string{
		`./p.go:5 -: 7 -> (7+1)`, `./p.go:5 -: 7 -> (7-1)`,
		`./p.go:11 T.Add: m > limit && i != 0 -> (m > limit && i != 0) && false`,
		`./p.go:11 T.Add: m > limit -> m >= limit`, `./p.go:11 T.Add: m > limit -> m <= limit`,
		`./p.go:11 T.Add: m > limit && i != 0 -> m > limit || i != 0`, `./p.go:11 T.Add: i != 0 -> i == 0`,
		`./p.go:11 T.Add: i != 0 -> i != (0+1)`, `./p.go:11 T.Add: i != 0 -> i != (0-1)`,
		`./p.go:14 T.Add: t.n += m -> nothing`, `./p.go:14 T.Add: t.n += m -> t.n -= m`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s", strings.Join(got, "\n"))
	}
}

// An entry speaks of its changes.
func TestExplained(t *testing.T) {
	known := explained("# a comment\n\np.go T.Add\n\tt.n += m -> t.n -= m\n\tt.n += m -> t.n *= m\n\tbecause of this\n")
	var found []string
	for _, m := range readSample(t) {
		if known["p.go "+m.function+": "+m.change] == "of this" {
			found = append(found, m.change)
		}
	}
	if len(known) != 2 || len(found) != 1 || found[0] != "t.n += m -> t.n -= m" {
		t.Error(known, found)
	}
}
