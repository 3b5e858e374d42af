package near

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestSort(t *testing.T) {
	// From kitten it is 3 changes to sitting and 1 to mitten (V. I. Levenshtein's distance, the usual example).
	names := []string{"sitting", "saturday", "Mitten", "bitten"}
	assert.Equal(t, []string{"Mitten", "bitten", "sitting", "saturday"}, Sort(" KITTEN ", names),
		"case and white space count for nothing; ties keep their order")
	assert.Equal(t, []string{"sitting", "saturday", "Mitten", "bitten"}, names, "the list is left alone")
	assert.Empty(t, Sort("x", nil))
	assert.Equal(t, []string{"26-8-16", "26-0-24", "6-26"}, Sort("26", []string{"6-26", "26-8-16", "26-0-24"}),
		"what goes on as it begins is nearer than what has fewer letters to change")
	assert.Equal(t, []string{`"Staff room"`, `"Stairs"`}, Sort(`"Staff"`, []string{`"Stairs"`, `"Staff room"`}))
}

func TestList(t *testing.T) {
	names := []string{`"c"`, `"bb"`, `"a"`}
	assert.Equal(t, `"a", "c", "bb"`, List(`"a"`, names, 3))
	assert.Equal(t, `"a", "c", …`, List(`"a"`, names, 2))
	assert.Equal(t, `"a", "c", "bb"`, List(`"a"`, names, 9))
	assert.Empty(t, List("a", nil, 3))
	assert.Equal(t, List("a", names, 0), List("a", names, -1), "as none")
}

// A name of any length takes no longer than one of 64 bytes: the rest is not compared.
func TestLongNames(t *testing.T) {
	long := strings.Repeat("x", 1<<20)
	assert.Equal(t, []string{long + "y", "z"}, Sort(long, []string{"z", long + "y"}))
	assert.Equal(t, []string{"a", "é" + long}, Sort("a", []string{"é" + long, "a"}),
		"a letter that is cut in two does no harm")
}
