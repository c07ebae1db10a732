package jobfile

import (
	"fmt"
	"strings"

	"gopkg.in/yaml.v3"

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
// the facts later can so complain at its place; [Source] rebuilds the file from the
// evidence.
func PlaceOf(job *source.File, path string) diag.Place { return PlacesIn(job).Of(path) }

// Places finds the values of job.yaml again, for whoever looks for many.
type Places struct {
	d   *strict.Document
	top *yaml.Node // nil if there is none
}

// PlacesIn parses job.yaml anew; nil is a job without one.
func PlacesIn(job *source.File) (p Places) {
	if job != nil {
		p.d = &strict.Document{File: job, List: &diag.List{}}
		p.top = p.d.Root()
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
	for _, o := range f.Originals {
		if o.Name == folder.Job {
			return source.New(folder.Job, o.Data)
		}
	}
	return nil
}
