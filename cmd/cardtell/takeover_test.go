package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The takeover of the demo site: cards in hand are identified, the old list is converted for three doors, the events of
// one of them are matched. What is written is kept in testdata/demo; go test ./cmd/cardtell -run Takeover -update
// rewrites it.
func TestTakeover(t *testing.T) {
	t.Chdir("../..")
	const demo = "testdata/demo/"
	code, stdout, _ := cli("identify", "--file", demo+"drawer.txt", "--site", demo+"site.toml")
	assert.Equal(t, 0, code)
	assert.Contains(t, stdout, ">99.9 %  26-8-16")
	dir := t.TempDir()
	code, _, stderr := cli("batch", demo+"staff.csv", "-c", "Card no", "--site", demo+"site.toml", "--door", "all", "-o",
		filepath.Join(dir, "new.csv"))
	assert.Equal(t, 1, code, stderr)
	code, _, stderr = cli("match", demo+"events.csv", "-c", "Card", "--list", demo+"staff.csv", "--list-column", "Card no",
		"--site", demo+"site.toml",
		"--door", "Yard gate", "-o", filepath.Join(dir, "events-named.csv"))
	assert.Equal(t, 1, code, stderr)
	files := names(t, dir)
	assert.Equal(t, []string{"events-named.csv", "new.csv.rejects.csv", "new.north-stair.csv", "new.print-room.csv",
		"new.yard-gate.csv"}, files)
	for _, name := range files {
		got := read(t, filepath.Join(dir, name))
		if *update {
			require.NoError(t, os.WriteFile(demo+name, []byte(got), 0o644))
		}
		assert.Equal(t, read(t, demo+name), got, name)
	}
	// the new numbers open the doors: what is typed in is the card that a reader sends, by the parity rule of the standard
	code, stdout, _ = cli("convert", "0007929873", "--from", "decimal10", "--to", "bits-hex", "--format", "26-8-16")
	assert.Equal(t, 0, code)
	assert.Equal(t, "26:2F20023\n", stdout, "card 1 of drawer.txt")
	assert.Contains(t, read(t, demo+"new.yard-gate.csv"), ";0007929873")
	assert.Contains(t, read(t, demo+"drawer.txt"), "2F20023")
}
