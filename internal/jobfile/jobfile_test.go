package jobfile

import (
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/intake/testjobs"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// read reads a job.yaml that lies alone in a folder.
func read(t *testing.T, yaml string) (*Contents, *folder.JobFolder, *diag.List) {
	t.Helper()
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, folder.Job), []byte(yaml), 0o644); err != nil {
		t.Fatal(err)
	}
	list := &diag.List{}
	in, err := folder.Open(dir, list)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { in.Close() })
	return Read(in, list), in, list
}

// everyKey is a job.yaml with every key there is beside readings.
const everyKey = `job:
  number: 0042
  title: 'Reading rooms: refit'
  site: {name: Bellweather Library, address: "12 Quay Row, Port Ansel"}
  customer: {name: Port Ansel Council, order: PO-7781}
  contractor: {name: Tidewater Fibre Works, address: 4 Slipway Lane, licence: C7-20881}
  invoice: 2026-118
  completed: 2026-11-18
  deadline: 2026-12-02
  time_zone: Europe/Dublin
  warranty: {months: 240}
  stage: final, closures shut
  witness: A. Nwosu
people:
  - {id: mo, name: M. Okafor, role: fibre technician, qualification: FT-3310, valid_until: 2027-06-30}
instruments:
  - {id: PM-9, kind: power meter, make: ours, model: A, serial: 0007, calibrated: 2026-03-03, due: 2027-03-03, uncertainty_db: 0.120}
cables:
  - {id: C1, description: 24 strand OS2, reel: 88-2041}
judge:
  limits: [tia-568.3-e, limits/owner.yaml]
  reference: two-cord
  test_cords: reference-grade
  decision: guarded
  guard_factor: 0.83
  marginal_db: 0.10
  uncertainty_db: 0.15
  require:
    wavelengths_nm: {singlemode: [1310, 1490, 1550]}
    directions: either
    reflectance: required
  termination: {estimate_db_at_most: 0.10, end_face_required: true}
  questions:
    reference-age: {weight: note, threshold: 24}
    pace: {weight: off}
pay:
  currency: EUR
  retainage_percent: 10
  billed: r2
  period: {from: 2026-11-01, to: 2026-11-30}
  releases:
    - {day: 2026-11-20, percent: 50, reason: provisional acceptance}
    - {day: 2026-11-25, amount: 12.50, reason: papers complete}
  items:
    - {line: "1.1", title: Connector, unit: termination, fibre: OS2, cable: C1, rate: 18.50, retroactive: true}
    - {title: Strand, unit: strand}
sign: {key: signer.p12, as: mo, timestamp_url: "https://tsa.example.org", timestamp: when-reachable}
documents: {paper: letter, language: de, check_url: "https://example.org/c"}
`

