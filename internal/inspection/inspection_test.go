package inspection

import (
	"strings"
	"testing"
	"time"

	"spanseal/internal/record"
)

func at(hour int) time.Time { return time.Date(2026, time.November, 18, hour, 0, 0, 0, time.UTC) }

var lc = record.End{Text: "factory LC", Connector: "LC"}

func look(end string, result record.EndFace, when time.Time) record.Inspection {
	return record.Inspection{Link: "A-11", End: end, Criterion: "IEC 61300-3-35", Edition: "2022", Result: result, Time: when}
}

// TestOpen holds which inspection of a face decides, and what is asked.
func TestOpen(t *testing.T) {
	pass, fail := record.EndFacePass, record.EndFaceFail
	made := func(face record.EndFace, when time.Time) []record.Termination {
		return []record.Termination{{Link: "A-11", End: "B", EndFace: face, Finished: when}}
	}
	cleaned := func(i record.Inspection, c record.Cleaning) record.Inspection {
		i.Cleaning, i.Time = c, time.Time{}
		return i
	}
	for _, c := range []struct {
		name     string
		b        record.End
		seen     []record.Inspection
		made     []record.Termination
		required bool
		want     string
	}{
		{"nothing is recorded or asked for", lc, nil, nil, false, ""},
		{"none of two faces", lc, nil, nil, true, "A missing, B missing"},
		{"an end without a connector", record.End{Text: "none"}, []record.Inspection{look("A", pass, at(9))}, nil, true, ""},
		{"both", lc, []record.Inspection{look("A", pass, at(9)), look("B", pass, at(9))}, nil, true, ""},
		{"failed, not required", lc, []record.Inspection{look("B", fail, at(9))}, nil, false, "B failed"},
		{"failed, cleaned, passed, in another order of rows", lc, []record.Inspection{look("B", pass, at(10)), look("B", fail, at(9))}, nil, false, ""},
		{"passed, then failed", lc, []record.Inspection{look("B", pass, at(9)), look("B", fail, at(10))}, nil, false, "B failed"},
		{"after cleaning tells where no time does", lc, []record.Inspection{cleaned(look("B", pass, at(9)), record.AfterCleaning), cleaned(look("B", fail, at(9)), record.BeforeCleaning)}, nil, false, ""},
		{"the termination says that it passed", lc, []record.Inspection{look("B", fail, at(10))}, made(pass, at(9)), false, "B contradicts"},
		{"made again since", lc, []record.Inspection{look("A", pass, at(9)), look("B", pass, at(9))}, made(pass, at(10)), true, "B outdated"},
		{"made again since, and no inspection asked for", lc, []record.Inspection{look("B", fail, at(9))}, made(pass, at(10)), false, ""},
		{"on the day on which it was finished", lc, []record.Inspection{look("A", pass, at(9)), look("B", pass, at(0))}, made(pass, at(10)), true, ""},
	} {
		var got []string
		for _, q := range Open(&record.Link{ID: "A-11", EndA: lc, EndB: c.b}, c.seen, c.made, c.required) {
			got = append(got, q.End+" "+strings.TrimPrefix(q.Asks.Code, "inspection."))
		}
		if got := strings.Join(got, ", "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// TestSince holds when an inspection has the last word over a termination.
func TestSince(t *testing.T) {
	seen := []record.Inspection{look("B", record.EndFacePass, at(9))}
	for _, c := range []struct {
		name string
		t    record.Termination
		want bool
	}{
		{"finished before", record.Termination{End: "B", Finished: at(8)}, true},
		{"finished after", record.Termination{End: "B", Finished: at(10)}, false},
		{"no time", record.Termination{End: "B"}, false},
		{"the other end", record.Termination{End: "A", Finished: at(8)}, false},
	} {
		if got := Since(seen, &c.t); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}

// TestRead holds what a row becomes, and what is refused.
func TestRead(t *testing.T) {
	link := &record.Link{ID: "A-11", EndA: record.End{Text: "none"}, EndB: lc}
	for _, c := range []struct{ name, cells, want string }{
		{"a row", "end=b result=PASS cleaning=After", ""},
		{"nothing", "", "missing-cell missing-cell missing-cell missing-cell"},
		{"no such end", "end=C result=pass", "unknown-value"},
		{"no such result", "end=B result=clean", "unknown-value"},
		{"no such state", "end=B result=pass cleaning=during", "unknown-value"},
		{"no face", "end=A result=pass", "no-face"},
		{"another result at once", "end=B result=fail;end=B result=pass", "inspection-twice"},
		{"the same result at once", "end=B result=fail;end=B result=fail", ""},
		{"before and after", "end=B result=fail cleaning=before;end=B result=pass cleaning=after", ""},
	} {
		var faults []string
		var register Register
		for _, text := range strings.Split(c.cells, ";") {
			cells := row{faults: &faults, cells: map[string]string{}}
			for _, cell := range strings.Fields(text) {
				name, value, _ := strings.Cut(cell, "=")
				cells.cells[name] = value
			}
			if text != "" {
				cells.cells["criterion"], cells.cells["edition"] = "IEC 61300-3-35", "2022"
			}
			register.Read(cells, link, record.Origin{})
		}
		if got := strings.Join(faults, " "); got != c.want {
			t.Errorf("%s: %q, want %q", c.name, got, c.want)
		}
	}
}

// row is one with cells and no times; it keeps the codes of faults.
type row struct {
	cells  map[string]string
	faults *[]string
}

func (r row) Text(column string) string     { return r.cells[column] }
func (r row) Time(string) time.Time         { return time.Time{} }
func (r row) Fault(_, code, _, _, _ string) { *r.faults = append(*r.faults, code) }
func (r row) Must(column, _ string) string {
	if r.cells[column] == "" {
		r.Fault(column, "missing-cell", "", "", "")
	}
	return r.cells[column]
}

// TestCriterion: IEC cites the year of an edition behind a colon (ISO/IEC Directives,
// part 2, 10.4, recalled).
func TestCriterion(t *testing.T) {
	for _, c := range [][3]string{
		{"IEC 61300-3-35", "2022", "IEC 61300-3-35:2022"},
		{"IEC 61300-3-35:2022", "2022", "IEC 61300-3-35:2022"},
		{"Port Ansel FO-12", "revision C", "Port Ansel FO-12, revision C"},
	} {
		if got := Criterion(&record.Inspection{Criterion: c[0], Edition: c[1]}); got != c[2] {
			t.Errorf("%s", got)
		}
	}
}

// TestCounted counts each face once, by its last inspection.
func TestCounted(t *testing.T) {
	f := &record.Facts{Links: []record.Link{{ID: "A-11", EndA: lc, EndB: lc}, {ID: "A-12", EndA: lc}}}
	if Counted(f) != nil {
		t.Error("a job without inspections counts them")
	}
	f.Inspections = []record.Inspection{look("A", record.EndFaceFail, at(8)), look("A", record.EndFacePass, at(9)), look("B", record.EndFaceFail, at(9))}
	c := Counted(f)
	if c.Faces != 3 || c.Inspected != 2 || c.Passed != 1 || len(c.Criteria) != 1 || c.Criteria[0] != (OfCriterion{"IEC 61300-3-35:2022", 2, 1}) {
		t.Errorf("%+v", c)
	}
}
