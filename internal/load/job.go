// Package load turns a job folder into facts, a judgement and the set of its
// papers, with a problem for all that keeps one of them away.
//
// [Read] goes as far as it can: with errors among the problems the facts may be
// incomplete and the judgement is missing. Whatever a result rests on, limit sets
// and wording and pictures of the papers too, is kept with the originals, byte for
// byte, and no link in the folder is followed. Nothing is written.
package load

import (
	"cmp"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"spanseal/internal/arrange"
	"spanseal/internal/diag"
	"spanseal/internal/intake"
	"spanseal/internal/judge"
	"spanseal/internal/limits"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// JudgedJob is a job folder, read and judged.
type JudgedJob struct {
	Dir      string
	Facts    *record.Facts
	Latest   record.Reading   // the last of them by its time, or none
	Judged   *judge.Judgement // nil with errors among the problems
	Problems *diag.List       // of all packages

	sets      *limits.Book // that were known when it was judged
	confirmed []limits.Confirmation
}

// Read reads and judges the job in a folder as of now. It may be relied on where
// the problems hold no error.
func Read(dir string, now time.Time, opt intake.Options) (*JudgedJob, error) {
	j := &JudgedJob{Dir: dir}
	j.Facts, j.Problems = intake.Read(dir, opt)
	if j.Problems.Errors() > 0 {
		return j, nil
	}
	if err := j.Judge(); err != nil {
		return j, err
	}
	j.Problems.Join(j.SaidAfter(record.DateOf(now.In(j.Facts.Job.Location)), "today"))
	if j.Problems.Errors() > 0 {
		j.Judged = nil
	}
	return j, nil
}

// Judge judges the facts as they are, which may not be those that were read. Its
// error is of the program, not of the job.
func (j *JudgedJob) Judge() error {
	book, problems := j.book()
	j.Problems.Join(problems)
	j.Problems.Join(j.colours())
	j.Problems.Join(j.trunks())
	j.Problems.Join(j.unknownQuestions())
	if j.Problems.Errors() > 0 {
		return nil
	}
	j.Latest = record.Last(j.Facts.Readings)
	arrange.Sort(j.Facts) // else they are twice in memory
	judged, problems := judge.Judge(j.Facts, book)
	j.Problems.Join(problems)
	j.sets = book
	if j.Judged = judged; judged == nil {
		return nil
	}
	astray := j.answersAstray()
	if j.Problems.Join(astray); astray.Errors() > 0 {
		j.Judged = nil
		return nil
	}
	return j.keepSets(book)
}

// Key is where the job's key lies unless another is named.
func (j *JudgedJob) Key() string { return KeyOf(j.Dir, &j.Facts.Job) }

// KeyOf is where the key of a job in a folder lies unless another is named.
func KeyOf(dir string, job *record.Job) string {
	return filepath.Join(dir, filepath.FromSlash(cmp.Or(job.Sign.Key, "signer.p12")))
}

// keep adds a file to the evidence.
func (j *JudgedJob) keep(name string, raw []byte) {
	at, found := slices.BinarySearchFunc(j.Facts.Originals, name, func(o record.Original, name string) int {
		return strings.Compare(o.Name, name)
	})
	if !found {
		j.Facts.Originals = slices.Insert(j.Facts.Originals, at,
			record.Original{Name: name, SHA256: source.New(name, raw).SHA256Hex(), Data: raw})
	}
}
