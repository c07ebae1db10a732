package archive

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"pgregory.net/rapid"

	"spanseal/internal/seal"
)

// FuzzEntry feeds foreign bytes to the index: nothing may break, and what is
// understood is written again as the same revision.
func FuzzEntry(f *testing.F) {
	for _, r := range open(f, harbour(f), Options{NoIndex: true}).Revisions {
		f.Add(r.encode())
	}
	f.Add([]byte{})
	q, err := ParseQuery([]string{"a", "number:*/*", "measured:2026", "serial:2*", "technician:m"})
	if err != nil {
		f.Fatal(err)
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		r, err := decode(data)
		if err != nil {
			return
		}
		for _, h := range q.search(r, nil) {
			h.Uses()
		}
		again, err := decode(r.encode())
		if err != nil {
			t.Fatal(err)
		}
		if diff := cmp.Diff(r, again, cmp.AllowUnexported(Revision{}, stamp{}, method{})); diff != "" {
			t.Error(diff)
		}
	})
}

// FuzzResults feeds foreign bytes to the reading of results.json: what is read
// is hashed to its last byte.
func FuzzResults(f *testing.F) {
	data, err := os.ReadFile(filepath.Join(harbour(f), "2026/library/issued/r2/results.json"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add([]byte(`{"format":"spanseal-results/1","links":[{"link":"A"}]}` + "\n\n"))
	f.Add([]byte(`{"format":"spanseal-results/1","links":[]}}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, is, err := streamResults(bytes.NewReader(data), func(*resultsLink) {})
		if err != nil {
			return
		}
		if want := seal.NewManifestFile(resultsName, data); is != want {
			t.Errorf("read as %+v, is %+v", is, want)
		}
	})
}

func FuzzQuery(f *testing.F) {
	for _, k := range Keys {
		f.Add(k.Name + ":2026-11-18")
	}
	f.Add("measured:2026-11..")
	f.Add("verdict:pass,fail")
	f.Add("link:*a**b*")
	a := open(f, harbour(f), Options{NoIndex: true})
	f.Fuzz(func(t *testing.T, text string) {
		if q, err := ParseQuery(strings.Fields(text)); err == nil {
			a.Find(q)
		}
	})
}

// TestWildcard holds the wildcard against a regular expression.
func TestWildcard(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := rapid.StringMatching(`[aB*]{0,6}`).Draw(t, "pattern")
		text := rapid.StringMatching(`[abAB]{0,8}`).Draw(t, "text")
		same := regexp.MustCompile(`(?is)^` + strings.ReplaceAll(p, "*", ".*") + `$`)
		if got, want := pattern(p).fits(text), same.MatchString(text); got != want || pattern(p).fitsBytes([]byte(text)) != want {
			t.Errorf("%q fits %q: %v, want %v", p, text, got, want)
		}
	})
}

// TestContains holds the search without copies against the plain one.
func TestContains(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`[a-bA-BÄä/]{0,80}`).Draw(t, "text")
		word := rapid.StringMatching(`[a-bä/]{0,3}`).Draw(t, "word")
		if got, want := contains([]byte(text), word), strings.Contains(strings.ToLower(text), word); got != want {
			t.Errorf("%q in %q: %v, want %v", word, text, got, want)
		}
	})
}
