package issue

import (
	"errors"
	"os"

	"golang.org/x/sys/windows"
)

// lockedByte lies far behind the text, so that others may read who holds the
// lock: Windows locks are mandatory for the bytes they cover.
const lockedByte = 1 << 20

func lockFile(f *os.File) error {
	at := windows.Overlapped{Offset: lockedByte}
	err := windows.LockFileEx(windows.Handle(f.Fd()),
		windows.LOCKFILE_EXCLUSIVE_LOCK|windows.LOCKFILE_FAIL_IMMEDIATELY, 0, 1, 0, &at)
	if errors.Is(err, windows.ERROR_LOCK_VIOLATION) || errors.Is(err, windows.ERROR_IO_PENDING) {
		return errHeld
	}
	return err
}

// noFollow is nothing here: whether a link was opened is told afterwards.
const noFollow = 0

// shared reports whether a file has more than one name.
func shared(f *os.File) bool {
	var info windows.ByHandleFileInformation
	return windows.GetFileInformationByHandle(windows.Handle(f.Fd()), &info) == nil && info.NumberOfLinks > 1
}

// cannotFlush is never asked: no folder is flushed here.
func cannotFlush(error) bool { return false }
