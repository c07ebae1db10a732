package cli

import (
	"cmp"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"time"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"spanseal/internal/certify"
	"spanseal/internal/company"
	"spanseal/internal/comparison"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/issue"
	"spanseal/internal/jobfile"
	"spanseal/internal/label"
	"spanseal/internal/load"
	"spanseal/internal/page"
	"spanseal/internal/pdf"
	"spanseal/internal/plain"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
	"spanseal/templates"
)

// asCertified is what a flag says for "as it was then".
const asCertified = "as-certified"

// compareFlags are what may be said about a retest.
type compareFlags struct {
	how                         format
	who                         trusted
	reference, testCords, u     string
	sheet, key, passFile, date  string
	claim, discovered, reported string
	others, cleaning            string
	postdated                   bool
}

func (a *app) compare() *cobra.Command {
	var f compareFlags
	c := &cobra.Command{
		Use:   "compare CERTIFICATE READINGS",
		Short: "compare a retest with the certified result",
		Long: `Reads the record in a certificate (a PDF) and compares new readings of the same
link with it: then, now, the change, whether the change is larger than the
uncertainties of the two measurements explain (normalised error above 1), and
whether the original limit is still met. A nonconformance sheet contains the same
record and is compared in the same way. READINGS is a job folder, or a file of readings
with the standard column names, so that no mapping is needed: link, wavelength_nm,
direction, loss_db.

A file does not say how the reference was taken. Say so with --reference and
--test-cords; ` + asCertified + ` means as on the certificate. If one of them is missing, the
command to run is printed. Losses measured in another way are shown, but not
compared. With --sheet the comparison is written as a signed PDF with space for the
claim.

The exit code is 4 if a change is larger than measurement explains, a limit is not
met, or nothing could be compared; 5 if the certificate was changed; 6 if its signer
is not trusted.`,
		Example: `  spanseal compare A-12.pdf retest-2033 --trust tidewater.pem
  spanseal compare A-12.pdf retest.csv --reference as-certified --test-cords as-certified --uncertainty 0.12
  spanseal compare A-12.pdf retest-2033 --sheet claim-77.pdf --claim 77 --discovered 2033-03-01`,
		Args: takes(2, 2, "a certificate and new readings"),
		RunE: func(c *cobra.Command, args []string) error {
			return a.runCompare(&f, args[0], args[1], func(more ...string) string { return typed(c, args, more...) })
		},
	}
	f.how.flag(c, "text", "json")
	f.who.flags(c)
	c.Flags().StringVar(&f.reference, "reference", "", "how the reference was taken: one-cord, two-cord, three-cord or "+asCertified)
	c.Flags().StringVar(&f.testCords, "test-cords", "", "their grade: standard, reference-grade or "+asCertified)
	c.Flags().StringVar(&f.u, "uncertainty", "", "expanded uncertainty (k = 2) of a loss reading in dB, if the instrument states none")
	c.Flags().StringVar(&f.sheet, "sheet", "", "write a signed comparison sheet to this PDF file")
	c.Flags().StringVar(&f.key, "key", "", "the key file that signs the sheet (default: that of the job of the readings, else of the certificate)")
	c.Flags().StringVar(&f.passFile, "passphrase-file", "", "a file whose first line is the key's passphrase")
	c.Flags().StringVar(&f.date, "date", "", "the date of the sheet, such as 2033-03-10 (default: now)")
	c.Flags().BoolVar(&f.postdated, "postdated", false, "allow a date of the sheet in the future")
	c.Flags().StringVar(&f.claim, "claim", "", "number of the claim, for the sheet")
	c.Flags().StringVar(&f.discovered, "discovered", "", "day on which the fault was discovered, for the sheet")
	c.Flags().StringVar(&f.reported, "reported", "", "day on which it was reported, for the sheet")
	c.Flags().StringVar(&f.others, "others", "", "work or damage by others that is known, for the sheet")
	c.Flags().StringVar(&f.cleaning, "cleaning", "", "cleaning done before the retest, for the sheet")
	return c
}

