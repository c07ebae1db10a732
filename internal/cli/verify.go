package cli

import (
	"bytes"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/report"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
)

func (a *app) verify() *cobra.Command {
	var how format
	var who trusted
	c := &cobra.Command{
		Use:   "verify PATH|TOKEN ...",
		Short: "show who signed a PDF, a label or an issued folder, and whether it was changed",
		Long: `Checks, without a network, who signed documents and whether they were changed since.
PATH is a PDF file or an issued folder; TOKEN is the text of a QR symbol.

A signature proves who said something, not that it is true. You decide whom to
trust: name the signer's certificate, or a folder of certificates, with --trust. Get
it from the signer directly, or compare its fingerprint by telephone. Time-stamps are
trusted separately: name the certificates of time-stamp authorities with
--trust-time. A signer cannot vouch for a time, and an authority cannot sign
documents.

List revoked keys in revoked.txt in one of these folders, one per line: key, "since"
or "until", day, and optionally the reason, such as
  5F0C 91D2 07AA 3B1E since 2027-03-01 laptop stolen
  77B0 0C4E 9A1D 52F3 until 2030-06-30 left the company
"since" is for a key that somebody else may have: what it signed from that day on is
not trusted, nor is anything dated earlier, unless a time-stamp proves it. "until" is
for a key that was given up: documents dated up to that day are trusted, later ones
are not. Certificate revocation lists (.crl, X.509) in these folders are read too.

The exit code is 5 if anything was changed; 6 if everything checked is intact, but a
signer is not trusted, or a signature or file was not checked.`,
		Example: `  spanseal verify A-12.pdf
  spanseal verify handover/r1 --trust tidewater.pem
  spanseal verify SS1.2KCEJ...`,
		Args: takes(1, -1, "a PDF file, an issued folder, or the text of a QR symbol"),
		RunE: func(_ *cobra.Command, args []string) error {
			trust, err := a.readTrust(who)
			if err != nil {
				return err
			}
			var all []report.Verified
			defer makeRoomToVerify()()
			for _, arg := range args {
				r, err := look(arg, trust)
				if err != nil {
					return err
				}
				all = append(all, report.Verified{Target: arg, Report: r})
			}
			for _, v := range all {
				a.worse(exitOf(v.Report.Conclusion()))
			}
			if how == "json" {
				return a.print.VerifiedJSON(all, a.status)
			}
			for i, v := range all {
				if i > 0 {
					fmt.Fprintln(a.out)
				}
				a.print.Verification(v, len(who.papers) > 0)
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
	c.Flags().StringArrayVar(&w.papers, "trust", nil, "a certificate that you trust to sign documents, or a folder of certificates")
	c.Flags().StringArrayVar(&w.times, "trust-time", nil, "a certificate of a time-stamp authority that you trust, or a folder of certificates")
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
		return nil, refuse(whatToVerify, "%s does not exist", diag.Safe(report.Brief(arg)))
	}
	fix := whatToVerify
	if errors.Is(err, fs.ErrPermission) {
		fix = mayRead
	}
	return nil, refuse(fix, "%s cannot be read: %v", diag.Safe(report.Brief(arg)), plain.Cause(err))
}

// lookInto verifies a folder.
func lookInto(dir string, trust *verify.Trust) (*verify.Report, error) {
	whole := verify.RevisionOf(dir)
	if whole == "" && isJob(dir) && !hasRevisions(dir) {
		return nil, refuse(fmt.Sprintf("issue it first: `spanseal issue %s`", terminal.Argument(dir)), "%s: nothing has been issued for this job yet", diag.Safe(dir))
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
		return nil, refuse("name the PDF file of a certificate", "%s does not exist", diag.Safe(path))
	case err == nil && info.IsDir():
		return nil, refuse("name the PDF file itself", "%s is a folder", diag.Safe(path))
	case err == nil && !info.Mode().IsRegular():
		return nil, refuse("copy the document itself to a file", "%s is not a regular file", diag.Safe(path))
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

// exitOf is the exit code of a verification.
func exitOf(o verify.Conclusion) int {
	switch o {
	case verify.Broken:
		return ExitWrong
	case verify.Untrusted:
		return ExitUntrusted
	}
	return ExitOK
}

// worse keeps the worse of two exit codes of a verification.
func (a *app) worse(code int) {
	if a.status != ExitWrong && code != ExitOK {
		a.status = code
	}
}
