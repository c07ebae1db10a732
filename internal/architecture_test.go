// Package architecture_test holds what DEVELOPERS.md says of packages, their imports
// and the rules of the house against the code as it stands.
package architecture_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"sync"
	"testing"
)

const module = "spanseal/internal/"

// file is one parsed Go file of a package.
type file struct {
	path string // relative to the repository
	pkg  string // "" outside internal/
	test bool
	tree *ast.File
}

var fset = token.NewFileSet()

// files returns every Go file of the repository.
func files(t *testing.T) []file {
	t.Helper()
	all, err := parsed()
	if err != nil {
		t.Fatal(err)
	}
	return all
}

var parsed = sync.OnceValues(func() (all []file, err error) {
	err = filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if d.IsDir() && (strings.HasPrefix(d.Name(), ".") && d.Name() != ".." || d.Name() == "testdata") {
			return filepath.SkipDir
		}
		if !strings.HasSuffix(path, ".go") {
			return nil
		}
		tree, err := parser.ParseFile(fset, path, nil, parser.ParseComments)
		if err != nil {
			return err
		}
		rel, _ := filepath.Rel("..", path)
		rel = filepath.ToSlash(rel)
		f := file{path: rel, test: strings.HasSuffix(path, "_test.go"), tree: tree}
		if rest, ok := strings.CutPrefix(rel, "internal/"); ok && strings.Contains(rest, "/") {
			f.pkg, _, _ = strings.Cut(rest, "/")
		}
		all = append(all, f)
		return nil
	})
	return all, err
})

// dependencyRules reads the tables of packages in DEVELOPERS.md.
func dependencyRules(t *testing.T) map[string][]string {
	t.Helper()
	plan, _ := packageTables(t)
	return plan
}

// packageTables reads them with the packages in the order of their rows.
func packageTables(t *testing.T) (plan map[string][]string, order []string) {
	t.Helper()
	b, err := os.ReadFile("../DEVELOPERS.md")
	if err != nil {
		t.Fatal(err)
	}
	_, section, ok := strings.Cut(string(b), "\n## Packages\n")
	if !ok {
		t.Fatal("DEVELOPERS.md: the section of packages is gone")
	}
	section, _, _ = strings.Cut(section, "\n## ")
	plan = map[string][]string{}
	for line := range strings.Lines(section) {
		cells := strings.Split(strings.TrimSpace(line), "|")
		if len(cells) != 5 || strings.HasPrefix(cells[1], "-") || strings.Contains(cells[1], "(internal/)") {
			continue
		}
		name := strings.TrimSpace(cells[1])
		if _, twice := plan[name]; twice {
			t.Errorf("DEVELOPERS.md: package %q has two rows", name)
		}
		plan[name] = strings.Fields(cells[3])
		order = append(order, name)
	}
	return plan, order
}

// TestTableRunsOneWay: a package imports only packages whose rows stand above its own.
func TestTableRunsOneWay(t *testing.T) {
	plan, order := packageTables(t)
	for i, name := range order {
		for _, imported := range plan[name] {
			if imported != "all" && !slices.Contains(order[:i], imported) {
				t.Errorf("DEVELOPERS.md: %s imports %s, whose row is not above it", name, imported)
			}
		}
	}
}

// TestImportsFollowTheTable holds what each package imports against the table, both ways: nothing
// is imported that the table does not allow, and nothing is allowed that no file
// imports.
func TestImportsFollowTheTable(t *testing.T) {
	plan := dependencyRules(t)
	used := map[string][]string{}
	for _, f := range files(t) {
		if f.pkg == "" || f.test {
			continue
		}
		allowed, known := plan[f.pkg]
		if !known {
			t.Errorf("%s: package %q is not in the table of DEVELOPERS.md", f.path, f.pkg)
			continue
		}
		for _, imp := range f.tree.Imports {
			path, _ := strconv.Unquote(imp.Path.Value)
			other, inside := strings.CutPrefix(path, module)
			if !inside || slices.Equal(allowed, []string{"all"}) {
				continue
			}
			used[f.pkg] = append(used[f.pkg], other)
			if !slices.Contains(allowed, other) {
				t.Errorf("%s imports %s; the table lets %s import only %v", f.path, other, f.pkg, allowed)
			}
		}
	}
	for pkg, allowed := range plan {
		for _, other := range allowed {
			if other != "all" && !slices.Contains(used[pkg], other) {
				t.Errorf("the table lets %s import %s, which no file of it does", pkg, other)
			}
		}
		if _, err := os.Stat(pkg); err != nil {
			t.Errorf("the table names package %q, which is not there", pkg)
		}
	}
}

