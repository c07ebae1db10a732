package cli

import (
	"bufio"
	"cmp"
	"context"
	"crypto/x509"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/form"
	"spanseal/internal/issue"
	"spanseal/internal/jobfile"
	"spanseal/internal/keyfile"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/report"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
	"spanseal/templates"
)

// issueFlags are what may be chosen about a revision.
type issueFlags struct {
	key, passFile, date, out, reason string
	trusted                          []string
	partial, specimen, bundle, join  bool
	postdated, again                 bool
	maxSize                          size
	shard                            shard
}

func (a *app) issue() *cobra.Command {
	f := issueFlags{shard: shard{getenv: a.sys.Getenv}}
	c := &cobra.Command{
		Use:   "issue JOB",
		Short: "check, then write and sign the next revision",
		Long: `Judges the job and writes the next revision: a signed certificate for each link
that passes, a nonconformance sheet for each that does not, a summary, labels,
results, the originals and a signed manifest. A revision is written whole or not
at all, and earlier ones are never changed.

With --partial the other links are declared as still to follow: links without any
reading do not make the exit code 4. The summary conforms only if all links do.

Machines that share a disk can share the work: each makes some of the documents
with --shard 1/3, 2/3 and 3/3, then one run with --join makes the rest. The result
is byte for byte the same as that of a single run. With --shard /3, the shard number
is read from the scheduler's array index variable.

With --specimen it prints the documents with invented values, for approval before
anything is measured. They go into specimen/, are not signed and prove nothing.

Earlier revisions are checked before a new one is built on them. If another key
signed one, you are asked about it: if that key is your office's own, name its
certificate with --trust.

The same inputs, key and --date give the same bytes. A date before that of the
previous revision is refused. A date more than a day ahead of the clock needs
--postdated.`,
		Example: `  spanseal issue harbour-library
  spanseal issue harbour-library --date 2026-11-25 --reason "A-07 re-terminated"
  spanseal issue harbour-library --key ~/keys/office.p12 --out /srv/handover/BL-2026-031
  spanseal issue harbour-library --bundle --max-size 10MB
  spanseal issue harbour-library --shard 2/3 --date 2026-11-25
  spanseal issue harbour-library --join --date 2026-11-25
  spanseal issue harbour-library --specimen`,
		Args:              takes(1, 1, "a job folder"),
		ValidArgsFunction: completeFolder,
		RunE: func(c *cobra.Command, args []string) error {
			open := unlock(keyfile.Unlock)
			if !f.specimen {
				open = a.unlockAhead(args[0], f.key, f.passFile)
			}
			j, err := a.readJob(args[0])
			if err != nil {
				return err
			}
			at, err := a.issueDate(f.date, j.Facts.Job.Location)
			if err != nil {
				return err
			}
			if _, err := record.ParseDate(f.date); err == nil {
				at = afterReading(&j.Latest, at)
			}
			if err := a.report(j.SaidAfter(record.DateOf(at), "the date of issue")); err != nil {
				return err
			}
			if f.shard.of > 0 && f.date == "" || f.join && f.date == "" {
				return misuse("give each shard, and --join, the same --date", "shards must agree on the date")
			}
			switch {
			case f.out != "":
			case f.specimen:
				f.out = j.Dir
			default:
				f.out = filepath.Join(j.Dir, "issued")
			}
			if err := keepsApart(j, f.out); err != nil {
				return err
			}
			if f.specimen {
				return a.writeSpecimen(c.Context(), j, at, f)
			}
			if err := a.report(j.Evidence(f.out)); err != nil {
				return err
			}
			if err := a.checkAhead(at, f.postdated); err != nil {
				return err
			}
			if err := a.askReason(&f); err != nil {
				return err
			}
			key := cmp.Or(f.key, j.Key())
			signer, err := a.openKeyBy(open, key, f.passFile)
			if err != nil {
				return err
			}
			if f.shard.of > 0 {
				return a.writeShard(c.Context(), j, signer, at, f)
			}
			rev, err := a.write(c.Context(), j, signer, at, f)
			if err != nil {
				return err
			}
			a.issued(j, rev, keyfile.CertificatePath(key), f.partial)
			return nil
		},
	}
	c.Flags().StringVar(&f.key, "key", "", "the key file (default: the one that job.yaml names)")
	c.Flags().StringVar(&f.passFile, "passphrase-file", "", "a file whose first line is the key's passphrase")
	c.Flags().StringArrayVar(&f.trusted, "trust", nil, "a certificate, or a folder of certificates, of other keys that signed earlier revisions")
	c.Flags().StringVar(&f.date, "date", "", "the date of issue, such as 2026-11-25 or 2026-11-25T16:00:00Z (default: now)")
	c.Flags().BoolVar(&f.postdated, "postdated", false, "allow a date in the future")
	c.Flags().StringVar(&f.out, "out", "", "the folder of revisions (default: issued/ in the job folder)")
	c.Flags().StringVar(&f.reason, "reason", "", "why the job is issued again; required from the second revision on")
	c.Flags().BoolVar(&f.again, "again", false, "issue a revision even if nothing has changed, such as after a change of wording")
	c.Flags().BoolVar(&f.partial, "partial", false, "declare links not yet measured as still to follow")
	c.Flags().BoolVar(&f.bundle, "bundle", false, "also write summary and documents of links as one PDF")
	c.Flags().Var(&f.maxSize, "max-size", "split the bundle into files of at most this size, such as 10MB; implies --bundle; a larger document gets its own file")
	c.Flags().Var(&f.shard, "shard", "make one of several shares of the documents, such as 2/3")
	c.Flags().BoolVar(&f.join, "join", false, "join the shards into a revision")
	c.Flags().BoolVar(&f.specimen, "specimen", false, "print the documents with invented values, for approval")
	return c
}

