package main

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"os"
	"slices"
	"strings"
)

// mutant is one change in one place of a source file: the bytes from start to end become text.
type mutant struct {
	file       *file
	fn         *ast.FuncDecl // nil at package level
	start, end int
	text       string
	from, to   string // what a reader is shown: the expression or statement, before and after
	id         int    // counted from 1 over the package
}

// file is a source file and its mutants.
type file struct {
	path    string // from the root of the module
	source  string
	set     *token.FileSet
	ast     *ast.File
	mutants []*mutant
}

func (f *file) offset(p token.Pos) int { return f.set.Position(p).Offset }

func (f *file) textOf(n ast.Node) string { return f.source[f.offset(n.Pos()):f.offset(n.End())] }

// String is how a mutant is listed.
func (m *mutant) String() string {
	line := strings.Count(m.file.source[:m.start], "\n") + 1
	return fmt.Sprintf("%s:%d %s: %s", m.file.path, line, m.function(), m.change())
}

// function names the function of a mutant, with its receiver's type.
func (m *mutant) function() string {
	if m.fn == nil {
		return "-"
	}
	if m.fn.Recv == nil {
		return m.fn.Name.Name
	}
	t := m.fn.Recv.List[0].Type
	if star, ok := t.(*ast.StarExpr); ok {
		t = star.X
	}
	if list, ok := t.(*ast.IndexListExpr); ok {
		t = list.X
	}
	return m.file.textOf(t) + "." + m.fn.Name.Name
}

func (m *mutant) change() string { return m.from + " -> " + m.to }

// readFile finds every mutant of a source file, in the order of the source.
func readFile(root, path string) (*file, error) {
	source, err := os.ReadFile(root + "/" + path)
	if err != nil {
		return nil, err
	}
	f := &file{path: path, source: string(source), set: token.NewFileSet()}
	if f.ast, err = parser.ParseFile(f.set, path, source, parser.SkipObjectResolution); err != nil {
		return nil, err
	}
	for _, d := range f.ast.Decls {
		switch d := d.(type) {
		case *ast.FuncDecl:
			w := walker{file: f, fn: d, results: []*ast.FieldList{d.Type.Results}}
			w.walk(d.Body)
		case *ast.GenDecl:
			w := walker{file: f}
			w.walk(d)
		}
	}
	slices.SortStableFunc(f.mutants, func(a, b *mutant) int { return a.start - b.start })
	return f, nil
}

// walker goes through one declaration.
type walker struct {
	file    *file
	fn      *ast.FuncDecl
	results []*ast.FieldList // of the functions around the present place, the innermost last
	parents []ast.Node
}

func (w *walker) walk(n ast.Node) {
	ast.Inspect(n, func(n ast.Node) bool {
		if n == nil {
			last := w.parents[len(w.parents)-1]
			if _, ok := last.(*ast.FuncLit); ok {
				w.results = w.results[:len(w.results)-1]
			}
			w.parents = w.parents[:len(w.parents)-1]
			return true
		}
		switch n := n.(type) {
		case *ast.ImportSpec, *ast.ArrayType: // a path is no number, and the length of a type is held by the compiler
			return false
		case *ast.BinaryExpr:
			w.operator(n, n.OpPos, n.Op)
		case *ast.AssignStmt:
			w.operator(n, n.TokPos, n.Tok)
		case *ast.IncDecStmt:
			w.operator(n, n.TokPos, n.Tok)
		case *ast.UnaryExpr:
			if n.Op == token.NOT || n.Op == token.SUB || n.Op == token.XOR {
				w.add(n, n.OpPos, len(n.Op.String()), "")
			}
		case *ast.BasicLit:
			w.integer(n)
		case *ast.IfStmt:
			w.add(n.Cond, n.Cond.Pos(), int(n.Cond.End()-n.Cond.Pos()), "("+w.file.textOf(n.Cond)+") && false")
		case *ast.BlockStmt:
			w.statements(n.List)
		case *ast.CaseClause:
			w.statements(n.Body)
		case *ast.ReturnStmt:
			w.returned(n)
		case *ast.FuncLit:
			w.results = append(w.results, n.Type.Results)
		}
		w.parents = append(w.parents, n)
		return true
	})
}

