package cli

import (
	"github.com/spf13/cobra"

	"spanseal/internal/intake"
)

// completeLink offers a job folder, then the names of its links.
func completeLink(_ *cobra.Command, args []string, _ string) ([]string, cobra.ShellCompDirective) {
	switch len(args) {
	case 0:
		return nil, cobra.ShellCompDirectiveFilterDirs
	case 1:
		facts, _ := intake.Read(args[0], intake.Options{WithoutPhotos: true})
		var names []string
		for _, l := range facts.Links {
			names = append(names, l.ID)
		}
		return names, cobra.ShellCompDirectiveNoFileComp
	}
	return nil, cobra.ShellCompDirectiveNoFileComp
}

// completeFolder offers folders.
func completeFolder(*cobra.Command, []string, string) ([]string, cobra.ShellCompDirective) {
	return nil, cobra.ShellCompDirectiveFilterDirs
}
