// Command spanseal turns the measurements of a fibre job into signed
// certificates. All it does is in package cli.
package main

import (
	"os"

	"spanseal/internal/cli"
)

func main() { os.Exit(cli.Main(cli.OS())) }
