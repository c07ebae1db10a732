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
		"shortest":   {"{a} and {b}; {c}. => {c}: {b}, {a}.", "x and y and z; 1; 2.", "1; 2: y and z, x."},
		"no value":   {"Is {a} it? => ¿Es {a}?", "Is  it?", "Is  it?"},
		"behind":     {"{a} row {b} => {a} fila {b}", "f row ", "f row "},
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

// TestJudgeSpeaksSpanish reads the judge's source and the limit sets for
// sentences that go on paper, and wants a Spanish form for each.
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
			if len(text) < 20 || (text[0] < 'A' || text[0] > 'Z') && !strings.HasPrefix(text, "%s ") || !strings.HasSuffix(text, ".") && !strings.HasSuffix(text, "?") {
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
		t.Errorf("only %d sentences were found: does this test still read the source right?", found)
	}
	advice := regexp.MustCompile(`say: "([^"]+)"`)
	sets, err := fs.Glob(templates.Files, "limits/*.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, name := range sets {
		text, err := fs.ReadFile(templates.Files, name)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range advice.FindAllStringSubmatch(string(text), -1) {
			if w.judged(m[1]) == m[1] {
				t.Errorf("wording/es.yaml has no form of the advice %q of %s", m[1], name)
			}
		}
	}
}

// TestDaysInSentences: a day in a sentence of the judge is written as every
// other day on paper; what only looks like one is left alone.
func TestDaysInSentences(t *testing.T) {
	for language, cases := range map[string]map[string]string{
		"en": {
			"Was PM-3 calibrated again before 2026-11-17? Its calibration was due on 2026-10-30.": "Was PM-3 calibrated again before 17 Nov 2026? Its calibration was due on 30 Oct 2026.",
			"How can the reference (2026-11-17 09:15) be younger?":                                "How can the reference (17 Nov 2026 09:15) be younger?",
			"Is readings/2026-11-17.csv the same as 2026-11-17.csv row 3?":                        "Is readings/2026-11-17.csv the same as 2026-11-17.csv row 3?",
			"Is link 2026-11-171 or 2026-13-17 meant?":                                            "Is link 2026-11-171 or 2026-13-17 meant?",
		},
		"es": {
			"How can the reference (2026-11-17 09:15) be younger than the reading (2026-11-17 09:02)?":               "¿Cómo puede la referencia (17 nov 2026 09:15) ser posterior a la lectura (17 nov 2026 09:02)?",
			"Was the link measured again after the termination at end A was finished (2026-11-17 09:15)?":            "¿Se midió de nuevo el enlace tras terminar el extremo A (17 nov 2026 09:15)?",
			"Was the link measured again after the termination at the splice was finished (2026-11-17 09:15)?":       "¿Se midió de nuevo el enlace tras terminar el empalme (17 nov 2026 09:15)?",
			"A-07: was fail, is pass; other readings":                                                                "A-07: era no conforme, es conforme; otras lecturas",
			"A-07: other limits; other questions or verdicts":                                                        "A-07: otros límites; otras preguntas o resultados",
			"How do A-01, A-02, A-03, A-04 and 3 more come to have the same loss at every wavelength and direction?": "¿Cómo es que A-01, A-02, A-03, A-04 y 3 más tienen la misma pérdida en todas las longitudes de onda y sentidos?",
		},
	} {
		problems := &diag.List{}
		w := loadWording(templates.Files, nil, language, problems)
		if problems.Errors() > 0 {
			t.Fatal(problems.Sorted())
		}
		for english, want := range cases {
			if got := strings.ReplaceAll(w.judged(english), "\u00A0", " "); got != want {
				t.Errorf("%s: %q\n reads %q\n want  %q", language, english, got, want)
			}
		}
	}
}
