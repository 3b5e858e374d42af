// Package near finds the names that a mistyped one was probably meant to be.
package near

import (
	"sort"
	"strings"

	"github.com/agnivade/levenshtein"
)

// maxCompared is how many bytes of a name are compared: the distance takes time with the square of the length.
const maxCompared = 64

// Sort returns the names with the nearest to want first: those that begin with it, then by the number of letters to
// change, upper and lower case alike; those as near as each other keep their order.
func Sort(want string, names []string) []string {
	want = fold(want)
	type near struct {
		name     string
		distance int
	}
	all := make([]near, len(names))
	for i, name := range names {
		all[i] = near{name, levenshtein.ComputeDistance(want, fold(name))}
		if begins := strings.HasPrefix(strings.Trim(fold(name), `"`), strings.Trim(want, `"`)); begins && want != "" {
			all[i].distance -= 2 * maxCompared
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].distance < all[j].distance })
	sorted := make([]string, len(all))
	for i := range all {
		sorted[i] = all[i].name
	}
	return sorted
}

func fold(s string) string {
	s = strings.ToLower(strings.TrimSpace(s))
	return s[:min(len(s), maxCompared)]
}

// List returns at most n of the names, nearest first, for a message: "a, b", or "a, b, …" where there are more.
func List(want string, names []string, n int) string {
	sorted := Sort(want, names)
	n = min(max(n, 0), len(sorted))
	text := strings.Join(sorted[:n], ", ")
	if n < len(sorted) {
		text += ", …"
	}
	return text
}
