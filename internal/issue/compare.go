package issue

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"spanseal/internal/certify"
	"spanseal/internal/change"
	"spanseal/internal/judge"
	"spanseal/internal/seal"
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
	set.Before = map[string]judge.Verdict{}
	for link, was := range old.Verdicts() {
		for _, v := range []judge.Verdict{judge.Pass, judge.Marginal, judge.Incomplete, judge.Fail} {
			if v.String() == was {
				set.Before[link] = v
			}
		}
	}
	if paid := old.PayItems(); paid != nil && set.Facts.Job.Pay.Billed == nil {
		if err := json.Unmarshal(paid, &set.Paid); err != nil {
			return fmt.Errorf("%s: %w", before, err)
		}
	}
	head, err := json.Marshal(set.ResultsHead())
	if err != nil {
		return err
	}
	if set.Changes, err = old.Compare(head, set.ResultLinksJSON()); err != nil {
		return fmt.Errorf("%s: %w", before, err)
	}
	return nil
}

// billed reads what the revision states that job.yaml says was billed last. It is held
// against its manifest, which was held against the chain.
func (r *Request) billed(p *past) error {
	n := r.Set.Facts.Job.Pay.Billed
	if n == nil || *n == 0 {
		return nil
	}
	if *n > len(p.manifests) {
		return &BilledError{*n, len(p.manifests)}
	}
	dir, err := r.disk().folder(r.Folder)
	if err != nil {
		return err
	}
	defer dir.Close()
	if err := r.checkListed(dir, p.manifests[*n-1], resultsName); err != nil {
		return err
	}
	path := filepath.Join(r.Folder, seal.RevisionFolder(*n), resultsName)
	f, err := os.Open(path)
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
		return fmt.Errorf("%s: %w", path, err)
	}
	if paid := old.PayItems(); paid != nil {
		err = json.Unmarshal(paid, &r.Set.Paid)
	}
	return errors.Join(err, r.checkListed(dir, p.manifests[*n-1], resultsName))
}

// BilledError reports that job.yaml names a revision as billed that was never issued.
type BilledError struct{ Billed, Issued int }

func (e *BilledError) Error() string {
	return fmt.Sprintf("pay.billed names r%d, and %d were issued", e.Billed, e.Issued)
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
