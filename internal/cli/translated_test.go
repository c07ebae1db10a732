package cli_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"
	"time"

	"gopkg.in/yaml.v3"

	"spanseal/internal/certify"
	"spanseal/internal/comparison"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/label"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/seal"
	"spanseal/internal/specimen"
	"spanseal/internal/statement"
	"spanseal/internal/summary"
	"spanseal/internal/wording"
	"spanseal/templates"
)

// jobWords are what the job itself says in the demonstration, for an office that
// works in another language: whatever else is English on its papers is ours.
var jobWords = map[string]*strings.Replacer{
	"es": strings.NewReplacer(
		"language: en", "language: es", "final, closures shut", "final, cajas cerradas", "Reading rooms refit", "Reforma de salas",
		"panel R1 port", "panel R1 puerto", "panel C1 port", "panel C1 puerto", "cabinet K2 port", "armario K2 puerto", "Bellweather Library", "Biblioteca Bellweather",
		"12 Quay Row, Port Ansel", "Muelle 12, Ansel", "Port Ansel Council", "Consejo de Ansel", "Tidewater Fibre Works", "Fibras Marea", "4 Slipway Lane, Port Ansel", "Rampa 4, Ansel",
		"short spans", "tramos cortos", "24 strand OS2", "24 hilos OS2", "12 strand OM4", "12 hilos OM4",
		"Spliced-on connector with test and papers", "Conector empalmado con medida y papeles", "Splice in the span", "Empalme en el tramo",
		"Singlemode strand tested both ways", "Hilo monomodo medido en ambos sentidos", "Multimode strand tested both ways", "Hilo multimodo medido en ambos sentidos",
	),
	"de": strings.NewReplacer(
		"language: en", "language: de", "final, closures shut", "Endzustand, Muffen geschlossen", "Reading rooms refit", "Umbau der Lesesäle",
		"panel R1 port", "Verteiler R1 Port", "panel C1 port", "Verteiler C1 Port", "cabinet K2 port", "Schrank K2 Port", "Bellweather Library", "Bücherei Bellweather",
		"12 Quay Row, Port Ansel", "Kaizeile 12, Ansel", "Port Ansel Council", "Gemeinde Ansel", "Tidewater Fibre Works", "Gezeiten Glasfaser", "4 Slipway Lane, Port Ansel", "Slipweg 4, Ansel",
		"short spans", "kurze Strecken", "24 strand OS2", "24 Fasern OS2", "12 strand OM4", "12 Fasern OM4",
		"Spliced-on connector with test and papers", "Angespleißter Stecker mit Messung und Unterlagen", "Splice in the span", "Spleiß in der Trasse",
		"Singlemode strand tested both ways", "In beiden Richtungen gemessene Singlemodefaser", "Multimode strand tested both ways", "In beiden Richtungen gemessene Multimodefaser",
	),
}

