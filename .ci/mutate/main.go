// Command mutate tests the tests: it changes one place of a package at a time, and says which changes no test notices.
//
//	go run -C .ci/mutate . [-n 300] [-seed 1] [-v] [-match bits.go] [-skip Allocations] ./wiegand ./formats
//
// It changes comparisons (their boundary, their contrary), && and ||, arithmetic, bits and shifts, numbers by one; it
// removes statements, takes conditions for false and returns zeros. Each such mutant that compiles and that the
// package's own tests reach is run against them (-short); a mutant that no test notices is a survivor: a test is
// missing, or the code does nothing, or the two are equal. Those known to be equal stand in survivors.txt with the
// reason.
//
// Packages are folders from the root of the module. The exit status is 1 where there are survivors that nobody
// explained.
package main

import (
	"flag"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

type options struct {
	n       int
	seed    uint64
	match   *regexp.Regexp
	skip    string
	verbose bool
	write   bool
}

func main() {
	var o options
	flag.IntVar(&o.n, "n", 0, "try so many mutants of each package, drawn at random; 0 tries all")
	flag.Uint64Var(&o.seed, "seed", 1, "draw them by this seed")
	match := flag.String("match", "", "only mutants whose line, as survivors are printed, matches this regular expression")
	flag.StringVar(&o.skip, "skip", "", "leave out the tests whose names match this regular expression")
	flag.BoolVar(&o.verbose, "v", false, "say of every mutant what killed it")
	flag.BoolVar(&o.write, "entries", false, "write survivors as entries for survivors.txt, for a reason to be added")
	flag.Parse()
	o.match = regexp.MustCompile(*match)
	lived := 0
	for _, path := range flag.Args() {
		n, err := o.run(path)
		if err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(2)
		}
		lived += n
	}
	if lived > 0 {
		os.Exit(1)
	}
}

// run tests one package and returns how many survivors nobody explained.
func (o options) run(path string) (int, error) {
	root, err := filepath.Abs("../..") // go run -C puts us where the tool is
	if err != nil {
		return 0, err
	}
	known, err := readExplained("survivors.txt")
	if err != nil {
		return 0, err
	}
	tmp, err := os.MkdirTemp("", "mutate")
	if err != nil {
		return 0, err
	}
	defer os.RemoveAll(tmp)
	p, err := load(root, path, tmp, o.skip)
	if err != nil {
		return 0, err
	}
	reached, missed, err := p.coverage()
	if err != nil {
		return 0, err
	}
	t := tally{options: o, known: known}
	mutants := o.sample(reached)
	for _, b := range batches(mutants) {
		if len(b) == 0 {
			continue
		}
		binary := filepath.Join(tmp, "mutated.test")
		good, err := b.build(p, binary)
		if err != nil {
			return 0, err
		}
		if killer, err := p.try(binary, &mutant{}); len(good) > 1 && (err != nil || killer != "") {
			return 0, fmt.Errorf("%s: no mutant is at work, and %s fails: %v", path, killer, err)
		}
		t.broken += len(b) - len(good)
		for _, m := range good {
			killer, err := p.try(binary, m)
			if err != nil {
				return 0, err
			}
			t.note(m, killer)
		}
	}
	for _, f := range p.files { // entries may speak of mutants that were not drawn
		for _, m := range f.mutants {
			find(known, m)
		}
	}
	stale := t.stale(p)
	tried := t.killed + t.late + t.lived + t.explained
	fmt.Printf("%s: %d mutants of %d reached by tests (seed %d; %d not reached; %d do not compile): %d killed, %d of them by time; "+
		"%d explained, %d survive; %.1f%% killed\n", strings.TrimPrefix(p.path, "./"), tried, len(reached), o.seed, missed,
		t.broken,
		t.killed+t.late, t.late, t.explained, t.lived, 100*float64(t.killed+t.late)/float64(max(tried, 1)))
	return t.lived + stale, nil
}

// sample draws mutants, and puts them back into their order.
func (o options) sample(all []*mutant) []*mutant {
	all = slices.DeleteFunc(slices.Clone(all), func(m *mutant) bool { return !o.match.MatchString(m.String()) })
	if o.n <= 0 || o.n >= len(all) {
		return all
	}
	r := rand.New(rand.NewPCG(o.seed, 0))
	r.Shuffle(len(all), func(i, j int) { all[i], all[j] = all[j], all[i] })
	all = all[:o.n]
	slices.SortFunc(all, func(a, b *mutant) int { return a.id - b.id })
	return all
}

// tally counts what became of mutants.
type tally struct {
	options
	known                                  []*explained
	killed, late, lived, explained, broken int
}

func (t *tally) note(m *mutant, killer string) {
	e := find(t.known, m)
	switch {
	case killer == "time":
		t.late++
	case killer != "":
		t.killed++
	case e != nil:
		t.explained++
		killer = "explained: " + e.why
	default:
		t.lived++
		if t.write {
			fmt.Printf("%s %s\n\t%s\n\tbecause \n", m.file.path, m.function(), m.change())
		} else {
			fmt.Println(m)
		}
		return
	}
	if t.verbose {
		fmt.Printf("%s %s | %s\n", time.Now().Format(time.TimeOnly), m, killer)
	}
}

// stale reports the entries for this package that speak of nothing in it.
func (t *tally) stale(p *pkg) (n int) {
	for _, e := range t.known {
		file, _, _ := strings.Cut(e.place, " ")
		if "./"+filepath.ToSlash(filepath.Dir(file)) != p.path {
			continue
		}
		for i, used := range e.used {
			if !used {
				n++
				fmt.Printf("survivors.txt:%d: stale: no such change: %s\n", e.at, e.changes[i])
			}
		}
	}
	return n
}
