package record

import "io"

// Original is an input file as it lay on disk, for evidence/.
type Original struct {
	Name   string // relative to the job folder, forward slashes
	SHA256 string
	Data   []byte
}

// KeptFile is one that is handed over byte for byte and is not held in memory.
type KeptFile struct {
	Name   string // in the job folder, forward slashes
	SHA256 string
	Size   int64
	// Copy reads it again. The error says so where it is no longer what it was.
	Copy func(to io.Writer) error
}

// InstrumentFile is a file as an instrument wrote it, in any format, and what it is
// of. One file may be of several links or wavelengths; each is one of these.
type InstrumentFile struct {
	Link         string    `json:"link"`
	WavelengthNM int       `json:"wavelength_nm,omitempty"` // 0: all that were measured
	Direction    Direction `json:"direction,omitempty"`     // NoWay: both
	Stage        Stage     `json:"stage,omitempty"`         // of the work; "": any
	File         string    `json:"file"`                    // in the job folder, forward slashes
	Size         int64     `json:"size"`                    // bytes
	SHA256       string    `json:"sha256"`                  // lower-case hex
}

// Is reports whether the file is of a reading that was made at a stage of the work.
func (f *InstrumentFile) Is(r *Reading, at Stage) bool {
	return f.Link == r.Link && (f.Stage == "" || f.Stage == at) && (f.WavelengthNM == 0 || f.WavelengthNM == r.WavelengthNM) && (f.Direction == NoWay || f.Direction == r.Direction)
}
