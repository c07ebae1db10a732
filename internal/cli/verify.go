package cli

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/quantity"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

func (a *app) verify() *cobra.Command {
	var how format
	var who trusted
	c := &cobra.Command{
		Use:   "verify PATH|TOKEN ...",
		Short: "say who signed a PDF, a label or an issued folder, and whether it was changed",
		Long: `Checks, without a network, that papers are as they were signed, and by whom.
PATH is a PDF file or an issued folder; TOKEN is the text of a QR symbol.

A signature proves who said it, not that it is true. Whether you believe the
signer is yours to say: name their certificate, or a folder of certificates,
with --trust. Get it from them directly, or compare its fingerprint by telephone.
Whether you believe a time-stamp is another question: name the certificates of
time-stamp authorities with --trust-time. A signer vouches for no time, and an
authority signs no papers.

List keys that are no longer to be believed in revoked.txt in one of these
folders, one per line: key, "since" or "until", day, and why if you like, such as
  5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen
  77B0 0C4E 9A1D 52F3 until 2030-06-30 left the company
"since" is for a key that somebody else may have: what it signed from that day on
is not trusted; nor is what it says it signed before, unless a time-stamp proves
it. "until" is for a key that was given up: what it says it signed up to that day
is trusted, and later papers are not. Certificate revocation lists (.crl, X.509)
in these folders are read too.

Exit code 5 when anything was changed; 6 when all that was checked is intact, but
a signer is not among those trusted, or a signature or file was not checked.`,
		Example: `  spanseal verify A-12.pdf
  spanseal verify handover/r1 --trust tidewater.pem
  spanseal verify SS1.2KCEJ...`,
		Args: takes(1, -1, "a PDF file, an issued folder, or the text of a QR symbol"),
		RunE: func(_ *cobra.Command, args []string) error {
			trust, err := a.readTrust(who)
			if err != nil {
				return err
			}
			var all []verified
			for _, arg := range args {
				r, err := look(arg, trust)
				if err != nil {
					return err
				}
				all = append(all, verified{arg, r})
			}
			if how == "json" {
				return a.verifyJSON(all)
			}
			for i, v := range all {
				if i > 0 {
					fmt.Fprintln(a.out)
				}
				a.verifyText(v, len(who.papers) > 0)
			}
			return nil
		},
	}
	how.flag(c, "text", "json")
	who.flags(c)
	return c
}

// trusted are the files and folders of certificates that a reader names, by
// what they are trusted for.
type trusted struct{ papers, times []string }

func (w *trusted) flags(c *cobra.Command) {
	c.Flags().StringArrayVar(&w.papers, "trust", nil, "a certificate that you trust to sign papers, or a folder of them")
	c.Flags().StringArrayVar(&w.times, "trust-time", nil, "a certificate of a time-stamp authority that you trust, or a folder of them")
}

// readTrust reads whom the reader believes, today.
func (a *app) readTrust(who trusted) (*verify.Trust, error) {
	for flag, paths := range map[string][]string{"--trust": who.papers, "--trust-time": who.times} { // as a script has it whose variable is not set
		if slices.Contains(paths, "") {
			return nil, misuse("name a certificate (.pem) or a folder of them", "%s names nothing", flag)
		}
	}
	trust, err := verify.ReadTrust(a.sys.Now(), who.papers, who.times)
	if unfit := (*verify.TrustError)(nil); errors.As(err, &unfit) {
		return nil, refuse(diag.Safe(unfit.Fix), "%s: %s", who.flagOf(unfit.At), diag.Safe(unfit.Error()))
	}
	if err != nil {
		return nil, err
	}
	for _, text := range trust.Unread {
		a.note("%s", diag.Safe(text))
	}
	return trust, nil
}

// flagOf is the flag that named a file, or the folder in which it lies.
func (w *trusted) flagOf(at string) string {
	named := func(p string) bool {
		return p == at || strings.HasPrefix(at, filepath.Clean(p)+string(filepath.Separator))
	}
	if !slices.ContainsFunc(w.papers, named) && slices.ContainsFunc(w.times, named) {
		return "--trust-time"
	}
	return "--trust"
}

