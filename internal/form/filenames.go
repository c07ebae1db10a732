package form

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/judge"
	"spanseal/internal/naming"
	"spanseal/internal/record"
)

// longestName bounds a file name, so that folders deep in a share stay within
// the 255 bytes of most systems and the 260 characters of old Windows paths.
const longestName = 64

// reserved are the device names that Windows keeps for itself, with or without
// an extension.
var reserved = regexp.MustCompile(`(?i)^(con|prn|aux|nul|com[0-9]|lpt[0-9])(\..*)?$`)

// FileName turns the name of a link into a file name, without extension, that
// every system takes: ASCII letters, digits, "-", "_" and "." in at most 73
// bytes. A name that had to be changed carries eight hex digits of its SHA-256,
// so two links never share a file; the true name stands on paper.
func FileName(link string) string {
	var b strings.Builder
	for _, r := range norm.NFD.String(link) {
		switch {
		case r < 0x80 && (unicode.IsLetter(r) || unicode.IsDigit(r)), r == '-', r == '_', r == '.':
			b.WriteRune(r)
		case unicode.Is(unicode.Mn, r): // accents are dropped, their letters stay
		default:
			b.WriteByte('_')
		}
	}
	name := b.String()
	if len(name) > longestName {
		name = name[:longestName]
	}
	name = strings.Trim(name, ".")
	if reserved.MatchString(name) { // with its digest behind a point it would still be a device
		name = strings.ReplaceAll(name, ".", "_")
	}
	switch {
	case name == "":
		return digest(link)
	case name == link && !reserved.MatchString(name):
		return name
	}
	return name + "-" + digest(link)
}

func digest(s string) string {
	sum := sha256.Sum256([]byte(s))
	return hex.EncodeToString(sum[:4])
}

// fileNames gives every link its file name. Names that differ only in case
// would be one file on Windows and macOS; each of them carries its digest.
func fileNames(judged *judge.Judgement) map[string]naming.PaperName {
	names, held := make(map[string]naming.PaperName, len(judged.Links)), map[string]int{}
	for i := range judged.Links {
		id := judged.Links[i].Link.ID
		names[id] = naming.PaperName{FileName(id)}
		held[names[id].Key()]++
	}
	for id, n := range names {
		if held[n.Key()] > 1 {
			names[id] = naming.PaperName{n[0] + "-" + digest(id)}
		}
	}
	return names
}

// patterned gives every link the name that the job's pattern makes.
func (w *Writer) patterned(p naming.Pattern) map[string]naming.PaperName {
	names := make(map[string]naming.PaperName, len(w.Judgement.Links))
	for i := range w.Judgement.Links {
		l := w.Judgement.Links[i].Link
		names[l.ID], _ = p.Of(w.jobNumber(), l)
	}
	return names
}

// NameFault is why the paper of a link cannot be called as the job's pattern has it.
type NameFault struct {
	Link  *record.Link
	Fault string
}

// NameFaults tells which papers cannot be called as the job's pattern has it: something is
// missing, some system does not take the name, or another paper has it.
func (w *Writer) NameFaults() (all []NameFault) {
	p, err := naming.Parse(w.Facts.Job.Documents.Name)
	if err != nil || p.IsZero() {
		return nil
	}
	held := map[string]string{}
	for i := range w.Judgement.Links {
		l := w.Judgement.Links[i].Link
		name, missing := p.Of(w.jobNumber(), l)
		key, shown := name.Key(), strings.Join(name, "1")
		fault := name.Fault()
		switch other, twice := held[key]; {
		case missing != "":
			fault = fmt.Sprintf("it has nothing for {%s}", missing)
		case fault != "":
			fault = fmt.Sprintf("%q: %s", shown, fault)
		case twice:
			fault = fmt.Sprintf("%q is also the name of the document of link %s", shown, other)
		default:
			held[key] = l.ID
			continue
		}
		all = append(all, NameFault{l, fault})
	}
	return all
}