// TestEveryKey holds what each key of job.yaml becomes.
func TestEveryKey(t *testing.T) {
	said, _, list := read(t, everyKey)
	if list.Len() > 0 {
		t.Fatal(testjobs.Problems(list))
	}
	j := said.Job
	if j.Location.String() != "Europe/Dublin" || j.Sign.Key != "signer.p12" || j.Sign.As != "mo" || j.Documents.Paper != "letter" || j.Documents.Language != "de" || j.Documents.CheckURL != "https://example.org/c" {
		t.Errorf("%v %+v %+v", j.Location, j.Sign, j.Documents)
	}
	if p := j.Pay; p.Currency != "EUR" || p.Retainage.String() != "10" || len(p.Items) != 2 || p.Items[0].Rate.String() != "18.50" || p.Items[1].Rate != nil || p.Items[1].Unit != record.PayStrand || p.Items[0].Cable != "C1" {
		t.Errorf("%+v", p)
	} else if *p.Billed != 2 || p.Period.From.String() != "2026-11-01" || p.Period.To.String() != "2026-11-30" || !p.Items[0].Retroactive || len(p.Releases) != 2 ||
		p.Releases[0].Percent.String() != "50" || p.Releases[0].Amount != nil || p.Releases[1].Amount.String() != "12.50" || p.Releases[1].Day.String() != "2026-11-25" || p.Releases[0].Reason != "provisional acceptance" {
		t.Errorf("%+v", p)
	}
	if s := j.Sign; s.TimestampURL != "https://tsa.example.org" || s.Timestamp != "when-reachable" {
		t.Errorf("%+v", s)
	}
	j.Origin.SHA256, j.Origin.Size = "", 0
	got, err := json.MarshalIndent(j, "", "  ")
	if err != nil {
		t.Fatal(err)
	}
	const want = `{
  "number": "0042",
  "title": "Reading rooms: refit",
  "site": {
    "name": "Bellweather Library",
    "address": "12 Quay Row, Port Ansel"
  },
  "customer": {
    "name": "Port Ansel Council",
    "order": "PO-7781"
  },
  "contractor": {
    "name": "Tidewater Fibre Works",
    "address": "4 Slipway Lane",
    "licence": "C7-20881"
  },
  "invoice": "2026-118",
  "completed": "2026-11-18",
  "deadline": "2026-12-02",
  "time_zone": "Europe/Dublin",
  "warranty_months": 240,
  "stage": "final, closures shut",
  "witness": "A. Nwosu",
  "people": [
    {
      "id": "mo",
      "name": "M. Okafor",
      "role": "fibre technician",
      "qualification": "FT-3310",
      "valid_until": "2027-06-30"
    }
  ],
  "instruments": [
    {
      "id": "PM-9",
      "kind": "power meter",
      "make": "ours",
      "model": "A",
      "serial": "0007",
      "calibrated": "2026-03-03",
      "due": "2027-03-03",
      "uncertainty_db": "0.120"
    }
  ],
  "cables": [
    {
      "id": "C1",
      "description": "24 strand OS2",
      "reel": "88-2041"
    }
  ],
  "judge": {
    "limits": [
      "tia-568.3-e",
      "limits/owner.yaml"
    ],
    "reference": "two-cord",
    "test_cords": "reference-grade",
    "decision": "guarded",
    "guard_factor": "0.83",
    "marginal_db": "0.10",
    "uncertainty_db": "0.15",
    "require": {
      "wavelengths_nm": {
        "multimode": [
          850,
          1300
        ],
        "singlemode": [
          1310,
          1490,
          1550
        ]
      },
      "directions": "either",
      "reflectance": "required"
    },
    "estimate_db_at_most": "0.10",
    "end_face_required": true,
    "questions": {
      "pace": {
        "weight": "off"
      },
      "reference-age": {
        "weight": "note",
        "threshold": "24"
      }
    }
  },
  "origin": {
    "file": "job.yaml",
    "sha256": "",
    "size": 0
  }
}`
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
}

// TestPlaceOf holds that whoever comes later finds the place of a value of job.yaml.
func TestPlaceOf(t *testing.T) {
	_, in, _ := read(t, everyKey)
	job := &record.Facts{Originals: in.Originals()}
	for path, want := range map[string]string{
		"judge.limits[0]": "job.yaml:21:12", "judge.limits[1]": "job.yaml:21:25", "judge.limits[9]": "job.yaml:21:11", "documents.language": "job.yaml:48:38",
		"people[0].name": "job.yaml:15:20", "judge.questions.reference-age.weight": "job.yaml:34:29", "nowhere": "job.yaml", "": "job.yaml",
	} {
		if got := PlaceOf(job, path).String(); got != want {
			t.Errorf("%s is at %s, want %s", path, got, want)
		}
	}
	if got := PlaceOf(nil, "judge").String(); got != "job.yaml" {
		t.Error(got)
	}
}

