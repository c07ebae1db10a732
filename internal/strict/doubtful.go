package strict

import (
	"fmt"
	"regexp"
	"strings"
	"unicode"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
)

// What YAML makes of a text that its writer may not have meant: a "#" behind a
// space begins a remark, quotes of a word processor are letters, and blanks that
// look like spaces are none.

var (
	// cutRemark is a remark that may be the rest of a text: "#2 Ltd", "# 2". A
	// remark proper begins with a space and a word.
	cutRemark = regexp.MustCompile(`^#(?:[^\s#!]|\s?\d)`)
	curly     = "\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f\u00ab\u00bb\u2039\u203a"
	blanks    = "\u00a0\u1680\u2000\u2001\u2002\u2003\u2004\u2005\u2006\u2007\u2008\u2009\u200a\u200b\u200c\u200d\u202f\u205f\u2060\u3000\ufeff\u00ad"
)

// askText asks about a value that may have been meant otherwise than it is read.
func (y *YAML) askText(n *yaml.Node) {
	ask := func(code, message, fix string) {
		severity := diag.Question
		if code == "odd-blank" || code == "yaml-tag" {
			severity = diag.Note
		}
		y.List.Add(diag.Problem{Severity: severity, Code: code, Place: y.At(n), Message: message, Fix: fix})
	}
	plain := n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle|yaml.LiteralStyle|yaml.FoldedStyle) == 0
	if remark := n.LineComment; plain && cutRemark.MatchString(remark) && n.Value != "" {
		whole := n.Value + " " + remark
		ask("cut-at-remark", fmt.Sprintf("is this %q, or %q? Behind a space, # begins a remark, so the first is read", n.Value, whole),
			fmt.Sprintf("if the # belongs to the text, put the text in quotes: %q; otherwise put a space after the #", whole))
	}
	if n.Style&yaml.TaggedStyle != 0 {
		ask("yaml-tag", fmt.Sprintf("the tag %s is not part of the text %q, and says nothing here", n.ShortTag(), n.Value),
			"leave the tag out, or put the whole in quotes if it belongs to the text")
	}
	first, last := firstRune(n.Value), lastRune(n.Value)
	if plain && strings.ContainsRune(curly, first) && strings.ContainsRune(curly, last) {
		ask("curly-quotes", fmt.Sprintf("the quotes of %s are letters of the text: YAML knows straight ones only", n.Value),
			fmt.Sprintf("write straight quotes: %q", strings.Trim(n.Value, curly)))
	}
	if at := strings.IndexAny(n.Value, blanks); at >= 0 {
		r := firstRune(n.Value[at:])
		ask("odd-blank", fmt.Sprintf("%q holds U+%04X, which looks like a space or like nothing, and is neither", n.Value, r),
			"type the text again with plain spaces, unless the character is intended")
	}
}

func firstRune(s string) rune {
	for _, r := range s {
		return r
	}
	return unicode.MaxRune
}

func lastRune(s string) rune {
	last := unicode.MaxRune
	for _, r := range s {
		last = r
	}
	return last
}
