package record

import "fmt"

// Origin is where a fact was read: the file, its digest and the row.
type Origin struct {
	File   string `json:"file"`             // relative to the job folder, forward slashes
	SHA256 string `json:"sha256"`           // of the original bytes, lower-case hex
	Size   int64  `json:"size"`             // bytes
	Row    int    `json:"row,omitempty"`    // line number from one; a spreadsheet's row
	Column int    `json:"column,omitempty"` // in characters from one; a spreadsheet's column
	Cell   string `json:"cell,omitempty"`   // "Sheet1!B7" in spreadsheets
}

// Where prints file and row as a person would say it.
func (o Origin) Where() string {
	switch {
	case o.Cell != "":
		return o.File + " " + o.Cell
	case o.Row > 0:
		return fmt.Sprintf("%s row %d", o.File, o.Row)
	}
	return o.File
}
