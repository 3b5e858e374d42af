// Command api writes down what packages export, one declaration a line, sorted: a file of plain text for each, so that
// a review of a change shows what importers get and lose. Beside it, check compares with the files that are kept and
// update writes them.
//
//	go run ./.ci/api FOLDER PACKAGE...
package main

import (
	"bytes"
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
	imp := importer.ForCompiler(token.NewFileSet(), "source", nil)
	for _, path := range os.Args[2:] {
		if err := write(os.Args[1], path, imp); err != nil {
			fmt.Fprintln(os.Stderr, "api:", err)
			os.Exit(1)
		}
	}
}

// write writes the file of one package.
func write(folder, path string, imp types.Importer) error {
	pkg, err := imp.Import(path)
	if err != nil {
		return err
	}
	name := strings.ReplaceAll(strings.TrimPrefix(path, module), "/", "-") + ".txt"
	return os.WriteFile(filepath.Join(folder, name), []byte(strings.Join(declarations(pkg), "\n")+"\n"), 0o644)
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