// longest is how many lines a package has at most, without its tests: one that outgrows
// it keeps more than one promise.
const longest = 4700

func TestNoPackageIsTooLong(t *testing.T) {
	lines := map[string]int{}
	for _, f := range files(t) {
		if !f.test && f.pkg != "" {
			lines[filepath.Dir(f.path)] += fset.File(f.tree.Pos()).LineCount()
		}
	}
	if len(lines) < 40 {
		t.Fatalf("found %d packages only: the search is broken", len(lines))
	}
	for pkg, n := range lines {
		if n > longest {
			t.Errorf("%s has %d lines, more than %d: split it", pkg, n, longest)
		}
	}
}

// TestFilesHaveAnOrder: the files of a package can be put in an order in which fewer than
// a third of the arrows between them run back. A package without such an order is a
// tangle: to understand one of its files, a reader has to know all.
func TestFilesHaveAnOrder(t *testing.T) {
	packages := map[string][]file{}
	for _, f := range files(t) {
		if f.pkg != "" && !f.test {
			packages[filepath.Dir(f.path)] = append(packages[filepath.Dir(f.path)], f)
		}
	}
	measured := 0
	for pkg, files := range packages {
		if len(files) < 4 {
			continue
		}
		measured++
		arrows := arrowsBetween(files)
		if len(arrows) == 0 {
			t.Errorf("%s has %d files and no arrow between them: the count is broken, or these are several packages", pkg, len(files))
			continue
		}
		if back := runBack(files, arrows); 3*len(back) >= len(arrows) {
			t.Errorf("%s: %d of %d arrows between its files run back; move what these files use of one another:\n\t%s",
				pkg, len(back), len(arrows), strings.Join(back, "\n\t"))
		}
	}
	if measured < 20 {
		t.Fatalf("measured %d packages only: the search is broken", measured)
	}
}

// arrow runs from a file to one that declares something it uses.
type arrow struct{ from, to string }

// arrowsBetween finds the arrows between the files of one package: by its package-level
// names, and by methods and fields with unexported names, which are nobody else's. A name
// that several files declare, as for several operating systems, makes no arrow.
func arrowsBetween(files []file) map[arrow]bool {
	names, members := map[string]string{}, map[string]string{} // to the file that declares them
	declare := func(homes map[string]string, name, home string) {
		if other, known := homes[name]; known && other != home {
			home = ""
		}
		homes[name] = home
	}
	for _, f := range files {
		for name, object := range f.tree.Scope.Objects {
			declare(names, name, f.path)
			if ts, ok := object.Decl.(*ast.TypeSpec); ok {
				ast.Inspect(ts.Type, func(n ast.Node) bool {
					if field, ok := n.(*ast.Field); ok {
						for _, id := range field.Names {
							declare(members, id.Name, f.path)
						}
					}
					return true
				})
			}
		}
		for _, d := range f.tree.Decls {
			if fn, ok := d.(*ast.FuncDecl); ok && fn.Recv != nil {
				declare(members, fn.Name.Name, f.path)
			}
		}
	}
	arrows := map[arrow]bool{}
	for _, f := range files {
		use := func(home string) {
			if home != "" && home != f.path {
				arrows[arrow{f.path, home}] = true
			}
		}
		for _, id := range f.tree.Unresolved { // within the file
			use(names[id.Name])
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			if sel, ok := n.(*ast.SelectorExpr); ok && !sel.Sel.IsExported() {
				use(members[sel.Sel.Name])
			}
			return true
		})
	}
	return arrows
}

