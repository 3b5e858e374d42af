// Command api writes down what the libraries export, one declaration a line, sorted: a file of plain text for each
// package, so that a review of a change shows what importers get and lose.
//
//	go run ./.ci/api           # compares with the files, and fails where they differ
//	go run ./.ci/api -update   # writes them anew, where the change is meant
package main

import (
	"bytes"
	"flag"
	"fmt"
	"go/importer"
	"go/token"
	"go/types"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

const module = "github.com/cardtell/cardtell/"

func main() {
	update := flag.Bool("update", false, "write the files anew")
	flag.Parse()
	if err := run(*update); err != nil {
		fmt.Fprintln(os.Stderr, "api:", err)
		os.Exit(1)
	}
}

func run(update bool) error {
	packages, err := libraries()
	if err != nil {
		return err
	}
	imp := importer.ForCompiler(token.NewFileSet(), "source", nil)
	differ := false
	left, err := filepath.Glob(filepath.Join(".ci", "api", "*.txt"))
	if err != nil {
		return err
	}
	for _, name := range packages {
		pkg, err := imp.Import(module + name)
		if err != nil {
			return err
		}
		file := filepath.Join(".ci", "api", strings.ReplaceAll(name, "/", "-")+".txt")
		lines := declarations(pkg)
		left = slices.DeleteFunc(left, func(list string) bool { return list == file })
		if update {
			if err := os.WriteFile(file, []byte(strings.Join(lines, "\n")+"\n"), 0o644); err != nil {
				return err
			}
			continue
		}
		kept, err := os.ReadFile(file)
		if err != nil {
			return fmt.Errorf("%s has no list; .ci/api/update writes it: %w", name, err)
		}
		old := strings.Split(strings.TrimSuffix(string(kept), "\n"), "\n")
		differ = compare(name, old, lines) || differ
	}
	for _, list := range left { // of packages that are no more
		fmt.Printf("%s: the package is gone, and importers who use it break\n", list)
		if update {
			if err := os.Remove(list); err != nil {
				return err
			}
		}
	}
	if differ || len(left) > 0 && !update {
		return fmt.Errorf("what is exported is not what was written down; where that is meant, run .ci/api/update")
	}
	return nil
}

// libraries returns the folders whose packages others import: all with Go code but those under internal, and the one
// for our own tests.
func libraries() (all []string, err error) {
	for _, root := range []string{"wiegand", "formats"} {
		err = filepath.WalkDir(root, func(path string, d os.DirEntry, err error) error {
			if err != nil || !d.IsDir() {
				return err
			}
			if name := d.Name(); name == "internal" || name == "testdata" || name == "calibration" {
				return filepath.SkipDir
			}
			code, _ := filepath.Glob(filepath.Join(path, "*.go"))
			if slices.ContainsFunc(code, func(f string) bool { return !strings.HasSuffix(f, "_test.go") }) {
				all = append(all, filepath.ToSlash(path))
			}
			return nil
		})
		if err != nil {
			return nil, err
		}
	}
	return all, nil
}

// compare says which lines went and which came.
func compare(name string, old, now []string) bool {
	differ := false
	for _, line := range old {
		if !slices.Contains(now, line) {
			fmt.Printf("%s: gone, and importers who use it break: %s\n", name, line)
			differ = true
		}
	}
	for _, line := range now {
		if !slices.Contains(old, line) {
			fmt.Printf("%s: new: %s\n", name, line)
			differ = true
		}
	}
	return differ
}

// declarations returns what a package exports.
func declarations(pkg *types.Package) []string {
	own := func(p *types.Package) string {
		if p == pkg {
			return ""
		}
		return p.Name()
	}
	text := func(t types.Type) string { return types.TypeString(t, own) }
	var lines []string
	for _, name := range pkg.Scope().Names() {
		object := pkg.Scope().Lookup(name)
		if !object.Exported() {
			continue
		}
		switch o := object.(type) {
		case *types.Const:
			lines = append(lines, fmt.Sprintf("const %s %s = %s", name, strings.TrimPrefix(text(o.Type()), "untyped "), o.Val()))
		case *types.TypeName:
			lines = append(lines, typeLines(o, text, own)...)
		case *types.Func:
			lines = append(lines, "func "+name+signature(o, own))
		default:
			lines = append(lines, "var "+name+" "+text(o.Type()))
		}
	}
	slices.Sort(lines)
	return lines
}

func signature(f *types.Func, own types.Qualifier) string {
	var b bytes.Buffer
	types.WriteSignature(&b, f.Signature(), own)
	return b.String()
}

// typeLines returns a type, its exported fields, and its methods, those of embedded types included.
func typeLines(o *types.TypeName, text func(types.Type) string, own types.Qualifier) []string {
	name := o.Name()
	if o.IsAlias() {
		return []string{"type " + name + " = " + text(types.Unalias(o.Type()))}
	}
	var lines []string
	comparable := ""
	if types.Comparable(o.Type()) {
		comparable = ", comparable"
	}
	switch u := o.Type().Underlying().(type) {
	case *types.Struct:
		lines = append(lines, "type "+name+" struct"+comparable)
		for i := range u.NumFields() {
			if f := u.Field(i); f.Exported() {
				lines = append(lines, strings.TrimSpace(fmt.Sprintf("field %s.%s %s %s", name, f.Name(), text(f.Type()), u.Tag(i))))
			}
		}
	case *types.Interface:
		return []string{"type " + name + " " + text(u)}
	default:
		lines = append(lines, "type "+name+" "+text(u))
	}
	values, all := types.NewMethodSet(o.Type()), types.NewMethodSet(types.NewPointer(o.Type()))
	for i := range all.Len() {
		f := all.At(i).Obj().(*types.Func)
		if !f.Exported() {
			continue
		}
		receiver := "*" + name
		if values.Lookup(f.Pkg(), f.Name()) != nil {
			receiver = name
		}
		lines = append(lines, fmt.Sprintf("method (%s) %s%s", receiver, f.Name(), signature(f, own)))
	}
	return lines
}
