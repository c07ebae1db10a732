package cli

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"

	"spanseal/internal/authority"
	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/plain"
	"spanseal/internal/seal"
	"spanseal/internal/verify"
)

func (a *app) renew() *cobra.Command {
	var named string
	var times []string
	c := &cobra.Command{
		Use:   "renew ISSUED",
		Short: "time-stamp issued revisions again, before the old proof of time expires",
		Long: `Requests a new stamp from a time-stamp authority (RFC 3161) for each revision: over
every file, the signatures, and the earlier stamps. Nothing in a revision is changed:
the stamps are kept beside it, those of r1 in r1.stamps. Hand them over with it.

An authority's certificate expires after some years, and algorithms become weak.
Renew before either happens, and the documents stay provable for as long as a
warranty runs. ` + "`spanseal verify`" + ` follows the chain of stamps and says when the next
is due.

The authority's name and password never go into an address. They come from the
variable ` + loginName + ` (name:password), or from the file that
` + loginName + `_FILE names.

ISSUED is a job, its folder issued, or one revision. A revision that was changed since
it was signed is not stamped. With --trust-time a stamp is kept only if it comes from
an authority that you, or your receivers, trust.

The stamps can be checked without spanseal, in the folder of revisions:
  sha512sum -c r1.stamps/1.sha512
  openssl ts -verify -data r1.stamps/1.sha512 -in r1.stamps/1.tsr -CAfile root.pem`,
		Example: `  spanseal renew harbour-library --authority https://clock.example/rfc3161
  spanseal renew handover/r2 --authority https://clock.example/rfc3161 --trust-time clock-root.pem`,
		Args:              takes(1, 1, "a job, its folder issued, or one revision"),
		ValidArgsFunction: completeFolder,
		RunE: func(c *cobra.Command, args []string) error {
			dirs, err := issuedRevisions(args[0])
			if err != nil {
				return err
			}
			trust, err := a.readTrust(trusted{times: times})
			if err != nil {
				return err
			}
			address, err := a.authorityFor(args[0], named)
			if err != nil {
				return err
			}
			var due []*verify.Renewal
			for _, dir := range dirs { // all of them before the first is stamped
				r, err := renewable(dir)
				if err != nil {
					return err
				}
				due = append(due, r)
			}
			client, err := a.authorityClient(address)
			if err != nil {
				return err
			}
			for _, r := range due {
				if err := a.renewOne(c.Context(), r, client, trust, len(times) > 0); err != nil {
					return err
				}
			}
			a.noteAuthority(client)
			return nil
		},
	}
	c.Flags().StringVar(&named, "authority", "", "the address of a time-stamp authority (default: sign.timestamp_url of the job)")
	c.Flags().StringArrayVar(&times, "trust-time", nil, "a certificate of a time-stamp authority that you trust, or a folder of certificates")
	return c
}

// issuedRevisions are the folders of revisions that an argument names.
func issuedRevisions(arg string) ([]string, error) {
	whole := func(dir string) bool {
		_, err := os.Lstat(filepath.Join(dir, seal.ManifestName))
		return err == nil
	}
	if whole(arg) {
		return []string{arg}, nil
	}
	dir := arg
	if isFolder(filepath.Join(arg, "issued")) {
		dir = filepath.Join(arg, "issued")
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, refuse("name a job that was issued, its folder issued, or one revision", "%s cannot be read: %v", diag.Safe(arg), plain.Cause(err))
	}
	var dirs []string
	for _, e := range entries {
		if _, ok := seal.RevisionNumber(e.Name()); ok && e.IsDir() {
			dirs = append(dirs, filepath.Join(dir, e.Name()))
		}
	}
	if dirs == nil {
		return nil, refuse("name a job that was issued, its folder issued, or one revision", "%s: there is no revision", diag.Safe(arg))
	}
	return dirs, nil
}