// certificate is a paper that was opened for comparison.
type certificate struct {
	raw     []byte
	record  *retest.Certified
	checked *verify.Report
	token   string
	// documents are the size and the language of the paper.
	documents record.Documents
	// superseded says by what the paper is superseded, where that is known.
	superseded string
	// office is the job that issued it, see officeJob, read once and only if asked for.
	office func() (dir string, job *jobfile.Contents)
}

// fresh is a new measurement, and the job that it was found in, or nil.
type fresh struct {
	retest.Side
	facts *record.Facts
	dir   string // of the job, "" for a file
}

func (a *app) runCompare(f *compareFlags, paper, readings string, draft func(more ...string) string) error {
	if err := errors.Join(f.onSheetOnly(), f.valid()); err != nil {
		return err
	}
	cert, err := a.openCertificate(paper, f.who)
	if err != nil {
		return err
	}
	now, err := a.retested(cert, readings, f)
	if err != nil {
		return err
	}
	if err := a.askMethod(&now.Side, cert.record, draft); err != nil {
		return err
	}
	result := retest.Compare(cert.record, now.Side)
	if result.Repeated() {
		were := "were certified"
		if !cert.record.Verdict.Certifiable() {
			were = "are on the nonconformance sheet"
		}
		return refuse("name the job folder, or the file, of the retest", "%s holds no new reading of link %s: all are those that %s",
			diag.Safe(readings), diag.Safe(cert.record.Link.ID), were)
	}
	if f.sheet != "" {
		if err := a.writeSheet(f, paper, cert, now, result); err != nil {
			return err
		}
	}
	a.worse(exitOf(cert.checked.Conclusion()))
	switch result.Outcome {
	case retest.NoChange, retest.Undecided:
	default:
		a.status = ExitOpen
	}
	if f.how == "json" {
		e := json.NewEncoder(a.out)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		return e.Encode(struct {
			*retest.Comparison
			Certificate *verify.Report `json:"certificate_checked"`
		}{result.Told(a.print.Words().Told), cert.checked})
	}
	a.print.Comparison(result, cert.checked, cert.superseded)
	if f.sheet != "" {
		fmt.Fprintf(a.out, "\nwrote %s\n", diag.Safe(f.sheet))
	}
	a.afterComparing(f, paper, cert, result, draft)
	return nil
}

// openCertificate opens a paper that is as it was signed, with its record.
func (a *app) openCertificate(file string, who trusted) (*certificate, error) {
	trust, err := a.readTrust(who)
	if err != nil {
		return nil, err
	}
	data, err := readPaper(file)
	if err != nil {
		return nil, err
	}
	c := &certificate{raw: data, checked: verify.PDF(file, data, trust), superseded: verify.Superseded(file),
		office: sync.OnceValues(func() (string, *jobfile.Contents) { return officeJob(file) })}
	verify.NoteSuccessor(c.checked, file)
	if c.checked.Items[0].State == verify.Unreadable {
		return nil, &failure{ExitWrong, fmt.Sprintf("%s cannot be read as a document: %s", diag.Safe(file), diag.Safe(c.checked.Items[0].Faults[0])),
			"name the PDF file of a certificate, as it was issued"}
	}
	if c.checked.Conclusion() == verify.Broken {
		return nil, &failure{ExitWrong, fmt.Sprintf("%s is not as it was signed: %s", diag.Safe(file), diag.Safe(strings.Join(c.checked.Items[0].Faults, "; "))),
			"find an unchanged copy; `spanseal verify` says more"}
	}
	paper, err := pdf.Open(data)
	if err != nil {
		return nil, &failure{ExitWrong, err.Error(), ""}
	}
	for _, at := range paper.Attachments {
		if at.Name == "token.txt" {
			c.token = strings.TrimSpace(string(at.Data))
		}
	}
	for _, at := range paper.Attachments {
		if at.Name == "record.json" {
			if c.record, err = retest.ParseRecord(at.Data); err != nil {
				return nil, refuse("", "%s: %v", diag.Safe(file), err)
			}
			c.documents = record.Documents{Paper: paper.Paper.Name, Language: paper.Language}
			return c, nil
		}
	}
	return nil, refuse("name the certificate of one link", "%s carries no record of a link", diag.Safe(file))
}

