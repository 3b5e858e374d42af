package main

import (
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/cmd/cardtell/internal/found"
)

// Each list has one thing wrong, or nothing; the problem is told with its kind, its line and the other party's.
func TestCheckFindsWhatIsWrong(t *testing.T) {
	site := write(t, "site.toml", siteText)
	for name, tt := range map[string]struct {
		rows string
		want []string
	}{
		"nothing":             {"Ann;121,1\nBo;121,2\n", nil},
		"the same card twice": {"Ann;121,1\nBo;121,00001\n", []string{"3 duplicate with 2"}},
		"the same card in two forms": {"Ann;121,43\nBo;0007929899\n", []string{"3 duplicate with 2",
			"3 other-form"}},
		"three times": {"Ann;121,1\nBo;121,2\nCleo;121,1\nDov;121,1\n", []string{"4 duplicate with 2",
			"5 duplicate with 2"}},
		"alike where facility is left out": {"Ann;121,7\nBo;122,8\nCleo;122,7\n", []string{"4 collision with 2"}},
		"wrong facility":                   {"Ann;50,1\n", []string{"2 wrong-facility"}},
		"out of block":                     {"Ann;121,9999\n", []string{"2 out-of-block"}},
		"out of range":                     {"Ann;121,99999\n", []string{"2 out-of-range"}},
		"no name":                          {";121,1\n", []string{"2 no-name"}},
		"too many cards":                   {"A;121,1\nB;121,2\nC;121,3\nD;121,4\nE;121,5\n", []string{"0 capacity"}},
		"a date":                           {"Ann;12.05.2024\n", []string{"2 damaged"}},
		"no number":                        {"Ann;\n", []string{"2 empty"}},
		"digits swapped in the facility":   {"Ann;112,77\n", []string{"2 typing"}},
		"a digit typed twice":              {"Ann;1211,77\n", []string{"2 typing"}},
		"a digit of either facility":       {"Ann;1221,77\n", []string{"2 out-of-range"}}, // 121 or 122
		"one name, digits swapped":         {"Ann;121,123\nAnn;121,132\n", []string{"3 typing with 2"}},
		"one name, one after the other":    {"Ann;121,123\nAnn;121,124\n", nil},
		"two people, digits swapped":       {"Ann;121,123\nBo;121,132\n", nil},
		"a row too long":                   {"Ann;121,1;x\n", []string{"2 ragged"}},
	} {
		t.Run(name, func(t *testing.T) {
			in := write(t, "in.csv", "Name;Card\n"+tt.rows)
			code, stdout, stderr := cli("check", in, "-c", "Card", "--site", site, "--ragged", "--json")
			var r found.Check
			require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
			var got []string
			for _, p := range r.Problems {
				s := fmt.Sprint(p.Line, " ", p.Kind)
				if p.Other > 0 {
					s += fmt.Sprint(" with ", p.Other)
				}
				got = append(got, s)
				assert.NotEmpty(t, p.Message)
			}
			assert.Equal(t, tt.want, got)
			assert.Equal(t, len(tt.want) > 0, code == 1)
			assert.Equal(t, r.Rows, r.Converted+r.Rejected)
		})
	}
}

// Every kind that a list has is proposed, with what else it can be, in words that a person reads.
func TestSiteOfTwoKinds(t *testing.T) {
	rnd := rand.New(rand.NewPCG(61, 62))
	rows := "Name;Card\n"
	for i := range 60 {
		rows += fmt.Sprintf("P%d;057,%05d\nF%d;%010d\n", i, 2100+2*i, i, rnd.Uint32())
	}
	out := filepath.Join(t.TempDir(), "site.toml")
	code, _, stderr := cli("site", "--from", write(t, "in.csv", rows+"X;12.05.2024\n"), "-o", out)
	require.Equal(t, 0, code, stderr)
	text := read(t, out)
	assert.NotContains(t, text, "( ")
	assert.Contains(t, text, "format   = \"26-8-16\"\nfacility = 57\nnumbers  = \"2100-2218\"\nprinted  = \"pair\"")
	assert.Regexp(t, `format   = "3[24]-0-32"\nprinted  = "number10"`, text)
	assert.Contains(t, text, "1 row of none of these kinds, which check lists")
	code, stdout, stderr := cli("check", write(t, "in.csv", rows), "--site", out)
	assert.Equal(t, 0, code, "what is proposed fits the list: %s%s", stdout, stderr)
	code, _, stderr = cli("site", "--from", write(t, "in.csv", "Card\nx\ny\n"))
	assert.Equal(t, exitUsage, code)
	assert.Contains(t, stderr, "no kind of card can be told from its numbers; is it the right column?")
}

