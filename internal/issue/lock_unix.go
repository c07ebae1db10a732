//go:build unix

package issue

import (
	"errors"
	"os"

	"golang.org/x/sys/unix"
)

func lockFile(f *os.File) error {
	err := unix.Flock(int(f.Fd()), unix.LOCK_EX|unix.LOCK_NB)
	if errors.Is(err, unix.EWOULDBLOCK) {
		return errHeld
	}
	return err
}

// noFollow makes the opening of a link fail.
const noFollow = unix.O_NOFOLLOW

// shared reports whether a file has more than one name.
func shared(f *os.File) bool {
	var s unix.Stat_t
	return unix.Fstat(int(f.Fd()), &s) == nil && s.Nlink > 1
}

// cannotFlush reports that a file system flushes no folders at all, as many
// shares do not.
func cannotFlush(err error) bool {
	return errors.Is(err, unix.EINVAL) || errors.Is(err, unix.ENOTSUP) || errors.Is(err, unix.ENOSYS) || errors.Is(err, unix.EBADF)
}
