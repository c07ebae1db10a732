package limits

import (
	"fmt"
	"regexp"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// Confirmation says that a person compared a set's file, as it was then, with
// their own copy of the standard. The file of confirmations is YAML:
//
//	confirmed:
//	  - {set: tia-568.3-e, sha256: 9b1c..., by: R. Lindqvist, on: 2026-11-20, note: copy bought in 2024}
type Confirmation struct {
	Set    string
	SHA256 string // of the set's file, lower-case hex
	By     string
	On     record.Date
	Note   string
}

func (c Confirmation) String() string { return c.By + ", " + c.On.String() }

var (
	confirmationKeys = []string{"set", "sha256", "by", "on", "note"}
	sha256Form       = regexp.MustCompile(`^[0-9a-f]{64}$`)
)

// ParseConfirmations reads a file of confirmations.
func ParseConfirmations(f *source.File) ([]Confirmation, *diag.List) {
	r := newReader(f)
	root := r.root()
	if root == nil {
		return nil, r.List
	}
	top, ok := r.mapping(root, "a file of confirmations", []string{"confirmed"}, "confirmed")
	if !ok {
		return nil, r.List
	}
	var out []Confirmation
	for _, n := range top.items("confirmed") {
		cf, ok := r.mapping(n, "a confirmation", confirmationKeys, "set", "sha256", "by", "on")
		if !ok {
			continue
		}
		c := Confirmation{Set: cf.text("set"), SHA256: cf.text("sha256"), By: cf.text("by"), Note: cf.text("note")}
		if !sha256Form.MatchString(c.SHA256) {
			r.Fault(cf.val["sha256"], "unknown-value", "this is not a SHA-256", "want 64 lower-case hexadecimal digits", "")
		}
		on, err := record.ParseDate(cf.text("on"))
		if err != nil {
			r.Fault(cf.val["on"], "not-a-date", err.Error(), "want year-month-day", "")
		}
		c.On = on
		out = append(out, c)
	}
	if r.List.Errors() > 0 {
		return nil, r.List
	}
	return out, r.List
}

// FormatConfirmations writes a file that ParseConfirmations reads.
func FormatConfirmations(cs []Confirmation) []byte {
	var b strings.Builder
	b.WriteString("# Who compared which limit set with their own copy of the standard, and when.\n" +
		"# A set whose file has changed since is no longer confirmed.\nconfirmed:\n")
	for _, c := range cs {
		fmt.Fprintf(&b, "  - {set: %q, sha256: %q, by: %q, on: %q", c.Set, c.SHA256, c.By, c.On)
		if c.Note != "" {
			fmt.Fprintf(&b, ", note: %q", c.Note)
		}
		b.WriteString("}\n")
	}
	return []byte(b.String())
}

// Confirm takes in confirmations; of several for one file the last counts.
func (b *Book) Confirm(cs []Confirmation) {
	if b.confirmed == nil {
		b.confirmed = map[string]Confirmation{}
	}
	for _, c := range cs {
		b.confirmed[c.Set+" "+c.SHA256] = c
	}
}

// Confirmed returns who compared the set's file with the standard. A set that
// extends another is confirmed only when its base is as well; an owner's own
// figures need no standard, so that there the base's confirmation is enough.
func (b *Book) Confirmed(s *Set) (Confirmation, bool) {
	c, ok := b.confirmed[s.ID+" "+s.SHA256]
	if s.Base == nil {
		return c, ok
	}
	base, baseOK := b.Confirmed(s.Base)
	if !ok && s.Owner != "" {
		return base, baseOK
	}
	return c, ok && baseOK
}