// The proposed block is free, the site's, and apart from all others at every door: checked by adding its cards to the
// list, on lists at random.
func TestCheckProposesFreeBlocks(t *testing.T) {
	site := write(t, "site.toml", siteText)
	rnd := rand.New(rand.NewPCG(11, 12))
	for round := range 40 {
		list := "Name;Card\n"
		used := map[int]bool{}
		for i := range 1 + rnd.IntN(60) {
			n := 1 + rnd.IntN(500)
			if used[n] {
				continue
			}
			used[n] = true
			list += fmt.Sprintf("P%d;%d,%d\n", i, 121+rnd.IntN(2), n)
		}
		want := 1 + rnd.IntN(60)
		in := write(t, "in.csv", list)
		_, stdout, _ := cli("check", in, "-c", "Card", "--site", site, "--json", "--next", fmt.Sprint(want))
		var r found.Check
		require.NoError(t, json.Unmarshal([]byte(stdout), &r))
		before := len(r.Problems)
		require.Len(t, r.Next, 1, "round %d: %v", round, r.NoNext)
		var first, last int
		fmt.Sscan(r.Next[0].First, &first)
		fmt.Sscan(r.Next[0].Last, &last)
		require.Equal(t, want, last-first+1)
		for n := first; n <= last; n++ {
			list += fmt.Sprintf("new%d;%s,%d\n", n, *r.Next[0].Facility, n)
		}
		_, stdout, _ = cli("check", write(t, "in.csv", list), "-c", "Card", "--site", site, "--json", "--all")
		require.NoError(t, json.Unmarshal([]byte(stdout), &r))
		if before == 0 && len(r.Problems) == 1 && r.Problems[0].Kind == "capacity" {
			continue // the door holds four
		}
		require.Len(t, r.Problems, before, "round %d", round)
	}
	in := write(t, "in.csv", "Name;Card\nAnn;121,1\n")
	code, stdout, _ := cli("check", in, "-c", "Card", "--site", site, "--next", "600")
	assert.Equal(t, 1, code)
	assert.Contains(t, stdout, "no 600 numbers are free")
}

// Who has several cards, or is written in two ways, is named, and is no problem by itself.
func TestCheckNamesPeople(t *testing.T) {
	site := write(t, "site.toml", siteText)
	for name, tt := range map[string]struct {
		rows string
		want []string
	}{
		"nobody": {"Ann Reed;121,1\nBo Reed;121,2\nAnn Rao;121,3\n", nil},
		"two cards": {"Ann Reed;121,1\nAnn Reed;121,2\nAnn Reed;121,4\n",
			[]string{"several-cards 4 2: 3 cards"}},
		"capitals and spaces":    {"Ann Reed;121,1\nann  REED;121,2\n", []string{"spellings 3 2: 2 cards"}},
		"accents":                {"Zoé Müller;121,1\nZoe Muller;121,2\n", []string{"spellings 3 2: 2 cards"}},
		"order":                  {"Ann Reed;121,1\n\"Reed, Ann\";121,2\n", []string{"spellings 3 2: 2 cards"}},
		"a letter":               {"Ann Strand;121,1\nAnn Strond;121,2\n", []string{"one-letter 3 2: 2 cards"}},
		"a letter swapped":       {"Ann Strand;121,1\nAnn Stradn;121,2\n", []string{"one-letter 3 2: 2 cards"}},
		"a letter missing":       {"Ann Strand;121,1\nAnn Srand;121,2\n", []string{"one-letter 3 2: 2 cards"}},
		"a short word":           {"Vik Ray;121,1\nVik Rao;121,2\n", nil},
		"a longer name":          {"Martin Reed;121,1\nMartina Reed;121,2\n", nil},
		"digits":                 {"Visitor 10000;121,1\nVisitor 10001;121,2\n", nil},
		"the same row twice":     {"Ann Reed;121,1\nAnn Reed;121,1\n", nil},
		"two letters":            {"Ann Strand;121,1\nAnn Stramt;121,2\n", nil},
		"one card, two writings": {"Zoé Reed;121,1\nZoe Reed;121,1\n", []string{"spellings 3 2"}},
	} {
		_, stdout, stderr := cli("check", write(t, "in.csv", "Name;Card\n"+tt.rows), "--site", site, "--json")
		var r found.Check
		require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
		var got []string
		for _, p := range r.People {
			s := fmt.Sprint(p.Kind, " ", p.Line, " ", p.Other)
			if strings.HasSuffix(p.Message, " cards") {
				s += p.Message[strings.LastIndex(p.Message, ": "):]
			}
			got = append(got, s)
		}
		assert.Equal(t, tt.want, got, name)
	}
	code, stdout, _ := cli("check", write(t, "in.csv", "Name;Card\nAnn Reed;121,1\nAnn Reed;121,2\n"), "--site", site)
	assert.Equal(t, 0, code)
	assert.Contains(t, stdout, "line 3     Ann Reed with 121,2; line 2, Ann Reed with 121,1: 2 cards")
}

