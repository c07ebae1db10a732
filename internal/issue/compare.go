package issue

import (
	"encoding/json"
	"fmt"
	"os"

	"spanseal/internal/certify"
	"spanseal/internal/change"
	"spanseal/internal/judge"
	"spanseal/internal/statement"
)

// compare tells a set what differs from the results.json of the revision before,
// the verdicts of that one, and what was paid.
func compare(before string, set *certify.Set) error {
	f, err := os.Open(before)
	if err != nil {
		return err
	}
	defer f.Close()
	about, err := f.Stat()
	if err != nil {
		return err
	}
	old, err := change.Read(f, about.Size())
	if err != nil {
		return fmt.Errorf("%s: %w", before, err)
	}
	head, err := json.Marshal(set.ResultsHead())
	if err != nil {
		return err
	}
	if set.Changes, err = old.Compare(head, set.ResultLinksJSON()); err != nil {
		return fmt.Errorf("%s: %w", before, err)
	}
	set.Before = map[string]judge.Verdict{}
	for link, was := range old.Verdicts() {
		for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
			if v.String() == was {
				set.Before[link] = v
			}
		}
	}
	if paid := old.PayItems(); paid != nil {
		return json.Unmarshal(paid, &set.Paid)
	}
	return nil
}

// noChange reports whether nothing differs from the revision before.
func noChange(changes []statement.Statement) bool {
	return len(changes) > 0 && changes[0].Code == "change.none"
}

// said are statements as a manifest has them, with their English text.
func said(set *certify.Set, changes []statement.Statement) ([]json.RawMessage, error) {
	var out []json.RawMessage
	for _, c := range set.InEnglish(changes...) {
		b, err := c.MarshalJSON()
		if err != nil {
			return nil, err
		}
		out = append(out, b)
	}
	return out, nil
}

// read are the changes of a manifest: those of earlier programs are plain texts.
func read(changes []json.RawMessage) ([]statement.Statement, error) {
	out := make([]statement.Statement, len(changes))
	for i, c := range changes {
		if err := out[i].UnmarshalJSON(c); err != nil {
			return nil, err
		}
	}
	return out, nil
}
