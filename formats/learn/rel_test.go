package learn

import (
	"fmt"
	"github.com/cardtell/cardtell/formats"
	"testing"
	"time"
)

func TestRel(t *testing.T) {
	cat := formats.Builtin()
	for _, ps := range [][]Pair{
		{{1, "0009876543", "150,46143"}},
		{{1, "0009876543", "15046143"}},
		{{1, "0009876543", "150,46143"}, {2, "0007625328", "116,23152"}},
		{{1, "26:32D687E", "46143"}, {2, "26:3A83702", "7041"}},
		{{1, "3974465139", "1938220524"}},
		{{1, "uid:04A9DBA2853280", "3685287048"}},
		{{1, "E0:04:01:50:76:D2:81:05", "0581D276500104E0"}},
		{{1, "150,46143", "26:32D687E"}},
		{{1, "5", "5"}},
		{{1, "12345", "22345"}, {2, "777", "10777"}},
		{{1, "12345", "22345"}, {2, "777", "10777"}, {3, "888", "10889"}},
	} {
		st := time.Now()
		r, err := Relate(ps, cat)
		fmt.Println(ps, time.Since(st), err, "unknown", r.Unknown)
		for i, f := range r.Rules {
			fmt.Printf("   %.4f (%d) %s\n", f.Probability, f.Others, f.Rule.String())
			if i > 4 {
				break
			}
		}
		for i, d := range r.Differences {
			fmt.Println("   diff", d)
			if i > 2 {
				break
			}
		}
		if r.Nearly != nil {
			fmt.Println("  nearly", r.Nearly.String(), r.Breaks)
		}
	}
}