// others are what an operator is changed to: for a comparison first the boundary, then the contrary.
var others = map[token.Token][]string{
	token.LSS: {"<=", ">="}, token.LEQ: {"<", ">"}, token.GTR: {">=", "<="}, token.GEQ: {">", "<"},
	token.EQL: {"!="}, token.NEQ: {"=="}, token.LAND: {"||"}, token.LOR: {"&&"},
	token.ADD: {"-"}, token.SUB: {"+"}, token.MUL: {"/"}, token.QUO: {"*"}, token.REM: {"*"},
	token.AND: {"|"}, token.OR: {"&"}, token.XOR: {"&"}, token.AND_NOT: {"&"}, token.SHL: {">>"}, token.SHR: {"<<"},
	token.ADD_ASSIGN: {"-="}, token.SUB_ASSIGN: {"+="}, token.MUL_ASSIGN: {"/="}, token.QUO_ASSIGN: {"*="},
	token.REM_ASSIGN: {"*="}, token.AND_ASSIGN: {"|="}, token.OR_ASSIGN: {"&="}, token.XOR_ASSIGN: {"&="},
	token.AND_NOT_ASSIGN: {"&="}, token.SHL_ASSIGN: {">>="}, token.SHR_ASSIGN: {"<<="}, token.INC: {"--"},
	token.DEC: {"++"},
}

func (w *walker) operator(n ast.Node, at token.Pos, op token.Token) {
	for _, other := range others[op] {
		w.add(n, at, len(op.String()), other)
	}
}

// integer makes a number one more and one less. It is shown within the expression around it where that is short.
func (w *walker) integer(n *ast.BasicLit) {
	if n.Kind != token.INT {
		return
	}
	var around ast.Node = n
	if len(w.parents) > 0 {
		if e, ok := w.parents[len(w.parents)-1].(ast.Expr); ok && len(w.file.textOf(e)) <= 60 {
			around = e
		}
	}
	for _, d := range []string{"+1", "-1"} {
		w.add(around, n.Pos(), len(n.Value), "("+n.Value+d+")")
	}
}

// statements removes each statement that is no declaration; returns and blocks have mutants of their own.
func (w *walker) statements(list []ast.Stmt) {
	for _, s := range list {
		switch s := s.(type) {
		case *ast.AssignStmt:
			if s.Tok != token.DEFINE {
				w.add(s, s.Pos(), len(w.file.textOf(s)), "")
			}
		case *ast.ExprStmt, *ast.IncDecStmt, *ast.DeferStmt, *ast.BranchStmt:
			w.add(s, s.Pos(), len(w.file.textOf(s)), "")
		}
	}
}

// returned returns zeros in place of values.
func (w *walker) returned(n *ast.ReturnStmt) {
	if len(n.Results) == 0 || len(w.results) == 0 {
		return
	}
	var zeros []string
	for _, r := range w.results[len(w.results)-1].List {
		for range max(1, len(r.Names)) {
			zeros = append(zeros, "*new("+w.file.textOf(r.Type)+")")
		}
	}
	zero := true // whether that is what it does anyway
	for _, r := range n.Results {
		text := w.file.textOf(r)
		zero = zero && (slices.Contains([]string{"nil", "0", "false", `""`}, text) || strings.HasSuffix(text, "{}"))
	}
	if !zero {
		w.add(n, n.Results[0].Pos(), int(n.End()-n.Results[0].Pos()), strings.Join(zeros, ", "))
	}
}

// add notes a mutant: in node n, size bytes at a place become text.
func (w *walker) add(n ast.Node, at token.Pos, size int, text string) {
	begin, end := w.file.offset(n.Pos()), w.file.offset(n.End())
	m := &mutant{file: w.file, fn: w.fn, start: w.file.offset(at), text: text}
	m.end = m.start + size
	m.from, m.to = w.file.source[begin:end], w.file.source[begin:m.start]+text+w.file.source[m.end:end]
	if _, ok := n.(*ast.ReturnStmt); ok {
		m.to = "return zero"
	}
	if m.to == "" {
		m.to = "nothing"
	}
	m.from, m.to = oneLine(m.from), oneLine(m.to)
	w.file.mutants = append(w.file.mutants, m)
}

// oneLine is a text for a line of output. What is left out of a long one is in its source line, or was not changed.
func oneLine(s string) string {
	s = strings.Join(strings.Fields(s), " ")
	if len(s) > 110 {
		s = fmt.Sprintf("%s … %s", strings.ToValidUTF8(s[:60], ""), strings.ToValidUTF8(s[len(s)-40:], ""))
	}
	return s
}
