package intake

import (
	"fmt"
	"maps"
	"path"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/mapping"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
	"spanseal/internal/table"
)

// readReadings reads every file of readings/ by the mapping that names it.
func (r *reader) readReadings() {
	if !r.job.Parsed {
		return // by no mapping they would be read wrongly
	}
	names := r.folder.Files("readings")
	for _, name := range names {
		r.ahead += r.folder.Size(name)
	}
	for _, name := range names {
		r.ahead -= r.folder.Size(name)
		m, ok := r.mappingOf(name)
		if !ok {
			continue
		}
		m.Matched++
		r.readFile(name, m)
	}
	for _, m := range r.job.Mappings {
		if m.Matched == 0 && m.Files != "" {
			r.list.Add(diag.Problem{Severity: diag.Note, Code: "no-files", Place: m.Place, Message: fmt.Sprintf("no file matches %s yet", m.Files)})
		}
	}
	r.settle()
}

// mappingOf finds the entry of readings that names a file. A job without
// entries, but for those of evidence, reads every file whose columns say all by
// their names.
func (r *reader) mappingOf(name string) (*mapping.Mapping, bool) {
	var hits []*mapping.Mapping
	for _, m := range r.job.Mappings {
		if ok, _ := path.Match(m.Files, name); ok {
			hits = append(hits, m)
		}
	}
	switch {
	case len(hits) == 1:
		return hits[0], true
	case len(hits) > 1:
		for _, m := range hits {
			m.Matched++
		}
		r.list.Add(diag.Problem{Code: "two-mappings", Place: hits[1].Place, Message: fmt.Sprintf("%s matches two readings entries", name),
			Also: []diag.Beside{{Place: hits[0].Place, What: "the other entry"}}, Fix: "make the patterns narrower, so that each file has one entry"})
		return nil, false
	case !slices.ContainsFunc(r.job.Mappings, func(m *mapping.Mapping) bool { return !m.EvidenceOnly }):
		return mapping.New(), true
	}
	r.list.Add(diag.Problem{Code: "unmapped-file", Place: diag.Place{File: name}, Message: "no readings entry in job.yaml matches this file, so its readings would be lost",
		Fix: fmt.Sprintf("add an entry such as - files: %q, with evidence_only: true if nothing is to be read from it", name)})
	return nil, false
}

// readFile reads one file of readings.
func (r *reader) readFile(name string, m *mapping.Mapping) {
	raw := r.folder.Read(name, table.Largest(name))
	if raw == nil {
		return
	}
	f := source.New(name, raw)
	r.folder.Keep(f)
	if !m.EvidenceOnly && !m.Faulty {
		r.readRaw(f, m)
	}
}

// readRaw reads one file of readings as it lay on disk.
func (r *reader) readRaw(f *source.File, m *mapping.Mapping) {
	account := record.Account{File: f.Name, SHA256: f.SHA256Hex(), Size: int64(len(f.Raw))}
	switch table.KindOf(f.Name) {
	case "workbook":
		r.readWorkbook(f, m, &account)
	case "yaml":
		r.readYAMLReadings(f, m, &account)
	case "other workbook":
		r.list.Add(diag.Problem{Code: "other-workbook", Place: diag.Place{File: f.Name}, Message: "workbooks of this kind are not read",
			Fix: "save it as .xlsx or as CSV beside this file, and keep this one as evidence only: evidence_only: true in its readings entry"})
	default:
		r.readText(f, m, &account)
	}
	r.facts.Accounts = append(r.facts.Accounts, account)
}

func (r *reader) readText(raw *source.File, m *mapping.Mapping, account *record.Account) {
	if len(raw.Raw) == 0 {
		r.list.Add(diag.Problem{Code: "empty-file", Place: diag.Place{File: raw.Name}, Message: "the file is empty"})
		return
	}
	f, how, problem := table.Decode(raw, m.Encoding)
	if problem == nil {
		r.sources[f.Name] = f
		account.Concluded = append(account.Concluded, how)
		var t table.Table
		if t, how, problem = table.OpenText(f, m.Shape()); problem == nil {
			if how != "" {
				account.Concluded = append(account.Concluded, how)
			}
			r.assembleTurned(t, m, f, account)
			return
		}
	}
	r.list.Add(*problem)
}

// readYAMLReadings reads a file that is a list, or has one under readings and
// fields beside it that hold for all of them.
func (r *reader) readYAMLReadings(f *source.File, m *mapping.Mapping, account *record.Account) {
	r.sources[f.Name] = f
	d := &strict.YAML{File: f, List: r.list}
	top := d.Root()
	if top == nil {
		return
	}
	t := table.NewListed(d, maps.Keys(field.ByName))
	own := *m
	own.Constants = map[field.Field]mapping.Constant{}
	for k, v := range m.Constants {
		own.Constants[k] = v
	}
	before := r.list.Errors()
	if items := d.Items("readings", t.Add); top.Kind == yaml.SequenceNode {
		items(top)
	} else {
		ks := mapping.ConstantKeys(d, own.Constants, false)
		ks["readings"] = strict.Must(items)
		d.Object(top, f.Name, ks)
	}
	if r.list.Errors() > before {
		account.Rows, account.Refused = t.Count(), t.Count()
		return
	}
	r.assemble(t, &own, f, account)
}

// assembleTurned is assemble for a table that the mapping may say is transposed.
func (r *reader) assembleTurned(t table.Table, m *mapping.Mapping, f *source.File, account *record.Account) {
	if !m.Transposed {
		r.assemble(t, m, f, account)
		return
	}
	v, problem := table.Turn(t, f.Name)
	if problem != nil {
		r.list.Add(*problem)
		return
	}
	account.Concluded = append(account.Concluded, "each column is read as a row, as transposed of the mapping says")
	r.assemble(v, m, f, account)
}

func sourcePosition(o record.Origin) source.Position {
	return source.Position{Line: o.Row, Column: o.Column}
}
