package judge_test

import (
	"sync"

	"spanseal/internal/diag"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
	"spanseal/templates"
)

var english = sync.OnceValue(func() *wording.Wording { return wording.Load(templates.Files, nil, "en", new(diag.List)) })

// said is a statement in English.
func said(s statement.Statement) string { return english().State(s) }