// retested reads the new measurement of a certified link.
func (a *app) retested(cert *certificate, path string, f *compareFlags) (*fresh, error) {
	c := cert.record
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse("name a job folder, or a file of readings", "%s does not exist", diag.Safe(path))
	case err != nil:
		return nil, refuse("make it readable, or name a copy", "%s cannot be read: %v", diag.Safe(path), plain.Cause(err))
	}
	now := &fresh{}
	var problems *diag.List
	if info.IsDir() {
		now.facts, problems = intake.Read(path, intake.Options{WithoutPhotos: true})
		now.dir = path
	} else {
		now.facts, problems = intake.ReadLoose(path, c.Link, c.Job.TimeZone)
		if problems.Errors() > 0 {
			if facts := a.retestedAs(cert, path); facts != nil {
				now.facts, problems = facts, &diag.List{}
			}
		}
	}
	if err := a.report(problems); err != nil {
		if bad := (*failure)(nil); now.dir == "" && wantsEntry(problems) && errors.As(err, &bad) {
			bad.fix = "a file by itself has no readings entry: name its columns link, wavelength_nm, direction and loss_db, or name the job folder whose job.yaml has its entry"
		}
		return nil, err
	}
	now.Side = retest.SideOf(now.facts, c.Link.ID)
	if len(now.Readings) == 0 {
		return nil, refuse("name the job or the file that holds its readings", "%s has no reading of link %s", diag.Safe(path), diag.Safe(c.Link.ID))
	}
	now.say(c, f)
	return now, nil
}

// wantsEntry reports whether a problem is fixed in a file's readings entry,
// which a file by itself does not have.
func wantsEntry(problems *diag.List) bool {
	return slices.ContainsFunc(problems.Sorted(), func(p diag.Problem) bool { return strings.Contains(p.Fix, "readings entry") })
}

// valid refuses what the flags cannot say about a measurement.
func (f *compareFlags) valid() error {
	switch r := record.ReferenceMethod(f.reference); r {
	case "", asCertified, record.OneCord, record.TwoCord, record.ThreeCord:
	default:
		return misuse("want one-cord, two-cord, three-cord or "+asCertified, "--reference: %q is not a reference method", f.reference)
	}
	switch g := record.TestCords(f.testCords); g {
	case "", asCertified, record.StandardCords, record.ReferenceCords:
	default:
		return misuse("want standard, reference-grade or "+asCertified, "--test-cords: %q is not a grade", f.testCords)
	}
	if u, err := quantity.Parse(f.u); f.u != "" && (err != nil || u.Sign() < 0) {
		return misuse("such as --uncertainty 0.12", "--uncertainty: %q is not a number of dB", f.u)
	}
	if f.sheet != "" {
		return hasPlace(f.sheet)
	}
	return nil
}

// say takes in what the flags, which are valid, say about the measurement.
func (n *fresh) say(c *retest.Certified, f *compareFlags) {
	switch r := record.ReferenceMethod(f.reference); r {
	case "":
	case asCertified:
		n.AsCertified(c, true, false)
	default:
		n.Reference = r
	}
	switch g := record.TestCords(f.testCords); g {
	case "":
	case asCertified:
		n.AsCertified(c, false, true)
	default:
		n.TestCords = g
	}
	if f.u != "" {
		u := quantity.Must(f.u)
		n.Uncertainty = &u
	}
}

