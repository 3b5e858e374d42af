package main

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"
)

// pkg is a package under test.
type pkg struct {
	root, path, tmp string // the module, the package's folder in it, a folder for files
	files           []*file
	flags           []string // for the test binary
	skip            string   // a regular expression of the tests that are left out; "" for none
	slow            string   // the same of those that take long
	limit           time.Duration
}

// load reads a package and finds its mutants.
func load(root, path, tmp, skip string) (*pkg, error) {
	p := &pkg{root: root, path: "./" + strings.TrimPrefix(filepath.ToSlash(filepath.Clean(path)), "./"), tmp: tmp,
		skip: skip}
	cmd := exec.Command("go", "list", "-json=GoFiles,TestImports,XTestImports", p.path)
	cmd.Dir, cmd.Stderr = root, os.Stderr
	out, err := cmd.Output()
	if err != nil {
		return nil, err
	}
	var about struct{ GoFiles, TestImports, XTestImports []string }
	if err := json.Unmarshal(out, &about); err != nil {
		return nil, err
	}
	p.flags = []string{"-test.short", "-test.failfast"}
	if slices.Contains(append(about.TestImports, about.XTestImports...), "pgregory.net/rapid") {
		// the same inputs for all; no search for a small one
		p.flags = append(p.flags, "-rapid.seed=1", "-rapid.nofailfile", "-rapid.shrinktime=0s")
	}
	id := 0
	for _, name := range about.GoFiles {
		f, err := readFile(root, filepath.ToSlash(filepath.Join(p.path, name)))
		if err != nil {
			return nil, err
		}
		for _, m := range f.mutants {
			id++
			m.id = id
		}
		p.files = append(p.files, f)
	}
	return p, nil
}

var (
	covered  = regexp.MustCompile(`(?m)/([^/\n]+\.go):(\d+)\.(\d+),(\d+)\.(\d+) \d+ (\d+)$`)
	duration = regexp.MustCompile(`(?m)^--- PASS: (\S+) \(([0-9.]+)s\)$`)
	failed   = regexp.MustCompile(`(?m)^--- FAIL: (\S+)`)
)

// coverage runs the tests as they are, learns which take long, and returns the mutants in code that they reach. Code
// that is in no block of the profile, such as the conditions of a switch, counts as reached.
func (p *pkg) coverage() (reached []*mutant, missed int, err error) {
	binary, profile := filepath.Join(p.tmp, "plain.test"), filepath.Join(p.tmp, "cover.out")
	cmd := exec.Command("go", "test", "-c", "-vet=off", "-cover", "-o", binary, p.path)
	cmd.Dir = p.root
	if out, err := cmd.CombinedOutput(); err != nil {
		return nil, 0, fmt.Errorf("%s does not build: %s", p.path, out)
	}
	begin := time.Now()
	cmd = exec.Command(binary, append(p.flags, "-test.skip="+p.skip, "-test.v", "-test.coverprofile", profile)...)
	cmd.Dir = filepath.Join(p.root, p.path)
	out, err := cmd.CombinedOutput()
	if err != nil {
		return nil, 0, fmt.Errorf("%s fails without a mutant: %s", p.path, out)
	}
	p.limit = 3*time.Second + 10*time.Since(begin)
	var slow []string
	for _, m := range duration.FindAllStringSubmatch(string(out), -1) {
		if s, _ := strconv.ParseFloat(m[2], 64); s >= 0.1 {
			slow = append(slow, m[1])
		}
	}
	if len(slow) > 0 {
		p.slow = "^(" + strings.Join(slow, "|") + ")$"
	}
	text, err := os.ReadFile(profile)
	if err != nil {
		return nil, 0, err
	}
	counts := map[string]map[[4]int]int{}
	for _, m := range covered.FindAllStringSubmatch(string(text), -1) {
		var n [5]int
		for i := range n {
			n[i], _ = strconv.Atoi(m[i+2])
		}
		if counts[m[1]] == nil {
			counts[m[1]] = map[[4]int]int{}
		}
		counts[m[1]][[4]int(n[:4])] += n[4]
	}
	for _, f := range p.files {
		for _, m := range f.mutants {
			if f.reached(m, counts[filepath.Base(f.path)]) {
				reached = append(reached, m)
			} else {
				missed++
			}
		}
	}
	return reached, missed, nil
}

func (f *file) reached(m *mutant, blocks map[[4]int]int) bool {
	at := f.set.Position(f.set.File(f.ast.Pos()).Pos(m.start))
	for b, count := range blocks {
		after := at.Line > b[0] || at.Line == b[0] && at.Column >= b[1]
		if after && (at.Line < b[2] || at.Line == b[2] && at.Column < b[3]) && count == 0 {
			return false
		}
	}
	return true
}

// try runs the tests against a mutant, those that take long last. It returns what killed it: the name of a test,
// "crash" or "time"; "" where it lives.
func (p *pkg) try(binary string, m *mutant) (killer string, err error) {
	rounds := [][]string{{"-test.skip=" + p.skip}}
	if p.slow != "" {
		rounds = [][]string{{"-test.skip=" + strings.TrimPrefix(p.skip+"|"+p.slow, "|")}, {"-test.run=" + p.slow}}
	}
	for _, extra := range rounds {
		ctx, cancel := context.WithTimeout(context.Background(), p.limit)
		// A mutant may ask for memory without end; 4 GB are enough for a test.
		args := append([]string{"-c", `ulimit -v 4194304; exec "$0" "$@"`, binary}, p.flags...)
		cmd := exec.CommandContext(ctx, "sh", append(args, extra...)...)
		cmd.Dir = filepath.Join(p.root, p.path)
		cmd.Env = append(os.Environ(), fmt.Sprintf("%s=%d", chosen, m.id))
		var out bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &out
		err := cmd.Run()
		late := ctx.Err() != nil
		cancel()
		var exit *exec.ExitError
		switch {
		case late:
			return "time", nil
		case err != nil && !errors.As(err, &exit):
			return "", err
		case err != nil:
			if f := failed.FindSubmatch(out.Bytes()); f != nil {
				return string(f[1]), nil
			}
			return "crash", nil
		}
	}
	return "", nil
}
