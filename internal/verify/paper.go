package verify

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/seal"
)

// The attachments of a certificate that are compared with each other.
const (
	tokenName   = "token.txt"
	recordName  = "record.json"  // what a link's token vouches for
	summaryName = "results.json" // what a summary's token vouches for
)

// PDF checks one signed paper: its signature, and the record and the token
// that it carries against each other and against the signer.
func PDF(name string, data []byte, trust *Trust) *Report {
	p := trust.paper(name, data)
	return &Report{Items: []Item{p.Item}, Files: 1}
}

// paper is what was found out about a PDF file.
type paper struct {
	Item
	record  recordFile  // of a link's paper
	summary summaryFile // of a job's
}

func (t *Trust) paper(name string, data []byte) *paper {
	p := &paper{Item: Item{Path: name, Kind: KindPaper, State: Intact}}
	if err := guard(func() error { t.readPaper(p, data); return nil }); err != nil {
		p.fault(Unreadable, err.Error())
	}
	return p
}

// readPaper checks the bytes of a paper.
func (t *Trust) readPaper(p *paper, data []byte) {
	file, err := pdf.Open(data)
	switch {
	case errors.Is(err, pdf.ErrExtended), errors.Is(err, pdf.ErrAltered):
		p.fault(Changed, err.Error())
		return
	case errors.Is(err, pdf.ErrUnsigned):
		p.fault(Unsigned, "it carries no signature: it is a specimen, or the signature was taken away")
		return
	case err != nil:
		p.fault(Unreadable, err.Error())
		return
	}
	by, err := seal.VerifyCMS(file.CMS, file.Digest)
	if err != nil {
		p.fault(Changed, err.Error())
		return
	}
	t.signedBy(&p.Item, by, file.When)
	attached := map[string]page.Attachment{}
	for _, a := range file.Attachments {
		if _, twice := attached[a.Name]; twice {
			p.fault(Changed, fmt.Sprintf("it carries two attachments named %q", a.Name))
		}
		attached[a.Name] = a
	}
	p.compare(by, attached)
	if c := p.Claim; c != nil && !somewhere(c.Issued, file.When) {
		p.fault(Changed, fmt.Sprintf("its token says that it was issued on %s, its signature %s", c.Issued, file.When.Format(time.DateOnly)))
	}
}

// signedBy describes the signer of an item and judges it. The time is the
// time-stamp's where its authority is trusted, else the one that was claimed.
func (t *Trust) signedBy(item *Item, by *seal.SignedBy, claimed time.Time) {
	s := signer(by.Certificate)
	item.Signer = s
	s.Signed = claimed.UTC()
	existed := t.existed // not to replace what is said of the time, only to prove that it was not later
	stamped := false
	if ts := by.Timestamp; ts != nil {
		authority := signer(ts.Chain[0])
		if t.judgeTime(authority, ts.Chain, ts.Time, t.existed, seal.Lineage(by.Chain)); authority.Trusted {
			s.Signed, s.Stamped, existed, stamped = ts.Time.UTC(), authority.Name, ts.Time, true
			if late := ts.Time.Sub(claimed); late > 24*time.Hour {
				item.note(fmt.Sprintf("it says it was signed on %s; it was time-stamped %d days later", claimed.Format(time.DateOnly), late/(24*time.Hour)))
			} else if -late > ahead {
				item.note(fmt.Sprintf("it says it was signed on %s; it was time-stamped %d days before that", claimed.Format(time.DateOnly), -late/(24*time.Hour)))
			}
		} else {
			item.note(fmt.Sprintf("a time-stamp by %s says %s and does not count: %s",
				authority.Name, ts.Time.UTC().Format(time.RFC3339), authority.Why))
		}
	}
	switch {
	case stamped:
	case !existed.IsZero():
		item.note(fmt.Sprintf("the time of signing is the signer's own word; a renewed time-stamp proves that it was no later than %s", existed.UTC().Format(time.DateOnly)))
	default:
		item.note("the time of signing is the signer's own word")
	}
	if text := t.future(s.Signed); text != "" {
		item.note(text)
	}
	t.judge(s, by.Chain, s.Signed, existed)
	if s.Expired {
		item.note(fmt.Sprintf("the certificate expired on %s; it was valid when it signed", s.NotAfter.Format(time.DateOnly)))
	}
}

// somewhere reports whether it was that day at some place on earth, UTC−12 to
// UTC+14: a day of issue has no zone.
func somewhere(day string, at time.Time) bool {
	at = at.UTC()
	return day >= at.Add(-12*time.Hour).Format(time.DateOnly) && day <= at.Add(14*time.Hour).Format(time.DateOnly)
}

// compare holds the attached record and token against each other and against
// who signed the paper.
func (p *paper) compare(by *seal.SignedBy, attached map[string]page.Attachment) {
	text, ok := attached[tokenName]
	if !ok {
		p.note("the document has no token; only its signature was checked")
		return
	}
	token, err := seal.ParseToken(strings.TrimSuffix(string(text.Data), "\n"))
	if err != nil {
		p.fault(Changed, "the token that it carries is wrong: "+err.Error())
		return
	}
	p.Claim = &token.Claim
	if token.KeyID != by.KeyID || token.Verify(by.Certificate.PublicKey) != nil {
		p.fault(Changed, "the token that it carries was not made by the signer of the paper")
	}
	name, forms := recordName, linkRecords
	var record statement = &p.record
	if token.Claim.Link == "" {
		name, forms, record = summaryName, summaryRecords, &p.summary
	}
	a, ok := attached[name]
	if !ok {
		p.note("the document has no record to compare with its token")
		return
	}
	hash, known, err := read(&a, record)
	if err != nil {
		p.fault(Changed, fmt.Sprintf("the %s that it carries cannot be unpacked: %s", name, err))
		return
	}
	if hash != token.Claim.Record {
		p.fault(Changed, "the record that it carries is not the one that its token names")
	}
	if !known || !slices.Contains(forms, record.form()) {
		p.note("the record is of a form that this version does not know; only its hash was checked")
		return
	}
	for _, f := range record.disagree(token.Claim) {
		p.fault(Changed, f)
	}
}
