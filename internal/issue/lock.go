package issue

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"spanseal/internal/plain"
)

// lockName is the file that a run holds while it writes below issued/.
const lockName = ".lock"

// BusyError reports that another run is writing revisions of the same job.
type BusyError struct {
	Path   string // of the lock file
	Holder string // "process 4711 on quay, since 2026-11-25 10:04:11", or ""
}

func (e *BusyError) Error() string {
	if e.Holder == "" {
		return "another run is issuing this job"
	}
	return "another run is issuing this job: " + e.Holder
}

// errHeld is what lockFile returns when somebody else holds the lock.
var errHeld = errors.New("held by another process")

// hold takes a lock, by its file. The operating system drops it when its
// process ends, however it ends, so a killed run never leaves a stale one; what
// the file says is only for the message.
func hold(path, holder string) (release func(), err error) { return holdBy(path, holder, lockFile) }

// holdBy asks the operating system for the lock by a function of its own.
func holdBy(path, holder string, lock func(*os.File) error) (release func(), err error) {
	for {
		if info, err := os.Lstat(path); err == nil && !info.Mode().IsRegular() {
			return nil, &LinkError{path, plain.ErrLink}
		}
		f, err := os.OpenFile(path, os.O_RDWR|os.O_CREATE|noFollow, 0o644)
		if err != nil {
			return nil, err
		}
		if err := lock(f); err != nil {
			text, _ := io.ReadAll(io.LimitReader(f, 200))
			f.Close()
			if errors.Is(err, errHeld) {
				return nil, &BusyError{Path: path, Holder: strings.TrimSpace(string(text))}
			}
			return nil, fmt.Errorf("lock %s: %w", path, err)
		}
		if !same(f, path) { // the holder before us removed the file that we locked
			f.Close()
			continue
		}
		if shared(f) { // under another name it is somebody's file, not to be written over
			f.Close()
			return nil, &LinkError{path, errHardLink}
		}
		if err := errors.Join(f.Truncate(0), writeAt(f, holder+"\n")); err != nil {
			f.Close()
			return nil, err
		}
		return func() {
			os.Remove(path) // while still held, so that nobody locks a file about to go
			f.Close()
		}, nil
	}
}

func writeAt(f *os.File, s string) error {
	_, err := f.WriteAt([]byte(s), 0)
	return err
}

var errHardLink = errors.New("it is a link to a file that has another name too, and links are not followed")

// same reports whether the path still names the open file.
func same(f *os.File, path string) bool {
	a, errA := f.Stat()
	b, errB := os.Lstat(path)
	return errA == nil && errB == nil && os.SameFile(a, b)
}
