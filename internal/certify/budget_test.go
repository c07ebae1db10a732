package certify_test

import (
	"slices"
	"strings"
	"testing"
	"testing/fstest"

	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestPowerBudgetOnPaper: the working of a power budget shows what is taken off
// what, and the bar of its allowance is whole: it is no sum of the link's parts.
func TestPowerBudgetOnPaper(t *testing.T) {
	const set = `{id: ring, title: Transmitters of the ring, owner: Port Ansel Council, edition: "2026", provenance: read,
limits: [{id: power-budget, quantity: insertion_loss, budget: {launch: 3 dBm, sensitivity: -32 dBm, penalties: 0 dB}}]}`
	for language, want := range map[string]string{"en": "3 dBm − (−32 dBm) − 0 = 35 dB", "es": "3 dBm − (−32 dBm) − 0 = 35 dB"} {
		f := library()
		f.Job.Documents.Language = language
		f.Job.Policy.Limits = []string{"ring"}
		f.Job.Policy.Require.Reflectance = ""
		f.Links = slices.DeleteFunc(f.Links, func(l record.Link) bool { return l.ID != "A-01" })
		f.Terminations = nil
		f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return r.Link != "A-01" })
		book, problems := limits.NewBook(fstest.MapFS{"ring.yaml": {Data: []byte(set)}})
		good(t, problems)
		j, problems := judge.Judge(f, book)
		good(t, problems)
		o := options()
		o.Book = book
		papers, problems := o.Set(f, j)
		good(t, problems)
		d, err := papers.Certificate(papers.Judgement.Result(0))
		if err != nil {
			t.Fatal(err)
		}
		texts := strings.ReplaceAll(strings.Join(drawn(t, page.A4, d).Texts(), " "), "\u00A0", " ")
		if !strings.Contains(texts, want) {
			t.Errorf("%s: %q stands nowhere in\n%s", language, want, texts)
		}
		if strings.Contains(texts, "launch 3.00") || strings.Contains(texts, "32.00") {
			t.Errorf("%s: the powers stand on the bar of the allowance", language)
		}
	}
}
