package cli

import (
	"bufio"
	"fmt"
	"strings"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/issue"
	"spanseal/internal/seal"
	"spanseal/internal/terminal"
	"spanseal/internal/verify"
)

// believes tells whether an earlier revision that another key signed may be
// built on: that of a predecessor or of somebody named with --trust, which is
// said, or one that the person at the terminal vouches for.
func (a *app) believes(signer *seal.Signer, trust *verify.Trust) func(string, int, *seal.SignedBy) bool {
	return func(path string, n int, by *seal.SignedBy) bool {
		if verify.Follows(signer, by) {
			return true
		}
		s := trust.Signer(by)
		if s.Trusted {
			a.note("r%d was signed with another key, %s, by %s; it is accepted: %s", n, by.KeyID, diag.Safe(s.Name), diag.Safe(s.Why))
			return true
		}
		if _, ok := terminal.File(a.sys.Stdin); !ok {
			return false
		}
		fmt.Fprintf(a.err, "r%d (%s) was signed by %s on %s with another key, %s,\ncertificate %s.\nIs that key one of your office's? The new revision repeats what r%d says. [yes/no] ",
			n, diag.Safe(path), diag.Safe(s.Name), by.SigningTime.Format(time.DateOnly), by.KeyID, s.Fingerprint, n)
		text, err := answer(func() (string, error) { return bufio.NewReader(a.sys.Stdin).ReadString('\n') })
		return err == nil && strings.EqualFold(strings.TrimSpace(text), "yes")
	}
}

// notVouched refuses to build on a stranger's revision.
func notVouched(e *issue.StrangerError) error {
	return &failure{ExitUntrusted,
		fmt.Sprintf("nothing was issued: r%d was signed by %s with another key, %s, and the new revision would repeat what it says (%s)",
			e.Revision, diag.Safe(seal.CommonName(e.By.Certificate)), e.By.KeyID, diag.Safe(e.Path)),
		fmt.Sprintf("if that key is your office's own (certificate %s), name its certificate with --trust; if not, restore the folder from a copy", seal.FingerprintOf(e.By.Certificate))}
}