// A million rows take the memory that the index needs and no more.
func TestCheckMemory(t *testing.T) {
	if testing.Short() {
		t.Skip("a million rows")
	}
	if os.Getenv("CARDTELL_ALONE") == "" { // in a process of its own: what other tests leave in the heap is not counted
		c := exec.Command(os.Args[0], "-test.run=^TestCheckMemory$", "-test.v")
		c.Env = append(os.Environ(), "CARDTELL_ALONE=1")
		out, err := c.CombinedOutput()
		require.NoError(t, err, "%s", out)
		t.Logf("%s", out)
		return
	}
	in := write(t, "in.csv", numberList(1_000_000))
	site := write(t, "site.toml", "[[cards]]\nformat = \"26-0-24\"\nprinted = \"decimal\"\n[[doors]]\nname = \"a\"\nenter = \"hex\"\n[[doors]]\nname = \"b\"\nenter = \"pair24\"\ncapacity = 9\n")
	debug.FreeOSMemory() // collects what earlier tests left
	var before runtime.MemStats
	runtime.ReadMemStats(&before)
	peak := make(chan uint64)
	stop := make(chan bool)
	go watchMemory(peak, stop)
	code := run([]string{"check", in, "-c", "Card", "--site", site, "--next", "5"}, nil, io.Discard, io.Discard)
	stop <- true
	assert.Equal(t, 1, code)
	most := <-peak - before.HeapInuse - before.StackInuse
	t.Logf("%.0f MB", float64(most)/(1<<20))
	assert.Less(t, most, uint64(100<<20), "bytes of memory beyond what the tests held before")
}

// watchMemory tells how much memory was in use at most.
func watchMemory(peak chan<- uint64, stop <-chan bool) {
	most := uint64(0)
	for {
		select {
		case <-stop:
			peak <- most
			return
		case <-time.After(time.Millisecond): // to look stops the program
			var m runtime.MemStats
			runtime.ReadMemStats(&m)
			most = max(most, m.HeapInuse+m.StackInuse)
		}
	}
}

func BenchmarkCheck(b *testing.B) {
	text := numberList(100_000)
	in := write(b, "in.csv", text)
	site := filepath.Join(filepath.Dir(in), "site.toml")
	require.NoError(b, os.WriteFile(site, []byte("[[cards]]\nformat = \"26-0-24\"\nprinted = \"decimal\"\n[[doors]]\nname = \"a\"\nenter = \"hex\"\n"), 0o600))
	b.SetBytes(int64(len(text)))
	for b.Loop() {
		if code := run([]string{"check", in, "-c", "Card", "--site", site}, nil, io.Discard, io.Discard); code != 1 {
			b.Fatal(code)
		}
	}
}

// A row that could not be read may have any number that its digits can mean: none of them is offered as free.
func TestCheckNextHoldsBackWhatWasNotRead(t *testing.T) {
	site := write(t, "site.toml", siteText)
	for name, tt := range map[string]struct{ rows, first string }{
		"a trailing space":         {"Name;Card\nAnn;121,1\nBo;121,2 \n", "3"},
		"a dot for a comma":        {"Name;Card\nAnn;121,1\nBo;121.2\nCy;121.00003\n", "4"},
		"a word in the cell":       {"Name;Card\nAnn;121,1\nBo;121,2 (new)\n", "3"},
		"a number without a comma": {"Name;Card\nAnn;121,1\nBo;12100002\n", "3"},
		"too many cells":           {"Name;Card\nAnn;121,1\nBo;x;121,2\n", "3"},
		"too few cells":            {"Name;Card\nAnn;121,1\n121,2\n", "3"},
	} {
		in := write(t, "in.csv", tt.rows)
		_, stdout, stderr := cli("check", in, "-c", "Card", "--site", site, "--ragged", "--json", "--next", "1")
		var r found.Check
		require.NoError(t, json.Unmarshal([]byte(stdout), &r), stderr)
		if assert.NotEmpty(t, r.Next, "%s: %v", name, r.NoNext) {
			assert.Equal(t, tt.first, r.Next[0].First, name)
		}
	}
}
