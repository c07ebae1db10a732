package certify_test

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/evidence"
	"spanseal/internal/record"
	"spanseal/internal/statement"
	"spanseal/internal/testset"
	"spanseal/templates"
)

// keysOf flattens a wording file by another way than the room does.
func keysOf(t *testing.T, language string) map[string]string {
	t.Helper()
	raw, err := fs.ReadFile(templates.Files, "wording/"+language+".yaml")
	if err != nil {
		t.Fatal(err)
	}
	var tree map[string]any
	if err := yaml.Unmarshal(raw, &tree); err != nil {
		t.Fatal(err)
	}
	keys := map[string]string{}
	var walk func(prefix string, v any)
	walk = func(prefix string, v any) {
		if m, ok := v.(map[string]any); ok {
			for k, v := range m {
				walk(prefix+"."+k, v)
			}
			return
		}
		text, _ := v.(string)
		keys[strings.TrimPrefix(prefix, ".")] = text
	}
	walk("", tree)
	return keys
}

// TestLanguagesHaveTheSameKeys also checks that no text of another language is
// left empty.
func TestLanguagesHaveTheSameKeys(t *testing.T) {
	en := keysOf(t, "en")
	entries, err := fs.ReadDir(templates.Files, "wording")
	if err != nil {
		t.Fatal(err)
	}
	seen := 0
	for _, e := range entries {
		language, yaml := strings.CutSuffix(e.Name(), ".yaml")
		if !yaml {
			continue
		}
		seen++
		other := keysOf(t, language)
		for _, key := range slices.Sorted(maps.Keys(en)) {
			if text, ok := other[key]; !ok {
				t.Errorf("%s: %s is missing", e.Name(), key)
			} else if text == "" && en[key] != "" {
				t.Errorf("%s: %s is empty", e.Name(), key)
			}
		}
		for _, key := range slices.Sorted(maps.Keys(other)) {
			if _, ok := en[key]; !ok {
				t.Errorf("%s: %s is not a key", e.Name(), key)
			}
		}
	}
	if seen < 3 {
		t.Errorf("%d languages, want at least German, English and Spanish", seen)
	}
}

// TestWordingIsUsed holds the wording against the source: every key is said
// somewhere, and every key that is said is there.
func TestWordingIsUsed(t *testing.T) {
	keys := keysOf(t, "en")
	used := map[string]bool{}
	var prefixes []string // of keys that are put together
	for _, e := range statement.Codes() {
		used["says."+e.Code] = true
		for _, p := range e.Params {
			if p.Group != "" {
				prefixes = append(prefixes, p.Group+".")
			}
		}
	}
	prefixes = append(prefixes, "locale.and_before_", "locale.or_before_") // package wording adds the sound
	files, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	saying, err := filepath.Glob("../wording/*.go")
	if err != nil {
		t.Fatal(err)
	}
	changes, err := filepath.Glob("../change/*.go") // names groups of words in tables of its own
	if err != nil {
		t.Fatal(err)
	}
	files = slices.Concat(files, saying, changes)
	for _, papers := range []string{"summary", "trunk", "procedure", "comparison", "superseded", "rail"} {
		more, err := filepath.Glob("../" + papers + "/*.go")
		if err != nil || more == nil {
			t.Fatal(papers, err)
		}
		files = append(files, more...)
	}
	for _, name := range files {
		if strings.HasSuffix(name, "_test.go") {
			continue
		}
		tree, err := parser.ParseFile(token.NewFileSet(), name, nil, 0)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(tree, func(n ast.Node) bool {
			lit, ok := n.(*ast.BasicLit)
			if !ok || lit.Kind != token.STRING {
				return true
			}
			text, _ := strconv.Unquote(lit.Value)
			used[text], used[text+".one"], used[text+".other"], used[text+"_sheet"] = true, true, true, true
			if strings.HasPrefix(text, "change_") {
				prefixes = append(prefixes, text+".")
			}
			if strings.HasSuffix(text, ".") || strings.HasSuffix(text, "_") {
				prefixes = append(prefixes, text)
			}
			return true
		})
		ast.Inspect(tree, func(n ast.Node) bool {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return true
			}
			f, ok := call.Fun.(*ast.SelectorExpr)
			lit, literal := call.Args[0].(*ast.BasicLit)
			if !ok || !literal || !slices.Contains([]string{"say", "Say", "Count", "Term", "Known"}, f.Sel.Name) {
				return true
			}
			key, _ := strconv.Unquote(lit.Value)
			switch f.Sel.Name {
			case "Known":
				prefixes = append(prefixes, key+".", key+"_of.")
				return true
			case "Term":
				prefixes = append(prefixes, key+".")
				return true
			case "Count":
				key += ".other"
			}
			if _, ok := keys[key]; !ok && key != "" && !strings.HasSuffix(key, ".") {
				t.Errorf("%s says %q, which is not in the wording", name, key)
			}
			return true
		})
	}
	for _, key := range slices.Sorted(maps.Keys(keys)) {
		if !used[key] && !slices.ContainsFunc(prefixes, func(p string) bool { return strings.HasPrefix(key, p) }) {
			t.Errorf("%s is said nowhere", key)
		}
	}
}

