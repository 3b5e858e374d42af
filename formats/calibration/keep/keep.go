// Package keep holds what tests measure to the tables in testdata/calibration. Tests alone import it: it adds a flag to
// them.
package keep

import (
	"flag"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"github.com/cardtell/cardtell/formats/calibration"
)

var folder = flag.String("calibration", "",
	"write what is measured as CSV into this `FOLDER`, instead of comparing it with testdata/calibration")

// Writes reports whether tables are written instead of compared: the flag -calibration is there.
func Writes() bool { return *folder != "" }

// Table compares a table with the one of this name in testdata/calibration, or writes it where the flag -calibration
// says to. root is the way from the test's package to the top of the project. Other machines may round a last bit
// otherwise, so that only amd64 compares.
func Table(t *testing.T, root, name string, table calibration.Table) {
	t.Helper()
	if Writes() {
		require.NoError(t, os.WriteFile(filepath.Join(*folder, name), []byte(table.CSV()), 0o644))
		return
	}
	if runtime.GOARCH != "amd64" {
		return
	}
	kept, err := os.ReadFile(filepath.Join(root, "testdata/calibration", name))
	require.NoError(t, err)
	assert.Equal(t, string(kept), table.CSV(), "%s is stale; .ci/calibrate writes it anew", name)
}
