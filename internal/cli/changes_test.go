package cli_test

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"

	"spanseal/internal/certify"
	"spanseal/internal/change"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/load"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
	"spanseal/internal/testset"
)

// edit replaces a text of a file of the job once, writes the whole file where old is
// "", or removes it where both are.
type edit struct{ file, old, now string }

// changesJob is a job in which every field has a value.
func changesJob(t *testing.T) string {
	t.Helper()
	a, err := txtar.ParseFile("../../testdata/change/job.txtar")
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for _, f := range a.Files {
		write(t, filepath.Join(dir, f.Name), f.Data)
	}
	must(t, 0, "key", "new", filepath.Join(dir, "signer.p12"), "--name", "R. Lindqvist", "--passphrase-file", filepath.Join(dir, "pass.txt"))
	return dir
}

func write(t *testing.T, name string, data []byte) {
	t.Helper()
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(name, data, 0o644); err != nil {
		t.Fatal(err)
	}
}

func (e edit) apply(t *testing.T, dir string) {
	t.Helper()
	name := filepath.Join(dir, e.file)
	switch {
	case e.old == "" && e.now == "":
		if err := os.Remove(name); err != nil {
			t.Fatal(err)
		}
		return
	case e.old == "":
		write(t, name, []byte(e.now))
		return
	}
	data, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	if strings.Count(string(data), e.old) != 1 {
		t.Fatalf("%q stands in %s %d times", e.old, e.file, strings.Count(string(data), e.old))
	}
	write(t, name, []byte(strings.Replace(string(data), e.old, e.now, 1)))
}

// changesOf are the changes that the manifest of a revision has, in English.
func changesOf(t *testing.T, dir, revision string) (texts []string) {
	t.Helper()
	data, err := os.ReadFile(filepath.Join(dir, "issued", revision, "manifest.json"))
	if err != nil {
		t.Fatal(err)
	}
	m, err := seal.ParseManifest(data)
	if err != nil {
		t.Fatal(err)
	}
	for _, raw := range m.Changes {
		var s statement.Statement
		if err := json.Unmarshal(raw, &s); err != nil {
			t.Fatal(err)
		}
		if s.Code == "" {
			t.Errorf("%s has no code that is known", raw)
		}
		texts = append(texts, strings.ReplaceAll(s.Text, "\u00a0", " "))
	}
	return texts
}

// listed are the changes between the results of a revision and a job as it is now, in
// English, found as issue finds them before it makes papers.
func listed(t *testing.T, dir string, before []byte) (texts []string) {
	t.Helper()
	at := now().AddDate(0, 0, 1)
	j, err := load.Read(dir, at, intake.Options{})
	if err != nil || j.Judged == nil {
		t.Fatalf("%v: %v", err, j.Problems.Sorted())
	}
	var was form.Results
	if err := json.Unmarshal(before, &was); err != nil {
		t.Fatal(err)
	}
	set, problems := j.Papers(form.Writer{Revision: 2, Issued: at, Signer: form.Signatory{Name: was.About.Signer.Name, Organisation: was.About.Signer.Organisation, KeyID: was.About.Signer.Key}}, certify.Options{Sign: func(c seal.Claim) (string, error) { return testset.TokenOf(c, 0) }})
	if problems.Errors() > 0 {
		t.Fatal(problems.Sorted())
	}
	old, err := change.Read(bytes.NewReader(before), int64(len(before)))
	if err != nil {
		t.Fatal(err)
	}
	if set.Earlier, err = old.Paid(1); err != nil {
		t.Fatal(err)
	}
	head, err := json.Marshal(set.ResultsHead())
	if err != nil {
		t.Fatal(err)
	}
	all, err := old.Compare(head, set.ResultLinksJSON())
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range set.InEnglish(all...) {
		texts = append(texts, strings.ReplaceAll(s.Text, "\u00a0", " "))
	}
	return texts
}

