package intake

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/diag"
	"spanseal/internal/field"
	"spanseal/internal/folder"
	"spanseal/internal/jobfile"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// TestReadLoose reads single files that lie in no job: whatever their form, and
// with rows of other links beside those that are asked for.
func TestReadLoose(t *testing.T) {
	link := record.Link{ID: "A-12", Length: quantity.Int(500)}
	for _, test := range []struct {
		name, file, text, zone string
		want                   string // readings of A-12 that count
		fault                  string // part of the problems
	}{
		{name: "long form", file: "r.csv", text: "link,wavelength_nm,direction,loss_db,time\nA-12,1310,A-B,0.44,2031-02-03 10:12\nB-01,850,A-B,0.70,2031-02-03 10:13\n", zone: "Europe/Dublin",
			want: "1310 nm A-B 0.44 2031-02-03T10:12:00Z"},
		{name: "decimal comma", file: "r.csv", text: "link;wavelength_nm;direction;loss_db\nA-12;1550;B-A;0,38\n", want: "1550 nm B-A 0.38 0001-01-01T00:00:00Z"},
		{name: "two powers", file: "r.tsv", text: "link\twavelength_nm\tdirection\treference_dbm\treceived_dbm\nA-12\t1310\tA-B\t-4.02\t-4.50\n", want: "1310 nm A-B 0.48 0001-01-01T00:00:00Z"},
		{name: "a rate, over the certified length", file: "r.csv", text: "link,wavelength_nm,direction,loss_db_per_km\nA-12,1310,A-B,0.4\n", want: "1310 nm A-B 0.2000 0001-01-01T00:00:00Z"},
		{name: "YAML", file: "r.yaml", text: "readings:\n  - {link: A-12, wavelength_nm: 1310, direction: A-B, loss_db: 0.44}\n", want: "1310 nm A-B 0.44 0001-01-01T00:00:00Z"},
		{name: "the later counts", file: "r.csv", text: "link,wavelength_nm,direction,loss_db,time\nA-12,1310,A-B,0.60,2031-02-03 10:12Z\nA-12,1310,A-B,0.44,2031-02-03 10:20Z\n",
			want: "1310 nm A-B 0.44 2031-02-03T10:20:00Z"},
		{name: "local times of no zone", file: "r.csv", text: "link,wavelength_nm,direction,loss_db,time\nA-12,1310,A-B,0.44,2031-02-03 10:12\n", fault: "does not say of which zone"},
		{name: "other links only", file: "r.csv", text: "link,wavelength_nm,direction,loss_db\nB-01,1310,A-B,0.44\nB-02,1310,A-B,0.44\n", fault: "it has readings of B-01, B-02"},
		{name: "a name with a control character", file: "r.csv", text: "link,wavelength_nm,direction,loss_db\nA-\u202e12,1310,A-B,0.44\n", fault: "[control-character]"},
		{name: "no heading", file: "r.csv", text: "1,2,3\n4,5,6\n", fault: "no row of this file names its columns"},
		{name: "empty", file: "r.csv", fault: "the file is empty"},
		{name: "missing", file: "nowhere/r.csv", fault: "cannot be read"},
	} {
		t.Run(test.name, func(t *testing.T) {
			dir := t.TempDir()
			if !strings.Contains(test.file, "/") {
				if err := os.WriteFile(filepath.Join(dir, test.file), []byte(test.text), 0o644); err != nil {
					t.Fatal(err)
				}
			}
			facts, list := ReadLoose(filepath.Join(dir, test.file), link, test.zone)
			text := printProblems(list)
			if test.fault != "" {
				if list.Errors() == 0 || !strings.Contains(text, test.fault) {
					t.Errorf("problems:\n%s\nwant %q", text, test.fault)
				}
				return
			}
			if list.Errors() > 0 {
				t.Fatal(text)
			}
			var got []string
			for _, r := range facts.Readings {
				if r.Link == "A-12" && r.Fate == record.Used {
					got = append(got, r.Subject()+" "+r.Value.String()+" "+r.Time.UTC().Format("2006-01-02T15:04:05Z"))
				}
			}
			if s := strings.Join(got, "\n"); s != test.want {
				t.Errorf("got %q, want %q", s, test.want)
			}
			if len(facts.Originals) != 1 || facts.Originals[0].Name != test.file {
				t.Errorf("originals: %d", len(facts.Originals))
			}
		})
	}
}

// TestReadLooseAs reads a file by the entries of a job that reads its kind. What they say
// of whole files holds for the job's own alone.
func TestReadLooseAs(t *testing.T) {
	link := record.Link{ID: "A-12", Length: quantity.Int(500)}
	job := t.TempDir()
	if err := os.WriteFile(filepath.Join(job, "job.yaml"), []byte(`readings:
  - {files: "readings/a.csv", columns: {link: Circuit}}
  - {files: "readings/b.csv", columns: {link: Cable ID}, evidence_only: true}
  - {files: "readings/c.csv", columns: {link: Cable ID}, instrument: PM-1, person: mo, direction: A-B}
`), 0o644); err != nil {
		t.Fatal(err)
	}
	var list diag.List // of all that this job.yaml lacks
	in, err := folder.Open(job, &list)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	entries := jobfile.Read(in, &list).Mappings
	fits := entries[2]
	file := filepath.Join(t.TempDir(), "r.csv")
	if err := os.WriteFile(file, []byte("Cable ID,wavelength_nm,loss_db\nA-12,1310,0.44\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	if _, list := ReadLoose(file, link, ""); list.Errors() == 0 {
		t.Error("its columns say all by their names")
	}
	facts, by := ReadLooseAs(file, link, "", entries)
	if by != fits {
		t.Fatalf("read by %v", by)
	}
	if r := facts.Readings; len(r) != 1 || r[0].Value.String() != "0.44" || r[0].Direction != record.AB || r[0].Instrument != "" || r[0].Person != "" {
		t.Errorf("%+v", r)
	}
	if fits.Constants[field.Instrument].Text != "PM-1" {
		t.Error("the job's own entry was changed")
	}
	if facts, by := ReadLooseAs(file, link, "", entries[:2]); facts != nil || by != nil {
		t.Error("an entry that does not fit was taken")
	}
}
