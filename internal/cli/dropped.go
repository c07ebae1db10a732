package cli

import (
	"bufio"
	"fmt"
	"os"
	"path/filepath"
)

// dropped reads a job folder that was dragged onto the program as the wish to
// issue it. In a terminal a command is wanted, so that nothing is signed by a
// slip of the keyboard.
func (a *app) dropped() []string {
	if args := a.sys.Args; a.sys.Window && len(args) == 1 && isJob(args[0]) {
		return []string{"issue", args[0]}
	}
	return a.sys.Args
}

// isJob reports whether a folder is a job's.
func isJob(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, "job.yaml"))
	return err == nil && info.Mode().IsRegular()
}

func isFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// linger keeps a window open that would close before anybody has read it.
func (a *app) linger() {
	if !a.sys.Window {
		return
	}
	fmt.Fprint(a.err, "\npress Enter to close this window ")
	_, _ = bufio.NewReader(a.sys.Stdin).ReadString('\n') // its end closes it as well
}

func isThere(path string) bool {
	_, err := os.Lstat(path)
	return err == nil
}
