package diag

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"testing"

	"pgregory.net/rapid"

	"spanseal/internal/source"
)

func write(t *testing.T, problems ...Problem) string {
	t.Helper()
	var l List
	l.Add(problems...)
	var b bytes.Buffer
	if err := l.Write(&b, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// TestForm holds the form of a problem, to the byte, as the package comment
// gives it.
func TestForm(t *testing.T) {
	text := strings.Repeat("x\n", 13) + "A-17;1310;0,3S;AB\n"
	f := source.New("readings/otdr-day2.csv", []byte(text))
	start := strings.Index(text, "0,3S")
	p := Problem{
		Code: "not-a-number", Place: At(f, source.Span{Start: start, End: start + 4}),
		Message: `"0,3S" is not a number`,
		Want:    "want digits with at most one decimal comma, such as 0,35",
		Because: []string{`column 3 is loss_db (heading at line 9); decimal comma, because the delimiter is ";"`},
		Fix:     `correct the cell, or map a text for "no reading" under not_measured`,
	}
	want := `readings/otdr-day2.csv:14:11: error: "0,3S" is not a number [not-a-number]
     |
  14 | A-17;1310;0,3S;AB
     |           ^~~~ want digits with at most one decimal comma, such as 0,35
     = column 3 is loss_db (heading at line 9); decimal comma, because the delimiter is ";"
     = fix: correct the cell, or map a text for "no reading" under not_measured
`
	if got := write(t, p); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
}

func TestPlaces(t *testing.T) {
	f := source.New("a.csv", []byte("héllo,wörld\n"))
	tests := []struct {
		name  string
		place Place
		want  string
	}{
		{"file", Place{File: "a.csv"}, "a.csv"},
		{"line", Place{File: "a.csv", Line: 3}, "a.csv:3"},
		{"span", At(f, source.Span{Start: 7, End: 13}), "a.csv:1:7"},
		{"position", AtLine(f, source.Position{Line: 1, Column: 7}, 5), "a.csv:1:7"},
		{"cell", Place{File: "a.xlsx", Cell: "Sheet1!B7"}, "a.xlsx:Sheet1!B7"},
	}
	for _, tt := range tests {
		if got := tt.place.String(); got != tt.want {
			t.Errorf("%s: %s, want %s", tt.name, got, tt.want)
		}
	}
	if a, b := tests[2].place, tests[3].place; a != b {
		t.Errorf("At gives %+v, AtLine %+v", a, b)
	}
}

func TestExcerpts(t *testing.T) {
	long := strings.Repeat("0123456789", 30)
	tests := []struct {
		name string
		p    Problem
		want string
	}{
		{"file only", Problem{Place: Place{File: "a"}, Message: "m", Code: "c", Want: "w"}, "a: error: m [c]\n     = w\n"},
		{"question", Problem{Severity: Question, Place: Place{File: "a", Line: 7, Excerpt: "text"}, Message: "m", Code: "c"},
			"a:7: question: m [c]\n     |\n   7 | text\n"},
		{"cell", Problem{Place: Place{File: "a", Cell: "S!B7", Excerpt: "0,3S"}, Message: "m", Code: "c", Want: "w"},
			"a:S!B7: error: m [c]\n     | 0,3S\n     = w\n"},
		{"wide characters take two cells, combining marks none", Problem{Place: Place{File: "a", Line: 1, Column: 6, Width: 2, Excerpt: "漢e\u0301,x字字"}, Message: "m", Code: "c"},
			"a:1:6: error: m [c]\n     |\n   1 | 漢e\u0301,x字字\n     |      ^~~~\n"},
		{"a column behind the end", Problem{Place: Place{File: "a", Line: 1, Column: 4, Excerpt: "abc"}, Message: "m", Code: "c"},
			"a:1:4: error: m [c]\n     |\n   1 | abc\n     |    ^\n"},
		{"long lines keep the column in sight", Problem{Place: Place{File: "a", Line: 12345, Column: 151, Width: 3, Excerpt: long}, Message: "m", Code: "c"},
			"a:12345:151: error: m [c]\n        |\n  12345 | …" + long[102:200] + "…\n        | " + strings.Repeat(" ", 49) + "^~~\n"},
		{"terminal escapes and direction overrides are shown, not sent", Problem{Place: Place{File: "a\x1b", Line: 1, Column: 1, Excerpt: "\x1b[31m\u202eab\x7f\t"}, Message: "\x07", Code: "c"},
			"a␛:1:1: error: ␇ [c]\n     |\n   1 | ␛[31m�ab␡ \n     | ^\n"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			if got := write(t, tt.p); got != tt.want {
				t.Errorf("got\n%s\nwant\n%s", got, tt.want)
			}
		})
	}
}

// TestLongLines holds that a place keeps little of a long line, and shows the
// same as if it kept all.
func TestLongLines(t *testing.T) {
	line := strings.Repeat("0123456789é", 200_000)
	f := source.New("a", []byte("x\n"+line))
	for _, column := range []int{1, 99, 500, 501, 600, 1_000_000, 2_199_900, 2_200_000} {
		p := AtLine(f, source.Position{Line: 2, Column: column}, 3)
		if n := len([]rune(p.Excerpt)); n != longest {
			t.Errorf("%d characters are kept", n)
		}
		got := write(t, Problem{Code: "c", Place: p, Message: "m"})
		want := write(t, Problem{Code: "c", Message: "m", Place: Place{File: "a", Line: 2, Column: column, Width: 3, Excerpt: line}})
		if column == 1 || column > 1_000_000 { // elsewhere the ends of the excerpt are not those of the line
			if got != want {
				t.Errorf("column %d: got\n%s\nwant\n%s", column, got, want)
			}
		}
		at := strings.SplitAfter(got, "\n")
		if caret := strings.IndexByte(at[3], '^'); []rune(at[2])[caret] != []rune(line)[column-1] {
			t.Errorf("column %d: the caret is wrong\n%s", column, got)
		}
	}
}

func TestOrderAndFolding(t *testing.T) {
	var l, other List
	for i := 6; i > 0; i-- {
		l.Add(Problem{Code: "slip", Place: Place{File: "b", Line: i}, Message: fmt.Sprint(i)})
	}
	other.Add(
		Problem{Code: "once", Place: Place{File: "b", Line: 2, Column: 9}, Message: "other kind"},
		Problem{Code: "slip", Place: Place{File: "a", Line: 9}, Message: "other file"},
		Problem{Code: "z", Place: Place{File: "x", Cell: "S!AA1"}}, Problem{Code: "z", Place: Place{File: "x", Cell: "S!B1"}},
		Problem{Code: "y", Place: Place{File: "x", Cell: "S!A10"}}, Problem{Code: "y", Place: Place{File: "x", Cell: "S!A9"}},
	)
	l.Join(&other, nil)
	if l.Len() != 12 || l.Errors() != 12 || l.Count(Note) != 0 {
		t.Errorf("%d problems, %d errors", l.Len(), l.Errors())
	}
	var order []string
	for _, p := range l.Sorted() {
		order = append(order, p.Place.String())
	}
	if got, want := strings.Join(order, " "), "a:9 b:1 b:2 b:2:9 b:3 b:4 b:5 b:6 x:S!B1 x:S!AA1 x:S!A9 x:S!A10"; got != want {
		t.Errorf("order %s, want %s", got, want)
	}
	kept, more := l.Folded()
	sum := len(kept)
	for i, n := range more {
		if sum += len(n); len(n) > 0 && kept[i].Place.Line != 3 {
			t.Errorf("%v stands for %d more", kept[i].Place, len(n))
		}
	}
	if sum != l.Len() || len(kept) != 9 {
		t.Errorf("%d kept, %d in all", len(kept), sum)
	}
}

// TestSameFault holds that different faults of one code never hide behind each
// other, and that what is folded is named.
func TestSameFault(t *testing.T) {
	var l List
	for i := range 14 {
		l.Add(Problem{Code: "unknown-link", Place: Place{File: "a.csv", Line: i + 2}, Message: fmt.Sprintf("\"A-%d\" is not a link of links.csv", i)})
	}
	for i, of := range []string{"job", "job", "site", "customer", "contractor"} {
		l.Add(Problem{Code: "missing-value", Place: Place{File: "job.yaml", Line: i + 1}, Message: `"name" of ` + of + " has no value"})
	}
	for i := range 5 {
		l.Add(Problem{Code: "short", Place: Place{File: "z", Line: i + 1}, Message: fmt.Sprintf("%d cells, not 9", i)})
	}
	var b, all strings.Builder
	if err := errors.Join(l.Write(&b, nil), l.WriteAll(&all, nil)); err != nil {
		t.Fatal(err)
	}
	const want = `a.csv:2: error: "A-0" is not a link of links.csv [unknown-link]
a.csv:3: error: "A-1" is not a link of links.csv [unknown-link]
a.csv:4: error: "A-2" is not a link of links.csv [unknown-link]
     = and 11 more rows of a.csv with the same fault: "A-3", "A-4", "A-5", "A-6", "A-7", "A-8", "A-9", "A-10" and 3 others
job.yaml:1: error: "name" of job has no value [missing-value]
job.yaml:2: error: "name" of job has no value [missing-value]
job.yaml:3: error: "name" of site has no value [missing-value]
job.yaml:4: error: "name" of customer has no value [missing-value]
job.yaml:5: error: "name" of contractor has no value [missing-value]
z:1: error: 0 cells, not 9 [short]
z:2: error: 1 cells, not 9 [short]
z:3: error: 2 cells, not 9 [short]
     = and 2 more rows of z with the same fault
`
	if b.String() != want {
		t.Errorf("got\n%s\nwant\n%s", b.String(), want)
	}
	if n := strings.Count(all.String(), "\n"); n != l.Len() || strings.Contains(all.String(), "more rows") {
		t.Errorf("%d lines of %d problems unfolded\n%s", n, l.Len(), all.String())
	}
}

// TestNothingLost holds that sorting and folding lose no problem and that the
// order in which they were found never matters.
func TestNothingLost(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		problems := rapid.SliceOf(rapid.Custom(func(t *rapid.T) Problem {
			return Problem{
				Code:    rapid.SampledFrom([]string{"a", "b"}).Draw(t, "code"),
				Place:   Place{File: rapid.SampledFrom([]string{"x", "y"}).Draw(t, "file"), Line: rapid.IntRange(0, 20).Draw(t, "line"), Column: rapid.IntRange(0, 3).Draw(t, "column")},
				Message: rapid.SampledFrom([]string{"m", "n"}).Draw(t, "message"),
			}
		})).Draw(t, "problems")
		var l, shuffled List
		l.Add(problems...)
		shuffled.Add(rapid.Permutation(problems).Draw(t, "shuffled")...)
		var a, b bytes.Buffer
		if err := errors.Join(l.Write(&a, nil), shuffled.Write(&b, nil)); err != nil || a.String() != b.String() {
			t.Fatalf("%v\n%s\n%s", err, a.String(), b.String())
		}
		kept, more := l.Folded()
		n := len(kept)
		for _, m := range more {
			n += len(m)
		}
		if n != len(problems) {
			t.Fatalf("%d of %d problems left", n, len(problems))
		}
	})
}

