package cli

import (
	"encoding/json"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"

	"github.com/spf13/cobra"
)

// build is what is known about how the program was built.
type build struct {
	Format   string    `json:"format"`
	Version  string    `json:"version"`
	Commit   string    `json:"commit,omitempty"`
	Time     string    `json:"commit_time,omitempty"` // RFC 3339
	Changed  bool      `json:"changed,omitempty"`     // since that commit
	Go       string    `json:"go"`
	Platform string    `json:"platform"`
	Modules  []library `json:"modules"`
}

// library is one that the program is built with.
type library struct {
	Path    string `json:"path"`
	Version string `json:"version"`
	Sum     string `json:"sum,omitempty"` // as in go.sum
}

// built reads what the Go toolchain wrote into the program.
func built() build {
	b := build{Format: "spanseal-version/1", Version: "(unknown build)", Go: runtime.Version(), Platform: runtime.GOOS + "/" + runtime.GOARCH, Modules: []library{}}
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return b
	}
	if b.Version = info.Main.Version; b.Version == "" {
		b.Version = "(devel)"
	}
	for _, s := range info.Settings {
		switch s.Key {
		case "vcs.revision":
			b.Commit = s.Value
		case "vcs.time":
			b.Time = s.Value
		case "vcs.modified":
			b.Changed = s.Value == "true"
		}
	}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		b.Modules = append(b.Modules, library{m.Path, m.Version, m.Sum})
	}
	return b
}

// version says in one line what built the program.
func version() string {
	b := built()
	parts := slices.DeleteFunc([]string{b.Version, b.Commit[:min(len(b.Commit), 12)]}, func(s string) bool { return s == "" })
	return strings.Join(append(parts, b.Go), " ")
}

func (a *app) version() *cobra.Command {
	var how format
	c := &cobra.Command{
		Use:     "version",
		Short:   "show how this program was built",
		Long:    "Prints version, commit, compiler and platform, and every library with its version;\n--format json for programs.",
		Example: "  spanseal version",
		Args:    takes(0, 0, "no arguments"),
		RunE: func(*cobra.Command, []string) error {
			b := built()
			if how == "json" {
				e := json.NewEncoder(a.out)
				e.SetIndent("", "  ")
				return e.Encode(b)
			}
			fmt.Fprintf(a.out, "spanseal %s\n", b.Version)
			if b.Commit != "" {
				changed := ""
				if b.Changed {
					changed = ", changed since"
				}
				fmt.Fprintf(a.out, "commit   %s of %s%s\n", b.Commit, b.Time, changed)
			}
			fmt.Fprintf(a.out, "built    with %s for %s\n", b.Go, b.Platform)
			for _, m := range b.Modules {
				fmt.Fprintf(a.out, "         %s %s\n", m.Path, m.Version)
			}
			return nil
		},
	}
	how.flag(c, "text", "json")
	return c
}