// keepsApart refuses to write revisions where the next run would read them, and
// into another one, which would not be as it was signed any more.
func keepsApart(j *load.JudgedJob, out string) error {
	if whole := verify.RevisionOf(filepath.Join(out, "r1")); whole != "" {
		return misuse("name another folder with --out; each revision has its own", "%s is an issued revision and cannot be added to", diag.Safe(whole))
	}
	for _, input := range []string{"readings", "photos"} {
		if within(filepath.Join(j.Dir, input), out) {
			return misuse("omit --out, or name a folder elsewhere", "--out: everything in %s/ is read as input", input)
		}
	}
	return nil
}

// within reports whether a path is the folder or the file at, or lies in it.
func within(at, path string) bool {
	at, err1 := filepath.Abs(at)
	path, err2 := filepath.Abs(path)
	rel, err := filepath.Rel(at, path)
	return errors.Join(err1, err2, err) == nil && filepath.IsLocal(rel)
}

// issueDate reads --date. A day stands for its noon in the job's zone, which is
// the same day in nearly every other zone.
func (a *app) issueDate(text string, zone *time.Location) (time.Time, error) {
	if text == "" {
		return a.sys.Now().In(zone).Truncate(time.Second), nil
	}
	if t, err := time.Parse(time.RFC3339, text); err == nil {
		return t.Truncate(time.Second), nil
	}
	d, err := record.ParseDate(text)
	if err != nil {
		return time.Time{}, misuse("write 2026-11-25, or 2026-11-25T16:00:00Z (RFC 3339)", "%q is not a date", text)
	}
	y, m, day := d.Time().Date()
	return time.Date(y, m, day, 12, 0, 0, 0, zone), nil
}

// ahead is how far the clock may be behind a date that nobody calls postdated.
// A day stands for its noon, clocks of two machines differ, and a job may lie
// in a zone where it is tomorrow already.
const ahead = 24 * time.Hour

// checkAhead refuses a date in the future unless it is meant, and notes one
// that is tomorrow's.
func (a *app) checkAhead(at time.Time, meant bool) error {
	now := a.sys.Now().In(at.Location())
	clock := fmt.Sprintf("this computer's clock says %s", now.Format("2006-01-02 15:04"))
	switch {
	case at.Sub(now) <= ahead && !record.DateOf(at).After(record.DateOf(now)):
	case at.Sub(now) <= ahead:
		a.note("the date of issue, %s, is after today: %s", record.DateOf(at), clock)
	case meant:
		a.note("the date of issue, %s, is in the future: %s, and `spanseal verify` will say so until then", record.DateOf(at), clock)
	default:
		return refuse("correct the date or the clock; if it is intended, add --postdated, and `spanseal verify` will say so until then",
			"the date of issue, %s, is in the future: %s", record.DateOf(at), clock)
	}
	return nil
}

