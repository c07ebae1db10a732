package certify_test

import (
	"fmt"
	"strings"
	"testing"

	"spanseal/internal/page"
	"spanseal/internal/record"
)

// TestOriginals: a paper lists the files that instruments wrote with their size and the
// begin of their digest, and of more than a few the number.
func TestOriginals(t *testing.T) {
	sum := strings.Repeat("0123456789abcdef", 4)
	for _, c := range []struct {
		language string
		files    int
		want     []string
	}{
		{"en", 1, []string{"|The instrument's own files|", "|traces/0.sor|1310 nm A–B|65 536|0123456789abcdef|"}},
		{"en", 12, []string{"|traces/6.sor|1310 nm A–B|65 536|0123456789abcdef|5 more files are listed in record.json, each with its whole SHA-256.|"}},
		{"es", 12, []string{"|Archivos propios del instrumento|", "|5 archivos más constan en record.json, cada uno con su SHA-256 completo.|"}},
		{"de", 12, []string{"|Dateien des Messgeräts|", "|5 weitere Dateien stehen in record.json, jede mit ganzem SHA-256.|"}},
	} {
		f := library()
		f.Job.Documents.Language = c.language
		for i := range c.files {
			f.InstrumentFiles = append(f.InstrumentFiles, record.InstrumentFile{Link: "A-12", WavelengthNM: 1310, Direction: record.AB, File: fmt.Sprintf("traces/%d.sor", i), Size: 65536, SHA256: sum})
		}
		set := newSet(t, f, options())
		l, _ := set.Judgement.Link("A-12")
		text := "|"
		for _, m := range drawn(t, page.A4, paperOf(t, set, l)).Marks {
			if m.Kind == page.TextMark {
				text += m.Text + "|"
			}
		}
		for _, one := range c.want {
			if !strings.Contains(text, one) {
				t.Errorf("%s: no %s in %s", c.language, one, text)
			}
		}
		if c.files > 8 && strings.Contains(text, "traces/7.sor") {
			t.Errorf("%s: more than seven files of twelve are listed", c.language)
		}
	}
}
