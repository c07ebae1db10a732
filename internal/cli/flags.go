package cli

import (
	"errors"
	"fmt"
	"strconv"
	"strings"

	"spanseal/internal/diag"
)

// size is a flag that holds a number of bytes.
type size int

func (s *size) String() string {
	if *s == 0 {
		return ""
	}
	return fmt.Sprintf("%dkB", int(*s)/1000)
}

func (s *size) Type() string { return "SIZE" }

// Set reads 500kB or 10MB; a megabyte is a million bytes, as mail servers and
// disks count.
func (s *size) Set(text string) error {
	unit, digits := 1_000_000, strings.TrimSpace(text)
	if t, ok := strings.CutSuffix(strings.ToLower(digits), "kb"); ok {
		unit, digits = 1000, t
	} else if t, ok := strings.CutSuffix(strings.ToLower(digits), "mb"); ok {
		digits = t
	} else {
		return errors.New("want a size such as 500kB or 10MB")
	}
	n, err := strconv.Atoi(strings.TrimSpace(digits))
	if err != nil || n < 1 || n > 1_000_000 {
		return errors.New("want a size such as 500kB or 10MB")
	}
	*s = size(n * unit)
	return nil
}

// oversize are files of a bundle that are larger than asked for.
type oversize struct {
	files []string
	most  int
}

func (o *oversize) add(name string, bytes int) {
	kB := size((bytes + 999) / 1000 * 1000)
	o.files, o.most = append(o.files, fmt.Sprintf("%s (%s)", name, &kB)), max(o.most, int(kB))
}

// tooLarge says which files will not pass where so much is the most.
func (a *app) tooLarge(o oversize, allowed size) {
	if len(o.files) == 0 {
		return
	}
	least := size(o.most)
	a.note("larger than --max-size %s: %s; each holds a single file, which is not split: send it another way, or allow --max-size %s", &allowed, diag.Few(o.files, 5), &least)
}

// shard is a flag that holds one share of so many.
type shard struct {
	index, of int
	getenv    func(string) string
}

// indexVariables are what the schedulers of clusters call the number of a job
// in an array, counted from one.
var indexVariables = []string{"SLURM_ARRAY_TASK_ID", "PBS_ARRAY_INDEX", "SGE_TASK_ID", "LSB_JOBINDEX"}

func (s *shard) String() string {
	if s.of == 0 {
		return ""
	}
	return fmt.Sprintf("%d/%d", s.index, s.of)
}

func (s *shard) Type() string { return "I/N" }

// Set reads 2/3, or /3 with the index from the environment.
func (s *shard) Set(text string) error {
	first, second, _ := strings.Cut(text, "/")
	for _, name := range indexVariables {
		if first == "" {
			first = s.getenv(name)
		}
	}
	index, err1 := strconv.Atoi(first)
	of, err2 := strconv.Atoi(second)
	if err1 != nil || err2 != nil || index < 1 || index > of || of > 10_000 {
		return errors.New("want the number of the share and how many there are, such as 2/3")
	}
	s.index, s.of = index, of
	return nil
}