// note prints what somebody should know who is not kept from going on.
func (a *app) note(format string, args ...any) {
	fmt.Fprintf(a.err, "%s %s\n", a.onErr.Strong("note:"), fmt.Sprintf(format, args...))
}

// write issues the next revision of a judged job.
func (a *app) write(ctx context.Context, j *load.JudgedJob, signer *seal.Signer, at time.Time, f issueFlags) (*issue.Written, error) {
	defer makeRoomForPapers()()
	r, err := a.request(j, signer, at, f)
	if err != nil {
		return nil, err
	}
	stamper, err := a.stamper(ctx, j, signer)
	if err != nil {
		return nil, err
	}
	if stamper != nil {
		r.Stamp = stamper.stamp
	}
	line := a.progress("documents")
	defer line.Clear()
	r.Progress = line.Report
	var over oversize
	r.Larger = over.add
	rev, err := issue.Write(ctx, r)
	if err != nil {
		return nil, notIssued(err)
	}
	line.Clear()
	a.tooLarge(over, f.maxSize)
	if rev.WithoutWorkbook {
		a.note("results.xlsx is left out, because no sheet holds that many results; results.csv has them all")
	}
	if stamper != nil {
		a.noteAuthority(stamper.client)
	}
	if cause := stamper.cause(); cause != nil {
		a.note("documents are signed without a time-stamp of %s: %v", diag.Safe(stamper.url), cause)
	}
	return rev, nil
}

// writeShard makes one share of the papers.
func (a *app) writeShard(ctx context.Context, j *load.JudgedJob, signer *seal.Signer, at time.Time, f issueFlags) error {
	if j.Facts.Job.Sign.TimestampURL != "" {
		return misuse("issue it in one run", "a job with time-stamps cannot be made in shards: stamped documents are never the same twice")
	}
	defer makeRoomForPapers()()
	r, err := a.request(j, signer, at, f)
	if err != nil {
		return err
	}
	line := a.progress("documents")
	defer line.Clear()
	r.Progress = line.Report
	n, err := issue.Shard(ctx, r, f.shard.index, f.shard.of)
	if err != nil {
		return notIssued(err)
	}
	line.Clear()
	fmt.Fprintf(a.out, "made shard %s: %s\n", &f.shard, diag.Plural(n, "document"))
	return nil
}

// request is what to issue of a judged job.
func (a *app) request(j *load.JudgedJob, signer *seal.Signer, at time.Time, f issueFlags) (issue.Request, error) {
	cert := signer.Certificate()
	if at.Before(cert.NotBefore) || at.After(cert.NotAfter) {
		return issue.Request{}, refuse("choose another --date or another key", "the certificate of %s is valid from %s to %s, not on %s",
			seal.CommonName(cert), cert.NotBefore.Format(time.DateOnly), cert.NotAfter.Format(time.DateOnly), at.Format(time.DateOnly))
	}
	if err := a.doubts(j, cert, at); err != nil {
		return issue.Request{}, err
	}
	set, err := a.set(j, form.Writer{Issued: at, Signer: signerOnPaper(signer)}, certify.Options{Reason: f.reason, Later: f.later(j), Sign: signer.SignToken})
	if err == nil {
		err = a.report(load.Rehearse(set))
	}
	if err != nil {
		return issue.Request{}, err
	}
	if signer.LabelAlgorithm() == report.RSALabels {
		a.note("%s", report.FineSymbols)
	}
	a.noteUnled(signer)
	trust, err := a.readTrust(trusted{papers: f.trusted})
	if err != nil {
		return issue.Request{}, err
	}
	if err := givenUp(signer, at, trust.Revoked()); err != nil {
		return issue.Request{}, err
	}
	page, err := checkPage(set, signer, trust.Revoked())
	if err != nil {
		return issue.Request{}, err
	}
	believes := a.believes(signer, trust)
	return issue.Request{
		Believes: believes,
		Folder:   f.out, Set: set, Signer: signer, CheckPage: page, Holder: a.holder(),
		Bundle: f.bundle || f.maxSize > 0, MaxSize: int(f.maxSize), Join: f.join, Again: f.again,
	}, nil
}

