package asset

import (
	"bytes"
	"fmt"
	"iter"
	"path"
	"slices"
	"strings"

	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/record"
	"spanseal/internal/seal"
)

// The columns of the two sheets, in their order: COBie 2.4 as NBIMS-US V3 and BS
// 1192-4:2014 have it; recalled.
var (
	documentColumns = []any{"Name", "CreatedBy", "CreatedOn", "Category", "ApprovalBy", "Stage", "SheetName", "RowName", "Directory", "File",
		"ExtSystem", "ExtObject", "ExtIdentifier", "Description", "Reference"}
	attributeColumns = []any{"Name", "CreatedBy", "CreatedOn", "Category", "SheetName", "RowName", "Value", "Unit",
		"ExtSystem", "ExtObject", "ExtIdentifier", "Description", "AllowedValues"}
)

// Words of COBie: the sheet of the rows that everything here is about; the entries of its
// pick lists for a category of documents, for who approves and for the stage; what stands
// in a cell that has nothing. Recalled.
const (
	component = "Component"
	reports   = "Test Reports"
	certified = "Contractor Certified"
	informs   = "Information Only"
	asBuilt   = "As Built"
	none      = "n/a"
)

// system names this program, by which a row was made.
const system = "spanseal"

// cobie is a workbook of the sheets Document and Attribute, about the links that have an
// id in the owner's register, which is the name of their row in the sheet Component.
// Document has the papers of the latest revision: the certificate or nonconformance sheet
// of each link, and the sheet of readings that were replaced; ExtIdentifier is the SHA-256
// of the file. Attribute has the verdict, the losses and what else a maintainer asks for.
// Every cell is a text, as the sheets want; numbers are the digits that were judged.
// [Export.current] tells first whether there are papers.
func (e *Export) cobie(r *revision) ([]byte, error) {
	var b bytes.Buffer
	err := form.WriteSheets(&b,
		form.Worksheet{Name: "Document", Widths: []float64{30, 24, 20, 16, 20, 10, 12, 20, 20, 24}, Rows: e.documents(r)},
		form.Worksheet{Name: "Attribute", Widths: []float64{30, 24, 20, 12, 12, 20, 16, 8}, Rows: e.attributes(r)})
	return b.Bytes(), err
}

// created are the cells of who made a row, and when: the revision was issued then.
func (e *Export) created(r *revision) (by, on string) {
	if by = e.By; by == "" {
		by = none
	}
	return by, r.at
}

func (e *Export) documents(r *revision) iter.Seq[[]any] {
	by, on := e.created(r)
	return func(yield func([]any) bool) {
		if !yield(documentColumns) {
			return
		}
		folder := seal.RevisionFolder(r.number)
		for l := range e.links(registered) {
			p := r.papers[l.Link.ID]
			number := e.Facts.Job.Number + "/" + l.Link.ID
			row := func(file, kind, approval, reference, description string) bool {
				name := number + " " + folder
				if reference == none {
					name += " " + kind
				}
				return yield([]any{name, by, on, reports, approval, asBuilt, component, assetOf(l.Link), path.Join(folder, path.Dir(file)), path.Base(file),
					system, kind, r.sums[file], description, reference})
			}
			if l.Verdict.Certifiable() {
				if !row(p.File, "certificate", certified, number, "certificate of link "+l.Link.ID+": "+l.Verdict.String()) {
					return
				}
			} else if !row(p.File, "nonconformance sheet", informs, none, "nonconformance sheet of link "+l.Link.ID+": "+l.Verdict.String()) {
				return
			}
			if s := p.Superseded.File; s != "" && !row(s, "superseded readings", informs, none, "readings of link "+l.Link.ID+" that later ones replaced") {
				return
			}
		}
	}
}

func (e *Export) attributes(r *revision) iter.Seq[[]any] {
	by, on := e.created(r)
	return func(yield func([]any) bool) {
		if !yield(attributeColumns) {
			return
		}
		for l := range e.links(registered) {
			number := e.Facts.Job.Number + "/" + l.Link.ID
			for _, a := range e.attributesOf(l) {
				if !yield([]any{a.name, by, on, asBuilt, component, assetOf(l.Link), a.value, a.unit, system, "link", number, a.description, a.allowed}) {
					return
				}
			}
		}
	}
}