// TestJSON holds the stable form for programs.
func TestJSON(t *testing.T) {
	var l List
	if got, err := l.JSON(); err != nil || string(got) != "[]" {
		t.Errorf("an empty list is %s, %v", got, err)
	}
	for i := range 5 {
		l.Add(Problem{Severity: Severity(i % 3), Code: "c", Place: Place{File: "f", Line: 5 - i}, Message: "m", Want: "w", Because: []string{"b"}, Fix: "d"})
	}
	data, err := l.JSON()
	if err != nil {
		t.Fatal(err)
	}
	var back []map[string]any
	if err := json.Unmarshal(data, &back); err != nil {
		t.Fatal(err)
	}
	if len(back) != 5 {
		t.Errorf("JSON folds: %d", len(back))
	}
	first, err := json.Marshal(back[0])
	if err != nil {
		t.Fatal(err)
	}
	want := `{"because":["b"],"code":"c","fix":"d","message":"m","place":{"file":"f","line":1},"severity":"question","want":"w"}`
	if string(first) != want {
		t.Errorf("got %s, want %s", first, want)
	}
}

func TestDisplayWidth(t *testing.T) {
	// Unicode Standard Annex 11: wide and fullwidth characters take two cells.
	for text, want := range map[string]int{"": 0, "abc": 3, "é": 1, "e\u0301": 1, "漢字": 4, "Ａ": 2, "ｱ": 1, "한": 2, "א": 1, "µ": 1} {
		if got := DisplayWidth(text); got != want {
			t.Errorf("DisplayWidth(%q) = %d, want %d", text, got, want)
		}
	}
}