// verified is one argument and what was found out about it.
type verified struct {
	Target string         `json:"target"`
	Report *verify.Report `json:"report"`
}

// look verifies whatever an argument names.
func look(arg string, trust *verify.Trust) (*verify.Report, error) {
	info, err := os.Stat(arg)
	switch {
	case err == nil && info.IsDir():
		return lookInto(arg, trust)
	case err == nil:
		data, err := readPaper(arg)
		if err != nil {
			return nil, err
		}
		if text, ok := scanned(data); ok {
			return verify.TokenText(text, trust), nil
		}
		r := verify.PDF(arg, data, trust)
		verify.NoteSuccessor(r, arg)
		verify.NoteRenewed(r, arg)
		return r, nil
	case verify.LooksLikeToken(arg) && !strings.EqualFold(filepath.Ext(arg), ".pdf"):
		return verify.TokenText(arg, trust), nil
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse(whatToVerify, "there is nothing at %s", diag.Safe(brief(arg)))
	}
	fix := whatToVerify
	if errors.Is(err, fs.ErrPermission) {
		fix = mayRead
	}
	return nil, refuse(fix, "%s cannot be read: %v", diag.Safe(brief(arg)), plain.Cause(err))
}

// lookInto verifies a folder.
func lookInto(dir string, trust *verify.Trust) (*verify.Report, error) {
	whole := verify.RevisionOf(dir)
	if whole == "" && isJob(dir) && !hasRevisions(dir) {
		return nil, refuse(fmt.Sprintf("issue it first: `spanseal issue %s`", argument(dir)), "%s: nothing was issued of this job yet", diag.Safe(dir))
	}
	r, err := verify.Folder(dir, trust)
	switch {
	case errors.Is(err, verify.ErrNothing) && whole != "":
		return nil, refuse(fmt.Sprintf("verify the whole revision: %s", diag.Safe(whole)), "%s: %v", diag.Safe(dir), err)
	case errors.Is(err, verify.ErrNothing):
		return nil, refuse("name a job, its folder issued, one revision of it, or a folder of PDF files", "%s: %v", diag.Safe(dir), err)
	case err != nil:
		return nil, refuse(mayRead, "%s cannot be read: %s", diag.Safe(dir), diag.Safe(err.Error()))
	}
	return r, nil
}

// hasRevisions reports whether anything was issued of a job, or may have been.
func hasRevisions(job string) bool {
	entries, err := os.ReadDir(filepath.Join(job, "issued"))
	return err != nil && !errors.Is(err, fs.ErrNotExist) || slices.ContainsFunc(entries, func(e fs.DirEntry) bool { return strings.HasPrefix(e.Name(), "r") })
}

const mayRead = "allow reading it with all that is in it, or name a copy that you may read"

const whatToVerify = "name a PDF file or an issued folder, or paste the text of a QR symbol, which begins with SS1."

// brief cuts what somebody typed or pasted to a length that fits a line.
func brief(text string) string {
	if r := []rune(text); len(r) > 60 {
		return string(r[:57]) + "..."
	}
	return text
}

// scanned is the text of a symbol that somebody saved to a file: with or
// without an address before it, space around it or a byte order mark.
func scanned(data []byte) (text string, ok bool) {
	if len(data) > 1<<14 || bytes.HasPrefix(data, []byte("%PDF")) {
		return "", false
	}
	text = seal.Scanned(string(data))
	return text, verify.LooksLikeToken(text)
}

// largestPaper bounds what is read of a file that says it is a paper: ten times
// the bundle of the largest jobs.
const largestPaper = 1 << 30

// readPaper reads a file that somebody sent. A device or a pipe would never
// end, and reading it could not be interrupted.
func readPaper(path string) ([]byte, error) {
	info, err := os.Stat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse("name the PDF file of a certificate", "there is nothing at %s", diag.Safe(path))
	case err == nil && info.IsDir():
		return nil, refuse("name the PDF file itself", "%s is a folder", diag.Safe(path))
	case err == nil && !info.Mode().IsRegular():
		return nil, refuse("copy the paper itself to a file", "%s is no plain file, but a pipe or a device", diag.Safe(path))
	case err == nil && info.Size() > largestPaper:
		return nil, refuse("name a paper", "%s is too large to be one: %d MB", diag.Safe(path), info.Size()>>20)
	}
	var data []byte
	if err == nil {
		data, err = os.ReadFile(path)
	}
	if err != nil {
		return nil, refuse(mayRead, "%s cannot be read: %v", diag.Safe(path), plain.Cause(err))
	}
	return data, nil
}

