package jobfile

import (
	"fmt"
	"strings"

	"gopkg.in/yaml.v3"

	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// PlaceOf returns where a value of job.yaml stands, by its path: keys joined by
// points, items of lists by number from zero, such as "judge.limits[1]" or
// "documents.language". An empty path, or one that is not there, gives the
// nearest group that is, down to the file as a whole. Whoever acts on a value of
// the facts later can so complain at its place. Of a value that the job took from its
// company file it is the place there.
func PlaceOf(f *record.Facts, path string) diag.Place { return PlacesOf(f).Of(path) }

// Places finds the values of job.yaml again, for whoever looks for many.
type Places struct {
	d   *strict.YAML
	top *yaml.Node // nil if there is none
}

// PlacesIn parses job.yaml anew; nil is a job without one.
func PlacesIn(job *source.File) (p Places) {
	if job != nil {
		p.d = &strict.YAML{File: job, List: &diag.List{}}
		p.top = p.d.Root()
	}
	return p
}

// PlacesOf parses the job.yaml of a job anew, and the company file that it was laid
// over, if any. What is said of pay is found in job.yaml only.
func PlacesOf(f *record.Facts) Places {
	p := PlacesIn(Source(f))
	if f == nil || f.Company == nil || p.top == nil {
		return p
	}
	d := &strict.YAML{File: source.New(f.Company.File, f.Company.Data), List: &diag.List{}}
	if firm := company.Read(d); firm != nil {
		laid := company.Lay(p.top, firm, d.File)
		laid.Keep("people", func(id string) bool { _, is := f.Job.Person(id); return is })
		laid.Keep("instruments", func(id string) bool { _, is := f.Job.Instrument(id); return is })
		p.top, p.d.Others = laid.Top, laid.From
	}
	return p
}

// Of is [PlaceOf].
func (p Places) Of(path string) diag.Place {
	place, n := diag.Place{File: folder.Job}, p.top
	if n == nil {
		return place
	}
	for _, step := range strings.FieldsFunc(path, func(r rune) bool { return r == '.' || r == '[' || r == ']' }) {
		var next *yaml.Node
		switch n.Kind {
		case yaml.MappingNode:
			for i := 0; i+1 < len(n.Content); i += 2 {
				if n.Content[i].Value == step {
					next = n.Content[i+1]
					break
				}
			}
		case yaml.SequenceNode:
			var i int
			if _, err := fmt.Sscan(step, &i); err == nil && i >= 0 && i < len(n.Content) {
				next = n.Content[i]
			}
		}
		if next == nil {
			break
		}
		n = next
		place = p.d.At(n)
	}
	return place
}

// OfAnswer is where one link of an answer stands, both counted from zero, or with
// no such link its question.
func (p Places) OfAnswer(answer, link int) diag.Place {
	path := fmt.Sprintf("answers[%d]", answer)
	whole := p.Of(path)
	if link >= 0 {
		for _, key := range []string{fmt.Sprintf(".links[%d]", link), ".link"} {
			if p := p.Of(path + key); p != whole {
				return p
			}
		}
	}
	return p.Of(path + ".question")
}

// Source returns job.yaml as it was read, or nil.
func Source(f *record.Facts) *source.File {
	if f == nil {
		return nil
	}
	for _, o := range f.Originals {
		if o.Name == folder.Job {
			return source.New(folder.Job, o.Data)
		}
	}
	return nil
}

// FileOf is the file of that name in which a value stands: job.yaml, or the company
// file.
func FileOf(f *record.Facts, name string) *source.File {
	if f.Company != nil && f.Company.File == name {
		return source.New(name, f.Company.Data)
	}
	return Source(f)
}
