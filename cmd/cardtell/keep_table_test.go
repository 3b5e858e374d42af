package main

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

var calibrationFolder = flag.String("calibration", "", "write what is measured as CSV into this `FOLDER`, instead of comparing it with testdata/calibration")

// keepTable compares a table with the one of this name in testdata/calibration, or writes it where the flag -calibration says to.
// Other machines may round a last bit otherwise, so that only amd64 compares.
func keepTable(t *testing.T, name string, table calibration.Table) {
	t.Helper()
	if *calibrationFolder != "" {
		require.NoError(t, os.WriteFile(filepath.Join(*calibrationFolder, name), []byte(table.CSV()), 0o644))
		return
	}
	if runtime.GOARCH != "amd64" {
		return
	}
	kept, err := os.ReadFile(filepath.Join("../../testdata/calibration", name))
	require.NoError(t, err)
	assert.Equal(t, string(kept), table.CSV(), "%s is stale; .ci/calibrate writes it anew", name)
}