// translatedJob reads the demonstration job in another language.
func translatedJob(t *testing.T, language string) (*record.Facts, *limits.Book) {
	t.Helper()
	dir := t.TempDir()
	demo, err := fs.Sub(templates.Files, "demo")
	if err != nil {
		t.Fatal(err)
	}
	if err := os.CopyFS(dir, demo); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{"job.yaml", "links.csv"} {
		path := filepath.Join(dir, name)
		text, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, []byte(jobWords[language].Replace(string(text))), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	facts, problems := intake.Read(dir, intake.Options{})
	fine(t, problems)
	sets, err := fs.Sub(templates.Files, "limits")
	if err != nil {
		t.Fatal(err)
	}
	book, problems := limits.NewBook(sets)
	fine(t, problems)
	return facts, book
}

func fine(t *testing.T, problems *diag.List) {
	t.Helper()
	if problems.Errors() > 0 {
		var b strings.Builder
		_ = problems.Write(&b, nil)
		t.Fatal(b.String())
	}
}

// englishWords are the words of the English wording that the other one has not.
func englishWords(t *testing.T, other string) map[string]bool {
	t.Helper()
	placeholder, word := regexp.MustCompile(`\{[a-z_]+\}`), regexp.MustCompile(`\p{L}{2,}`)
	in := func(language string) map[string]bool {
		text, err := fs.ReadFile(templates.Files, "wording/"+language+".yaml")
		if err != nil {
			t.Fatal(err)
		}
		var root yaml.Node
		if err := yaml.Unmarshal(text, &root); err != nil {
			t.Fatal(err)
		}
		words := map[string]bool{}
		var walk func(*yaml.Node)
		walk = func(n *yaml.Node) {
			for i, c := range n.Content {
				if n.Kind == yaml.MappingNode && i%2 == 0 {
					continue // a key
				}
				walk(c)
			}
			if n.Kind == yaml.ScalarNode {
				for _, w := range word.FindAllString(strings.ToLower(placeholder.ReplaceAllString(n.Value, " ")), -1) {
					words[w] = true
				}
			}
		}
		walk(&root)
		return words
	}
	only := in("en")
	for w := range in(other) {
		delete(only, w)
	}
	return only
}

// everyChange is an example of each.
func everyChange() (all []statement.Statement) {
	for _, e := range statement.Of("change") {
		all = append(all, statement.New(e.Code, e.Example...))
	}
	return all
}

// TestTranslatedPapers draws every paper of the demonstration in each language
// but English, its specimen and a comparison too, and looks for English words and
// for days and numbers that are written as English does.
func TestTranslatedPapers(t *testing.T) {
	for _, language := range wording.Languages(templates.Files) {
		if language != "en" {
			t.Run(language, func(t *testing.T) { translatedPapers(t, language) })
		}
	}
}

func translatedPapers(t *testing.T, language string) {
	if jobWords[language] == nil {
		t.Fatal("no words of the job in this language")
	}
	facts, book := translatedJob(t, language)
	issued := time.Date(2026, 11, 25, 16, 0, 0, 0, time.UTC)
	writer := form.Writer{Revision: 2, Issued: issued, Signer: form.Signatory{Name: "R. Lindqvist", KeyID: "5F0C 91D2"}, Book: book}
	options := certify.Options{Templates: templates.Files,
		Sign: func(seal.Claim) (string, error) { return "SS1.MZXW6YTB", nil }, Symbol: label.Encode,
		History: []certify.HistoryLine{{Number: 1, Issued: record.NewDate(2026, 11, 20), Changes: []statement.Statement{statement.New("change.partial", statement.Amount{N: 3, Of: "link"})}}},
		Changes: everyChange()}
	sets := map[string]*certify.PaperSet{}
	make := func(name string, facts *record.Facts, w form.Writer) {
		judged, problems := judge.Judge(facts, book)
		fine(t, problems)
		if w.Specimen {
			specimen.Forms(facts, judged)
			judged, problems = judge.Judge(facts, book)
			fine(t, problems)
		}
		w.Facts, w.Judgement = facts, judged
		if sets[name], problems = certify.NewSet(w, options); sets[name] == nil {
			fine(t, problems)
		}
	}
	make("demo", facts, writer)
	invented := writer
	invented.Specimen = true
	make("specimen", specimen.Facts(facts, issued), invented)

	english := englishWords(t, language)
	word, written := regexp.MustCompile(`^[(«¿„"]*(\p{L}{2,})[)»?“",;:.…]*$`), regexp.MustCompile(`^[(]*(\d{4}-\d{2}-\d{2}|\d+\.\d+)[),;:?]*$`)
	seen := map[string]bool{"802.3": true, "1.1": true, "1.2": true, "2.1": true, "2.2": true, "bend,": true} // a standard, and lines of the order
	// What the job itself says stays as it was written: a note of a reading, and the
	// answers among the examples of changes. So does what a standard calls its methods.
	own := []string{"ANSI/TIA-568.3-E, method A", "after cleaning port C1-5", "Of 18 November.", "Both exist.", "One is A-11."}
	for _, text := range own {
		for _, one := range strings.Fields(text) {
			if m := word.FindStringSubmatch(one); m != nil {
				delete(english, strings.ToLower(m[1]))
			}
		}
	}
	look := func(name string, d *certify.Paper, paper page.PaperSize) {
		r := page.NewRecorder(paper)
		if err := d.Draw(r); err != nil {
			t.Fatal(err)
		}
		for _, text := range r.Texts() {
			for _, one := range strings.Fields(text) {
				m := word.FindStringSubmatch(one)
				if (m != nil && english[strings.ToLower(m[1])] || written.MatchString(one)) && !seen[one] {
					seen[one] = true
					t.Errorf("%s %s: %q in %q", name, d.Path, one, text)
				}
			}
		}
	}
	for _, name := range []string{"demo", "specimen"} {
		s := sets[name]
		makers := []func() (*certify.Paper, error){s.Labels, func() (*certify.Paper, error) { return summary.New(s) },
			func() (*certify.Paper, error) { return summary.Quantities(s) }}
		for _, l := range s.Judgement.Results() {
			if l.Verdict.Certifiable() {
				makers = append(makers, func() (*certify.Paper, error) { return s.Certificate(l) })
			} else {
				makers = append(makers, func() (*certify.Paper, error) { return s.Nonconformance(l) })
			}
		}
		for _, make := range makers {
			d, err := make()
			if err != nil {
				t.Fatal(err)
			}
			look(name, d, s.Paper())
		}
	}

	set := sets["demo"]
	l, _ := set.Judgement.Link("A-12")
	was, err := retest.ParseRecord(recordOf(t, set, l))
	if err != nil {
		t.Fatal(err)
	}
	now := was.Side()
	now.Readings = slices.Clone(now.Readings)
	for i := range now.Readings {
		r := &now.Readings[i]
		r.Time = r.Time.AddDate(5, 0, 0)
		r.Value = r.Value.Add(r.Value.Half())
	}
	result := retest.Compare(was, now)
	c, problems := comparison.New(was, result, facts.Job.Documents, comparison.WarrantyClaim{}, writer, options)
	fine(t, problems)
	d, err := c.Sheet(result, page.Attachment{Name: "certificate.pdf"}, nil)
	if err != nil {
		t.Fatal(err)
	}
	look("comparison", d, c.Paper())
}

// recordOf is the record that a link's paper carries.
func recordOf(t *testing.T, s *certify.PaperSet, l *judge.LinkResult) []byte {
	t.Helper()
	d, err := s.Certificate(l)
	if err != nil {
		t.Fatal(err)
	}
	for _, a := range d.Attachments {
		if a.Name == "record.json" {
			return a.Data
		}
	}
	t.Fatal("no record")
	return nil
}