// worse keeps the worse of two exit codes of a verification.
func (a *app) worse(code int) {
	if a.status != ExitWrong && code != ExitOK {
		a.status = code
	}
}

func (a *app) verifyJSON(all []verified) error {
	for _, v := range all {
		a.worse(v.Report.Exit())
	}
	e := json.NewEncoder(a.out)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(struct {
		Format  string     `json:"format"`
		Exit    int        `json:"exit"`
		Reports []verified `json:"reports"`
	}{"spanseal-verify/1", a.status, all})
}

// verifyText says in plain words what was found out, and what to do about it.
func (a *app) verifyText(v verified, trusted bool) {
	s, r := a.onOut, v.Report
	code := r.Exit()
	a.worse(code)

	name := brief(v.Target)
	what := ""
	if r.Files > 1 {
		what = fmt.Sprintf(" (%d files)", r.Files)
	}
	name = diag.Safe(name) + what
	has := func(s verify.State) bool {
		return slices.ContainsFunc(r.Items, func(i verify.Item) bool { return i.State == s })
	}
	var word, fix string
	switch {
	case code == ExitOK:
		word = s.Good("INTACT, SIGNER TRUSTED")
	case code == ExitUntrusted && leftOut(r) > 0:
		word = s.Asked(fmt.Sprintf("INTACT AS FAR AS CHECKED, %d NOT CHECKED", leftOut(r)))
		fix = "verify by itself what was not checked, or take it out of the folder"
	case code == ExitUntrusted && has(verify.Unchecked):
		word = s.Asked("WELL FORMED, SIGNATURE NOT CHECKED")
		fix = "to check the signature, get the signer's certificate from them and name it with --trust"
	case code == ExitUntrusted:
		word = s.Asked("INTACT, SIGNER NOT TRUSTED")
		if !trusted {
			fix = "to trust the signer, compare the fingerprint over another channel, then name the certificate with --trust"
		}
	case len(r.Items) == 1 && has(verify.Unsigned):
		word, fix = s.Bad("NOT SIGNED"), "it proves nothing; ask whoever sent it for the signed paper"
	case !has(verify.Changed) && !has(verify.Missing) && !has(verify.Added) && !has(verify.Unsigned):
		word, fix = s.Bad("NOT READABLE"), howToRead(v)
	default:
		word, fix = s.Bad("NOT AS IT WAS SIGNED"), "do not rely on it; get a whole, unchanged copy from whoever issued it"
	}
	fmt.Fprintf(a.out, "%s  %s\n", word, name)

	var signers []string
	for _, i := range r.Items {
		for _, f := range i.Faults {
			fmt.Fprintf(a.out, "  %s: %s: %s\n", diag.Safe(i.Path), s.Bad(string(i.State)), diag.Safe(f))
		}
		if text := signedBy(i.Signer); text != "" && !slices.Contains(signers, text) {
			signers = append(signers, text)
		}
	}
	for _, text := range signers {
		fmt.Fprint(a.out, text)
	}
	a.claims(r)
	a.notes(r)
	if fix != "" {
		fmt.Fprintf(a.out, "  %s\n", fix)
	}
}

// leftOut counts the files and folders that were not looked at.
func leftOut(r *verify.Report) (n int) {
	for _, i := range r.Items {
		if i.State == verify.Unchecked && i.Kind == verify.KindFile {
			n++
		}
	}
	return n
}

// howToRead says what to name instead of something that is no paper of ours. A
// label's fault has its own way out.
func howToRead(v verified) string {
	if slices.ContainsFunc(v.Report.Items, func(i verify.Item) bool { return i.Kind == verify.KindToken }) {
		return ""
	}
	if whole := verify.RevisionOf(v.Target); whole != "" {
		return "to check it as a file of its revision, verify that: " + diag.Safe(whole)
	}
	if isFolder(v.Target) {
		return "take out what is no paper of spanseal, or get a copy of it that can be read"
	}
	return "name a paper as it was issued (PDF), the folder of a revision, or the text of a label"
}

