package report

import (
	"crypto/x509"
	"fmt"
	"path/filepath"
	"strings"
	"time"

	"spanseal/internal/archive"
	"spanseal/internal/diag"
	"spanseal/internal/seal"
)

// RSALabels is the algorithm whose signatures are too long for a 20 mm label
// unless the key is of 2048 bits and all names are short.
const RSALabels = "PS256"

// FineSymbols says what that means for labels.
const FineSymbols = "symbols signed with an RSA key may need more than 20 mm: they grow if a label has room; a label without room is refused (documents/labels.yaml)"

// Certificate prints whose key a certificate is of; algorithm is that of its labels, if the
// key is at hand.
func (pr *Printer) Certificate(c *x509.Certificate, algorithm string) {
	row := func(label, value string) {
		if value != "" {
			fmt.Fprintf(pr.w, "%-13s %s\n", label, diag.Safe(value))
		}
	}
	row("signer", seal.CommonName(c))
	row("organisation", strings.Join(c.Subject.Organization, ", "))
	if c.CheckSignature(c.SignatureAlgorithm, c.RawTBSCertificate, c.Signature) != nil { // not by itself
		row("issued by", c.Issuer.String())
	}
	if before := seal.Predecessor(c); before != nil {
		row("successor of", seal.CommonName(before)+", key "+seal.KeyIDOf(before).String())
	}
	row("valid", c.NotBefore.Format(time.DateOnly)+" to "+c.NotAfter.Format(time.DateOnly))
	row("key", seal.KeyIDOf(c).String())
	row("labels", algorithm)
	if algorithm == RSALabels {
		row("", FineSymbols)
	}
	row("fingerprint", seal.FingerprintOf(c))
}

// SignedWith lists the revisions of an archive that a key signed.
func (pr *Printer) SignedWith(key seal.KeyID, arch *archive.Archive) {
	var mine []*archive.Revision
	for _, r := range arch.Revisions {
		if r.SignerKey == key.String() {
			mine = append(mine, r)
		}
	}
	fmt.Fprintf(pr.w, "\nsigned %d of %s below %s\n", len(mine), diag.Plural(len(arch.Revisions), "revision"), diag.Safe(arch.Dir))
	for _, r := range mine {
		day, _, _ := strings.Cut(r.Issued, "T")
		fmt.Fprintf(pr.w, "  %s r%d, issued %s  %s\n", diag.Safe(r.Job), r.Number, day, diag.Safe(filepath.Join(arch.Dir, filepath.FromSlash(r.Path))))
	}
}
