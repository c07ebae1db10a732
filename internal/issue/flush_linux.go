package issue

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

// flush waits until all that was written below dir lies on the disk: one call
// for the file system instead of one for each of thousands of files.
func flush(dir string) error { return flushBy(dir, unix.Syncfs) }

// flushBy flushes the file system by a call of its own.
func flushBy(dir string, syncfs func(fd int) error) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	if err := syncfs(int(d.Fd())); err == nil || !cannotFlush(err) && !errors.Is(err, unix.EPERM) {
		return err
	}
	return flushEach(dir) // a share that flushes files alone
}

// flushDir makes a rename inside dir last.
func flushDir(dir string) error {
	d, err := os.Open(dir)
	if err != nil {
		return err
	}
	defer d.Close()
	return d.Sync()
}