// TestRead holds what Read says beside the facts of the job.
func TestRead(t *testing.T) {
	const beside = `aliases: {"11": A-11}
schedule: {file: keys.xlsx, sheet: OS2, header_line: 3, columns: {link: Strang}}
readings:
  - {files: readings/a.csv, evidence_only: true}
  - {files: readings/b*.csv}
`
	said, _, list := read(t, everyKey+beside)
	if list.Len() > 0 {
		t.Fatal(testjobs.Problems(list))
	}
	if s := said.Schedule; !s.Own || s.File != "keys.xlsx" || s.Sheet != "OS2" || s.HeaderLine != 3 || s.Columns["strang"] != "link" {
		t.Errorf("%+v", s)
	}
	if a := said.Aliases["11"]; a.Link != "A-11" || a.Place.String() != "job.yaml:49:11" {
		t.Errorf("%+v", a)
	}
	if m := said.Mappings; len(m) != 2 || !m[0].EvidenceOnly || m[1].Files != "readings/b*.csv" {
		t.Errorf("%+v", m)
	}
	if !said.Parsed || said.WrongZone || said.File == nil {
		t.Errorf("parsed %v, wrong zone %v", said.Parsed, said.WrongZone)
	}
	if said, _, _ := read(t, "job: {time_zone: Atlantis/Docks}\n"); !said.Parsed || !said.WrongZone || said.Job.Location == nil {
		t.Errorf("%+v", said)
	}
	if said, _, list := read(t, "job: [\n"); said.Parsed || list.Errors() == 0 || said.Job.Location == nil {
		t.Errorf("%+v\n%s", said, testjobs.Problems(list))
	}
}

// FuzzJob reads any bytes as job.yaml.
func FuzzJob(f *testing.F) {
	for _, name := range []string{filepath.Join(testjobs.Root, "base", "job.yaml"), "../../templates/job/job.yaml", "../../templates/demo/job.yaml"} {
		data, err := os.ReadFile(name)
		if err != nil {
			f.Fatal(err)
		}
		f.Add(data)
	}
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, raw []byte) {
		list := &diag.List{}
		in, err := folder.Open(dir, list)
		if err != nil {
			t.Fatal(err)
		}
		defer in.Close()
		r := newReader(in, list)
		r.parse(source.New(folder.Job, raw))
		if err := list.Write(io.Discard, nil); err != nil {
			t.Fatal(err)
		}
		if r.Job.Location == nil {
			t.Error("no location")
		}
		if len(r.Job.Number) == 0 && list.Errors() == 0 {
			t.Error("a job without a number passes")
		}
	})
}

// TestCompanyPlaces: a value that was taken has its place in the company file, also
// where people that were not taken stand before it.
func TestCompanyPlaces(t *testing.T) {
	office := t.TempDir()
	job := filepath.Join(office, "job")
	for name, text := range map[string]string{
		"company.yaml": "people:\n  - {id: zi, name: Z. Idle}\n  - {id: mo, name: M. Okafor}\nsign: {key: keys/a.p12, as: mo}\njudge: {limits: [a, b], questions: {bend: {weight: note}}}\n",
		"job/job.yaml": "company: company.yaml\njob:\n  number: X\n  contractor: {name: Ours}\npeople: [{id: t1, name: T. Own}]\njudge: {reference: one-cord}\n",
	} {
		name = filepath.Join(office, filepath.FromSlash(name))
		if err := errors.Join(os.MkdirAll(filepath.Dir(name), 0o755), os.WriteFile(name, []byte(text), 0o644)); err != nil {
			t.Fatal(err)
		}
	}
	list := &diag.List{}
	in, err := folder.Open(job, list)
	if err != nil {
		t.Fatal(err)
	}
	defer in.Close()
	said := Read(in, list)
	f := &record.Facts{Job: said.Job, Company: said.Company}
	said.Take(in, f)
	f.Originals = in.Originals()
	if len(f.Job.People) != 2 || f.Job.People[1].ID != "mo" || f.Job.Sign.Key != "../keys/a.p12" {
		t.Errorf("%+v %+v", f.Job.People, f.Job.Sign)
	}
	for path, want := range map[string]string{
		"people[0].name": "job.yaml:5:25", "people[1].name": "../company.yaml:3:20", "sign.as": "../company.yaml:4:29", "judge.limits[1]": "../company.yaml:5:21",
		"judge.reference": "job.yaml:6:20", "job.contractor.name": "job.yaml:4:22", "judge.questions.bend": "../company.yaml:5:43", "pay": "job.yaml",
	} {
		if got := PlaceOf(f, path).String(); got != want {
			t.Errorf("%s: %s, want %s", path, got, want)
		}
	}
	if got := FileOf(f, "../company.yaml"); got == nil || got.Line(2) != "  - {id: zi, name: Z. Idle}" {
		t.Error("the company file is not found")
	}
}