// runBack puts files in an order and returns the arrows that run back in it. A file that
// uses none of those that are left goes last; if there is none, the one goes first that
// uses most more than use it. There may be a better order, but one is proof.
func runBack(files []file, arrows map[arrow]bool) (back []string) {
	left := map[string]bool{}
	for _, f := range files {
		left[f.path] = true
	}
	for len(left) > 0 {
		next, last, most := "", false, -len(files)
		for _, path := range slices.Sorted(maps.Keys(left)) {
			uses, usedBy := 0, 0
			for a := range arrows {
				if a.from == path && left[a.to] {
					uses++
				}
				if a.to == path && left[a.from] {
					usedBy++
				}
			}
			if uses == 0 {
				next, last = path, true
				break
			}
			if uses-usedBy > most {
				next, most = path, uses-usedBy
			}
		}
		delete(left, next)
		for a := range arrows {
			if !last && a.to == next && left[a.from] {
				back = append(back, filepath.Base(a.from)+" uses "+filepath.Base(a.to))
			}
		}
	}
	slices.Sort(back)
	return back
}

// TestArrowsAreCounted plants what arrowsBetween and runBack must find, and what they must
// not take for an arrow.
func TestArrowsAreCounted(t *testing.T) {
	pkg := func(texts ...string) (files []file) {
		for i, text := range texts {
			path := string(rune('a'+i)) + ".go"
			tree, err := parser.ParseFile(fset, path, "package p\n"+text, 0)
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, file{path: path, tree: tree})
		}
		return files
	}
	for _, c := range []struct {
		name         string
		files        []file
		arrows, back int
	}{
		{"a chain, whatever the order of names", pkg("func one() {}", "func two() { one() }", "func three() { two(); one() }"), 3, 0},
		{"a cycle of three", pkg("func one() { two() }", "func two() { three() }", "func three() { one() }"), 3, 1},
		{"all use all", pkg("func one() { two(); three() }", "func two() { one(); three() }", "func three() { one(); two() }"), 6, 3},
		{"many uses are one arrow", pkg("func one() {}; type two int", "func three() { one(); one(); var _ two }"), 1, 0},
		{"a cycle by methods", pkg("type t struct{}; func (v t) one() { v.two() }", "func (v t) two() { v.one() }"), 2, 1},
		{"a method alone", pkg("type t struct{}; func (t) one() {}", "func three(v interface{ one() }) { v.one() }"), 1, 0},
		{"a field that two share", pkg("type t struct{ n *u }; func (v t) one() { v.n.m() }", "type u struct{}; func (v *u) m() {}; func two(v t) { _ = v.n }"), 2, 1},
		{"names of their own", pkg("var one, two int", "func three(one int) { two := one; _ = two }"), 0, 0},
		{"exported methods may be anybody's", pkg("type t int; func (t) Len() {}", "func three(v interface{ Len() }) { v.Len() }"), 0, 0},
		{"a name for each of two systems", pkg("func one() {}", "func one() {}", "func two() { one() }"), 0, 0},
	} {
		t.Run(c.name, func(t *testing.T) {
			arrows := arrowsBetween(c.files)
			if back := runBack(c.files, arrows); len(arrows) != c.arrows || len(back) != c.back {
				t.Errorf("arrows %v, of which %v run back; want %d and %d", arrows, back, c.arrows, c.back)
			}
		})
	}
}

// TestNoFloats keeps binary floats away from readings and limits: not as a
// type, not as a literal, not by way of strconv or math.
func TestNoFloats(t *testing.T) {
	exact := []string{"quantity", "record", "strict", "limits", "field", "table", "written", "mapping", "folder", "jobfile", "ledger", "intake", "propose", "outline", "seal"}
	for _, f := range files(t) {
		if !slices.Contains(exact, f.pkg) {
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			switch n := n.(type) {
			case *ast.Ident:
				if n.Name == "float64" || n.Name == "float32" || n.Name == "ParseFloat" || n.Name == "Float64" {
					t.Errorf("%s: %s in a package without floats", fset.Position(n.Pos()), n.Name)
				}
			case *ast.BasicLit:
				if n.Kind == token.FLOAT {
					t.Errorf("%s: float literal %s in a package without floats", fset.Position(n.Pos()), n.Value)
				}
			}
			return true
		})
	}
}