func TestPaint(t *testing.T) {
	var l List
	l.Add(Problem{Code: "c", Place: Place{File: "a", Line: 1, Column: 1, Excerpt: "x"}, Message: "m"})
	var b bytes.Buffer
	if err := l.Write(&b, func(r Tone, s string) string { return fmt.Sprintf("<%d %s>", r, s) }); err != nil {
		t.Fatal(err)
	}
	want := fmt.Sprintf("a:1:1: <%d error>: m [c]\n     <%d |>\n   1 <%d |> x\n     <%d |> <%d ^>\n", RoleError, RoleDim, RoleDim, RoleDim, RoleCaret)
	if b.String() != want {
		t.Errorf("got %q, want %q", b.String(), want)
	}
}

func TestProblemIsAnError(t *testing.T) {
	var err error = &Problem{Code: "c", Place: Place{File: "a", Line: 2}, Message: "m"}
	if err.Error() != "a:2: m [c]" {
		t.Error(err)
	}
}

func TestCompact(t *testing.T) {
	var l List
	one := Problem{Code: "no-unit", Place: Place{File: "a.yaml", Line: 3, Column: 7}, Message: "the unit is not said"}
	other := one
	other.Place.Line = 4
	asked := one
	asked.Severity = Question
	l.Add(one, other, one, asked, one)
	if l.Compact(); l.Len() != 3 || l.Errors() != 2 {
		t.Errorf("%v", l.all)
	}
}