// signedBy prints a signer, in lines of their own.
func signedBy(s *verify.Signer) string {
	if s == nil {
		return ""
	}
	name := diag.Safe(s.Name)
	if s.Organisation != "" {
		name += ", " + diag.Safe(s.Organisation)
	}
	when := ""
	if !s.Signed.IsZero() {
		when = " on " + s.Signed.Format(time.DateOnly)
		if s.Stamped != "" {
			when += ", a time that " + diag.Safe(s.Stamped) + " vouches for"
		}
	}
	trust := "not trusted"
	if s.Trusted {
		trust = "trusted"
	}
	return fmt.Sprintf("  signed by %s%s\n  %s: %s\n  key %s, certificate %s\n", name, when, trust, diag.Safe(s.Why), s.KeyID, s.Fingerprint)
}

// claims prints what a single paper or label says.
func (a *app) claims(r *verify.Report) {
	if len(r.Items) != 1 || r.Items[0].Claim == nil {
		return
	}
	c := r.Items[0].Claim
	says := "it says"
	if r.Items[0].State != verify.Intact {
		says = "it says, unproven"
	}
	subject := "job " + c.Job
	if c.Link != "" {
		subject = fmt.Sprintf("certificate number %s, link %s of job %s", c.Certificate, c.Link, c.Job)
	}
	fmt.Fprintf(a.out, "  %s: %s, revision %d, issued %s: %s\n", says, diag.Safe(subject), c.Revision, c.Issued, a.onOut.Strong(c.Verdict))
	for _, reading := range c.Readings {
		fmt.Fprintf(a.out, "    %d nm %s %s dB\n", reading.WavelengthNM, reading.Direction, reading.Loss)
	}
	if c.Margin != nil {
		fmt.Fprintf(a.out, "    %s dB\n", marginWords(*c.Margin))
	}
}

// marginWords says a margin as the paper does, with two decimals or as many as
// tell it from nothing; the token keeps every digit.
func marginWords(m quantity.Decimal) string {
	caption := "smallest margin"
	if m.Sign() < 0 {
		caption, m = "out of the limit by", m.Neg()
	}
	return caption + " " + m.Fixed(quantity.PlacesToTell(m, quantity.Decimal{}))
}

// notes prints what could not be checked, the same sentence once, with the
// things that it is about unless that is the one thing, or all papers.
func (a *app) notes(r *verify.Report) {
	about := map[string][]string{}
	of := map[string]map[verify.Kind]int{}
	all, first := map[verify.Kind]int{}, map[string]bool{} // whose path stands before the sentence
	var order []string
	for _, i := range r.Items {
		all[i.Kind]++
		for _, n := range i.Notes {
			if about[n] == nil {
				order, of[n] = append(order, n), map[verify.Kind]int{}
			}
			about[n] = append(about[n], i.Path)
			of[n][i.Kind]++
			first[n] = first[n] || i.Kind == verify.KindFile
		}
	}
	for _, n := range order {
		at, text := about[n], n
		papers, manifests := of[n][verify.KindPaper], of[n][verify.KindManifest]
		switch others := len(at) - papers; {
		case first[n]:
			text = someOf(at) + ": " + n
		case len(at) == 1 && (papers == 0 || all[verify.KindPaper] == 1) && (manifests == 0 || all[verify.KindManifest] == 1):
		case papers > 1 && papers == all[verify.KindPaper] && others == 0:
			text += fmt.Sprintf(" (all %d papers)", papers)
		case papers > 1 && papers == all[verify.KindPaper] && others == manifests:
			text += fmt.Sprintf(" (papers and manifests, %d in all)", len(at))
		default:
			text += " (" + someOf(at) + ")"
		}
		fmt.Fprintf(a.out, "  note: %s\n", diag.Safe(text))
	}
}

// someOf names things, the first of many.
func someOf(names []string) string {
	const named = 8
	if more := len(names) - named; more > 0 {
		return fmt.Sprintf("%s and %d more", strings.Join(names[:named], ", "), more)
	}
	return strings.Join(names, ", ")
}