// TestOnlyCLITouchesTheWorld: args, the standard streams, the exit and the
// clock belong to cli; main calls os.Exit once.
func TestOnlyCLITouchesTheWorld(t *testing.T) {
	taboo := map[string][]string{
		"os":   {"Args", "Stdout", "Stderr", "Stdin", "Exit", "Getenv", "LookupEnv", "Environ"},
		"time": {"Now", "Since"},
		"fmt":  {"Print", "Println", "Printf"},
		"log":  {"Fatal", "Fatalf", "Print", "Printf", "Println"},
	}
	exits := 0
	for _, f := range files(t) {
		if f.test || f.pkg == "outside" { // which is for tests, and looks at CI
			continue
		}
		ast.Inspect(f.tree, func(n ast.Node) bool {
			sel, ok := n.(*ast.SelectorExpr)
			if !ok {
				return true
			}
			pkg, ok := sel.X.(*ast.Ident)
			if !ok || !slices.Contains(taboo[pkg.Name], sel.Sel.Name) {
				return true
			}
			switch {
			case strings.HasPrefix(f.path, "cmd/"):
				if pkg.Name == "os" && sel.Sel.Name == "Exit" {
					exits++
				}
			case f.pkg == "cli":
				if sel.Sel.Name == "Exit" {
					t.Errorf("%s: only main exits", fset.Position(n.Pos()))
				}
			default:
				t.Errorf("%s: %s.%s belongs to cli", fset.Position(n.Pos()), pkg.Name, sel.Sel.Name)
			}
			return true
		})
	}
	if exits != 1 {
		t.Errorf("main exits %d times, want once", exits)
	}
}

// TestOnlyCLIChoosesExitCodes: no other package has a function or a constant that is
// named after one.
func TestOnlyCLIChoosesExitCodes(t *testing.T) {
	for _, f := range files(t) {
		if f.pkg == "" || f.pkg == "cli" || f.test {
			continue
		}
		named := func(id *ast.Ident) {
			if strings.HasPrefix(strings.ToLower(id.Name), "exit") {
				t.Errorf("%s: exit codes belong to cli; %s stands here", fset.Position(id.Pos()), id.Name)
			}
		}
		for _, d := range f.tree.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				named(d.Name)
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if v, ok := s.(*ast.ValueSpec); ok {
						for _, id := range v.Names {
							named(id)
						}
					}
				}
			}
		}
	}
}

// sharedNames are the exported type names that may stand in several packages, with the
// reason: each is a general word whose package says the rest. A word of the subject
// never is one: it means one thing, which "Words in the code" in DEVELOPERS.md says.
var sharedNames = map[string]string{
	"Table":     "of rows: read, set on paper, or a file that comes with the program",
	"Row":       "of a table: read by number or by heading, reckoned, or said",
	"Column":    "of a table that is set on paper, or whose contents are summed up",
	"Cell":      "of a table that is read, or set on paper",
	"Worksheet": "of a workbook that is read, or written",
	"Field":     "of a reading, or a value under its caption on paper",
	"Pattern":   "with names in braces, by which texts are read, made or matched",
	"Span":      "from one to another: of bytes, of decimals, of wavelengths",
	"Kind":      "of what its package holds",
	"List":      "of problems, or of what is said",
	"Style":     "of a text, of papers, of a terminal",
	"Options":   "that a caller of the package may choose",
}

// TestTypesHaveNamesOfTheirOwn: an exported type name stands in two packages only if it
// is among the shared ones, and those do.
func TestTypesHaveNamesOfTheirOwn(t *testing.T) {
	homes := map[string][]string{}
	for _, f := range files(t) {
		if f.pkg == "" || f.test {
			continue
		}
		for _, d := range f.tree.Decls {
			if g, ok := d.(*ast.GenDecl); ok {
				for _, s := range g.Specs {
					if ts, ok := s.(*ast.TypeSpec); ok && ts.Name.IsExported() {
						homes[ts.Name.Name] = append(homes[ts.Name.Name], strings.TrimSuffix(strings.TrimPrefix(filepath.ToSlash(filepath.Dir(f.path)), "internal/"), "/"))
					}
				}
			}
		}
	}
	if len(homes) < 200 {
		t.Fatalf("found %d types only: the search is broken", len(homes))
	}
	for name, in := range homes {
		if len(in) > 1 && sharedNames[name] == "" {
			t.Errorf("type %s stands in packages %v: one word for several things, or one thing several times", name, in)
		}
	}
	for name := range sharedNames {
		if len(homes[name]) < 2 {
			t.Errorf("type %s stands in %v alone: it needs no leave to be shared", name, homes[name])
		}
	}
	if most := 14; len(sharedNames) > most {
		t.Errorf("%d names are shared, more than %d: find exact ones", len(sharedNames), most)
	}
}

