package page

import "testing"

func TestSurveyFindsEveryCharacter(t *testing.T) {
	a, b := NewSurvey(A4, GoTypefaces()), NewSurvey(A4, GoTypefaces())
	a.NextPage()
	a.Text(10, 10, body, "0.35 ≤ 0.5")
	b.NextPage()
	b.Text(10, 10, Style{Face: Mono, Size: 8}, "beef")
	b.Text(10, 10, body, "é")
	a.Merge(b)
	got := a.Runes()
	for face, want := range [Faces]string{Regular: " .035é≤", Mono: "bef"} {
		if string(got[face]) != want || got[face] == nil {
			t.Errorf("%v: %q, want %q", Face(face), string(got[face]), want)
		}
	}
}
