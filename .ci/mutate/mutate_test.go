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

func readSample(t *testing.T) *file {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "p.go"), []byte(sample), 0o644); err != nil {
		t.Fatal(err)
	}
	f, err := readFile(dir, "p.go")
	if err != nil {
		t.Fatal(err)
	}
	for i, m := range f.mutants {
		m.id = i + 1
	}
	return f
}

// Every kind of change that the sample has a place for, in the order of the source.
func TestMutants(t *testing.T) {
	var got []string
	for _, m := range readSample(t).mutants {
		got = append(got, m.String())
	}
	want := []string{
		`p.go:5 -: 7 -> (7+1)`, `p.go:5 -: 7 -> (7-1)`,
		`p.go:11 T.Add: m > limit && i != 0 -> (m > limit && i != 0) && false`,
		`p.go:11 T.Add: m > limit -> m >= limit`, `p.go:11 T.Add: m > limit -> m <= limit`,
		`p.go:11 T.Add: m > limit && i != 0 -> m > limit || i != 0`, `p.go:11 T.Add: i != 0 -> i == 0`,
		`p.go:11 T.Add: i != 0 -> i != (0+1)`, `p.go:11 T.Add: i != 0 -> i != (0-1)`,
		`p.go:12 T.Add: return fmt.Errorf("too much") -> return zero`,
		`p.go:14 T.Add: t.n += m -> nothing`, `p.go:14 T.Add: t.n += m -> t.n -= m`,
	}
	if strings.Join(got, "\n") != strings.Join(want, "\n") {
		t.Errorf("got\n%s", strings.Join(got, "\n"))
	}
}

// A function hands over to its copies, with its receiver, a name for what has none, and the dots of its last parameter.
func TestRewrite(t *testing.T) {
	f := readSample(t)
	text, places := batch(f.mutants[2:4]).rewrite(f)
	for _, want := range []string{
		`func (t *T[A, B]) Add(p__0_0 int, more ...int) (err error) { if mutant__ != 0 { switch mutant__ {` +
			`case 3: return t.Add__3(p__0_0, more...);case 4: return t.Add__4(p__0_0, more...);}};`,
		"if (m > limit && i != 0) && false {", "if m >= limit && i != 0 {",
	} {
		if !strings.Contains(text, want) {
			t.Errorf("no %s in\n%s", want, text)
		}
	}
	lines := strings.Split(text, "\n")
	for _, at := range places {
		if !strings.Contains(lines[at.from-1], "__"+string(rune('0'+at.m.id))) || lines[at.to-2] != "}" {
			t.Errorf("mutant %d is not in lines %d to %d of\n%s", at.m.id, at.from, at.to, text)
		}
	}
}

// An entry speaks of its changes, and is stale where there is none.
func TestExplained(t *testing.T) {
	path := filepath.Join(t.TempDir(), "survivors.txt")
	text := "# a comment\np.go T.Add\n\tt.n += m -> t.n -= m\n\tt.n += m -> t.n *= m\n\tbecause of this\n"
	if err := os.WriteFile(path, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
	all, err := readExplained(path)
	if err != nil || len(all) != 1 {
		t.Fatal(all, err)
	}
	found := 0
	for _, m := range readSample(t).mutants {
		if e := find(all, m); e != nil {
			found++
			if e.why != "of this" {
				t.Error(e.why)
			}
		}
	}
	if found != 1 || !all[0].used[0] || all[0].used[1] {
		t.Error(found, all[0].used)
	}
	for _, bad := range []string{"\tchange before a place\n", "p.go F\n\tchange\n", "p.go F\n\tbecause\n"} {
		if err := os.WriteFile(path, []byte(bad), 0o644); err != nil {
			t.Fatal(err)
		}
		if _, err := readExplained(path); err == nil {
			t.Errorf("%q was read", bad)
		}
	}
}
