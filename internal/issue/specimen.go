package issue

import (
	"context"
	"path/filepath"
)

// specimenFolder is where a specimen lies, beside the revisions' folder.
const specimenFolder = "specimen"

// Specimen writes the papers of a set that is marked as a specimen, for
// approval of their form before anything is measured: unsigned, without
// results, evidence or manifest. It replaces an earlier specimen, since neither
// is evidence of anything. It returns the folder that it wrote in r.Folder.
func Specimen(ctx context.Context, r Request) (dir string, err error) {
	if !r.Set.Specimen {
		panic("issue: papers that are no specimen would be written unsigned")
	}
	r.Folder = filepath.Clean(r.Folder)
	made, err := makeFolder(r.disk(), r.Folder)
	if err != nil {
		return "", err
	}
	defer func() {
		if err != nil && made {
			r.disk().remove(r.Folder) // only where nothing else is in it
		}
	}()
	release, err := r.disk().hold(filepath.Join(r.Folder, lockName), r.Holder)
	if err != nil {
		return "", err
	}
	defer release()
	if err := sweep(r.disk(), r.Folder); err != nil {
		return "", err
	}
	r.Set.Revision = 1
	d, err := begin(r.disk(), r.Folder, specimenFolder)
	if err != nil {
		return "", err
	}
	defer d.discard()
	if err := r.papers(ctx, d, true); err != nil {
		return "", err
	}
	if err := r.disk().removeAll(d.final); err != nil {
		return "", err
	}
	_, err = d.publish() // a specimen that a power cut takes is printed again
	return d.final, err
}