// mostUnnamed is how many members a value of ours may have that are written down without
// their names: by their order alone more are easily mixed up.
const mostUnnamed = 4

// TestLargeStructsNameTheirMembers: outside of tests, a value of a struct of a package
// names its members.
func TestLargeStructsNameTheirMembers(t *testing.T) {
	all, members := files(t), map[string]int{}
	for _, f := range all {
		for _, d := range f.tree.Decls {
			g, ok := d.(*ast.GenDecl)
			if !ok || f.test {
				continue
			}
			for _, s := range g.Specs {
				if ts, ok := s.(*ast.TypeSpec); ok {
					if st, ok := ts.Type.(*ast.StructType); ok {
						members[f.tree.Name.Name+"."+ts.Name.Name] = st.Fields.NumFields()
					}
				}
			}
		}
	}
	for _, f := range all {
		if f.test {
			continue
		}
		// check looks at a value and those in it; kind is the type that a list of them has.
		var check func(n ast.Node, kind ast.Expr)
		check = func(n ast.Node, kind ast.Expr) {
			ast.Inspect(n, func(n ast.Node) bool {
				lit, ok := n.(*ast.CompositeLit)
				if !ok {
					return true
				}
				of, inner, name := lit.Type, ast.Expr(nil), ""
				if of == nil {
					of = kind
				}
				if p, ok := of.(*ast.StarExpr); ok {
					of = p.X
				}
				switch of := of.(type) {
				case *ast.ArrayType:
					inner = of.Elt
				case *ast.MapType:
					inner = of.Value
				case *ast.Ident:
					name = f.tree.Name.Name + "." + of.Name
				case *ast.SelectorExpr:
					if pkg, ok := of.X.(*ast.Ident); ok {
						name = pkg.Name + "." + of.Sel.Name
					}
				}
				for i, e := range lit.Elts {
					kv, named := e.(*ast.KeyValueExpr)
					if i == 0 && !named && members[name] > mostUnnamed {
						t.Errorf("%s: a %s with %d members does not name them", fset.Position(lit.Pos()), name, members[name])
					}
					if named {
						check(kv.Value, inner)
					} else {
						check(e, inner)
					}
				}
				return false
			})
		}
		check(f.tree, nil)
	}
}

// TestPackagesSpeak: every package has a comment, and none has a name
// that promises nothing.
func TestPackagesSpeak(t *testing.T) {
	spoken := map[string]bool{}
	for _, f := range files(t) {
		if f.pkg == "" {
			continue
		}
		spoken[f.pkg] = spoken[f.pkg] || !f.test && f.tree.Doc != nil && strings.HasPrefix(f.tree.Doc.Text(), "Package "+f.tree.Name.Name+" ")
		if slices.Contains([]string{"util", "utils", "common", "manager", "helper", "helpers", "misc"}, f.pkg) {
			t.Errorf("%s: a package's name is its promise; %q promises nothing", f.path, f.pkg)
		}
	}
	for pkg, ok := range spoken {
		if !ok {
			t.Errorf("package %s has no comment", pkg)
		}
	}
}

