package main

import (
	"fmt"
	"os"
	"slices"
	"strings"
)

// explained is an entry of the file of explained survivors:
//
//	wiegand/bits.go Bits.Slice
//		max(0, min(from, b.Len())) -> max((0-1), min(from, b.Len()))
//		because a slice from -1 is one from 0
//
// that is a file and a function ("-" at package level), changes in it that no test can see, wherever in the function
// they are, and why. It names no line, so that the code around may change; where there is no such change any more, the
// entry is stale and has to be thought over.
type explained struct {
	at      int // line in the file of survivors
	place   string
	changes []string
	why     string
	used    []bool // which of the changes are there in the source
}

func readExplained(path string) ([]*explained, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	var all []*explained
	place := ""
	var e *explained // that is being read
	for i, line := range strings.Split(string(text), "\n") {
		content, indented := strings.CutPrefix(line, "\t")
		because, why := strings.CutPrefix(content, "because ")
		switch {
		case strings.TrimSpace(line) == "" || strings.HasPrefix(line, "#"):
			continue
		case !indented:
			place, e = content, nil
			continue
		case place == "" || why && e == nil:
			return nil, fmt.Errorf("%s:%d: a place, below it after a tab its changes, and then because", path, i+1)
		case e == nil:
			e = &explained{at: i + 1, place: place}
			all = append(all, e)
		}
		if why {
			e.why, e = because, nil
		} else {
			e.changes, e.used = append(e.changes, content), append(e.used, false)
		}
	}
	for _, e := range all {
		if e.why == "" || len(e.changes) == 0 {
			return nil, fmt.Errorf("%s:%d: no changes, or no reason", path, e.at)
		}
	}
	return all, nil
}

// find returns the entry that speaks of a mutant, nil where none does, and notes that it is not stale.
func find(all []*explained, m *mutant) *explained {
	for _, e := range all {
		if i := slices.Index(e.changes, m.change()); i >= 0 && e.place == m.file.path+" "+m.function() {
			e.used[i] = true
			return e
		}
	}
	return nil
}
