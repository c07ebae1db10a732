package load

import (
	"maps"
	"slices"
	"strings"
	"unicode/utf8"

	"spanseal/internal/diag"
	"spanseal/internal/evidence"
	"spanseal/internal/jobfile"
	"spanseal/internal/source"
)

// unknownQuestions tells of names under judge.questions that are no checks,
// where they stand.
func (j *JudgedJob) unknownQuestions() *diag.List {
	list := &diag.List{}
	for _, code := range slices.Sorted(maps.Keys(j.Facts.Job.Policy.Questions)) {
		if p, unknown := evidence.Unknown(code, diag.Place{}); unknown {
			at := jobfile.PlaceOf(j.Facts, "judge.questions."+code)
			p.Place = keyBefore(jobfile.FileOf(j.Facts, at.File), code, at)
			list.Add(p)
		}
	}
	return list
}

// keyBefore is where the key of a value stands: before it in its line, or in
// one above.
func keyBefore(f *source.File, key string, value diag.Place) diag.Place {
	for n := value.Line; n > 0 && f != nil; n-- {
		if before, _, ok := strings.Cut(f.Line(n), key); ok {
			return diag.AtLine(f, source.Position{Line: n, Column: utf8.RuneCountInString(before) + 1}, utf8.RuneCountInString(key))
		}
	}
	return value
}