// givenUp refuses to sign with a key that the office itself lists as revoked.
func givenUp(signer *seal.Signer, at time.Time, revoked []seal.RevokedKey) error {
	for _, k := range revoked {
		if k.KeyID == signer.KeyID() && (k.Until == "" || at.UTC().Format(time.DateOnly) > k.Until) {
			return refuse("sign with another key: `spanseal key new` makes one", "the key %s is listed in %s as not to be trusted: %s", k.KeyID, verify.RevokedName, diag.Safe(cmp.Or(k.Reason, "no reason stated")))
		}
	}
	return nil
}

// afterReading moves the noon that stands for a day of issue behind the last
// reading of that day: work may end and be certified in one afternoon.
func afterReading(last *record.Reading, noon time.Time) time.Time {
	if t := last.Time.In(noon.Location()); t.After(noon) && record.DateOf(t).Equal(record.DateOf(noon)) {
		return t
	}
	return noon
}

// datedAfter refuses a paper that is older than the last reading on it.
func datedAfter(last *record.Reading, at time.Time, zone *time.Location) error {
	minute := func(t time.Time) string { return t.In(zone).Format("2006-01-02 15:04") }
	if !last.Time.After(at) {
		return nil
	}
	return refuse("choose a --date after the work, or correct the form or zone of the file's times in its readings entry",
		"the date of issue, %s, is before a reading: link %s was measured %s (%s)",
		minute(at), diag.Safe(last.Link), minute(last.Time), diag.Safe(last.Origin.Where()))
}

// doubts asks about papers that would look odd: signed by somebody else than
// the job says, or dated before the last reading, which is refused.
func (a *app) doubts(j *load.JudgedJob, cert *x509.Certificate, at time.Time) error {
	if err := datedAfter(&j.Latest, at, j.Facts.Job.Location); err != nil {
		return err
	}
	signs, named := j.Facts.Job.Person(j.Facts.Job.Sign.As)
	if name := seal.CommonName(cert); named && name != signs.Name {
		problems := &diag.List{}
		problems.Add(diag.Problem{Severity: diag.Question, Code: "other-signer", Place: jobfile.PlaceOf(j.Facts, "sign.as"),
			Message: fmt.Sprintf("%s is to sign, but the key is that of %s. Who signs?", signs.Name, name),
			Fix:     "name the key's owner there, or sign with that person's key"})
		return a.report(problems)
	}
	return nil
}

// askReason wants to know why a job is issued again: whoever holds the earlier
// revision will ask.
func (a *app) askReason(f *issueFlags) error {
	n, err := issue.Next(f.out)
	if err != nil {
		return notIssued(err)
	}
	if n == 1 || strings.TrimSpace(f.reason) != "" {
		return nil
	}
	if _, ok := terminal.File(a.sys.Stdin); ok {
		fmt.Fprintf(a.err, "revision %d: why is the job issued again? ", n)
		text, err := answer(func() (string, error) { return bufio.NewReader(a.sys.Stdin).ReadString('\n') })
		if err != nil {
			return err
		}
		f.reason = strings.TrimSpace(text)
	}
	if f.reason == "" {
		return misuse(`say why, such as --reason "A-07 re-terminated and measured again"`, "revision %d needs a reason", n)
	}
	return nil
}

// later is how many links --partial declares to follow.
func (f *issueFlags) later(j *load.JudgedJob) int {
	if !f.partial {
		return 0
	}
	return unmeasured(j)
}

// unmeasured counts the links without any reading.
func unmeasured(j *load.JudgedJob) int {
	c := j.Judged.Counts
	return c.Scheduled - c.Measured
}

// openAsWhole counts what stands in the way of conformity though it is about no
// link of its own.
func openAsWhole(j *load.JudgedJob) int {
	n := 0
	for i := range j.Judged.Questions {
		if !j.Judged.Questions[i].Verdict.Certifiable() {
			n++
		}
	}
	return n
}

