package examples

import (
	"go/ast"
	"go/doc"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// libraries are the packages that others import, as folders.
var libraries = []string{"wiegand", "wiegand/line", "wiegand/osdp", "formats", "formats/rank", "formats/learn",
	"formats/relate",
	"formats/site", "formats/reading", "formats/survey", "formats/match", "formats/roster"}

// shownElsewhere are entry points that need no example of their own, and why.
var shownElsewhere = map[string]string{
	"line.Round":         "what the program does to a time before it prints it",
	"reading.FormHint":   "a part of messages",
	"reading.FormatHint": "a part of messages",
}

// calledByOthers are methods that fmt, encoding/json and errors call, and no program by name.
var calledByOthers = map[string]bool{
	"String": true, "Format": true, "MarshalText": true, "UnmarshalText": true, "AppendText": true, "Error": true,
	"Unwrap": true,
}

// Every library has an overview that says where to start, every exported name is documented, and every function that
// begins something is called in an example whose output is checked. Of the core every method is, and every field of a
// struct is documented too.
func TestDocumentation(t *testing.T) {
	t.Parallel()
	for _, dir := range libraries {
		set, files, tests := parse(t, filepath.Join("..", "..", filepath.FromSlash(dir)))
		pkg, err := doc.NewFromFiles(set, files, "github.com/cardtell/cardtell/"+dir)
		require.NoError(t, err)
		assert.True(t, strings.HasPrefix(pkg.Doc, "Package "+pkg.Name+" "), "%s: the overview begins with the package's name",
			dir)
		assert.Contains(t, pkg.Doc, "# Where to start", dir)
		called := map[string]bool{}
		for _, e := range doc.Examples(tests...) {
			if e.Output == "" && !e.EmptyOutput {
				t.Errorf("%s: Example%s has no output to check", dir, e.Name)
			}
			ast.Inspect(e.Code, func(n ast.Node) bool {
				if s, ok := n.(*ast.SelectorExpr); ok {
					called[s.Sel.Name] = true
				}
				return true
			})
		}
		check := func(kind, name, text string) {
			assert.NotEmpty(t, strings.TrimSpace(text), "%s: %s %s is not documented", dir, kind, name)
		}
		entry := func(name string) {
			if shownElsewhere[pkg.Name+"."+name] == "" && !strings.HasPrefix(name, "Must") {
				assert.True(t, called[name], "%s: no example calls %s", dir, name)
			}
		}
		for _, f := range pkg.Funcs {
			check("func", f.Name, f.Doc)
			entry(f.Name)
		}
		for _, typ := range pkg.Types {
			check("type", typ.Name, typ.Doc)
			for _, field := range fields(typ.Decl) {
				if dir != "wiegand" {
					break
				}
				check("field", typ.Name+"."+field.Names[0].Name, field.Doc.Text()+field.Comment.Text())
			}
			for _, f := range typ.Funcs {
				check("func", f.Name, f.Doc)
				entry(f.Name)
			}
			for _, m := range typ.Methods {
				check("method", typ.Name+"."+m.Name, m.Doc)
				if dir == "wiegand" && !calledByOthers[m.Name] {
					entry(m.Name)
				}
			}
		}
	}
}

// fields returns the exported fields of the structs that a declaration makes, one for each line of names.
func fields(decl *ast.GenDecl) (all []*ast.Field) {
	ast.Inspect(decl, func(n ast.Node) bool {
		if f, ok := n.(*ast.Field); ok && len(f.Names) > 0 && f.Names[0].IsExported() {
			if _, isMethod := f.Type.(*ast.FuncType); !isMethod {
				all = append(all, f)
			}
		}
		return true
	})
	return all
}

// parse reads a folder's Go files, and those of its tests.
func parse(t *testing.T, dir string) (set *token.FileSet, files, tests []*ast.File) {
	t.Helper()
	names, err := filepath.Glob(filepath.Join(dir, "*.go"))
	require.NoError(t, err)
	require.NotEmpty(t, names)
	set = token.NewFileSet()
	for _, name := range names {
		text, err := os.ReadFile(name)
		require.NoError(t, err)
		f, err := parser.ParseFile(set, name, text, parser.ParseComments)
		require.NoError(t, err)
		if strings.HasSuffix(name, "_test.go") {
			tests = append(tests, f)
		} else {
			files = append(files, f)
		}
	}
	return set, files, tests
}
