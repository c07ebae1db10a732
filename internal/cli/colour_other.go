//go:build !windows

package cli

import "os"

// enableColour has nothing to do: terminals here obey escape sequences.
func enableColour(*os.File) bool { return true }
