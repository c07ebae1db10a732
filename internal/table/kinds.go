package table

import (
	"fmt"
	"path"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/source"
)

// The sizes up to which tables are read, in bytes.
const (
	MaxText     = 100_000_000
	MaxHeld     = 20_000_000 // JSON, and reports of keys
	MaxYAML     = 2_000_000  // and any other file of a job in YAML
	MaxWorkbook = 200_000_000
)

// TooLarge is the problem of a file with more bytes than are read.
func TooLarge(size, limit int64) *diag.Problem {
	return &diag.Problem{Code: "too-large",
		Message: fmt.Sprintf("the file has %d bytes; at most %d are read", size, limit),
		Fix:     "split the export into several files, each with its heading"}
}

// heldWhole refuses a large text of a shape that is not read row by row.
func heldWhole(f *source.File) *diag.Problem {
	if len(f.Text) <= MaxHeld {
		return nil
	}
	p := TooLarge(int64(len(f.Text)), MaxHeld)
	p.Place = diag.Place{File: f.Name}
	return p
}

// Largest is how many bytes a file of readings may have.
func Largest(name string) int64 {
	switch KindOf(name) {
	case "workbook":
		return MaxWorkbook
	case "yaml":
		return MaxYAML
	}
	if IsJSON(name) {
		return MaxHeld
	}
	return MaxText
}

// KindOf is told by the end of the name; all else is delimited text.
func KindOf(name string) string {
	switch strings.ToLower(path.Ext(name)) {
	case ".xlsx", ".xlsm":
		return "workbook"
	case ".yaml", ".yml":
		return "yaml"
	case ".xls", ".xlsb", ".ods", ".numbers":
		return "other workbook"
	}
	return "text"
}

// IsJSON is told by the end of the name.
func IsJSON(name string) bool { return strings.EqualFold(path.Ext(name), ".json") }
