package line_test

import (
	"go/parser"
	"go/token"
	"os"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// TestImports keeps this package to the standard library and package wiegand, and away from files, the terminal and the
// environment.
func TestImports(t *testing.T) {
	t.Parallel()
	files, err := os.ReadDir(".")
	require.NoError(t, err)
	seen := 0
	for _, f := range files {
		if !strings.HasSuffix(f.Name(), ".go") || strings.HasSuffix(f.Name(), "_test.go") {
			continue
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), f.Name(), nil, parser.ImportsOnly)
		require.NoError(t, err)
		for _, i := range parsed.Imports {
			path := strings.Trim(i.Path.Value, `"`)
			require.NotContains(t, []string{"os", "os/exec", "syscall", "net", "path/filepath", "unsafe"}, path, f.Name())
			if strings.Contains(path, ".") {
				require.Equal(t, "github.com/cardtell/cardtell/wiegand", path, f.Name())
			}
			seen++
		}
	}
	require.Positive(t, seen)
}
