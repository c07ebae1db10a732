package cli

import (
	"crypto/x509"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/intake"
	"spanseal/internal/jobfile"
	"spanseal/internal/keyfile"
	"spanseal/internal/load"
	"spanseal/internal/record"
	"spanseal/internal/retest"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
)

// typed is a command as it was typed, with more flags at its end.
func typed(c *cobra.Command, args []string, more ...string) string {
	words := []string{c.Name()}
	for _, arg := range args {
		words = append(words, terminal.Argument(arg))
	}
	c.Flags().Visit(func(f *pflag.Flag) {
		values := []string{f.Value.String()}
		if list, ok := f.Value.(pflag.SliceValue); ok {
			values = list.GetSlice()
		}
		for _, v := range values {
			if f.NoOptDefVal != "" { // a switch
				words = append(words, "--"+f.Name)
				continue
			}
			words = append(words, "--"+f.Name, terminal.Argument(v))
		}
	})
	return strings.Join(append(words, more...), " ")
}

// methodThen says how the losses of a certificate were measured, in one respect.
func methodThen(c *retest.Certified, of func(record.Method) string) string {
	side := c.Side()
	var names []string
	for _, m := range side.Losses() {
		if name := of(m); name != "" && !slices.Contains(names, name) {
			names = append(names, name)
		}
	}
	switch len(names) {
	case 0:
		return "the certificate does not say it either"
	case 1:
		return "the certificate: " + names[0]
	}
	return "the certificate: " + strings.Join(names, " and ") + ", each reading its own"
}

// askMethod refuses a measurement of which nobody says how it was made: one thing at a
// time, with the command to run if it was made as for the certificate.
func (a *app) askMethod(n *retest.Side, c *retest.Certified, draft func(more ...string) string) error {
	ask := func(flag, what, then, others string) error {
		return misuse(fmt.Sprintf("if as for the certificate: `%s %s`; if not, name it: %s %s", a.sys.Program, draft(flag, asCertified), flag, others),
			"the file does not say %s; without that, nothing can be compared (%s)", what, then)
	}
	switch {
	case n.Reference == "":
		return ask("--reference", "how the reference was taken", methodThen(c, func(m record.Method) string { return string(m.Reference) }),
			"one-cord, two-cord or three-cord")
	case n.TestCords == "":
		return ask("--test-cords", "which grade the test cords are", methodThen(c, func(m record.Method) string { return string(m.TestCords) }),
			"standard or reference-grade")
	}
	return nil
}

// officeJob is the job that issued a paper, as its job.yaml is today, and its folder, if
// the paper lies where it was issued: in a revision of a job folder.
func officeJob(paper string) (dir string, job *jobfile.Contents) {
	whole := verify.RevisionOf(paper)
	if whole == "" {
		return "", nil
	}
	if dir = filepath.Dir(filepath.Dir(whole)); !isJob(dir) {
		return "", nil
	}
	var problems diag.List // which are not asked here
	in, err := folder.Open(dir, &problems)
	if err != nil {
		return "", nil
	}
	defer in.Close()
	return dir, jobfile.Read(in, &problems)
}

// key is the key file of the job that issued the paper, or "".
func (c *certificate) key() string {
	dir, job := c.office()
	if job == nil {
		return ""
	}
	return load.KeyOf(dir, &job.Job)
}

// retestedAs reads a file as the job that issued the paper reads exports of its kind, and
// says so; nil if it cannot.
func (a *app) retestedAs(cert *certificate, path string) *record.Facts {
	dir, job := cert.office()
	if job == nil {
		return nil
	}
	facts, by := intake.ReadLooseAs(path, cert.record.Link, cert.record.Job.TimeZone, job.Mappings)
	if facts != nil {
		a.note("%s is read as %s of %s is; who measured, with what and when is taken from the file alone", diag.Safe(path), diag.Safe(by.Files), diag.Safe(dir))
	}
	return facts
}

// afterComparing prints the command to run next: with whom to trust, or what is missing
// to decide, or to write the comparison down. It is one thing at a time.
func (a *app) afterComparing(f *compareFlags, paper string, cert *certificate, result *retest.Comparison, draft func(more ...string) string) {
	next, pem := "", ""
	if len(f.who.papers) == 0 {
		pem = keyfile.CertificatePath(cert.key())
	}
	switch {
	case pem != "" && signedBy(cert.checked, pem):
		next = draft("--trust", terminal.Argument(pem)) + "  # if the key of this job is yours"
	case f.u == "" && slices.ContainsFunc(result.Rows, func(r retest.Row) bool { return r.UncertaintyThen != nil && r.UncertaintyNow == nil && r.Now != nil }):
		next = draft("--uncertainty", "U") + "  # U: of a loss reading, expanded (k = 2), in dB"
	case f.sheet == "":
		name := strings.TrimSuffix(filepath.Base(paper), filepath.Ext(paper)) + "-compared.pdf"
		next = draft("--sheet", terminal.Argument(name), "--claim", "NUMBER", "--discovered", "DAY") + "  # a signed sheet"
	default:
		return
	}
	fmt.Fprintf(a.out, "\nnext\n")
	a.print.Then(next)
}

// signedBy reports whether a file holds the certificate of whoever signed a paper.
func signedBy(checked *verify.Report, pem string) bool {
	data, err := os.ReadFile(pem)
	if err != nil || checked.Items[0].Signer == nil {
		return false
	}
	certs, err := verify.ParseCertificates(data)
	return err == nil && slices.ContainsFunc(certs, func(c *x509.Certificate) bool {
		return seal.KeyIDOf(c) == checked.Items[0].Signer.KeyID
	})
}
