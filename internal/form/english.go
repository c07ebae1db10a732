package form

import (
	"slices"

	"spanseal/internal/judge"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// told are statements with their English text, for records.
func (w *Writer) told(all []statement.Statement) []statement.Statement {
	for i := range all {
		all[i] = w.english.Told(all[i])
	}
	return all
}

// confirmed are sets whose confirmations have their English text, for records.
func (w *Writer) confirmed(sets []judge.SetUsed) []judge.SetUsed {
	out := slices.Clone(sets)
	for i := range out {
		if c := &out[i].Confirmation; !c.IsZero() {
			*c = w.english.Told(*c)
		}
	}
	return out
}

// entries are those of a ledger with their reasons in English.
func (w *Writer) entries(ledger []judge.LedgerEntry) []judge.LedgerEntry {
	out := slices.Clone(ledger) // many links share one
	for i := range out {
		if e := &out[i]; !e.Reason.IsZero() {
			e.Reason = w.english.Told(e.Reason)
		}
	}
	return out
}

// InEnglish returns statements with their English texts, as records have them.
func (w *Writer) InEnglish(all ...statement.Statement) []statement.Statement {
	out := slices.Clone(all)
	for i, one := range out {
		if one.Code != "" {
			out[i] = w.english.Told(one)
		}
	}
	return out
}

// ToldFinding is a finding whose question and advice have their English text.
func ToldFinding(f *judge.Finding, english *wording.Wording) *judge.Finding {
	if f.Question.IsZero() && len(f.Advice) == 0 {
		return f
	}
	m, told := *f.Matter, *f
	m.Question, m.Advice = english.Told(m.Question), slices.Clone(m.Advice)
	for i := range m.Advice {
		m.Advice[i] = english.Told(m.Advice[i])
	}
	told.Matter = &m
	return &told
}

// Told is a statement with its English text.
func (w *Writer) Told(one statement.Statement) statement.Statement { return w.english.Told(one) }