// refusedChanges are no list's to tell: a revision of another job does not follow,
// and what an earlier revision rests on does not change.
var refusedChanges = map[string]string{
	"number": "a revision of the job BL-2026-033", "a link gone": "[evidence-changed]", "a value edited": "[evidence-changed]",
	"a reflectance edited": "[evidence-changed]", "a reading gone": "[evidence-changed]", "rows moved": "[evidence-changed]",
	"a row moved": "[evidence-changed]", "meter": "[evidence-changed]", "source": "[evidence-changed]", "who measured": "[evidence-changed]",
	"time": "[evidence-changed]", "time of the reference": "[evidence-changed]", "note": "[evidence-changed]",
}

// TestChangeList: each field of job.yaml, links.csv and terminations.csv, and each
// kind of change of a reading, is altered in turn between two revisions. Each is
// named, old and new, with what it brings about; nothing else is named. Every tenth
// is issued, and has the same list in its manifest.
func TestChangeList(t *testing.T) {
	if testing.Short() {
		t.Skip("left out: -short")
	}
	base := changesJob(t)
	if code, _, stderr := run(t, "issue", base, "--date", "2026-11-25"); code != 0 && code != 4 {
		t.Fatal(stderr)
	}
	const job, links, made, day1, day2 = "job.yaml", "links.csv", "terminations.csv", "readings/day1.csv", "readings/day2.csv"
	const head = "link,wavelength_nm,direction,loss_db,reflectance_db,event,source,instrument,person,reference_time,time,note\n"
	seen := map[string]bool{}
	before, err := os.ReadFile(filepath.Join(base, "issued", "r1", "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range changeCases(job, links, made, day1, day2, head) {
		if seen[c.name] {
			t.Errorf("%s stands there twice", c.name)
		}
		seen[c.name] = true
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			if err := os.CopyFS(dir, os.DirFS(base)); err != nil {
				t.Fatal(err)
			}
			for _, e := range c.edits {
				e.apply(t, dir)
			}
			why := refusedChanges[c.name]
			if why == "" {
				if diff := cmp.Diff(c.want, listed(t, dir, before)); diff != "" {
					t.Error(diff)
				}
				if i%10 > 0 {
					return
				}
			}
			code, stdout, stderr := run(t, "issue", dir, "--date", "2026-11-26", "--postdated", "--reason", "a test", "--again")
			if why != "" {
				if code != 3 || !strings.Contains(stderr, why) {
					t.Fatalf("exit code %d, want 3 and %q: %s%s", code, why, stdout, stderr)
				}
				return
			}
			if code != 0 && code != 4 {
				t.Fatalf("exit code %d: %s%s", code, stdout, stderr)
			}
			if diff := cmp.Diff(c.want, changesOf(t, dir, "r2")); diff != "" {
				t.Error(diff)
			}
		})
	}
}

// limitOf names the limits of all losses of links.
func limitOf(links, old, now string) string {
	return links + ", insertion loss 1310 nm A to B, insertion loss 1310 nm B to A, two-way average loss 1310 nm, insertion loss 1550 nm A to B, " +
		"insertion loss 1550 nm B to A and two-way average loss 1550 nm, limit of tia-568.3-e: " + old + " dB → " + now + " dB"
}

// changeCase is one row.
type changeCase struct {
	name  string
	edits []edit
	want  []string
}

func one(name, file, old, now string, want ...string) changeCase {
	return changeCase{name, []edit{{file, old, now}}, want}
}

