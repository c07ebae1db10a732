package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/load"
)

// readJob reads and judges a job folder. Problems are printed as soon as all
// of it is read; with errors among them the job is refused.
func (a *app) readJob(dir string) (*load.JudgedJob, error) {
	j, err := a.loadJob(dir)
	if err != nil {
		return nil, err
	}
	return j, a.report(j.Problems)
}

// report prints problems, and refuses the input if one of them is an error.
func (a *app) report(problems *diag.List) error {
	if err := problems.Write(a.err, a.onErr.Paint); err != nil {
		return err
	}
	return refusal(problems)
}

// reportAll is report with the same fault in many rows not folded.
func (a *app) reportAll(problems *diag.List) error {
	if err := problems.WriteAll(a.err, a.onErr.Paint); err != nil {
		return err
	}
	return refusal(problems)
}

// refusal refuses the input if one of the problems is an error.
func refusal(problems *diag.List) error {
	switch n := problems.Errors(); n {
	case 0:
		return nil
	case 1:
		return refuse("", "1 problem in the input; nothing was written")
	default:
		return refuse("", "%d problems in the input; nothing was written", n)
	}
}

// loadJob reads a job folder as far as it can be read. With errors among the
// problems, facts may be incomplete and the judgement is missing.
func (a *app) loadJob(dir string) (*load.JudgedJob, error) {
	return a.loadJobShowing(dir, intake.Options{})
}

// loadJobShowing is loadJob that hands on what the options ask for.
func (a *app) loadJobShowing(dir string, opt intake.Options) (*load.JudgedJob, error) {
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, refuse(fmt.Sprintf("make one with `spanseal new %s`, or try `spanseal demo`", dir), "there is no job folder at %s", dir)
	case err != nil:
		return nil, refuse("", "the job folder cannot be read: %v", err)
	case !info.IsDir():
		return nil, refuse(fmt.Sprintf("name the folder, such as %s", filepath.Dir(dir)), "%s is a file, not a job folder", dir)
	}
	leanly()
	return load.Read(dir, a.sys.Now(), opt)
}