// checkPage is the page that checks labels of the signer, and of the keys that
// this one follows, in the language of the papers. It refuses those of keys that
// are known to be revoked.
func checkPage(set *certify.PaperSet, signer *seal.Signer, revoked []seal.RevokedKey) ([]byte, error) {
	template, err := fs.ReadFile(templates.Files, "check/check.html")
	if err != nil {
		return nil, err
	}
	return seal.FillCheckPage(template, set.PageWords(), revoked, seal.Lineage(signer.Chain())...)
}

// set makes the documents of a job, and prints why it cannot.
func (a *app) set(j *load.JudgedJob, w form.Writer, o certify.Options) (*certify.PaperSet, error) {
	set, problems := j.Papers(w, o)
	return set, a.report(problems)
}

// holder says who runs, for whoever finds the job locked.
func (a *app) holder() string {
	host, err := os.Hostname()
	if err != nil {
		host = "this machine"
	}
	return fmt.Sprintf("process %d on %s, since %s", os.Getpid(), host, a.sys.Now().Format("2006-01-02 15:04:05"))
}

// notIssued says why a revision was not written, and that nothing else was.
func notIssued(err error) error {
	var small *certify.LabelError
	var busy *issue.BusyError
	var damaged *issue.DamagedError
	var shard *issue.ShardError
	var back *issue.BackdatedError
	var unchanged *issue.UnchangedError
	var stranger *issue.StrangerError
	var evidence *issue.ChangedReadingsError
	var other *issue.OtherJobError
	var link *issue.LinkError
	switch {
	case errors.As(err, &unchanged):
		return refuse("nothing needs to be issued; to issue a revision anyway, such as after a change of wording, add --again", "%v", unchanged)
	case errors.As(err, &back):
		return refuse("choose a --date on that day or later, or correct this computer's clock", "%s: a revision is dated after the one before it, which was issued %s; this one would be dated %s",
			back.Path, record.DateOf(back.Before), record.DateOf(back.At))
	case errors.As(err, &shard):
		fix := "remove the shards, and make them all again"
		if shard.Of > 0 {
			fix = fmt.Sprintf("make it: --shard %d/%d, with the same --date", shard.Index, shard.Of)
		}
		if shard.Damaged {
			return &failure{ExitWrong, "nothing was issued: " + diag.Safe(shard.Error()), fmt.Sprintf("find out who can write there; then make it again: --shard %d/%d, with the same --date", shard.Index, shard.Of)}
		}
		return refuse(fix, "%s", diag.Safe(shard.Error()))
	case errors.As(err, &busy):
		return &failure{ExitTool, busy.Error(), "wait until it is done, or end it"}
	case errors.As(err, &damaged):
		return &failure{ExitWrong, "nothing was issued: an earlier revision was changed: " + diag.Safe(damaged.Error()),
			"restore it from a copy; `spanseal verify` says what else differs"}
	case errors.As(err, &evidence):
		return refuse("put the file back as it was, and give new values in a new file, or say why under declared: in job.yaml", "nothing was issued: %s", diag.Safe(evidence.Error()))
	case errors.As(err, &stranger):
		return notVouched(stranger)
	case errors.As(err, &other):
		return refuse("correct the job's number, or issue into another folder with --out", "nothing was issued: %s", diag.Safe(other.Error()))
	case errors.As(err, &link):
		return refuse("replace it with what it points to, if that belongs to the job", "nothing was issued: %s", diag.Safe(link.Error()))
	case errors.Is(err, context.Canceled):
		return &failure{ExitTool, "stopped; nothing was issued", ""}
	case errors.Is(err, errUnstamped):
		return &failure{ExitTool, fmt.Sprintf("nothing was issued: %v", err),
			"try again when the authority answers, or write timestamp: when-reachable under sign in job.yaml"}
	case errors.As(err, &small):
		return refuse(certify.LabelFix,
			"nothing was issued: %s", diag.Safe(small.Error()))
	case errors.Is(err, fs.ErrPermission):
		return &failure{ExitTool, fmt.Sprintf("nothing was issued: %v", err), "allow writing there, or choose another folder with --out"}
	}
	return &failure{ExitTool, fmt.Sprintf("nothing was issued: %v", err), ""}
}

