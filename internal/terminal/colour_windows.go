package terminal

import (
	"os"

	"golang.org/x/sys/windows"
)

// enableColour asks the console to obey escape sequences; old ones cannot.
func enableColour(f *os.File) bool {
	h := windows.Handle(f.Fd())
	var mode uint32
	if windows.GetConsoleMode(h, &mode) != nil {
		return false
	}
	return windows.SetConsoleMode(h, mode|windows.ENABLE_VIRTUAL_TERMINAL_PROCESSING) == nil
}
