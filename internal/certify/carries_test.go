package certify_test

import (
	"strings"
	"testing"

	"spanseal/internal/record"
)

// TestWhatLimitsOfApplicationsDoNotShow: cords share the budget, and a reference that
// leaves end connections outside the measurement is told, in every language.
func TestWhatLimitsOfApplicationsDoNotShow(t *testing.T) {
	for language, want := range map[string][2]string{
		"en": {"Patch cords share this budget.", "leaves one end connection outside the measurement"},
		"de": {"Dieses Dämpfungsbudget schließt die Rangierkabel ein.", "lässt eine Endverbindung außerhalb der Messung"},
		"es": {"Este presupuesto de pérdida incluye los cordones de conexión.", "deja una conexión de extremo fuera de la medición"},
	} {
		for _, reference := range []record.ReferenceMethod{record.OneCord, record.TwoCord} {
			f := library()
			f.Job.Documents.Language, f.Job.Policy.Reference = language, reference
			set := setByBook(t, f)
			l := set.Judgement.Result(0)
			if !l.Verdict.Certifiable() {
				t.Fatal("the fixture shows nothing")
			}
			d, err := set.Certificate(l)
			if err != nil {
				t.Fatal(err)
			}
			texts := strings.Join(drawn(t, set.Paper(), d).Texts(), " ")
			if !strings.Contains(texts, want[0]) || strings.Contains(texts, want[1]) != (reference == record.TwoCord) {
				t.Errorf("%s, %s: %s", language, reference, texts)
			}
		}
	}
}
