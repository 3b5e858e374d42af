package main

import (
	"encoding/json"
	"fmt"
	"go/ast"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
)

// chosen names the variable, in the environment and in the mutated package, that says which mutant is at work.
const chosen = "mutant__"

// A batch is built into one test binary: every function with mutants is there again once for each of them, and begins
// by handing over to the copy that the environment asks for. So a package is compiled once, and not a thousand times. A
// mutant at package level, which has no function to copy, is a batch of its own.
type batch []*mutant

// batches groups the mutants of a package.
func batches(mutants []*mutant) []batch {
	all := []batch{{}}
	for _, m := range mutants {
		if m.fn != nil {
			all[0] = append(all[0], m)
		} else {
			all = append(all, batch{m})
		}
	}
	return all
}

// build makes the test binary of a batch and returns the mutants that compile. The tree is not touched: the compiler
// sees the changed files by go's -overlay.
func (b batch) build(p *pkg, binary string) (batch, error) {
	for {
		places, err := b.write(p)
		if err != nil {
			return nil, err
		}
		cmd := exec.Command("go", "test", "-c", "-vet=off", "-ldflags=-s -w", "-gcflags=-e", "-overlay",
			filepath.Join(p.tmp, "overlay.json"),
			"-o", binary, p.path)
		cmd.Dir = p.root
		out, err := cmd.CombinedOutput()
		if err == nil {
			return b, nil
		}
		bad := map[*mutant]bool{}
		for _, m := range compileError.FindAllSubmatch(out, -1) {
			line, _ := strconv.Atoi(string(m[2]))
			for _, at := range places {
				if at.file == filepath.Base(string(m[1])) && at.from <= line && line <= at.to {
					bad[at.m] = true
				}
			}
		}
		left := slices.DeleteFunc(slices.Clone(b), func(m *mutant) bool { return bad[m] })
		if len(left) == len(b) {
			return nil, fmt.Errorf("%s does not build, and no mutant is to blame:\n%s", p.path, out)
		}
		if b = left; len(b) == 0 {
			return b, nil
		}
	}
}

var compileError = regexp.MustCompile(`(?m)^(\S+\.go):(\d+):\d+: `)

// place is where in a written file a mutant is, in lines from 1.
type place struct {
	m        *mutant
	file     string
	from, to int
}

// write writes the files of a batch and the overlay that puts them in place of the real ones.
func (b batch) write(p *pkg) ([]place, error) {
	replace := map[string]string{}
	var places []place
	put := func(name, text string) error {
		to := filepath.Join(p.tmp, filepath.Base(name))
		replace[filepath.Join(p.root, name)] = to
		return os.WriteFile(to, []byte(text), 0o644)
	}
	for _, f := range p.files {
		text, at := b.rewrite(f)
		places = append(places, at...)
		if err := put(f.path, text); err != nil {
			return nil, err
		}
	}
	err := put(filepath.Join(p.path, "zz_mutant.go"), fmt.Sprintf(
		"package %s\n\nimport (\n\t\"os\"\n\t\"strconv\"\n)\n\nvar %s, _ = strconv.Atoi(os.Getenv(%q))\n",
		p.files[0].ast.Name.Name, chosen, chosen))
	if err != nil {
		return nil, err
	}
	overlay, err := json.Marshal(map[string]any{"Replace": replace})
	if err != nil {
		return nil, err
	}
	return places, os.WriteFile(filepath.Join(p.tmp, "overlay.json"), overlay, 0o644)
}

// rewrite returns a file with the batch's mutants in it.
func (b batch) rewrite(f *file) (string, []place) {
	byFunction := map[*ast.FuncDecl][]*mutant{}
	for _, m := range b {
		if m.file != f {
			continue
		}
		if m.fn == nil {
			return f.source[:m.start] + m.text + f.source[m.end:], []place{{m, filepath.Base(f.path), 1, 1 << 30}}
		}
		byFunction[m.fn] = append(byFunction[m.fn], m)
	}
	var text, copies strings.Builder
	var places []place
	at, lines := 0, strings.Count(f.source, "\n")+1
	for _, d := range f.ast.Decls {
		fn, ok := d.(*ast.FuncDecl)
		if !ok || byFunction[fn] == nil {
			continue
		}
		h := headOf(f, fn)
		text.WriteString(f.source[at:f.offset(fn.Pos())] + h.declare(fn.Name.Name) + "{ if " + chosen + " != 0 { switch " +
			chosen + " {")
		for _, m := range byFunction[fn] {
			name := fmt.Sprintf("%s__%d", fn.Name.Name, m.id)
			fmt.Fprintf(&text, "case %d: %s;", m.id, h.call(name))
			body := f.offset(fn.Body.Pos())
			mutated := "\n" + h.declare(name) + f.source[body:m.start] + m.text + f.source[m.end:f.offset(fn.Body.End())] + "\n"
			places = append(places, place{m, filepath.Base(f.path), lines + 1, lines + strings.Count(mutated, "\n")})
			lines += strings.Count(mutated, "\n")
			copies.WriteString(mutated)
		}
		text.WriteString("}};")
		at = f.offset(fn.Body.Pos()) + 1
	}
	return text.String() + f.source[at:] + copies.String(), places
}

// head is what stands before a function's body, with a name for everything, so that it can be handed on.
type head struct {
	receiver, receiverName, types, typeNames, params, args, results string
	returns                                                         bool
}

func headOf(f *file, fn *ast.FuncDecl) head {
	var h head
	h.receiver, h.receiverName = named(f, fn.Recv, "r__")
	h.types, h.typeNames = named(f, fn.Type.TypeParams, "t__")
	h.params, h.args = named(f, fn.Type.Params, "p__")
	if h.returns = fn.Type.Results != nil; h.returns {
		h.results = f.textOf(fn.Type.Results)
	}
	if h.types != "" {
		h.types, h.typeNames = "["+h.types+"]", "["+h.typeNames+"]"
	}
	return h
}

// named returns a list of parameters in which all have names, and the names.
func named(f *file, list *ast.FieldList, prefix string) (declared, names string) {
	if list == nil {
		return "", ""
	}
	var all, args []string
	for i, field := range list.List {
		var group []string
		for k := range max(1, len(field.Names)) {
			name := fmt.Sprintf("%s%d_%d", prefix, i, k)
			if k < len(field.Names) && field.Names[k].Name != "_" {
				name = field.Names[k].Name
			}
			group = append(group, name)
		}
		all = append(all, strings.Join(group, ", ")+" "+f.textOf(field.Type))
		if _, ok := field.Type.(*ast.Ellipsis); ok {
			group[0] += "..."
		}
		args = append(args, group...)
	}
	return strings.Join(all, ", "), strings.Join(args, ", ")
}

func (h head) declare(name string) string {
	s := "func "
	if h.receiver != "" {
		s += "(" + h.receiver + ") "
	}
	return s + name + h.types + "(" + h.params + ") " + h.results + " "
}

func (h head) call(name string) string {
	s := name + h.typeNames + "(" + h.args + ")"
	if h.receiver != "" {
		s = h.receiverName + "." + s
	}
	if h.returns {
		return "return " + s
	}
	return s + "; return"
}
