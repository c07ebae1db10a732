package form

import (
	"archive/zip"
	"bytes"
	"errors"
	"io"
	"io/fs"
	"maps"
	"slices"
)

// sortedZip keeps the parts of a workbook until it is closed and writes them by
// name: the library hands its sheets over in the order of a map.
type sortedZip struct {
	to    io.Writer
	parts map[string]*bytes.Buffer
}

func (z *sortedZip) Create(name string) (io.Writer, error) {
	z.parts[name] = &bytes.Buffer{}
	return z.parts[name], nil
}

// AddFS is asked for by the library's interface, for templates; ours has none.
func (z *sortedZip) AddFS(fsys fs.FS) error { return errors.ErrUnsupported }

func (z *sortedZip) Close() error {
	out := zip.NewWriter(z.to)
	for _, name := range slices.Sorted(maps.Keys(z.parts)) {
		w, err := out.Create(name)
		if err != nil {
			return err
		}
		if _, err := w.Write(z.parts[name].Bytes()); err != nil {
			return err
		}
	}
	return out.Close()
}