func changeCases(job, links, made, day1, day2, head string) []changeCase {
	return slices.Concat([]changeCase{
		{"nothing", nil, []string{"Nothing printed or recorded has changed."}},
		one("a comment", job, "# the job", "# the job, as agreed", "Nothing printed or recorded has changed."),

		// job.yaml
		one("title", job, "title: Reading rooms", "title: Reading halls", "title: Reading rooms → Reading halls"),
		one("site's name", job, "name: Bellweather Library", "name: Bellweather Archive", "site: Bellweather Library → Bellweather Archive"),
		one("site's address", job, "12 Quay Row", "14 Quay Row", "site address: 12 Quay Row → 14 Quay Row"),
		one("customer's name", job, "name: Port Ansel Council", "name: Port Ansel Borough", "customer: Port Ansel Council → Port Ansel Borough"),
		one("customer's address", job, "1 Hill Street", "2 Hill Street", "customer address: 1 Hill Street → 2 Hill Street"),
		one("order", job, "order: PO-7718", "order: PO-7719", "order: PO-7718 → PO-7719"),
		one("contractor's name", job, "name: Tidewater Fibre Works", "name: Tidewater Fibre", "contractor: Tidewater Fibre Works → Tidewater Fibre"),
		one("contractor's address", job, "4 Slipway Lane", "5 Slipway Lane", "contractor address: 4 Slipway Lane → 5 Slipway Lane"),
		one("licence", job, "licence: C7-20881", "licence: C7-20882", "contractor licence: C7-20881 → C7-20882"),
		one("invoice", job, "invoice: 2026-118", "invoice: 2026-119", "invoice: 2026-118 → 2026-119"),
		one("completed", job, "completed: 2026-11-18", "completed: 2026-11-19", "completion date: 18 Nov 2026 → 19 Nov 2026"),
		one("deadline", job, "deadline: 2026-12-02", "deadline: 2026-12-03", "due date of the documents: 2 Dec 2026 → 3 Dec 2026"),
		one("time zone", job, "time_zone: Europe/Dublin", "time_zone: Europe/London", "time zone: Europe/Dublin → Europe/London"),
		one("stage", job, "stage: closures open", "stage: closures shut", "test stage: closures open → closures shut"),
		one("witness", job, "witness: E. Brandt", "witness: F. Castell", "witness: E. Brandt → F. Castell"),
		one("witness gone", job, "  witness: E. Brandt\n", "", "witness: E. Brandt → not given"),
		one("warranty", job, "months: 240", "months: 120", "warranty in months: 240 → 120"),
		one("person's name", job, "name: M. Okafor", "name: M. N. Okafor", "mo, name: M. Okafor → M. N. Okafor"),
		one("person's role", job, "role: fibre technician, qualification: FT-3310", "role: project manager, qualification: FT-3310", "mo, role: fibre technician → project manager"),
		one("qualification", job, "FT-3310", "FT-3311", "mo, qualification: FT-3310 → FT-3311"),
		one("validity", job, "valid_until: 2027-06-30", "valid_until: 2027-07-31", "mo, qualification valid until: 30 Jun 2027 → 31 Jul 2027"),
		one("another person", job, "people:\n", "people:\n  - {id: ti, name: T. Idris}\n", "ti: new among the people"),
		one("a person gone", job, "  - {id: sv, name: S. Varga}\n", "", "sv: no longer among the people"),
		one("instrument's kind", job, "kind: power meter, make", "kind: optical power meter, make", "PM-9, kind: power meter → optical power meter"),
		one("maker", job, "make: Lumen Works", "make: Lumen Yard", "PM-9, maker: Lumen Works → Lumen Yard"),
		one("model", job, "model: P2", "model: P3", "PM-9, model: P2 → P3"),
		one("serial number", job, `serial: "22803"`, `serial: "22804"`, "PM-9, serial number: 22803 → 22804"),
		one("calibrated", job, "calibrated: 2026-03-03, due: 2027-03-04", "calibrated: 2026-03-30, due: 2027-03-04", "PM-9, calibration date: 3 Mar 2026 → 30 Mar 2026"),
		one("due", job, "due: 2027-03-04", "due: 2027-03-30", "PM-9, calibration due date: 4 Mar 2027 → 30 Mar 2027"),
		one("uncertainty of an instrument", job, "uncertainty_db: 0.12", "uncertainty_db: 0.15", "PM-9, uncertainty (k = 2): 0.12 dB → 0.15 dB"),
		one("another instrument", job, "instruments:\n", "instruments:\n  - {id: PM-7, kind: power meter, serial: \"1\"}\n", "PM-7: new among the instruments"),
		one("an instrument gone", job, "  - {id: FS-1, kind: fusion splicer, serial: \"7714\"}\n", "", "FS-1: no longer among the instruments"),
		one("cable's description", job, "description: 24 strand OS2", "description: 12 strand OS2", "cable C1, description: 24 strand OS2 → 12 strand OS2"),
		one("reel", job, "reel: 88-2041", "reel: 88-2042", "cable C1, reel: 88-2041 → 88-2042"),
		one("another cable", job, "cables:\n", "cables:\n  - {id: C3, reel: 1}\n", "cable C3: new"),
		one("a cable gone", job, "  - {id: C2, description: spare}\n", "", "cable C2: no longer listed"),
		one("guard factor", job, "guard_factor: 1.0", "guard_factor: 0.9", "guard band factor: 1.0 → 0.9"),
		one("marginal", job, "marginal_db: 0.05", "marginal_db: 0.04", "marginal band: 0.05 dB → 0.04 dB"),
		one("uncertainty of the job", job, "  uncertainty_db: 0.2\n", "  uncertainty_db: 0.25\n", "uncertainty (k = 2): 0.2 dB → 0.25 dB"),
		one("retest", job, "retest_change_db: 0.3", "retest_change_db: 0.2", "change allowed in a retest: 0.3 dB → 0.2 dB"),
		one("reflectance", job, "reflectance: optional", "reflectance: required", "reflectance: optional → required",
			"K-01, K-02 and K-03, new question: No reflectance was measured at end B. When will it be?",
			"K-01, new question: Limit channel-orl of 10gbase-lr is not judged: no optical return loss was measured. When will it be measured?"),
		one("agreement", job, "reason: short spans", "reason: spans under 400 m", "optional 1 reason: short spans → spans under 400 m"),
		one("estimate", job, "estimate_db_at_most: 0.10", "estimate_db_at_most: 0.20", "limit for the splicer's estimate: 0.10 dB → 0.20 dB"),
		one("end faces", job, "end_face_required: true", "end_face_required: false", "end-face inspection required: yes → no", "K-01, K-02 and K-03: incomplete → pass",
			"K-01, K-02 and K-03, no longer asked: No inspection of the face at end B is on record. When will it be inspected?"),
		one("weight", job, "bend: {weight: note,", "bend: {weight: fatal,", "evidence check, more loss at the longer wavelength, weight: note → fatal"),
		one("threshold", job, "threshold: 0.5}", "threshold: 0.6}", "evidence check, more loss at the longer wavelength, threshold: 0.5 → 0.6"),
		one("paper", job, "paper: A4", "paper: letter", "paper size: A4 → letter"),
		one("language", job, "language: en", "language: es", "document language: en → es"),
		one("address in symbols", job, "check_url: https://a.example/c", "check_url: https://b.example/c", "address in the symbols: https://a.example/c → https://b.example/c"),
		one("names of papers", job, `name: "{job}-{link}"`, `name: "{job}-{link}-r{revision}"`, "names of the documents: {job}-{link} → {job}-{link}-r{revision}"),
		one("currency", job, "currency: EUR", "currency: GBP", "currency: EUR → GBP"),
		one("retainage", job, "retainage_percent: 10", "retainage_percent: 5", "retainage: 10 % → 5 %"),
		one("rate", job, "rate: 7.25", "rate: 7.50", "pay item 2.1, rate: 7.25 → 7.50"),
		one("item's title", job, "title: Strand tested", "title: Strand measured", "pay item 2.1, title: Strand tested → Strand measured"),
		one("item's unit", job, "unit: strand", "unit: link", "pay item 2.1, unit: strand → link"),
		one("item's fibre", job, "fibre: OS2", "fibre: OM4", "pay item 2.1, fibre: OS2 → OM4"),
		one("item's cable", job, "cable: C1,", "cable: C2,", "pay item 2.1, cable: C1 → C2"),
		one("another order line", job, `line: "2.1"`, `line: "2.2"`, "pay item 2.2: new", "pay item 2.1: no longer listed"),
		one("number", job, "number: BL-2026-033", "number: BL-2026-034", "job number: BL-2026-033 → BL-2026-034"),
		one("wavelengths", job, "singlemode: [1310, 1550]", "singlemode: [1310]", "wavelengths required for single-mode fibre: 1310 nm and 1550 nm → 1310 nm"),
		one("directions", job, "directions: both", "directions: either", "required directions: both → either"),
		one("decision", job, "decision: guarded", "decision: simple", "decision rule: guarded acceptance → simple acceptance"),
		one("reference", job, "reference: one-cord", "reference: two-cord", "reference method: one-cord → two-cord",
			limitOf("K-01, K-02 and K-03", "2.2248", "1.4748")),
		one("test cords", job, "test_cords: standard", "test_cords: reference-grade", "test cord grade: standard grade → reference grade",
			limitOf("K-01, K-02 and K-03", "2.2248", "1.7248")),
		one("a set more", job, "limits: [tia-568.3-e]", "limits: [tia-568.3-e, 1000base-lx]", "limit sets: tia-568.3-e → tia-568.3-e and 1000base-lx", "limit set 1000base-lx: added"),
		one("a mapping", job, "  - files: \"readings/*.csv\"", "  - files: \"readings/*.csv\"\n    delimiter: \",\"", "Nothing printed or recorded has changed."),

		// links.csv
		one("cable", links, "K-01,C1,1,1", "K-01,C2,1,1", "K-01, cable: C1 → C2"),
		one("tube", links, "K-01,C1,1,1", "K-01,C1,2,1", "K-01, tube: 1 → 2"),
		one("strand", links, "K-01,C1,1,1", "K-01,C1,1,7", "K-01, strand: 1 → 7"),
		one("from", links, "panel R1 port 1", "panel R1 port 4", "K-01, place of end A: panel R1 port 1 → panel R1 port 4"),
		one("to", links, "panel C1 port 1", "panel C1 port 4", "K-01, place of end B: panel C1 port 1 → panel C1 port 4"),
		one("fibre", links, "panel C1 port 1,OS2", "panel C1 port 1,OS1a", "K-01, fibre: OS2 → OS1a",
			limitOf("K-01", "2.2248", "2.4120")),
		one("length", links, "panel C1 port 1,OS2,312", "panel C1 port 1,OS2,320", "K-01, length: 312 m → 320 m",
			limitOf("K-01", "2.2248", "2.2280")),
		changeCase{"length of all", []edit{{links, "port 1,OS2,312", "port 1,OS2,320"}, {links, "port 2,OS2,312", "port 2,OS2,320"}, {links, "port 3,OS2,312", "port 3,OS2,320"}}, []string{"K-01, K-02 and K-03, length: 312 m → 320 m",
			limitOf("K-01, K-02 and K-03", "2.2248", "2.2280")}},
		one("mated pairs", links, "panel C1 port 1,OS2,312,2,1", "panel C1 port 1,OS2,312,3,1", "K-01, number of mated pairs: 2 → 3",
			limitOf("K-01", "2.2248", "2.9748")),
		one("splices", links, "panel C1 port 1,OS2,312,2,1", "panel C1 port 1,OS2,312,2,2", "K-01, number of splices: 1 → 2",
			limitOf("K-01", "2.2248", "2.5248"), "K-01, new question: The schedule has 2 splices in the span, but 1 on record. How many are there?"),
		one("end A", links, "2,1,spliced-on LC/UPC,factory LC/UPC,10gbase-lr", "2,1,spliced-on SC/APC,factory LC/UPC,10gbase-lr", "K-01, end A: spliced-on LC/UPC → spliced-on SC/APC"),
		one("end B", links, "factory LC/UPC,10gbase-lr", "factory SC/UPC,10gbase-lr", "K-01, end B: factory LC/UPC → factory SC/UPC"),
		one("applications", links, "10gbase-lr", "1000base-lx", "limit set 1000base-lx: added",
			"limit set 10gbase-lr: removed",
			"K-01, applications: 10gbase-lr → 1000base-lx"),
		one("limits of a link", links, "factory LC/UPC,,,K-01", "factory LC/UPC,,10gbase-lr,K-01", "K-02, limit sets: not given → 10gbase-lr"),
		one("pair", links, ",,,,,,\n", ",,,K-01,,,\n", "K-03, pair: not given → K-01",
			"K-03, new question: K-03 is paired with K-01, which names another. Which two are a pair?"),
		one("polarity", links, "K-01,crossed", "K-01,straight", "K-02, polarity: crossed → straight",
			"K-01, new question: The two strands of the pair K-01 and K-02 disagree: crossed, straight. Which is right?",
			"K-02, new question: The two strands of the pair K-02 and K-01 disagree: straight, crossed. Which is right?"),
		one("exempt", links, "K-01,crossed,,", "K-01,crossed,end B is inside a locked cage,", "K-02, reason for one direction only: not given → end B is inside a locked cage",
			"K-02, new question: One direction is exempt. Stated reason: end B is inside a locked cage. Does the owner agree?"),
		one("stage of a link", links, "K-01,crossed,,", "K-01,crossed,,closures shut", "K-02, test stage: not given → closures shut"),
		one("another link", links, "K-01,C1,1,1", "K-04,C1,1,4,panel R1 port 4,panel C1 port 4,OS2,312,2,1,spliced-on LC/UPC,factory LC/UPC,,,,,,\nK-01,C1,1,1", "K-04: new in the schedule, incomplete"),
		changeCase{"order of the schedule", []edit{{links, "crossed,,\nK-03,C1,1,3,panel R1 port 3,panel C1 port 3,OS2,312,2,1,spliced-on LC/UPC,factory LC/UPC,,,,,,\n", "crossed,,\n"}, {links, "K-02,C1,1,2", "K-03,C1,1,3,panel R1 port 3,panel C1 port 3,OS2,312,2,1,spliced-on LC/UPC,factory LC/UPC,,,,,,\nK-02,C1,1,2"}},
			[]string{"The schedule is in another order."}},
		changeCase{"a link gone", []edit{{links, "K-03,C1,1,3,panel R1 port 3,panel C1 port 3,OS2,312,2,1,spliced-on LC/UPC,factory LC/UPC,,,,,,\n", ""}, {made, "K-03,A,spliced-on connector,0.05,1,26-0417,pass,mo,2026-11-16 13:33\n", ""},
			{day1, "K-03,1310,A-B,0.71,-53.0,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:12,\nK-03,1310,B-A,0.65,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:14,\nK-03,1550,A-B,0.57,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:12,\nK-03,1550,B-A,0.55,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:14,\n", ""}},
			[]string{"readings/day1.csv: not the same file as before", "K-03: no longer in the schedule, was incomplete"}},

		// terminations.csv
		one("kind of a termination", made, "K-01,A,spliced-on connector", "K-01,A,connector", "K-01, termination at end A, kind: spliced-on connector → connector"),
		one("estimate of a splicer", made, "K-01,A,spliced-on connector,0.03", "K-01,A,spliced-on connector,0.04", "K-01, termination at end A, splicer's estimate: 0.03 dB → 0.04 dB"),
		one("attempts", made, "0.03,1,26-0417", "0.03,2,26-0417", "K-01, termination at end A, attempts: 1 → 2"),
		one("lot", made, "0.03,1,26-0417", "0.03,1,26-0418", "K-01, termination at end A, lot: 26-0417 → 26-0418"),
		one("end face", made, "26-0417,pass,mo,2026-11-16 13:13", "26-0417,fail,mo,2026-11-16 13:13", "K-01, termination at end A, end face: passed → failed",
			"K-01, new question: The end face at end A did not pass inspection. Has it been cleaned and inspected again?"),
		one("who made it", made, "pass,mo,2026-11-16 13:13", "pass,sv,2026-11-16 13:13", "K-01, termination at end A, person: mo → sv"),
		one("when it was finished", made, "2026-11-16 13:13", "2026-11-16 13:15", "K-01, termination at end A, completion time: 16 Nov 2026 13:13 → 16 Nov 2026 13:15"),
		one("end of a termination", made, "K-02,A,spliced-on connector,", "K-02,B,factory connector,", "K-02, termination at end B: new, factory connector",
			"K-02, termination at end A: no longer on record, was spliced-on connector",
			"K-02, new question: No inspection of the face at end A is on record. When will it be inspected?",
			"K-02, no longer asked: No inspection of the face at end B is on record. When will it be inspected?"),
		one("another splice", made, "K-01,,splice", "K-01,,splice,0.09,1,,not inspected,mo,2026-11-16 14:03\nK-01,,splice", "K-01, termination at the splice 1: new, splice",
			"K-01, new question: The schedule has 1 splice in the span, but 2 on record. How many are there?"),
		one("a splice gone", made, "K-01,,splice,0.02,1,,not inspected,mo,2026-11-16 14:13\n", "", "K-01, termination at the splice: no longer on record, was splice"),

		// readings
		one("a value edited", day1, "K-01,1310,A-B,0.70", "K-01,1310,A-B,0.72", "readings/day1.csv: not the same file as before", "K-01, insertion loss 1310 nm A to B: 0.70 dB → 0.72 dB (readings/day1.csv row 2)"),
		one("a reflectance edited", day1, "-55.0", "-54.5", "readings/day1.csv: not the same file as before", "K-01, reflectance 1310 nm A to B: −55.0 dB → −54.5 dB (readings/day1.csv row 2)"),
		one("a value in a new file", day2, "", head+"K-01,1310,A-B,0.69,,,LS-4,PM-9,mo,2026-11-18 12:30,2026-11-18 12:52,\n", "readings/day2.csv: new file of readings", "K-01, insertion loss 1310 nm A to B: 0.70 dB → 0.69 dB (readings/day2.csv row 2)"),
		one("the same value in a new file", day2, "", head+"K-01,1310,A-B,0.70,,,LS-4,PM-9,mo,2026-11-18 12:30,2026-11-18 12:52,\n", "readings/day2.csv: new file of readings", "K-01, insertion loss 1310 nm A to B: the same value, read from readings/day2.csv instead of readings/day1.csv"),
		one("by another person in a new file", day2, "", head+"K-01,1310,A-B,0.69,,,LS-4,PM-9,sv,2026-11-18 12:30,2026-11-18 12:52,\n", "readings/day2.csv: new file of readings", "K-01, insertion loss 1310 nm A to B: 0.70 dB → 0.69 dB (readings/day2.csv row 2)", "K-01, insertion loss 1310 nm A to B, person: mo → sv"),
		one("a reading more", day2, "", head+"K-01,1625,A-B,0.69,,,LS-4,PM-9,mo,2026-11-18 12:30,2026-11-18 12:52,\n", "readings/day2.csv: new file of readings", "K-01, insertion loss 1625 nm A to B: new reading, 0.69 dB",
			"K-01, new question: Not every set judges this reading: set tia-568.3-e has no cable figure for OS2 at 1625 nm. Is that as agreed?"),
		one("an earlier value in a new file", day2, "", head+"K-01,1310,A-B,0.69,,,LS-4,PM-9,mo,2026-11-18 07:30,2026-11-18 07:52,\n", "readings/day2.csv: new file of readings", "K-01, insertion loss 1310 nm A to B: also superseded, 0.69 dB"),
		one("a reading gone", day1, "K-03,1550,B-A,0.55,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:14,\n", "", "readings/day1.csv: not the same file as before",
			"K-03, insertion loss 1550 nm B to A: no longer on record, was 0.55 dB",
			"K-03, new question: No loss was measured at 1550 nm, B to A. When will it be?"),
		one("rows moved", day1, "K-01,1310,A-B", "K-01,1625,A-B,0.60,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 08:52,\nK-01,1310,A-B", "readings/day1.csv: not the same file as before", "readings/day1.csv: readings of 3 links are in other rows", "K-01, insertion loss 1625 nm A to B: new reading, 0.60 dB",
			"K-01, new question: Not every set judges this reading: set tia-568.3-e has no cable figure for OS2 at 1625 nm. Is that as agreed?"),
		one("a row moved", day1, "K-03,1550,B-A,0.55", "K-03,1625,A-B,0.56,,,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 09:14,\nK-03,1550,B-A,0.55", "readings/day1.csv: not the same file as before",
			"K-03, insertion loss 1550 nm B to A: the same value, readings/day1.csv row 13 → readings/day1.csv row 14",
			"K-03, insertion loss 1625 nm A to B: new reading, 0.56 dB",
			"K-03, new question: Not every set judges this reading: set tia-568.3-e has no cable figure for OS2 at 1625 nm. Is that as agreed?"),
		one("meter", day1, "K-02,1310,B-A,0.67,,,LS-4,PM-9", "K-02,1310,B-A,0.67,,,LS-4,FS-1", "readings/day1.csv: not the same file as before", "K-02, insertion loss 1310 nm B to A, instrument: PM-9 → FS-1",
			"K-02, new question: No calibration dates are given for FS-1. When was it calibrated, and until when is that valid?"),
		one("source", day1, "K-02,1310,B-A,0.67,,,LS-4,PM-9", "K-02,1310,B-A,0.67,,,FS-1,PM-9", "readings/day1.csv: not the same file as before", "K-02, insertion loss 1310 nm B to A, light source: LS-4 → FS-1",
			"K-02, new question: No calibration dates are given for FS-1. When was it calibrated, and until when is that valid?"),
		one("who measured", day1, "mo,2026-11-18 08:30,2026-11-18 08:52,first", "sv,2026-11-18 08:30,2026-11-18 08:52,first", "readings/day1.csv: not the same file as before", "K-01, insertion loss 1310 nm A to B and reflectance 1310 nm A to B, person: mo → sv"),
		one("time", day1, "2026-11-18 08:52,first", "2026-11-18 08:53,first", "readings/day1.csv: not the same file as before",
			"K-01, insertion loss 1310 nm A to B and reflectance 1310 nm A to B, time of measurement: 18 Nov 2026 08:52 → 18 Nov 2026 08:53"),
		one("time of the reference", day1, "2026-11-18 08:30,2026-11-18 08:52,first", "2026-11-18 08:31,2026-11-18 08:52,first", "readings/day1.csv: not the same file as before",
			"K-01, insertion loss 1310 nm A to B and reflectance 1310 nm A to B, time of the reference: 18 Nov 2026 08:30 → 18 Nov 2026 08:31"),
		one("note", day1, "08:52,first", "08:52,second", "readings/day1.csv: not the same file as before",
			"K-01, insertion loss 1310 nm A to B and reflectance 1310 nm A to B, note: first → second"),
		one("a splice", day2, "", "link,wavelength_nm,direction,splice_loss_db,event,source,instrument,person,reference_time,time\nK-01,1310,A-B,0.05,S1,LS-4,PM-9,mo,2026-11-18 08:30,2026-11-18 08:52\n",
			"readings/day2.csv: new file of readings", "K-01, splice loss 1310 nm A to B S1: new reading, 0.05 dB",
			"K-01, new question: Splice S1 was measured at 1310 nm from end A only. When will it be measured from the other end?"),
	})
}
