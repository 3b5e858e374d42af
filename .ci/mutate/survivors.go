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
//		from = max(0, min(from, b.Len()))
//			max(0, min(from, b.Len())) -> max((0-1), min(from, b.Len()))
//			because a slice from -1 is one from 0
//
// that is a file and a function ("-" at package level), a line of its source, the changes of that line that no test can
// see (* for all of them), and why. It names no line number, so that code above may change; where the line itself
// changes, the entry is stale and has to be thought over.
type explained struct {
	at      int // line in the file of survivors
	place   string
	source  string
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
	for i, line := range strings.Split(string(text), "\n") {
		content := strings.TrimSpace(line)
		tabs := len(line) - len(strings.TrimLeft(line, "\t"))
		because, why := strings.CutPrefix(content, "because ")
		switch {
		case content == "" || strings.HasPrefix(line, "#"):
		case tabs == 0:
			place = content
		case tabs == 1 && place != "":
			all = append(all, &explained{at: i + 1, place: place, source: content})
		case tabs == 2 && len(all) > 0 && why:
			all[len(all)-1].why = because
		case tabs == 2 && len(all) > 0:
			e := all[len(all)-1]
			e.changes, e.used = append(e.changes, content), append(e.used, false)
		default:
			return nil, fmt.Errorf("%s:%d: a place, its source line after one tab, its changes after two", path, i+1)
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
	source := m.source()
	for _, e := range all {
		if e.place != m.file.path+" "+m.function() || e.source != source {
			continue
		}
		i := max(slices.Index(e.changes, "*"), slices.Index(e.changes, m.change()))
		if i >= 0 {
			e.used[i] = true
			return e
		}
	}
	return nil
}
