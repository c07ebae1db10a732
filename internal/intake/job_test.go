package intake

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/record"
)

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
  items:
    - {line: "1.1", title: Connector, unit: termination, fibre: OS2, cable: C1, rate: 18.50}
    - {title: Strand, unit: strand}
sign: {key: signer.p12, as: mo, timestamp_url: "https://tsa.example.org", timestamp: when-reachable}
documents: {paper: letter, language: de, check_url: "https://example.org/c"}
`

// TestEveryKey holds what each key of job.yaml becomes.
func TestEveryKey(t *testing.T) {
	dir := t.TempDir()
	layOut(t, dir, []txtar.File{{Name: "job.yaml", Data: []byte(everyKey)}})
	facts, list := Read(dir, Options{})
	if list.Len() > 0 {
		t.Fatal(printProblems(list))
	}
	j := facts.Job
	if j.Location.String() != "Europe/Dublin" || j.Sign.Key != "signer.p12" || j.Sign.As != "mo" || j.Documents.Paper != "letter" || j.Documents.Language != "de" || j.Documents.CheckURL != "https://example.org/c" {
		t.Errorf("%v %+v %+v", j.Location, j.Sign, j.Documents)
	}
	if p := j.Pay; p.Currency != "EUR" || p.Retainage.String() != "10" || len(p.Items) != 2 || p.Items[0].Rate.String() != "18.50" || p.Items[1].Rate != nil || p.Items[1].Unit != record.PayStrand || p.Items[0].Cable != "C1" {
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

// TestPlaceOf holds that later rooms find the place of a value of job.yaml.
func TestPlaceOf(t *testing.T) {
	dir := t.TempDir()
	layOut(t, dir, []txtar.File{{Name: "job.yaml", Data: []byte(everyKey)}})
	facts, _ := Read(dir, Options{})
	job := JobSource(facts)
	for path, want := range map[string]string{
		"judge.limits[0]": "job.yaml:21:12", "judge.limits[1]": "job.yaml:21:25", "judge.limits[9]": "job.yaml:21:11", "documents.language": "job.yaml:43:38",
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

// TestSchedule holds what the columns of links.csv become.
func TestSchedule(t *testing.T) {
	dir := t.TempDir()
	picture, err := os.ReadFile("../page/testdata/grey.jpg")
	if err != nil {
		t.Fatal(err)
	}
	layOut(t, dir, []txtar.File{
		{Name: "links.csv", Data: lines(
			"Link;Cable;Tube;Strand;From;To;Fibre;Length_km;Mated pairs;Splices;End A;End B;Applications;Limits;Pair;Polarity;Exempt;Stage;Colour",
			"A-11;C1;3;34;R1;C1;itu-t g.652.d;1,2500;2;1;pigtail SC/APC;none;\"10gbase-lr; 1000base-lx|x\";owner a;A-12;crossed;far end locked;final;violet",
		)},
		{Name: "terminations.csv", Data: lines(
			"link,end,kind,estimate_db,attempts,lot,end_face,person,finished",
			"A-11,a,spliced-on connector,0.03,2,26-0417,Pass,mo,2026-11-16 14:10",
			"A-11,,splice,,,,,,",
		)},
		{Name: "photos/A-11-B.jpg", Data: picture}, {Name: "photos/A-11.PNG", Data: picture},
		{Name: "photos/A-12.jpg", Data: picture}, {Name: "photos/list.txt", Data: []byte("x")},
	})
	facts, list := Read(dir, Options{})
	if got, want := printProblems(list), `links.csv:1:127: note: column "Colour" is not read [column-not-read]
     |
   1 | …bre;Length_km;Mated pairs;Splices;End A;End B;Applications;Limits;Pair;Polarity;Exempt;Stage;Colour
     |                                                                                               ^~~~~~
photos/A-12.jpg: question: the picture's name begins with no link of links.csv [photo-of-no-link]
     = fix: name it by link and end, such as A-11-B.jpg
photos/list.txt: note: only .jpg and .png pictures are read [not-a-photo]
     = fix: if it is a picture, save it as JPEG or PNG
`; got != want {
		t.Errorf("got\n%s\nwant\n%s", got, want)
	}
	facts.Links[0].Origin.SHA256, facts.Links[0].Origin.Size = "", 0
	got, err := json.Marshal(facts.Links)
	if err != nil {
		t.Fatal(err)
	}
	const want = `[{"id":"A-11","cable":"C1","tube":"3","strand":"34","from":"R1","to":"C1","fibre":"G.652.D","mode":"singlemode","length_m":"1250.0000","length_text":"1.2500 km",` +
		`"mated_pairs":2,"splices":1,"end_a":{"text":"pigtail SC/APC","spliced_on":true,"connector":"SC","polish":"APC"},"end_b":{"text":"none"},` +
		`"applications":["10gbase-lr","1000base-lx","x"],"limits":["owner","a"],"pair":"A-12","polarity":"crossed","exempt":"far end locked","stage":"final","origin":{"file":"links.csv","sha256":"","size":0,"row":2}}]`
	if diff := cmp.Diff(want, string(got)); diff != "" {
		t.Errorf("(-want +got)\n%s", diff)
	}
	ts := facts.Terminations
	if len(ts) != 2 || ts[0].End != "A" || ts[0].EndFace != "pass" || ts[0].Estimate.String() != "0.03" || ts[0].Attempts != 2 || ts[0].Finished.Format("15:04Z07:00") != "14:10Z" || ts[1].EndFace != "not inspected" || ts[1].Estimate != nil {
		t.Errorf("%+v", ts)
	}
	if len(facts.Photos) != 2 || facts.Photos[0].End != "B" || facts.Photos[1].End != "" || facts.Photos[0].Link != "A-11" {
		t.Errorf("%+v", facts.Photos)
	}
	var names []string
	for _, o := range facts.Originals {
		names = append(names, o.Name)
	}
	if diff := cmp.Diff([]string{"job.yaml", "links.csv", "photos/A-11-B.jpg", "photos/A-11.PNG", "terminations.csv"}, names); diff != "" {
		t.Errorf("originals (-want +got)\n%s", diff)
	}
}
