package formats

import (
	"go/build"
	"go/parser"
	"go/token"
	"os"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// This package imports the standard library, the core, a TOML reader and names for sets of types, and nothing that
// reaches a file, the network, the clock or the environment.
func TestImports(t *testing.T) {
	allowed := map[string]bool{"github.com/cardtell/cardtell/wiegand": true, "github.com/pelletier/go-toml/v2": true,
		"golang.org/x/exp/constraints": true, "github.com/cardtell/cardtell/formats/internal/words": true}
	refused := []string{"os", "net", "syscall", "time", "unsafe", "runtime", "math/rand"}
	pkg, err := build.ImportDir(".", 0)
	require.NoError(t, err)
	require.NotEmpty(t, pkg.GoFiles)
	for _, name := range pkg.GoFiles {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		file, err := parser.ParseFile(token.NewFileSet(), name, text, parser.ImportsOnly)
		require.NoError(t, err)
		for _, spec := range file.Imports {
			path, err := strconv.Unquote(spec.Path.Value)
			require.NoError(t, err)
			standard := !strings.Contains(strings.Split(path, "/")[0], ".")
			assert.True(t, standard || allowed[path], "%s imports %s", name, path)
			for _, r := range refused {
				assert.False(t, path == r || strings.HasPrefix(path, r+"/"), "%s imports %s", name, path)
			}
		}
	}
}
