package propose

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/intake"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/mapping"
	"spanseal/internal/source"
	"spanseal/internal/strict"

	"github.com/rogpeppe/go-internal/txtar"
)

// printProposal is what the corpus of drafts compares.
func printProposal(name string, raw []byte) string {
	p, list := Propose(name, raw)
	if p == nil {
		return testjobs.Problems(list)
	}
	var b strings.Builder
	b.WriteString(p.YAML())
	for _, s := range p.Recognised {
		fmt.Fprintf(&b, "# saw: %s\n", s)
	}
	return b.String() + testjobs.Problems(list)
}

// TestPropose drafts an entry for each sample of propose/. Where nothing is
// left to be told, a job with the draft reads the sample without an error.
func TestPropose(t *testing.T) {
	names, err := filepath.Glob(filepath.Join(testjobs.Root, "propose", "*.txtar"))
	if err != nil || len(names) < 10 {
		t.Fatal(names, err)
	}
	for _, name := range names {
		t.Run(strings.TrimSuffix(filepath.Base(name), ".txtar"), func(t *testing.T) {
			files, check := golden.Archive(t, name, "draft")
			dir := t.TempDir()
			testjobs.LayOut(t, dir, files)
			sample, _, _ := strings.Cut(files[0].Name, "!")
			raw, err := os.ReadFile(filepath.Join(dir, sample))
			if err != nil {
				t.Fatal(err)
			}
			check(printProposal(sample, raw))
			// What the evidence needs does not keep a reading from being read.
			forEvidence := func(s string) bool {
				return strings.HasPrefix(s, "when it was measured") || strings.HasPrefix(s, "with which instrument") || strings.HasPrefix(s, "who measured")
			}
			if p, _ := Propose(sample, raw); p != nil && len(slices.DeleteFunc(slices.Clone(p.Needed), forEvidence)) == 0 {
				testjobs.LayOut(t, dir, []txtar.File{{Name: "job.yaml+", Data: []byte(p.YAML())}, {Name: sample + "!raw", Data: raw}})
				facts, list := intake.Read(dir, intake.Options{})
				if list.Errors() > 0 || len(facts.Readings) == 0 {
					t.Errorf("by its own draft the sample gives %d readings and\n%s", len(facts.Readings), testjobs.Problems(list))
				}
			}
		})
	}
}

// FuzzPropose holds that a draft is YAML, whatever the sample.
func FuzzPropose(f *testing.F) {
	for _, text := range testjobs.Texts(f) {
		f.Add(text)
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		p, list := Propose("sample.csv", raw)
		if p == nil {
			if list.Errors() == 0 {
				t.Error("no draft and no reason")
			}
			return
		}
		m := mapping.New()
		d := &strict.YAML{File: source.New("draft", []byte(p.YAML())), List: &diag.List{}}
		top := d.Root()
		if top == nil {
			t.Fatalf("%s\n%s", p.YAML(), testjobs.Problems(d.List))
		}
		ks := m.Keys(d)
		ks["files"] = strict.Must(d.Text("files", &m.Files))
		d.Object(top.Content[1].Content[0], "the draft", ks)
		if d.List.Errors() > 0 {
			t.Errorf("%s\n%s", p.YAML(), testjobs.Problems(d.List))
		}
		if bytes.ContainsAny([]byte(p.YAML()), "\x00\x1b") {
			t.Errorf("%q", p.YAML())
		}
	})
}
