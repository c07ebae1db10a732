package verify

import (
	"bytes"
	"io"
	"io/fs"
	"path"
	"strings"
)

// leftByDesktop is what a reader is told of such a file.
const leftByDesktop = "left by a desktop system; not part of what was signed"

// byDesktop reports whether a file is one that desktop systems leave in the
// folders that they show, and that nobody meant to be there. They go by their
// names, which anybody can give: a folder, a link or a paper so called is what
// it is, and so is a file that cannot be read.
func byDesktop(fsys fs.FS, name string, d fs.DirEntry) bool {
	switch base := strings.ToLower(path.Base(name)); {
	case base == ".ds_store", base == "thumbs.db", base == "desktop.ini", strings.HasPrefix(base, "._"):
	default:
		return false
	}
	if !d.Type().IsRegular() {
		return false
	}
	f, err := fsys.Open(name)
	if err != nil {
		return false
	}
	defer f.Close()
	// Readers of PDF look for a header beyond the first bytes, some of them
	// anywhere, and repair what lacks one (common practice), so all of it counts.
	all, err := io.ReadAll(io.LimitReader(f, maxLitter+1))
	return err == nil && len(all) <= maxLitter && !bytes.Contains(all, []byte("%PDF")) && !bytes.Contains(all, []byte("startxref"))
}

// maxLitter is how large what a desktop system leaves may be: the small pictures
// of a folder of photographs.
const maxLitter = 16 << 20