// TestCheckNames: the change list calls each evidence check by a name.
func TestCheckNames(t *testing.T) {
	for _, lang := range []string{"en", "es", "de"} {
		keys := keysOf(t, lang)
		for _, c := range evidence.Checks() {
			if keys["check_name."+c.Code] == "" {
				t.Errorf("%s: %s has no name", lang, c.Code)
			}
		}
	}
}

// TestStatements: English has one form for each code and none besides, and no form
// asks for an argument that its code does not have.
func TestStatements(t *testing.T) {
	forms := map[string]string{}
	isCode := func(code string) bool { _, ok := statement.Lookup(code); return ok }
	for key, text := range keysOf(t, "en") {
		if code, ok := strings.CutPrefix(key, "says."); ok {
			if stem := strings.TrimSuffix(strings.TrimSuffix(code, ".one"), ".other"); isCode(stem) {
				code = stem // of a form in the singular and the plural
			}
			forms[code] += text
		}
	}
	for _, e := range statement.Codes() {
		form, ok := forms[e.Code]
		if !ok {
			t.Errorf("%s has no form", e.Code)
		}
		delete(forms, e.Code)
		for _, m := range regexp.MustCompile(`\{([^}]*)\}`).FindAllStringSubmatch(form, -1) {
			if !slices.ContainsFunc(e.Params, func(p statement.Param) bool { return p.Name == m[1] }) {
				t.Errorf("%s: {%s} is no argument", e.Code, m[1])
			}
		}
	}
	for code := range forms {
		t.Errorf("%s is no code", code)
	}
}

