package certify

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/templates"
)

// TestSentence: values move from the English to a wording's own form.
func TestSentence(t *testing.T) {
	for name, c := range map[string]struct{ line, english, want string }{
		"plain":      {"Clean it. => Límpielo.", "Clean it.", "Límpielo."},
		"values":     {"{a} dB at {b} nm. => A {b} nm, {a} dB.", "0.31 dB at 1310 nm.", "A 1310 nm, 0,31 dB."},
		"other text": {"Clean it. => Límpielo.", "Clean it twice.", "Clean it twice."},
		"signs":      {"Is it ({a})? => ¿Es ({a})?", "Is it (x)?", "¿Es (x)?"},
	} {
		s, ok := parseSentence(c.line)
		if !ok {
			t.Fatalf("%s: not a sentence", name)
		}
		if got := (&wording{sentences: []sentence{s}, numerals: numerals{mark: ","}}).judged(c.english); got != c.want {
			t.Errorf("%s: %q, want %q", name, got, c.want)
		}
	}
}

// TestJudgeSpeaksSpanish reads the judge's source for sentences that go on
// paper, and wants a Spanish form for each.
func TestJudgeSpeaksSpanish(t *testing.T) {
	problems := &diag.List{}
	w := loadWording(templates.Files, nil, "es", problems)
	if problems.Errors() > 0 {
		t.Fatal(problems.Sorted())
	}
	verb := regexp.MustCompile(`%[.0-9]*[a-z]`)
	files, err := fs.Glob(os.DirFS("../judge"), "*.go")
	if err != nil {
		t.Fatal(err)
	}
	found := 0
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), "../judge/"+name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			if pair, ok := n.(*ast.KeyValueExpr); ok {
				// Of the table of codes only the way to settle one is printed.
				if key, ok := pair.Key.(*ast.Ident); ok && (key.Name == "Asks" || key.Name == "Why" || key.Name == "Source" || key.Name == "Title") {
					return false
				}
			}
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			text, _ := strconv.Unquote(lit.Value)
			if len(text) < 20 || text[0] < 'A' || text[0] > 'Z' || !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
				return true
			}
			found++
			if said := verb.ReplaceAllString(text, "7"); w.judged(said) == said {
				t.Errorf("wording/es.yaml has no form of the judge's sentence %q", text)
			}
			return true
		})
	}
	if found < 40 {
		t.Errorf("only %d sentences were found in the judge: does this test still read it right?", found)
	}
}