// TestPatches holds that the patches of one fault in many rows are printed as
// one, and that one alone is printed as its Fix.
func TestPatches(t *testing.T) {
	f := source.New("a.csv", []byte("A-1\nA-2\nA-3\nA-4\nA-5\n"))
	job := source.New("job.yaml", []byte("readings:\n  - columns: {link: Link}\n"))
	var all []Problem
	for n := 1; n <= 5; n++ {
		all = append(all, Problem{Code: "unknown-link", Place: AtLine(f, source.Position{Line: n, Column: 1}, 3), Message: fmt.Sprintf(`"A-%d" is not a link`, n),
			Fix:   "add it to aliases",
			Patch: &Patch{Intro: "if each pair is one link, paste into job.yaml:", Head: "aliases:", Line: fmt.Sprintf(`"A-%d": "A-0%d"`, n, n)}})
	}
	all[0].Also = []Beside{{AtLine(job, source.Position{Line: 2, Column: 15}, 10), "the mapping says so"}}
	want := `a.csv:1:1: error: "A-1" is not a link [unknown-link]
     |
   1 | A-1
     | ^~~
     = job.yaml:2:15: the mapping says so
     |
   2 |   - columns: {link: Link}
     |               ^~~~~~~~~~
a.csv:2:1: error: "A-2" is not a link [unknown-link]
     |
   2 | A-2
     | ^~~
a.csv:3:1: error: "A-3" is not a link [unknown-link]
     |
   3 | A-3
     | ^~~
     = and 2 more rows of a.csv with the same fault: "A-4", "A-5"
     = fix: if each pair is one link, paste into job.yaml:
       aliases:
         "A-1": "A-01"
         "A-2": "A-02"
         "A-3": "A-03"
         "A-4": "A-04"
         "A-5": "A-05"
`
	if got := write(t, all...); got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	if got, want := write(t, all[4]), "a.csv:5:1: error: \"A-5\" is not a link [unknown-link]\n     |\n   5 | A-5\n     | ^~~\n     = fix: add it to aliases\n"; got != want {
		t.Errorf("one alone: got\n%s\nwant\n%s", got, want)
	}
}

// TestCounted holds that of one code a thousand problems of a file are kept, and
// the rest counted as what they are.
func TestCounted(t *testing.T) {
	var l List
	for i := range 5000 {
		l.Add(Problem{Code: "not-a-number", Place: Place{File: "a.csv", Line: i + 1}, Message: fmt.Sprintf("%q is not a number", fmt.Sprint("x", i))})
	}
	l.Add(Problem{Code: "unknown-link", Place: Place{File: "a.csv", Line: 7000}, Message: "no such link"})
	for range 1001 {
		l.Add(Problem{Severity: Question, Code: "bound", Place: Place{File: "b.csv", Line: 1}, Message: "is a bound"})
	}
	if l.Errors() != 5001 || l.Count(Question) != 1001 || l.Len() != 6002 {
		t.Errorf("%d errors and %d questions of %d, want 5001 and 1001 of 6002", l.Errors(), l.Count(Question), l.Len())
	}
	if !l.Full(Error, "not-a-number", "a.csv") || l.Full(Error, "unknown-link", "a.csv") || l.Full(Error, "not-a-number", "b.csv") {
		t.Error("full is what holds a thousand of one code in one file")
	}
	var joined List
	joined.Join(&l, &l)
	if joined.Errors() != 10002 || joined.Count(Question) != 2002 {
		t.Errorf("joined: %d errors and %d questions, want twice as many", joined.Errors(), joined.Count(Question))
	}
	var b bytes.Buffer
	if err := l.Write(&b, nil); err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{
		"a.csv: error: only counted: 4000 more faults of this file: 4000 not-a-number [too-many-faults]",
		"and at least 997 more rows of a.csv with the same fault",
		"a.csv:7000: error: no such link [unknown-link]",
		"b.csv: question: only counted: 1 more question of this file: 1 bound [too-many-faults]",
	} {
		if !strings.Contains(b.String(), want) {
			t.Errorf("not printed: %s\n%s", want, b.String())
		}
	}
}