// TestTemplateFaults: what is wrong in a job's own template is said with its
// place, and nothing is made.
func TestTemplateFaults(t *testing.T) {
	long := "locale:\n  decimal: \".\"\n"
	for name, c := range map[string]struct {
		file, text, code, place string
	}{
		"unknown key":         {"wording/en.yaml", "rail:\n  linq: x\n", "unknown-key", "wording/en.yaml:2:3"},
		"key twice":           {"wording/en.yaml", "rail:\n  link: x\n  link: y\n", "duplicate-key", "wording/en.yaml:3:3"},
		"unknown value":       {"wording/en.yaml", "rail:\n  page: \"{n}/{total}\"\n", "unknown-placeholder", "wording/en.yaml:2:3"},
		"not YAML":            {"wording/en.yaml", "rail: [\n", "yaml-syntax", "wording/en.yaml:2"},
		"list for keys":       {"wording/en.yaml", "- a\n", "wrong-type", "wording/en.yaml:1:1"},
		"alias":               {"wording/en.yaml", "rail:\n  link: &a x\n  job: *a\n", "yaml-alias", "wording/en.yaml:2:9"},
		"months":              {"wording/en.yaml", "locale:\n  months: [Jan]\n", "bad-value", "wording/en.yaml:2:3"},
		"statement's values":  {"wording/en.yaml", "says: {no-date: \"{nm} nm\"}\n", "unknown-placeholder", "wording/en.yaml:1:8"},
		"statement":           {"wording/en.yaml", "says: {no-day: \"When?\"}\n", "unknown-key", "wording/en.yaml:1:8"},
		"half a language":     {"wording/xx.yaml", long, "missing-key", "wording/xx.yaml"},
		"colour":              {"documents/style.yaml", "colours:\n  ink: black\n", "bad-value", "documents/style.yaml:2:3"},
		"pale on white":       {"documents/style.yaml", "colours:\n  soft: \"AAAAAA\"\n", "bad-value", "documents/style.yaml:2:3"},
		"dark ground":         {"documents/style.yaml", "colours:\n  rail: \"333333\"\n", "bad-value", "documents/style.yaml:2:3"},
		"number":              {"documents/style.yaml", "millimetres:\n  grid: 0\n", "bad-value", "documents/style.yaml:2:3"},
		"paper":               {"documents/style.yaml", "paper: A5\n", "bad-value", "documents/style.yaml:1:1"},
		"section":             {"documents/certificate.yaml", "sections: [link, price]\n", "bad-value", "documents/certificate.yaml:1:18"},
		"no method":           {"documents/certificate.yaml", "sections: [link, readings, questions, signatures, small_print]\n", "missing-section", "documents/certificate.yaml:1:1"},
		"no questions":        {"documents/nonconformance.yaml", "sections: [wrong, readings, method, signatures, small_print]\n", "missing-section", "documents/nonconformance.yaml:1:1"},
		"no sets":             {"documents/summary.yaml", "sections: [counts, open, population, questions, links, people, instruments, revisions, small_print]\n", "missing-section", "documents/summary.yaml:1:1"},
		"no signatures":       {"documents/comparison.yaml", "sections: [conclusion, readings, questions, conditions, small_print]\n", "missing-section", "documents/comparison.yaml:1:1"},
		"no sections":         {"documents/certificate.yaml", "sections: []\n", "missing-section", "documents/certificate.yaml:1:1"},
		"section twice":       {"documents/certificate.yaml", "sections: [link, link]\n", "bad-value", "documents/certificate.yaml:1:18"},
		"label off the sheet": {"documents/labels.yaml", "A4:\n  columns: 4\n", "bad-value", "documents/labels.yaml:2:3"},
		"label too small":     {"documents/labels.yaml", "symbol: 12\n", "bad-value", "documents/labels.yaml:1:1"},
		"start off the sheet": {"documents/labels.yaml", "start: 25\n", "bad-value", "documents/labels.yaml:1:1"},
	} {
		t.Run(name, func(t *testing.T) {
			f := library()
			if strings.HasSuffix(c.file, "xx.yaml") {
				f.Job.Documents.Language = "xx"
			}
			o := options()
			o.Overrides = fstest.MapFS{c.file: {Data: []byte(c.text)}}
			set, problems := o.Set(f, judged(t, f))
			if set != nil {
				t.Error("a set was made all the same")
			}
			i := slices.IndexFunc(problems.Sorted(), func(p diag.Problem) bool { return p.Code == c.code })
			if i < 0 {
				t.Fatalf("want a problem %q, have %v", c.code, problems.Sorted())
			}
			p := problems.Sorted()[i]
			if p.Place.String() != c.place {
				t.Errorf("the problem is at %v, want %s", p.Place, c.place)
			}
		})
	}
}

// TestTemplateFaultsTogether: faults in several files of a job, and several in
// one, are all said at once.
func TestTemplateFaultsTogether(t *testing.T) {
	f, o := library(), options()
	o.Overrides = fstest.MapFS{
		"wording/en.yaml":            {Data: []byte("rail:\n  linq: x\n  page: \"{total}\"\nlocale:\n  months: [Jan]\n")},
		"documents/style.yaml":       {Data: []byte("colour: x\nmillimetres:\n  grid: -3\nlogo: none.png\ntypefaces:\n  bold: none.ttf\n")},
		"documents/labels.yaml":      {Data: []byte("symbol: 12\n")},
		"documents/certificate.yaml": {Data: []byte("sections: [link, price]\n")},
	}
	_, problems := o.Set(f, judged(t, f))
	var have []string
	for _, p := range problems.Sorted() {
		have = append(have, p.Place.String()+" "+p.Code)
	}
	want := []string{
		"documents/certificate.yaml:1:18 bad-value",
		"documents/labels.yaml:1:1 bad-value",
		"documents/style.yaml:1:1 unknown-key",
		"documents/style.yaml:3:3 bad-value",
		"documents/style.yaml:4:1 no-file",
		"documents/style.yaml:6:3 no-file",
		"wording/en.yaml:2:3 unknown-key",
		"wording/en.yaml:3:3 unknown-placeholder",
		"wording/en.yaml:5:3 bad-value",
	}
	if !slices.Equal(have, want) {
		t.Errorf("have\n%s\nwant\n%s", strings.Join(have, "\n"), strings.Join(want, "\n"))
	}
}

