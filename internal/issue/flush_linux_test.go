package issue

import (
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"golang.org/x/sys/unix"
)

// TestFlush: what cannot be flushed is told of, and nothing stays open. A pipe is a file
// that no system flushes (fsync(2): EINVAL).
func TestFlush(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"whole/certificates/a.pdf", "whole/b.pdf", "broken/a.pdf", "piped/a.pdf"} {
		if err := errors.Join(os.MkdirAll(filepath.Dir(filepath.Join(dir, name)), 0o755), os.WriteFile(filepath.Join(dir, name), []byte("a"), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	if err := errors.Join(os.Symlink("nowhere", filepath.Join(dir, "broken", "b.pdf")), unix.Mkfifo(filepath.Join(dir, "piped", "b.pdf"), 0o644)); err != nil {
		t.Fatal(err)
	}
	by := func(err error) func(string) error {
		return func(dir string) error { return flushBy(dir, func(int) error { return err }) }
	}
	for _, c := range []struct {
		name  string
		flush func(string) error
		want  error
	}{
		{"whole", flush, nil}, {"missing", flush, fs.ErrNotExist},
		{"whole", flushDir, nil}, {"missing", flushDir, fs.ErrNotExist},
		{"whole", flushEach, nil}, {"missing", flushEach, fs.ErrNotExist}, {"broken", flushEach, fs.ErrNotExist}, {"piped", flushEach, syscall.EINVAL},
		{"piped", by(nil), nil}, {"piped", by(syscall.EIO), syscall.EIO}, // no file is flushed by itself
		{"piped", by(syscall.ENOSYS), syscall.EINVAL}, {"piped", by(syscall.EPERM), syscall.EINVAL}, {"whole", by(syscall.EPERM), nil},
	} {
		nothingOpen(t, func() {
			if err := c.flush(filepath.Join(dir, c.name)); !errors.Is(err, c.want) {
				t.Errorf("%s: %v, want %v", c.name, err, c.want)
			}
		})
	}
	for err, want := range map[error]bool{
		syscall.EINVAL: true, syscall.ENOTSUP: true, syscall.ENOSYS: true, syscall.EBADF: true,
		&fs.PathError{Op: "sync", Err: syscall.EINVAL}: true, syscall.EIO: false, syscall.ENOSPC: false, fs.ErrClosed: false,
	} {
		if cannotFlush(err) != want {
			t.Errorf("%v: want %t", err, want)
		}
	}
}
