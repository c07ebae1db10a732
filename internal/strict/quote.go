package strict

import (
	"regexp"
	"strconv"

	"gopkg.in/yaml.v3"
)

var plainYAML = regexp.MustCompile(`^\pL[\pL\pN _./-]*$`)

// Quoted writes a text of one line so that YAML reads it as text, and nothing for "".
func QuoteOrNothing(s string) string {
	if s == "" {
		return ""
	}
	return Quote(s)
}

// Quote writes a text so that YAML reads it as text.
func Quote(s string) string {
	var n yaml.Node
	if plainYAML.MatchString(s) && yaml.Unmarshal([]byte(s), &n) == nil && len(n.Content) == 1 && n.Content[0].Tag == "!!str" && n.Content[0].Value == s {
		return s
	}
	return strconv.Quote(s)
}
