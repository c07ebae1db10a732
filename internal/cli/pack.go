package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/pack"
	"spanseal/internal/seal"
)

// archives are the flags that say what is packed, and how large.
type archives struct {
	name string
	most size
}

// usualArchive is how archives are called if nobody says otherwise.
const usualArchive = "{job}-r{revision}.zip"

func (o *archives) flags(f *pflag.FlagSet, name, size string) {
	f.Var(&o.most, size, "archives of at most this size, such as 20MB; each opens by itself; a single larger file stands alone")
	f.StringVar(&o.name, name, "", `the archive, such as "handover/{job}-r{revision}.zip"; parts are numbered before .zip`)
}

func (a *app) pack() *cobra.Command {
	var o archives
	c := &cobra.Command{
		Use:   "pack ISSUED",
		Short: "put an issued revision into a ZIP archive, or into several of a given size",
		Long: `Puts a revision into a ZIP archive and checks every file against the manifest. For a
job, or its folder issued, it takes the latest revision. All parts unpacked into one
folder give the revision as it was issued; check it with ` + "`spanseal verify`" + `. The
receiver opens index.html first. The same revision gives the same bytes.`,
		Example: `  spanseal pack harbour-library
  spanseal pack harbour-library/issued/r1 --out /srv/mail/BL-2026-031.zip --max-size 20MB`,
		Args:              takes(1, 1, "a job that was issued, or a revision of it"),
		ValidArgsFunction: completeFolder,
		RunE: func(_ *cobra.Command, args []string) error {
			dirs, err := issuedRevisions(args[0])
			if err != nil {
				return err
			}
			latest := dirs[0]
			for _, dir := range dirs {
				n, _ := seal.RevisionNumber(filepath.Base(dir))
				if before, _ := seal.RevisionNumber(filepath.Base(latest)); n > before {
					latest = dir
				}
			}
			return a.packRevision(latest, o)
		},
	}
	o.flags(c.Flags(), "out", "max-size")
	return c
}

// packRevision writes the archives of a revision, and says which.
func (a *app) packRevision(dir string, o archives) error {
	r, err := pack.Open(dir)
	if err != nil {
		return refuse("name a revision that was issued whole, or restore it from a copy", "%s: %s", diag.Safe(dir), diag.Safe(err.Error()))
	}
	folder := form.FileName(r.Job()) + "-" + seal.RevisionFolder(r.Number())
	path := usualArchive
	if o.name != "" {
		path = o.name
	}
	path = strings.NewReplacer("{job}", form.FileName(r.Job()), "{revision}", strconv.Itoa(r.Number())).Replace(path)
	if !strings.EqualFold(filepath.Ext(path), ".zip") {
		return misuse("use a name that ends in .zip", "%s is not the name of a ZIP archive", diag.Safe(path))
	}
	if err := hasPlace(path); err != nil {
		return err
	}
	made, err := r.Write(folder, int64(o.most), func(part, of int) string {
		if of == 1 {
			return path
		}
		return fmt.Sprintf("%s-%d-of-%d%s", strings.TrimSuffix(path, filepath.Ext(path)), part, of, filepath.Ext(path))
	})
	changed, fault := (*pack.ChangedError)(nil), (*fs.PathError)(nil)
	switch {
	case errors.As(err, &changed):
		return &failure{ExitWrong, fmt.Sprintf("nothing was packed: %s", diag.Safe(err.Error())), "restore it from a copy; `spanseal verify` says what differs"}
	case errors.As(err, &fault) && errors.Is(err, fs.ErrExist):
		return refuse("choose another name, or move it away", "%s already exists", diag.Safe(fault.Path))
	case err != nil:
		return &failure{ExitTool, fmt.Sprintf("nothing was packed: %s", diag.Safe(err.Error())), "restore what is missing from a copy, and name a folder that you may write to"}
	}
	var over oversize
	for _, one := range made {
		if o.most > 0 && one.Size > int64(o.most) {
			over.add(one.Path, int(one.Size))
		}
		kB := size((one.Size + 999) / 1000 * 1000)
		fmt.Fprintf(a.out, "packed %s into %s, %s\n", diag.Plural(one.Files, "file"), diag.Safe(one.Path), &kB)
	}
	a.tooLarge(over, o.most)
	return nil
}
