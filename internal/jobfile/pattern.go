package jobfile

import (
	"errors"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/naming"
	"spanseal/internal/near"
	"spanseal/internal/strict"
)

// readPattern reads by what pattern the papers are named.
func readPattern(d *strict.YAML, to *string) func(*yaml.Node) {
	return func(n *yaml.Node) {
		text, ok := d.Scalar(n, "documents.name")
		if !ok {
			return
		}
		var fault *naming.PatternError
		if _, err := naming.Parse(text); errors.As(err, &fault) {
			want := "want a name such as {job}-{link}-r{revision}"
			if word := near.Word(fault.Word, naming.Words); word != "" {
				want = "did you mean {" + word + "}?"
			}
			d.Fault(n, "bad-value", fault.Message, want, "use {"+strings.Join(naming.Words, "}, {")+"}; all else is part of the name")
			return
		}
		*to = text
	}
}
