// Command mutate tests the tests: it changes one place of a package at a time, and says which changes no test notices.
//
//	go run -C .ci/mutate . [-n 300] [-seed 1] [-match bits.go] ./wiegand ./formats
//
// Each change that compiles goes through the package's own tests (-short); one that no test notices is a survivor: a
// test is missing, or the code does nothing, or the two are equal. Those known to be equal stand in survivors.txt with
// the reason. Packages are folders from the root of the module, whose files are not touched: go's -overlay puts the
// changed one in place. The exit status is 1 where there are survivors that nobody explained.
package main

import (
	"errors"
	"flag"
	"fmt"
	"log"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"time"
)

func main() {
	n := flag.Int("n", 0, "try so many changes of each package, drawn at random; 0 tries all")
	seed := flag.Uint64("seed", 1, "draw them by this seed")
	match := flag.String("match", "", "only changes whose line, as survivors are printed, matches this regular expression")
	flag.Parse()
	lived := 0
	for _, path := range flag.Args() {
		lived += run(filepath.Clean(path), *n, *seed, regexp.MustCompile(*match))
	}
	if lived > 0 {
		os.Exit(1)
	}
}

// must returns v, and ends the program where there is an error.
func must[T any](v T, err error) T {
	if err != nil {
		log.Fatal(err)
	}
	return v
}

// run tests one package and returns how many survivors nobody explained, and explanations that are of nothing.
func run(path string, n int, seed uint64, match *regexp.Regexp) (lived int) {
	root := must(filepath.Abs("../..")) // go run -C puts us where the tool is
	known := explained(string(must(os.ReadFile("survivors.txt"))))
	all := mutantsOf(root, path)
	for key := range known {
		there := slices.ContainsFunc(all, func(m *mutant) bool { return m.key() == key })
		if filepath.Dir(strings.Fields(key)[0]) == path && !there {
			lived++
			fmt.Println("survivors.txt: no such change:", key)
		}
	}
	all = slices.DeleteFunc(all, func(m *mutant) bool { return !match.MatchString(m.String()) })
	if n > 0 && n < len(all) {
		rand.New(rand.NewPCG(seed, 0)).Shuffle(len(all), func(i, k int) { all[i], all[k] = all[k], all[i] })
		all = all[:n]
	}
	started := time.Now()
	if out, ok := test(root, path, nil, time.Hour); !ok {
		log.Fatal(path, " fails unchanged: ", out)
	}
	limit := 30*time.Second + 10*time.Since(started)
	count := map[string]int{}
	for _, m := range all {
		out, ok := test(root, path, m, limit)
		switch {
		case strings.Contains(out, "[build failed]"):
			count["do not compile"]++
		case !ok:
			count["killed"]++
		case known[m.key()] != "":
			count["explained"]++
		default:
			count["survive"]++
			fmt.Println(m)
		}
	}
	fmt.Println(path+":", len(all), "changes:", strings.Trim(fmt.Sprint(count), "map[]"))
	return lived + count["survive"]
}

// test runs the short tests of a package with a change in it, or as it is. It returns what they print, and whether all
// is well.
func test(root, path string, m *mutant, limit time.Duration) (string, bool) {
	args := []string{"test", "-short", "-failfast", "-vet=off", "-count=1", "-timeout", limit.String()}
	if m != nil {
		folder := must(os.MkdirTemp("", "mutate"))
		defer os.RemoveAll(folder)
		changed, overlay := filepath.Join(folder, "changed.go"), filepath.Join(folder, "overlay.json")
		list := fmt.Sprintf(`{"Replace": {%q: %q}}`, filepath.Join(root, m.file.path), changed)
		text := m.file.source[:m.start] + m.text + m.file.source[m.end:]
		must(0, errors.Join(os.WriteFile(overlay, []byte(list), 0o600), os.WriteFile(changed, []byte(text), 0o600)))
		args = append(args, "-overlay", overlay)
	}
	// A mutant may ask for memory without end.
	args = append([]string{"-c", `ulimit -v 16777216; exec go "$@"`, "go"}, append(args, "./"+path)...)
	cmd := exec.Command("sh", args...)
	cmd.Dir = root
	out, err := cmd.CombinedOutput()
	return string(out), err == nil
}

// explained reads the file of explained survivors, which has
//
//	wiegand/bits.go Bits.Slice
//		max(0, min(from, b.Len())) -> max((0-1), min(from, b.Len()))
//		because a slice from -1 is one from 0
//
// that is a file and a function ("-" at package level), changes in it that no test can see, wherever in the function
// they are, and why. It returns the reasons by place and change.
func explained(text string) map[string]string {
	reasons, place := map[string]string{}, ""
	var changes []string
	for line := range strings.Lines(text) {
		line = strings.TrimRight(line, "\n")
		content, indented := strings.CutPrefix(line, "\t")
		why, because := strings.CutPrefix(content, "because ")
		switch {
		case because:
			for _, change := range changes {
				reasons[place+": "+change] = why
			}
			changes = nil
		case indented:
			changes = append(changes, content)
		case line != "":
			place = line
		}
	}
	return reasons
}
