package folder

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"

	"spanseal/internal/diag"
	"spanseal/internal/plain"
	"spanseal/internal/record"
	"spanseal/internal/table"
)

// Sum reads a file of any format for its digest, and does not hold it; nil after
// adding a problem. It may be copied after the folder is closed, as long as it lies
// where it was.
func (f *JobFolder) Sum(name string) *record.KeptFile {
	kept, problem := f.sum(name)
	if problem != nil {
		problem.Place = diag.Place{File: name}
		f.list.Add(*problem)
		return nil
	}
	return kept
}

func (f *JobFolder) sum(name string) (*record.KeptFile, *diag.Problem) {
	info, problem := f.look(name)
	switch {
	case problem != nil:
		return nil, problem
	case info.Size() > maxSummed:
		return nil, table.TooLarge(info.Size(), maxSummed)
	case info.Size() > allSummed-f.summed || f.sums == mostSummed:
		return nil, &diag.Problem{Code: "too-large", Message: fmt.Sprintf("with this file the instruments' files would be more than %d bytes or %d files", int64(allSummed), mostSummed),
			Fix: "split the work into several jobs"}
	}
	f.summed += info.Size()
	f.sums++
	file, err := plain.Below(f.root).File(name)
	if err != nil {
		return nil, failed(err)
	}
	defer file.Close()
	sum := sha256.New()
	n, err := io.Copy(sum, io.LimitReader(file, info.Size()+1))
	if err != nil {
		return nil, failed(err)
	}
	after, err := file.Stat()
	if err != nil {
		return nil, failed(err)
	}
	if n != info.Size() || after.Size() != info.Size() || !after.ModTime().Equal(info.ModTime()) {
		return nil, changed()
	}
	k := &record.KeptFile{Name: name, Size: n, SHA256: hex.EncodeToString(sum.Sum(nil))}
	k.Copy = func(to io.Writer) error { return again(f.dir, *k, to) }
	return k, nil
}

// again copies a file that was summed before.
func again(dir string, k record.KeptFile, to io.Writer) error {
	in, err := plain.Open(dir)
	if err != nil {
		return err
	}
	defer in.Close()
	file, err := in.File(k.Name)
	if err != nil {
		return err
	}
	defer file.Close()
	sum := sha256.New()
	if _, err := io.Copy(io.MultiWriter(to, sum), io.LimitReader(file, k.Size+1)); err != nil {
		return err
	}
	if hex.EncodeToString(sum.Sum(nil)) != k.SHA256 {
		return errors.New("it changed since it was read; run again")
	}
	return nil
}
