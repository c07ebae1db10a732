package cli_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"spanseal/internal/cli"
	"spanseal/internal/record"
)

// codeForm is how a code is written.
var codeForm = regexp.MustCompile(`^[a-z][a-z0-9]*(-[a-z0-9]+)*$`)

// codesInSource collects every code that a problem, question or finding can
// carry, from the source of the program: literals that are given to a member
// or a variable named Code or code, and to a parameter named code, in whatever
// package that function is called.
func codesInSource(t *testing.T) map[string]string {
	t.Helper()
	type function struct{ dir, name string }
	trees := map[string]*ast.File{}
	takes := map[function]int{} // at which place a function takes a code
	err := fs.WalkDir(os.DirFS(".."), ".", func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() || !strings.HasSuffix(path, ".go") || strings.HasSuffix(path, "_test.go") {
			return err
		}
		tree, err := parser.ParseFile(token.NewFileSet(), "../"+path, nil, 0)
		trees[path] = tree
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	dir := func(path string) string { return path[:strings.LastIndex(path, "/")+1] }
	note := func(path, name string, f *ast.FuncType) {
		at := 0
		for _, p := range f.Params.List {
			for _, n := range p.Names {
				if n.Name == "code" {
					takes[function{dir(path), name}] = at
					if dir(path) == "strict/" && ast.IsExported(name) { // others call what reads YAML
						takes[function{"", name}] = at
					}
				}
				at++
			}
		}
	}
	for path, tree := range trees {
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.FuncDecl:
				note(path, n.Name.Name, n.Type)
			case *ast.AssignStmt:
				for i, right := range n.Rhs {
					if f, ok := right.(*ast.FuncLit); ok && i < len(n.Lhs) {
						if name, ok := n.Lhs[i].(*ast.Ident); ok {
							note(path, name.Name, f.Type)
						}
					}
				}
			}
			return true
		})
	}
	found := map[string]string{}
	for path, tree := range trees {
		take := func(e ast.Expr) {
			ast.Inspect(e, func(n ast.Node) bool {
				if lit, ok := n.(*ast.BasicLit); ok && lit.Kind == token.STRING {
					if text, _ := strconv.Unquote(lit.Value); codeForm.MatchString(text) {
						found[text] = path
					}
				}
				_, call := n.(*ast.CallExpr)
				return !call
			})
		}
		named := func(e ast.Expr) bool {
			switch e := e.(type) {
			case *ast.Ident:
				return e.Name == "Code" || e.Name == "code"
			case *ast.SelectorExpr:
				return e.Sel.Name == "Code"
			}
			return false
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.CompositeLit: // a word of the vocabulary has a code of another kind
				switch t := n.Type.(type) {
				case *ast.SelectorExpr:
					return t.Sel.Name != "Word"
				case *ast.Ident:
					return t.Name != "Word"
				}
			case *ast.KeyValueExpr:
				if named(n.Key) {
					take(n.Value)
				}
			case *ast.AssignStmt:
				for i, left := range n.Lhs {
					if named(left) && i < len(n.Rhs) {
						take(n.Rhs[i])
					}
				}
			case *ast.CallExpr:
				name := ""
				switch f := n.Fun.(type) {
				case *ast.Ident:
					name = f.Name
				case *ast.SelectorExpr:
					name = f.Sel.Name
				}
				at, ok := takes[function{dir(path), name}]
				if !ok {
					at, ok = takes[function{"", name}]
				}
				if ok && at < len(n.Args) {
					take(n.Args[at])
				}
			}
			return true
		})
	}
	return found
}

// TestEveryCodeIsExplained: whatever code stands behind a problem, a question
// or a finding, explain --code knows it.
func TestEveryCodeIsExplained(t *testing.T) {
	found := codesInSource(t)
	if len(found) < 100 {
		t.Fatalf("found %d codes only: the search is broken", len(found))
	}
	// A finding against a limit has the name of its quantity.
	for _, q := range []record.Quantity{record.InsertionLoss, record.TwoWayAverage, record.Reflectance, record.ReturnLoss, record.OpticalReturnLoss,
		record.Length, record.SpliceLoss, record.SplicerEstimate, record.GroupMean, record.GroupPercentile} {
		found[strings.ReplaceAll(string(q), "_", "-")] = "record"
	}
	for _, code := range slices.Sorted(maps.Keys(found)) {
		exit, out, _ := run(t, "explain", "--code", code)
		if exit != cli.ExitOK || !strings.HasPrefix(out, code+"  ") && !strings.HasPrefix(out, code+"\n") {
			t.Errorf("%s, of %s, is not explained: exit %d", code, found[code], exit)
		}
	}
	listed := map[string]bool{}
	_, out, _ := run(t, "explain", "--code", "list")
	for line := range strings.Lines(out) {
		if code, _, ok := strings.Cut(line, " "); ok && codeForm.MatchString(code) {
			if listed[code] {
				t.Errorf("%s is listed twice", code)
			}
			listed[code] = true
			if found[code] == "" {
				t.Errorf("%s is explained, and nothing carries it", code)
			}
		}
	}
	if len(listed) != len(found) {
		t.Errorf("%d codes are listed, of %d", len(listed), len(found))
	}
}