// TestExportedNamesAreExplained: every exported function and type of a package
// says what it is.
func TestExportedNamesAreExplained(t *testing.T) {
	// Methods that every Go reader knows by their interface.
	known := []string{"String", "Error", "Unwrap", "MarshalText", "UnmarshalText", "MarshalJSON", "UnmarshalJSON", "Len", "Less", "Swap", "Write", "Read", "Close"}
	all := files(t)
	for _, f := range all { // an interface of ours explains its methods once
		ast.Inspect(f.tree, func(n ast.Node) bool {
			if i, ok := n.(*ast.InterfaceType); ok && f.pkg != "" {
				for _, m := range i.Methods.List {
					for _, name := range m.Names {
						known = append(known, name.Name)
					}
				}
			}
			return true
		})
	}
	for _, f := range all {
		if f.pkg == "" || f.test {
			continue
		}
		for _, d := range f.tree.Decls {
			switch d := d.(type) {
			case *ast.FuncDecl:
				if d.Name.IsExported() && d.Doc == nil && !slices.Contains(known, d.Name.Name) && (d.Recv == nil || exportedReceiver(d)) && !oneLiner(d) {
					t.Errorf("%s: %s has no comment", fset.Position(d.Pos()), d.Name.Name)
				}
			case *ast.GenDecl:
				for _, s := range d.Specs {
					if ts, ok := s.(*ast.TypeSpec); ok && ts.Name.IsExported() && d.Doc == nil && ts.Doc == nil && ts.Comment == nil {
						t.Errorf("%s: type %s has no comment", fset.Position(ts.Pos()), ts.Name.Name)
					}
				}
			}
		}
	}
}

// oneLiner reports a function whose whole text is its own explanation.
func oneLiner(d *ast.FuncDecl) bool {
	return fset.Position(d.Pos()).Line == fset.Position(d.End()).Line
}

func exportedReceiver(d *ast.FuncDecl) bool {
	t := d.Recv.List[0].Type
	if p, ok := t.(*ast.StarExpr); ok {
		t = p.X
	}
	id, ok := t.(*ast.Ident)
	return ok && id.IsExported()
}

// TestSkipsAreHonest: a test may leave something out only where a program is
// missing and nobody promised it; every skip stands in a function that looks
// at CI, or at what no installation changes: -short, the operating system, the
// user's rights.
func TestSkipsAreHonest(t *testing.T) {
	for _, f := range files(t) {
		if !f.test && f.pkg != "outside" || f.path == "internal/architecture_test.go" {
			continue
		}
		for _, d := range f.tree.Decls {
			fn, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			skips, guarded := token.NoPos, false
			ast.Inspect(fn, func(n ast.Node) bool {
				switch n := n.(type) {
				case *ast.SelectorExpr:
					switch n.Sel.Name {
					case "Skip", "Skipf", "SkipNow":
						skips = n.Pos()
					case "Short", "GOOS", "Geteuid":
						guarded = true
					}
				case *ast.BasicLit:
					guarded = guarded || n.Value == `"CI"`
				}
				return true
			})
			if skips.IsValid() && !guarded {
				t.Errorf("%s: %s skips without looking at CI", fset.Position(skips), fn.Name.Name)
			}
		}
	}
}

// TestTopLevel: the top of the tree holds what it promises and no more.
func TestTopLevel(t *testing.T) {
	want := []string{"DEVELOPERS.md", "README.md", "cmd", "examples", "go.mod", "go.sum", "internal", "templates", "testdata"}
	entries, err := os.ReadDir("..")
	if err != nil {
		t.Fatal(err)
	}
	var got []string
	for _, e := range entries {
		if !strings.HasPrefix(e.Name(), ".") && e.Name() != "spanseal" && !strings.HasPrefix(e.Name(), "demo-job") {
			got = append(got, e.Name())
		}
	}
	if !slices.Equal(got, want) {
		t.Errorf("top level is %v, want %v", got, want)
	}
}

// limitNumber finds the shape of a limit in code: a quantity made from a
// literal. Scale factors live in quantity; everything else is data.
var limitNumber = regexp.MustCompile(`quantity\.(Must|Scaled)\(`)

func TestNoLimitNumbersInCode(t *testing.T) {
	for _, f := range files(t) {
		if f.test || !slices.Contains([]string{"chance", "crosscheck", "evidence", "judge", "statistics", "limittest", "limits", "field", "table", "written", "mapping", "folder", "jobfile", "ledger", "intake", "propose", "outline"}, f.pkg) {
			continue
		}
		b, err := os.ReadFile(filepath.Join("..", f.path))
		if err != nil {
			t.Fatal(err)
		}
		for i, line := range strings.Split(string(b), "\n") {
			if limitNumber.MatchString(line) && !strings.Contains(line, "// not a limit: ") {
				t.Errorf("%s:%d: a number made in code: %s", f.path, i+1, strings.TrimSpace(line))
			}
		}
	}
}
