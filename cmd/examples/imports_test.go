package examples

import (
	"go/build"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every library imports what the table in DEVELOPERS.md says it may, and nothing that reaches a file, the network, the
// terminal or the environment; only recordings have to do with time. Package wiegand needs the standard library alone.
func TestImports(t *testing.T) {
	t.Parallel()
	const module = "github.com/cardtell/cardtell/"
	page, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	may := map[string]string{}
	for line := range strings.Lines(string(page)) {
		if cells := strings.Split(line, "|"); len(cells) == 5 {
			may[strings.Trim(cells[1], " `")] = cells[3]
		}
	}
	refused := []string{"os", "net", "syscall", "unsafe", "runtime", "path/filepath", "time"}
	for _, top := range []string{"wiegand", "formats"} {
		require.NoError(t, filepath.WalkDir("../../"+top, func(path string, d os.DirEntry, err error) error {
			dir := strings.TrimPrefix(filepath.ToSlash(path), "../../")
			if err != nil || !d.IsDir() {
				return err
			}
			if d.Name() == "testdata" || d.Name() == "calibration" {
				return filepath.SkipDir
			}
			pkg, err := build.ImportDir(path, 0)
			if _, none := err.(*build.NoGoError); none {
				return nil
			}
			require.NoError(t, err)
			require.Contains(t, may, dir, "DEVELOPERS.md has a row for each library")
			for _, imported := range pkg.Imports {
				elements := strings.Split(strings.TrimPrefix(imported, module), "/")
				switch {
				case strings.HasPrefix(imported, module):
					assert.Contains(t, may[dir], "`"+elements[len(elements)-1]+"`", "%s imports %s", dir, imported)
				case strings.Contains(elements[0], "."): // named by one of its elements, of which "x" is none
					assert.True(t, slices.ContainsFunc(elements[1:], func(e string) bool {
						return len(e) > 2 && strings.Contains(may[dir], e)
					}), "%s imports %s", dir, imported)
				case imported == "time" && strings.HasPrefix(dir, "wiegand/"):
				default:
					assert.NotContains(t, refused, elements[0], "%s imports %s", dir, imported)
					assert.NotContains(t, refused, imported, dir)
				}
			}
			return nil
		}))
	}
	assert.Equal(t, " standard library alone ", may["wiegand"])
}
