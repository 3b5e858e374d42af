package main

import (
	"cmp"
	"fmt"
	"go/ast"
	"go/build"
	"go/parser"
	"go/token"
	"os"
	"path/filepath"
	"slices"
	"strings"
)

// mutant is one change in one place of a source file: the bytes from start to end become text.
type mutant struct {
	file       *file
	function   string // where it is, with the receiver's type; "-" at package level
	start, end int
	text       string
	change     string // what a reader is shown: the expression or statement, before and after
}

// file is a source file and its mutants.
type file struct {
	path    string // from the root of the module
	source  string
	set     *token.FileSet
	mutants []*mutant

	function string // that is looked at
}

func (f *file) offset(p token.Pos) int { return f.set.Position(p).Offset }

func (f *file) textOf(n ast.Node) string { return f.source[f.offset(n.Pos()):f.offset(n.End())] }

// key names a mutant without its line, so that the code around it may change.
func (m *mutant) key() string { return m.file.path + " " + m.function + ": " + m.change }

// String is how a mutant is listed.
func (m *mutant) String() string {
	return fmt.Sprintf("%s:%d %s: %s", m.file.path, strings.Count(m.file.source[:m.start], "\n")+1, m.function, m.change)
}

// mutantsOf finds every mutant of a package, in the order of the source.
func mutantsOf(root, path string) (all []*mutant) {
	for _, name := range must(build.ImportDir(filepath.Join(root, path), 0)).GoFiles {
		source := must(os.ReadFile(filepath.Join(root, path, name)))
		f := &file{path: path + "/" + name, source: string(source), set: token.NewFileSet()}
		tree := must(parser.ParseFile(f.set, name, source, parser.SkipObjectResolution))
		for _, d := range tree.Decls {
			f.function = f.nameOf(d)
			ast.PreorderStack(d, nil, func(n ast.Node, within []ast.Node) bool {
				switch n.(type) { // a path is no number, and the length of a type is held by the compiler
				case *ast.ImportSpec, *ast.ArrayType:
					return false
				}
				f.find(n, within)
				return true
			})
		}
		slices.SortStableFunc(f.mutants, func(a, b *mutant) int { return a.start - b.start })
		all = append(all, f.mutants...)
	}
	return all
}

// nameOf names a function with the type of its receiver; it is "-" for other declarations.
func (f *file) nameOf(d ast.Decl) string {
	fn, ok := d.(*ast.FuncDecl)
	if !ok {
		return "-"
	}
	if fn.Recv == nil {
		return fn.Name.Name
	}
	receiver, _, _ := strings.Cut(strings.TrimPrefix(f.textOf(fn.Recv.List[0].Type), "*"), "[")
	return receiver + "." + fn.Name.Name
}

// find adds the mutants of one node, which stands within those of the stack.
func (f *file) find(n ast.Node, within []ast.Node) {
	switch n := n.(type) {
	case *ast.BinaryExpr:
		f.operator(n, n.OpPos, n.Op)
	case *ast.AssignStmt:
		f.operator(n, n.TokPos, n.Tok)
	case *ast.IncDecStmt:
		f.operator(n, n.TokPos, n.Tok)
	case *ast.UnaryExpr:
		if n.Op == token.NOT || n.Op == token.SUB || n.Op == token.XOR {
			f.add(n, n.OpPos, len(n.Op.String()), "")
		}
	case *ast.BasicLit:
		f.integer(n, within)
	case *ast.IfStmt:
		f.add(n.Cond, n.Cond.Pos(), int(n.Cond.End()-n.Cond.Pos()), "("+f.textOf(n.Cond)+") && false")
	case *ast.BlockStmt:
		f.statements(n.List)
	case *ast.CaseClause:
		f.statements(n.Body)
	}
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

func (f *file) operator(n ast.Node, at token.Pos, op token.Token) {
	for _, other := range others[op] {
		f.add(n, at, len(op.String()), other)
	}
}

// integer makes a number one more and one less. It is shown within the expression around it where that is short.
func (f *file) integer(n *ast.BasicLit, within []ast.Node) {
	if n.Kind != token.INT {
		return
	}
	var around ast.Node = n
	if e, ok := within[len(within)-1].(ast.Expr); ok && len(f.textOf(e)) <= 60 {
		around = e
	}
	f.add(around, n.Pos(), len(n.Value), "("+n.Value+"+1)")
	f.add(around, n.Pos(), len(n.Value), "("+n.Value+"-1)")
}

// statements removes each statement that is no declaration, no return and no block.
func (f *file) statements(list []ast.Stmt) {
	for _, s := range list {
		switch s := s.(type) {
		case *ast.AssignStmt:
			if s.Tok == token.DEFINE {
				continue
			}
		case *ast.ExprStmt, *ast.IncDecStmt, *ast.DeferStmt, *ast.BranchStmt:
		default:
			continue
		}
		f.add(s, s.Pos(), int(s.End()-s.Pos()), "")
	}
}

// add notes a mutant: in node n, size bytes at a place become text. A reader is shown the node before and after.
func (f *file) add(n ast.Node, at token.Pos, size int, text string) {
	begin, end := f.offset(n.Pos()), f.offset(n.End())
	m := &mutant{file: f, function: f.function, start: f.offset(at), end: f.offset(at) + size, text: text}
	to := cmp.Or(f.source[begin:m.start]+text+f.source[m.end:end], "nothing")
	m.change = strings.Join(strings.Fields(f.source[begin:end]+" -> "+to), " ")
	f.mutants = append(f.mutants, m)
}