// TestUnknownLanguage: a language without a wording is refused where job.yaml
// names it, with those that there are.
func TestUnknownLanguage(t *testing.T) {
	for _, own := range []fs.FS{nil, fstest.MapFS{}} {
		f, o := library(), options()
		f.Job.Documents.Language = "fr"
		o.Overrides = own
		o.PlaceOf = func(key string) diag.Place { return diag.Place{File: key} }
		_, problems := o.Set(f, judged(t, f))
		all := problems.Sorted()
		if len(all) != 1 || all[0].Place.String() != "documents.language" || all[0].Want != "want de or en or es" || !strings.Contains(all[0].Fix, "wording/fr.yaml") {
			t.Errorf("%v", all)
		}
	}
}

// TestOverride: a job changes one sentence, one colour and the order of
// sections, and keeps the rest.
func TestOverride(t *testing.T) {
	f := library()
	o := options()
	o.Overrides = fstest.MapFS{
		"wording/en.yaml":            {Data: []byte("certificate: {title: Proof of a link}\n")},
		"documents/certificate.yaml": {Data: []byte("sections: [small_print, readings, link, questions, method, signatures]\n")},
	}
	set := newSet(t, f, o)
	d, err := set.Certificate(set.Judgement.Result(0))
	if err != nil {
		t.Fatal(err)
	}
	texts := drawn(t, set.Paper(), d).Texts()
	title, readings, link := slices.Index(texts, "Proof of a link"), slices.Index(texts, "Readings"), slices.Index(texts, "The link")
	if title < 0 || readings < title || link < readings || slices.Contains(texts, "Terminations") {
		t.Errorf("title at %d, readings at %d, link at %d of %q", title, readings, link, texts)
	}
}

// TestScriptsInJob: the place of a text of job.yaml is asked for by its key, and
// a text of the command line is named by its flag.
func TestScriptsInJob(t *testing.T) {
	for want, change := range map[string]func(*record.Facts, *testset.Settings){
		"job.site.name":          func(f *record.Facts, _ *testset.Settings) { f.Job.Site.Name = "図書館" },
		"people[1].role":         func(f *record.Facts, _ *testset.Settings) { f.Job.People[1].Role = "図書館" },
		"instruments[0].kind":    func(f *record.Facts, _ *testset.Settings) { f.Job.Instruments[0].Kind = "図書館" },
		"cables[0].description":  func(f *record.Facts, _ *testset.Settings) { f.Job.Cables[0].Description = "図書館" },
		"pay.items[2].title":     func(f *record.Facts, _ *testset.Settings) { f.Job.Pay.Items[2].Title = "図書館" },
		"job.contractor.licence": func(f *record.Facts, _ *testset.Settings) { f.Job.Contractor.Licence = "図書館" },
		"--reason":               func(_ *record.Facts, o *testset.Settings) { o.Reason = "図書館" },
	} {
		f, o := library(), options()
		o.PlaceOf = func(key string) diag.Place { return diag.Place{File: key} }
		change(f, &o)
		_, problems := o.Set(f, judged(t, f))
		if all := problems.Sorted(); len(all) != 1 || all[0].Place.String() != want {
			t.Errorf("want one problem at %s, have %v", want, all)
		}
	}
}

// TestScripts: what cannot be set is refused before anything is made, with the
// place of the text.
func TestScripts(t *testing.T) {
	for name, c := range map[string]struct{ text, code string }{
		"Greek":    {"Αίθουσα 3", ""},
		"Cyrillic": {"Зал 3", ""},
		"accents":  {"Å ç ñ ő ž e\u0301", ""},
		"Hebrew":   {"חדר 3", "right-to-left"},
		"Arabic":   {"غرفة 3", "right-to-left"},
		"Chinese":  {"三号房间", "missing-glyph"},
		"Hangul":   {"방 3", "missing-glyph"},
	} {
		t.Run(name, func(t *testing.T) {
			f := library()
			f.Links[3].From = c.text
			f.Originals = append(f.Originals, record.Original{Name: "links.csv", Data: []byte("link,from\nA-01,a\nA-02,b\nA-03,c\nÄ-04,\"" + c.text + "\",x\n")})
			_, problems := options().Set(f, judged(t, f))
			if c.code == "" {
				good(t, problems)
				return
			}
			all := problems.Sorted()
			if len(all) != 1 || all[0].Code != c.code || all[0].Place.String() != "links.csv:5:7" || all[0].Place.Width != utf8.RuneCountInString(c.text) || all[0].Fix == "" {
				t.Errorf("problems: %v", all)
			}
		})
	}
}
