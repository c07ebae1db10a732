package certify_test

import (
	"strings"
	"testing"
	"time"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestFaces: a certificate lists every inspection of its faces in each language, and a
// face that nobody inspected; a picture says what its inspection found.
func TestFaces(t *testing.T) {
	at := time.Date(2026, time.November, 17, 15, 4, 0, 0, time.UTC)
	for language, want := range map[string][]string{
		"en": {"|Inspection of end faces|", "|A|IEC 61300-3-35:2022|before cleaning|failed|M. Okafor|17 Nov 2026 15:04|", "|A|IEC 61300-3-35:2022|after cleaning|passed|M. Okafor|17 Nov 2026 15:09|", "|B|none on record|",
			" End face passed, IEC 61300-3-35:2022, after cleaning, M. Okafor, 17 Nov 2026 15:09 "},
		"es": {"|Inspección de las caras de los conectores|", "|antes de limpiar|rechazada|", "|no consta ninguna|"},
		"de": {"|Prüfung der Stirnflächen|", "|vor der Reinigung|", "|keine verzeichnet|"},
	} {
		f := library()
		f.Job.Documents.Language = language
		look := record.Inspection{Link: "A-12", End: "A", Criterion: "IEC 61300-3-35", Edition: "2022", Cleaning: record.BeforeCleaning, Result: record.EndFaceFail, Person: "mo", Time: at, Origin: record.Origin{File: "inspections.csv", Row: 2}}
		cleaned := look
		cleaned.Cleaning, cleaned.Result, cleaned.Time, cleaned.Photo = record.AfterCleaning, record.EndFacePass, at.Add(5*time.Minute), record.Origin{File: "photos/A-12 A.png"}
		f.Inspections = []record.Inspection{look, cleaned}
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link("A-12")
		text := "|"
		for _, m := range drawn(t, page.A4, paperOf(t, set, l)).Marks {
			if m.Kind == page.TextMark {
				text += m.Text + "|"
			}
		}
		text += strings.ReplaceAll(text, "|", " ")
		for _, one := range want {
			if !strings.Contains(strings.ReplaceAll(text, "\u00A0", " "), one) {
				t.Errorf("%s: no %s in %s", language, one, text)
			}
		}
	}
}