// issued says what was written.
func (a *app) issued(j *load.JudgedJob, rev *issue.Written, cert string, partial bool) {
	fmt.Fprintf(a.out, "issued %s: %s, %s, and a summary\n", rev.Dir,
		diag.Plural(rev.Certificates, "certificate"), diag.Plural(rev.Nonconformance, "nonconformance sheet"))
	for i, c := range rev.Changes {
		if i == 20 {
			fmt.Fprintf(a.out, "  and %d more, see the summary\n", len(rev.Changes)-i)
			break
		}
		fmt.Fprintf(a.out, "  %s\n", diag.Safe(c.Text))
	}
	c := j.Judged.Counts
	switch {
	case j.Judged.Conforms():
		fmt.Fprintf(a.out, "%s\n", a.onOut.Good("CONFORMS"))
	case partial && c.Certified == c.Measured && openAsWhole(j) == 0:
		fmt.Fprintf(a.out, "%s: %s to follow; all that were measured are certified\n",
			a.onOut.Asked("PARTIAL DELIVERY"), diag.Plural(unmeasured(j), "link"))
	default:
		fmt.Fprintf(a.out, "%s: %d failed, %d incomplete", a.onOut.Bad("DOES NOT CONFORM"), c.Failed, c.Incomplete)
		if n := openAsWhole(j); n > 0 {
			fmt.Fprintf(a.out, ", %d open of the job as a whole", n)
		}
		fmt.Fprintln(a.out)
		a.status = ExitOpen
	}
	if rev.Number == 1 {
		a.discloses(j)
	}
	verify := "verify " + terminal.Argument(rev.Dir)
	if _, err := os.Stat(cert); err == nil {
		verify += " --trust " + terminal.Argument(cert)
	}
	fmt.Fprintf(a.out, "\nopen\n")
	for _, name := range []string{"index.html", "summary.pdf", "labels.pdf", "statement.pdf"} { // the last only with pay items
		if path := filepath.Join(rev.Dir, name); isThere(path) {
			fmt.Fprintf(a.out, "  %s\n", terminal.Argument(path))
		}
	}
	fmt.Fprintf(a.out, "next\n")
	a.print.Then(verify)
	a.print.Then("pack " + terminal.Argument(rev.Dir))
	a.flushed(rev)
}

// discloses says, once, what whoever gets the set can read in job.yaml that the
// papers do not say.
func (a *app) discloses(j *load.JudgedJob) {
	in := &j.Facts.Job
	var what []string
	if paysInJob(j) {
		what = append(what, "rates and retainage, as on statement.pdf and in results.json (in pay.yaml instead they are not in job.yaml)")
	}
	if in.Sign.Key != "" && jobfile.PlaceOf(j.Facts, "sign.key").File == folder.Job {
		what = append(what, "where the key lies")
	}
	if in.Sign.TimestampURL != "" && jobfile.PlaceOf(j.Facts, "sign.timestamp_url").File == folder.Job {
		what = append(what, "the address of the time-stamp authority")
	}
	if what != nil {
		a.note("the set holds job.yaml byte for byte, and in it: %s", strings.Join(what, "; "))
	}
}

// paysInJob reports that the pay items stand in job.yaml, which is handed over.
func paysInJob(j *load.JudgedJob) bool {
	return jobfile.PlaceOf(j.Facts, "pay").Line > 0
}

// flushed says what is not known of a revision that is in its place: whether it
// outlives a power cut.
func (a *app) flushed(rev *issue.Written) {
	switch u := rev.Unflushed; {
	case u == nil:
	case u.Never:
		a.note("%s is on a file system that does not confirm that a new folder is stored, as many shares do not (%v); copy the revision elsewhere before the power may fail", diag.Safe(rev.Dir), u.Err)
	default:
		fmt.Fprintf(a.err, "%s %s is issued, whole and signed, but the system could not confirm that it is stored for good: %s\n     = fix: verify it, and copy it to another disk; do not issue it again\n",
			a.onErr.Bad("error:"), diag.Safe(rev.Dir), diag.Safe(u.Error()))
		a.status = ExitTool
	}
}
