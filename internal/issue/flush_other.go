//go:build !linux

package issue

import (
	"io/fs"
	"os"
	"path/filepath"
)

// flush waits until all that was written below dir lies on the disk.
func flush(dir string) error {
	return filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		f, err := os.OpenFile(path, os.O_RDWR, 0)
		if err != nil {
			return err
		}
		defer f.Close()
		return f.Sync()
	})
}

// flushDir does nothing: these systems order renames themselves, or cannot
// flush a folder.
func flushDir(string) error { return nil }
