package form

import (
	"archive/zip"
	"bytes"
	"errors"
	"hash/crc32"
	"io"
	"io/fs"
	"maps"
	"slices"

	"github.com/klauspost/compress/flate"
)

// sortedZip keeps the parts of a workbook, compressed, until it is closed and writes
// them by name: the library hands its sheets over in the order of a map.
type sortedZip struct {
	to    io.Writer
	parts map[string]*zipPart
}

// zipPart is a part while it is written.
type zipPart struct {
	packed bytes.Buffer
	flate  *flate.Writer
	sum    uint32 // CRC-32 of what was written
	size   uint64 // bytes written
}

func (p *zipPart) Write(b []byte) (int, error) {
	p.sum, p.size = crc32.Update(p.sum, crc32.IEEETable, b), p.size+uint64(len(b))
	return p.flate.Write(b)
}

func (z *sortedZip) Create(name string) (io.Writer, error) {
	p := &zipPart{}
	var err error
	if p.flate, err = flate.NewWriter(&p.packed, flate.DefaultCompression); err != nil {
		return nil, err
	}
	z.parts[name] = p
	return p, nil
}

// AddFS is asked for by the library's interface, for templates; ours has none.
func (z *sortedZip) AddFS(fsys fs.FS) error { return errors.ErrUnsupported }

func (z *sortedZip) Close() error {
	out := zip.NewWriter(z.to)
	for _, name := range slices.Sorted(maps.Keys(z.parts)) {
		p := z.parts[name]
		if err := p.flate.Close(); err != nil {
			return err
		}
		w, err := out.CreateRaw(&zip.FileHeader{Name: name, Method: zip.Deflate, CRC32: p.sum, UncompressedSize64: p.size, CompressedSize64: uint64(p.packed.Len())})
		if err != nil {
			return err
		}
		if _, err := p.packed.WriteTo(w); err != nil {
			return err
		}
	}
	return out.Close()
}