// writeSheet writes the signed comparison sheet.
func (a *app) writeSheet(f *compareFlags, paper string, cert *certificate, now *fresh, result *retest.Comparison) error {
	if _, err := os.Lstat(f.sheet); err == nil {
		return refuse("choose another name", "%s already exists", diag.Safe(f.sheet))
	}
	key := f.key
	if key == "" && now.dir != "" {
		key = load.KeyOf(now.dir, &now.facts.Job)
	}
	if key = cmp.Or(key, cert.key()); key == "" {
		return misuse("name it with --key", "a sheet must be signed, but no key was named")
	}
	zone, err := time.LoadLocation(cert.record.Job.TimeZone)
	if err != nil {
		zone = time.UTC
	}
	at, err := a.sheetDate(f, now, zone)
	if err != nil {
		return err
	}
	claim, err := f.warrantyClaim(cert.record, record.DateOf(at.In(zone)))
	if err != nil {
		return err
	}
	if err := a.checkAhead(at, f.postdated); err != nil {
		return err
	}
	signer, err := a.openKey(key, f.passFile)
	if err != nil {
		return err
	}
	if by := cert.checked.Items[0].Signer; by == nil || !by.Trusted && by.KeyID != signer.KeyID() {
		return &failure{ExitUntrusted, "a sheet vouches for the document that it is compared with, but the signer of that document is not trusted",
			"compare the fingerprint over another channel, then name the certificate with --trust; `spanseal verify` shows it"}
	}
	claim.Token = cert.token
	o := certify.Options{Templates: templates.Files, Symbol: label.Encode}
	own, err := cert.shapedBy(now, signer)
	if err != nil {
		return err
	}
	if own != nil {
		defer own.Close()
		o.Overrides = own
	}
	documents := now.facts.Job.Documents
	if now.dir == "" { // a file says nothing of papers
		documents = a.documentsAs(cert, own)
	}
	set, problems := comparison.New(cert.record, result, documents, claim, form.Writer{Issued: at, Signer: signerOnPaper(signer)}, o)
	if err := a.report(problems); err != nil {
		return err
	}
	doc, err := set.Sheet(result, cert.held(paper, at), now.files(at))
	if err != nil {
		return err
	}
	data, err := issue.Single(set.PaperSet, doc, signer)
	if err != nil {
		return err
	}
	if err := writeNew(f.sheet, data, 0o644); err != nil {
		return &failure{ExitTool, fmt.Sprintf("nothing was written: %v", err), "choose another place with --sheet"}
	}
	return nil
}

// sheetDate is when the sheet is dated: not before the last of the new readings.
func (a *app) sheetDate(f *compareFlags, now *fresh, zone *time.Location) (time.Time, error) {
	at, err := a.issueDate(f.date, zone)
	if err != nil {
		return at, err
	}
	last := record.Last(now.Readings)
	if _, err := record.ParseDate(f.date); err == nil {
		at = afterReading(&last, at)
	}
	return at, datedAfter(&last, at, zone)
}

// shapedBy opens what shapes the sheet, the wording, layout and typefaces of the job
// that was measured now, or else of the job that issued the paper; nil if neither is at
// hand. The job around a paper that another key signed is somebody else's, whose words
// are not to be signed.
func (c *certificate) shapedBy(now *fresh, signer *seal.Signer) (*company.Files, error) {
	if now.dir != "" {
		return load.Files(now.dir, now.facts.Company)
	}
	if dir, job := c.office(); job != nil && c.checked.Items[0].Signer.KeyID == signer.KeyID() {
		return load.Files(dir, job.Company)
	}
	return nil, nil
}

// held is the paper itself, as the sheet carries it.
func (c *certificate) held(paper string, at time.Time) page.Attachment {
	name := "certificate-"
	if !c.record.Verdict.Certifiable() {
		name = "nonconformance-"
	}
	return page.Attachment{Name: name + filepath.Base(paper), MIME: "application/pdf", Relationship: "Source", Data: c.raw, Modified: at}
}

