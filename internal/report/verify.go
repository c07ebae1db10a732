package report

import (
	"encoding/json"
	"fmt"
	"os"
	"slices"
	"time"

	"spanseal/internal/diag"
	"spanseal/internal/quantity"
	"spanseal/internal/verify"
)

// Verified is one argument and what was found out about it.
type Verified struct {
	Target string         `json:"target"`
	Report *verify.Report `json:"report"`
}

// Brief cuts what somebody typed or pasted to a length that fits a line.
func Brief(text string) string {
	if r := []rune(text); len(r) > 60 {
		return string(r[:57]) + "..."
	}
	return text
}

// VerifiedJSON prints what was found out for programs, with the exit code of the run.
func (pr *Printer) VerifiedJSON(all []Verified, exit int) error {
	e := json.NewEncoder(pr.w)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	return e.Encode(struct {
		Format  string     `json:"format"`
		Exit    int        `json:"exit"`
		Reports []Verified `json:"reports"`
	}{"spanseal-verify/1", exit, all})
}

// Verification says in plain words what was found out, and what to do about it.
// Trusted means that the reader named somebody to be trusted.
func (pr *Printer) Verification(v Verified, trusted bool) {
	s, r := pr.style, v.Report

	name := Brief(v.Target)
	what := ""
	if r.Files > 1 {
		what = fmt.Sprintf(" (%d files)", r.Files)
	}
	name = diag.Safe(name) + what
	has := func(s verify.State) bool {
		return slices.ContainsFunc(r.Items, func(i verify.Item) bool { return i.State == s })
	}
	outcome := r.Conclusion()
	sound := outcome != verify.Broken
	var word, fix string
	switch {
	case outcome == verify.Holds:
		word = s.Good("INTACT, SIGNER TRUSTED")
	case sound && leftOut(r) > 0:
		word = s.Asked(fmt.Sprintf("INTACT AS FAR AS CHECKED, %d NOT CHECKED", leftOut(r)))
		fix = "verify by itself what was not checked, or take it out of the folder"
	case sound && has(verify.Unchecked):
		word = s.Asked("WELL FORMED, SIGNATURE NOT CHECKED")
		fix = "to check the signature, get the signer's certificate from them and name it with --trust"
	case sound:
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
	fmt.Fprintf(pr.w, "%s  %s\n", word, name)

	var signers []string
	for _, i := range r.Items {
		for _, f := range i.Faults {
			fmt.Fprintf(pr.w, "  %s: %s: %s\n", diag.Safe(i.Path), s.Bad(string(i.State)), diag.Safe(f))
		}
		if text := signedBy(i.Signer); text != "" && !slices.Contains(signers, text) {
			signers = append(signers, text)
		}
	}
	for _, text := range signers {
		fmt.Fprint(pr.w, text)
	}
	pr.claims(r)
	pr.notes(r)
	if fix != "" {
		fmt.Fprintf(pr.w, "  %s\n", fix)
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
func howToRead(v Verified) string {
	if slices.ContainsFunc(v.Report.Items, func(i verify.Item) bool { return i.Kind == verify.KindToken }) {
		return ""
	}
	if whole := verify.RevisionOf(v.Target); whole != "" {
		return "to check it as a file of its revision, verify that: " + diag.Safe(whole)
	}
	if info, err := os.Stat(v.Target); err == nil && info.IsDir() {
		return "remove what is not a document of spanseal, or get a copy of it that can be read"
	}
	return "name a document as it was issued (PDF), the folder of a revision, or the text of a label"
}

// signedBy prints a signer, in lines of their own.
func signedBy(s *verify.SignerFound) string {
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
func (pr *Printer) claims(r *verify.Report) {
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
	fmt.Fprintf(pr.w, "  %s: %s, revision %d, issued %s: %s\n", says, diag.Safe(subject), c.Revision, c.Issued, pr.style.Strong(c.Verdict))
	for _, reading := range c.Readings {
		fmt.Fprintf(pr.w, "    %d nm %s %s dB\n", reading.WavelengthNM, reading.Direction, reading.Loss)
	}
	if c.Margin != nil {
		fmt.Fprintf(pr.w, "    %s dB\n", marginWords(*c.Margin))
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
func (pr *Printer) notes(r *verify.Report) {
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
			text = diag.Few(at, 8) + ": " + n
		case len(at) == 1 && (papers == 0 || all[verify.KindPaper] == 1) && (manifests == 0 || all[verify.KindManifest] == 1):
		case papers > 1 && papers == all[verify.KindPaper] && others == 0:
			text += fmt.Sprintf(" (all %d documents)", papers)
		case papers > 1 && papers == all[verify.KindPaper] && others == manifests:
			text += fmt.Sprintf(" (documents and manifests, %d in all)", len(at))
		default:
			text += " (" + diag.Few(at, 8) + ")"
		}
		fmt.Fprintf(pr.w, "  note: %s\n", diag.Safe(text))
	}
}
