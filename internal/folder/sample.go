package folder

import (
	"path/filepath"

	"spanseal/internal/diag"
	"spanseal/internal/table"
)

// Sample reads a sample export under the bounds that hold for the files of a
// job: a regular file, no larger than its kind may be. A symbolic link is
// followed, as the sample is no evidence yet. The list holds why it was not read.
func Sample(file string) ([]byte, *diag.List) {
	const fix = "name a file that your instrument exported"
	list := &diag.List{}
	real, err := filepath.EvalSymlinks(file)
	if err != nil {
		real = file
	}
	fail := func(p diag.Problem) ([]byte, *diag.List) {
		p.Place = diag.Place{File: filepath.ToSlash(file)}
		list.Add(p)
		return nil, list
	}
	f, err := Open(filepath.Dir(real), list)
	if err != nil {
		return fail(diag.Problem{Code: "cannot-read", Message: "the folder of the sample cannot be read: " + err.Error(), Fix: fix})
	}
	defer f.Close()
	data, problem := f.slurp(filepath.Base(real), table.Largest(file))
	if problem != nil {
		if problem.Code != "too-large" {
			problem.Fix = fix
		}
		return fail(*problem)
	}
	return data, list
}