// files are those that the new readings of the link were read from, as the sheet carries
// them.
func (n *fresh) files(at time.Time) (files []page.Attachment) {
	for _, o := range n.facts.Originals {
		if slices.ContainsFunc(n.Readings, func(r record.Reading) bool { return r.Origin.File == o.Name }) {
			files = append(files, page.Attachment{Name: strings.ReplaceAll(o.Name, "/", "-"), MIME: "application/octet-stream",
				Relationship: "Source", Data: o.Data, Modified: at})
		}
	}
	return files
}

// documentsAs are the settings of a sheet that looks as the certificate does: in
// its language, unless that was one of its job's own and the job is not at hand.
func (a *app) documentsAs(c *certificate, own *company.Files) record.Documents {
	d := c.documents
	wording := "wording/" + d.Language + ".yaml"
	_, err := fs.Stat(templates.Files, wording)
	if err != nil && own != nil {
		_, err = fs.Stat(own, wording)
	}
	if err != nil {
		a.note("the sheet is in English: the wording of the certificate, %s, is one of its job's own", diag.Safe(d.Language))
		d.Language = "en"
	}
	return d
}

// onSheetOnly refuses what only a sheet could show.
func (f *compareFlags) onSheetOnly() error {
	for _, flag := range []struct{ name, value string }{
		{"--key", f.key}, {"--date", f.date}, {"--claim", f.claim}, {"--discovered", f.discovered}, {"--reported", f.reported},
		{"--others", f.others}, {"--cleaning", f.cleaning},
	} {
		if f.sheet == "" && flag.value != "" {
			return misuse("add --sheet FILE.pdf", "%s is for the comparison sheet, but no sheet was asked for", flag.name)
		}
	}
	return nil
}

// warrantyClaim is what the flags say about the claim. Its days stand in the
// order of the matter: issue, discovery, report, sheet.
func (f *compareFlags) warrantyClaim(c *retest.Certified, sheet record.Date) (comparison.WarrantyClaim, error) {
	claim := comparison.WarrantyClaim{Number: f.claim, Others: f.others, Cleaning: f.cleaning}
	for _, text := range []struct {
		name, value string
		most        int // characters that the sheet has room for
	}{{"--claim", f.claim, 100}, {"--others", f.others, 1000}, {"--cleaning", f.cleaning, 1000}} {
		if n := utf8.RuneCountInString(text.value); n > text.most {
			return claim, misuse("use fewer words, and refer to a letter for the rest", "%s: %d characters do not fit on the sheet, which has room for %d", text.name, n, text.most)
		}
	}
	type day struct {
		what string
		date record.Date
	}
	days := []day{{fmt.Sprintf("the issue of %s", diag.Safe(c.Certificate)), c.Issued}}
	for _, flag := range []struct {
		name, value string
		to          *record.Date
	}{{"--discovered", f.discovered, &claim.Discovered}, {"--reported", f.reported, &claim.Reported}} {
		if flag.value == "" {
			continue
		}
		var err error
		if *flag.to, err = record.ParseDate(flag.value); err != nil {
			return claim, misuse("write 2033-03-01", "%s: %v", flag.name, err)
		}
		days = append(days, day{flag.name, *flag.to})
	}
	days = append(days, day{"the date of the sheet", sheet})
	for i, d := range days[1:] {
		if before := days[i]; d.date.Before(before.date) {
			return claim, misuse("correct one of the two: a fault is discovered after the issue, reported after that, and then compared",
				"%s, %s, is before %s, %s", d.what, d.date, before.what, before.date)
		}
	}
	return claim, nil
}

// signerOnPaper is how a paper names who signs it.
func signerOnPaper(s *seal.Signer) form.Signatory {
	cert := s.Certificate()
	return form.Signatory{Name: seal.CommonName(cert), Organisation: strings.Join(cert.Subject.Organization, ", "), KeyID: s.KeyID().String(), Fingerprint: s.Fingerprint()}
}
