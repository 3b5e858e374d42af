package main

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Bits that are computed from a number are not called a read, in text, drawing, sheet and JSON; those of a read are.
func TestComputedBitsAreNoRead(t *testing.T) {
	t.Parallel()
	const words = "No read was seen"
	dir := t.TempDir()
	for text, computed := range map[string]bool{"121,08417": true, "26:0F241C3": false, "26:0F241C3=08417": false,
		"8417": true} {
		assert.Equal(t, computed, strings.Contains(do("draw "+text, "").out, words), text)
		assert.Equal(t, computed, strings.Contains(do("draw "+text+" --json", "").out, `"computed":true`), text)
		for _, kind := range []string{".svg", ".html"} {
			out := filepath.Join(dir, "x"+kind)
			require.Equal(t, exitDone, do("draw "+text+" -o "+out, "").code)
			drawn := read(t, out)
			assert.Equal(t, computed, strings.Contains(drawn, words) && strings.Contains(drawn, "computed, not read"), text+kind)
			assert.NotEqual(t, computed, strings.Contains(drawn, ">read<"), text+kind)
		}
	}
	assert.Contains(t, do("draw 121,08417 --format 26-8-16", "").out, words)
}
