package terminal

import (
	"os"
	"path/filepath"
	"runtime"
	"strings"

	"spanseal/internal/diag"
)

// Argument quotes a word for a command line where it needs it, so that a hint
// can be typed as it stands, and a name with the marks of a shell runs nothing.
func Argument(s string) string {
	if _, err := os.Lstat(s); err == nil && strings.HasPrefix(s, "-") {
		s = "." + string(filepath.Separator) + s // it would be taken for a flag
	}
	safe := diag.Safe(s)
	switch {
	case !strings.ContainsAny(s, " \t'\"$&|;<>()*?[]{}\\`!#~"):
		return safe
	case runtime.GOOS == "windows":
		return `"` + safe + `"` // a name cannot hold this mark there
	case strings.ContainsAny(s, "\"$\\`!"):
		return "'" + strings.ReplaceAll(safe, "'", `'\''`) + "'"
	}
	return `"` + safe + `"`
}