// authorityFor is the address that was given, or the one that a job names. One
// with a secret in it is refused, and not repeated.
func (a *app) authorityFor(arg, given string) (string, error) {
	if given == "" && isJob(arg) {
		facts, _ := intake.Read(arg, intake.Options{WithoutPhotos: true})
		if err := a.report(authorityFaults(facts)); err != nil {
			return "", err
		}
		given = facts.Job.Sign.TimestampURL
	}
	if given == "" {
		return "", misuse("name one, such as --authority https://clock.example/rfc3161", "there is no time-stamp authority to ask")
	}
	if p := authority.AddressFault(given, loginName); p.Code != "" {
		return "", misuse(p.Fix, "--authority: %s", p.Message)
	}
	return given, nil
}

// renewable verifies a revision and makes its next stamp ready.
func renewable(dir string) (*verify.Renewal, error) {
	report, err := verify.Folder(dir, &verify.Trust{})
	if err != nil {
		return nil, refuse(mayRead, "%s cannot be read: %s", diag.Safe(dir), diag.Safe(err.Error()))
	}
	if report.Conclusion() == verify.Broken {
		return nil, &failure{ExitWrong, fmt.Sprintf("%s is not as it was signed, and nothing was stamped", diag.Safe(dir)),
			"restore it from a copy; `spanseal verify` says what differs"}
	}
	r, err := verify.Renew(dir)
	if err != nil {
		return nil, refuse(mayRead, "%s cannot be stamped: %s", diag.Safe(dir), diag.Safe(err.Error()))
	}
	return r, nil
}

// renewOne stamps a revision anew.
func (a *app) renewOne(ctx context.Context, r *verify.Renewal, client *authority.Client, trust *verify.Trust, choosy bool) error {
	reply, ts, err := seal.RenewStamp(r.List, seal.HTTPAuthority(ctx, client.HTTP, client.Address))
	if err != nil {
		return &failure{ExitTool, fmt.Sprintf("%s was not stamped: %s", diag.Safe(r.Dir), diag.Safe(err.Error())),
			"try again when the authority answers, or name another with --authority"}
	}
	if ok, why := trust.TrustedTime(ts, r); choosy && !ok {
		return &failure{ExitUntrusted, fmt.Sprintf("%s was not stamped: the stamp is by %s, and %s", diag.Safe(r.Dir), diag.Safe(seal.CommonName(ts.Chain[0])), diag.Safe(why)),
			"name another with --authority, or its certificate with --trust-time"}
	}
	if err := a.onTime(ts); err != nil {
		return &failure{ExitTool, fmt.Sprintf("%s was not stamped: %v", diag.Safe(r.Dir), err), "correct this computer's clock, or name another authority"}
	}
	list, stamp := r.Paths()
	if err := keepStamp(list, r.List, stamp, reply); err != nil {
		return unwritable(stamp, err)
	}
	cert := ts.Chain[0]
	fmt.Fprintf(a.out, "stamped %s: %s by %s, %s\n  renew it again before %s, when the certificate of %s ends\n", diag.Safe(r.Dir), diag.Safe(filepath.Base(stamp)),
		diag.Safe(seal.CommonName(cert)), ts.Time.UTC().Format("2006-01-02 15:04 MST"), cert.NotAfter.UTC().Format(time.DateOnly), diag.Safe(seal.CommonName(cert)))
	return nil
}

// keepStamp writes a list and then the stamp over it, whole: without the second
// the first counts for nothing, and the next run writes it again.
func keepStamp(list string, content []byte, stamp string, reply []byte) error {
	dir := filepath.Dir(stamp)
	if err := os.Mkdir(dir, 0o755); err != nil && !errors.Is(err, fs.ErrExist) {
		return err
	}
	if info, err := os.Lstat(dir); err != nil || !info.IsDir() {
		return cmp.Or(err, errors.New("the folder of stamps is a link or a file"))
	}
	for _, f := range []struct {
		path string
		data []byte
	}{{list, content}, {stamp, reply}} {
		partial := filepath.Join(dir, "."+filepath.Base(f.path)+"-partial")
		if err := os.Remove(partial); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		if err := writeNew(partial, f.data, 0o644); err != nil {
			return err
		}
		if err := os.Rename(partial, f.path); err != nil {
			return errors.Join(err, os.Remove(partial))
		}
	}
	return nil
}
