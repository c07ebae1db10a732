package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"spanseal/internal/company"
	"spanseal/internal/plain"
)

// pulse is how often a watched folder is looked at. A folder is looked at and not
// listened to: shared drives tell nobody what another machine writes.
const pulse = time.Second

// watch checks a job now and whenever its files have changed and stopped changing,
// so that no half copied export is read, until the context ends.
func (a *app) watch(ctx context.Context, dir string, f checkFlags) error {
	const never = "never" // no snapshot is this
	shown, before := never, never
	for {
		seen, err := snapshot(dir)
		if err != nil {
			return refuse("name a job folder", "%s cannot be watched: %v", dir, plain.Cause(err))
		}
		if shown == never || seen != shown && seen == before {
			if shown != never {
				fmt.Fprintf(a.out, "\n%s\n\n", a.onOut.Dim("—— changed, "+a.sys.Now().Format(time.TimeOnly)))
			}
			shown, a.status = seen, ExitOK
			if err := a.checkOnce(dir, f); err != nil {
				a.status = a.conclude(err)
			}
			if err := a.out.Flush(); err != nil {
				return err
			}
		}
		before = seen
		select {
		case <-ctx.Done():
			return nil
		case <-time.After(pulse):
		}
	}
}

// snapshot is what tells a change of a job's files: names, sizes and times, and the
// company file that it names. What was issued, and files that begin with a point, are
// none of them.
func snapshot(dir string) (string, error) {
	var state strings.Builder
	err := filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error {
		if errors.Is(err, fs.ErrNotExist) && path != dir { // it went while we looked
			return nil
		}
		if err != nil {
			return err
		}
		name := d.Name()
		if path != dir && name[0] == '.' || d.IsDir() && path == filepath.Join(dir, "issued") {
			if d.IsDir() {
				return fs.SkipDir
			}
			return nil
		}
		info, err := d.Info()
		if errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return err
		}
		if d.IsDir() { // its time changes with what was issued
			return nil
		}
		fmt.Fprintln(&state, path, info.Size(), info.ModTime().UnixNano())
		return nil
	})
	if err == nil {
		_, err = os.Stat(dir)
	}
	if f := company.Of(dir); f != nil {
		fmt.Fprintln(&state, f.Name, f.SHA256Hex())
	}
	return state.String(), err
}
