package form

import (
	"crypto/sha256"
	"encoding/hex"
	"regexp"
	"strings"
	"unicode"

	"golang.org/x/text/unicode/norm"

	"spanseal/internal/judge"
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
func fileNames(judged *judge.Judgement) map[string]string {
	names, held := make(map[string]string, len(judged.Links)), map[string]int{}
	for i := range judged.Links {
		id := judged.Links[i].Link.ID
		names[id] = FileName(id)
		held[strings.ToLower(names[id])]++
	}
	for id, n := range names {
		if held[strings.ToLower(n)] > 1 {
			names[id] = n + "-" + digest(id)
		}
	}
	return names
}