// attribute is a row of that sheet, without what all rows of a link share.
type attribute struct{ name, value, unit, description, allowed string }

func (e *Export) attributesOf(l *judge.LinkResult) (all []attribute) {
	add := func(name, value, unit, description string) {
		if value != "" {
			all = append(all, attribute{name: name, value: value, unit: unit, description: description, allowed: none})
		}
	}
	add("Optical test verdict", l.Verdict.String(), none, "verdict of link "+l.Link.ID+" against its limits")
	all[0].allowed = "pass, marginal, fail, incomplete"
	if l.Verdict.Certifiable() {
		add("Optical test certificate", e.CertificateNumber(l.Link.ID), none, "number of the certificate")
	}
	if _, last := e.MeasuredOn(l.Readings); !last.IsZero() {
		add("Optical test date", last.String(), none, "day of the last measurement")
	}
	add("Fibre", l.Link.Fibre, none, "category of the fibre")
	add("Fibre length", l.Link.Length.String(), "m", "length in the schedule")
	var losses []record.Reading
	for _, x := range l.Readings {
		if x.Quantity == record.InsertionLoss && x.Event == "" {
			losses = append(losses, x)
		}
	}
	slices.SortStableFunc(losses, func(a, b record.Reading) int { return compareLosses(lossKey(&a), lossKey(&b)) })
	for i := range losses {
		x := &losses[i]
		value := x.Value.String()
		if x.Shown != "" {
			value = x.Shown
		}
		add("Insertion loss "+x.Subject(), value, "dB", "measured loss of the link")
	}
	if f := l.WorstFinding(); f != nil && f.Margin != nil {
		at := record.Reading{WavelengthNM: f.WavelengthNM, Direction: f.Direction}.Subject()
		add("Smallest margin", f.Margin.String(), string(f.Unit), strings.TrimSpace("distance from the nearest limit "+at))
	}
	var sets []string
	for _, f := range l.Findings {
		if f.Working != nil && !slices.Contains(sets, f.Working.SetID) {
			sets = append(sets, f.Working.SetID)
		}
	}
	add("Limit sets", strings.Join(sets, ", "), none, "limits by which the link was judged")
	return all
}

// current reads the latest revision, whose papers are handed over, and refuses one that
// says otherwise than the job as it is judged now.
func (e *Export) current() (*revision, *diag.List) {
	problems := &diag.List{}
	at := diag.Place{File: "issued"}
	if e.Latest < 1 {
		problems.Add(diag.Problem{Code: "nothing-issued", Place: at, Message: "COBie lists documents, but no revision of this job has been issued", Fix: "issue the job, then export"})
		return nil, problems
	}
	r, err := open(e.Issued, e.Latest)
	if err != nil {
		at.File = path.Join(at.File, seal.RevisionFolder(e.Latest))
		problems.Add(diag.Problem{Code: "revision-damaged", Place: at, Message: "the revision cannot be read: " + err.Error(), Fix: "run `spanseal verify` to see what is wrong with it"})
		return nil, problems
	}
	for _, l := range e.Judgement.Results() {
		if was := r.papers[l.Link.ID].Verdict; was != l.Verdict.String() {
			if was == "" {
				was = "not there"
			}
			problems.Add(diag.Problem{Code: "changed-since-issue", Place: placeOf(l.Link.Origin),
				Message: fmt.Sprintf("link %s is %s now, and %s in r%d, whose documents are listed", l.Link.ID, l.Verdict, was, e.Latest), Fix: "issue the job again, then export"})
		}
	}
	if e.By == "" {
		problems.Add(diag.Problem{Severity: diag.Note, Code: "no-author", Place: at, Message: `CreatedBy is "n/a": COBie needs an e-mail address that is in the sheet Contact`, Fix: "add --by ADDRESS"})
	}
	return r, problems
}
