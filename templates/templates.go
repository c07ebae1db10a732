// Package templates holds all that a person who does not program may edit:
// limit sets, wording, document layouts, the files of a new job, the page that
// checks labels, the page on which a receiver starts, and the demonstration job. The files are embedded, so the program needs
// nothing beside it; a job may override wording, documents and limits with
// files of its own.
package templates

import "embed"

// Files holds the folders limits, wording, documents, job, check, start,
// schema, demo, colours, polarity and company.
//
//go:embed limits wording documents job check start schema demo colours polarity company
var Files embed.FS
