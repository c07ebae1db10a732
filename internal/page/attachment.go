package page

import (
	"io"
	"time"
)

// Attachment is a file that a paper carries inside.
type Attachment struct {
	Name         string // unique in the paper
	MIME         string // media type, such as "text/csv"
	Description  string
	Relationship string // what the file is to the paper: "Data", "Source", "Supplement", ... (ISO 32000-2, AFRelationship)
	Data         []byte
	// Write writes the content where it is too large to be held as Data.
	Write    func(io.Writer) error
	Modified time.Time // to the second; the zero time stands for the paper's
}
