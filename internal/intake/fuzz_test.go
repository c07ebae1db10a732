package intake

import (
	"bytes"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/folder"
	"spanseal/internal/inspection"
	"spanseal/internal/original"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// fuzzEntries are the mappings under which FuzzText reads a text.
var fuzzEntries = []string{
	"",
	"columns: {link: 1, wavelength_nm: 2, direction: 3, loss_db: 4, time: 5}\nthousands: \".\"\ndecimal: \",\"\n",
	"columns: {link: Strang, time: Zeit}\ntime_format: DD.MM.YYYY HH:mm\nnot_measured: [\"---\"]\neach:\n  - {wavelength_nm: 1310, direction: A-B, reference_dbm: Ref 1310, received_dbm: AB 1310}\n  - {wavelength_nm: 1310, direction: B-A, reference_dbm: Ref 1310, received_dbm: BA 1310}\n",
	"block: \"Strand: {link}\"\npreamble: [\"Date {date}\"]\nignore_rows: [\"Total *\"]\nheader_rows: 2\nin_row_order: true\n",
	"encoding: windows-1252\nloss_is: negative\nreflectance_is: positive\nfile_name: \"{link}.csv\"\n",
}

// checkRead holds what must be true of every read, whatever the bytes.
func checkRead(t *testing.T, name string, raw []byte, entry string) {
	t.Helper()
	facts, list := readMemory(t, name, raw, entry)
	checkAccounts(t, facts)
	if err := list.Write(io.Discard, nil); err != nil {
		t.Fatal(err)
	}
	if _, err := list.JSON(); err != nil {
		t.Fatal(err)
	}
	refused := 0
	for _, a := range facts.Accounts {
		refused += a.Refused
	}
	if refused > 0 && list.Errors() == 0 {
		t.Errorf("%d rows were refused without a reason", refused)
	}
	for _, p := range list.Sorted() {
		if p.Code == "" || p.Message == "" || p.Place.File == "" {
			t.Errorf("half a problem: %+v", p)
		}
	}
	for _, r := range facts.Readings {
		if r.Link == "" || r.Quantity == "" || r.Fate == "" || r.Origin.Row < 1 && r.Origin.Cell == "" {
			t.Errorf("half a reading: %+v", r)
		}
	}
}

func FuzzText(f *testing.F) {
	for _, text := range corpusTexts(f) {
		for i := range fuzzEntries {
			f.Add(text, byte(i))
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte, entry byte) {
		checkRead(t, "readings/A-11.csv", raw, fuzzEntries[int(entry)%len(fuzzEntries)])
	})
}

func FuzzYAMLReadings(f *testing.F) {
	f.Add([]byte("instrument: PM-9\nreadings:\n  - {link: A-11, wavelength_nm: 1310, direction: A-B, loss_db: 0.350}\n  - link: A-11\n    length_ft: 3\n"))
	f.Add([]byte("readings: [{link: &a x, loss_db: *a}]"))
	f.Fuzz(func(t *testing.T, raw []byte) { checkRead(t, "readings/a.yaml", raw, "") })
}

func FuzzWorkbook(f *testing.F) {
	f.Add(workbook(f, []byte("# Day 1\nlink|wavelength_nm|direction|loss_db|time\nA-11|1310|A-B|0.35|46344.4375\n")))
	f.Add(workbook(f, []byte("# Day 1\n|>>1310 nm||\nlink|A-B|B-A\nA-11|B1+1^0.35|#N/A\n# Day 2\nx\n")))
	f.Fuzz(func(t *testing.T, raw []byte) { checkRead(t, "readings/a.xlsx", raw, "") })
}

// FuzzLinks reads any bytes as links.csv.
func FuzzLinks(f *testing.F) {
	data, err := os.ReadFile(filepath.Join(corpus, "base", "links.csv"))
	if err != nil {
		f.Fatal(err)
	}
	f.Add(data)
	f.Add(bytes.ReplaceAll(data, []byte(","), []byte(";")))
	f.Add(bytes.ReplaceAll(data, []byte("length_m"), []byte("length_kft")))
	f.Add(bytes.ReplaceAll(data, []byte("A-12,R1 port 12"), []byte("K1-01..K1-24,R1 port 01..R1 port 24")))
	f.Fuzz(func(t *testing.T, raw []byte) {
		r := newReader()
		r.links(source.New(folder.Links, raw))
		if err := r.list.Write(io.Discard, nil); err != nil {
			t.Fatal(err)
		}
		for _, l := range r.facts.Links {
			if r.list.Errors() == 0 && (l.ID == "" || l.Mode == "" || l.MatedPairs < 0 || l.Length.Sign() < 0) {
				t.Errorf("half a link: %+v", l)
			}
			if strings.ContainsFunc(l.ID, source.IsControlInName) {
				t.Errorf("link %q", l.ID)
			}
		}
	})
}

// FuzzInspections reads any bytes as inspections.csv.
func FuzzInspections(f *testing.F) {
	f.Add([]byte("link,end,criterion,edition,cleaning,result,person,time,photo\nA-11,B,IEC 61300-3-35,2022,before,fail,mo,2026-11-18 09:10,A-11-B.jpg\nA-11,B,IEC 61300-3-35,2022,after,pass,mo,2026-11-18 09:14,../x.png\n"))
	f.Add([]byte("link;end;criterion;edition;result\nA-11;C;x;y;z\n;;;;\n"))
	dir := f.TempDir()
	f.Fuzz(func(t *testing.T, raw []byte) {
		if err := os.WriteFile(filepath.Join(dir, inspection.File), raw, 0o644); err != nil {
			t.Fatal(err)
		}
		r := newReader()
		var err error
		if r.folder, err = folder.Open(dir, r.list); err != nil {
			t.Fatal(err)
		}
		defer r.folder.Close()
		r.index["A-11"] = 0
		r.facts.Links = []record.Link{{ID: "A-11", EndB: record.End{Text: "factory LC", Connector: "LC"}}}
		r.readInspections()
		if err := r.list.Write(io.Discard, nil); err != nil {
			t.Fatal(err)
		}
		for _, i := range r.facts.Inspections {
			if r.list.Errors() == 0 && (i.Link == "" || i.End == "" || i.Result == "" || i.Criterion == "" || i.Edition == "") {
				t.Errorf("half an inspection: %+v", i)
			}
		}
	})
}

// FuzzOriginals reads any bytes as originals.csv: whatever it names, nothing of the job's
// own and nothing outside of it is handed over.
func FuzzOriginals(f *testing.F) {
	f.Add([]byte("file,link,wavelength_nm,direction\ntraces/a.sor,A-11,1310,A-B\nsigner.p12,A-11,,\n../x/y,A-11,,\ntraces/../signer.p12,A-11,1310,x\n"))
	f.Add([]byte("file;link\ntraces/key.PEM;A-11\n;;\n"))
	dir := f.TempDir()
	if err := os.Mkdir(filepath.Join(dir, "traces"), 0o755); err != nil {
		f.Fatal(err)
	}
	for _, name := range []string{"traces/a.sor", "traces/key.PEM", "signer.p12", "job.yaml"} {
		if err := os.WriteFile(filepath.Join(dir, name), []byte(name), 0o644); err != nil {
			f.Fatal(err)
		}
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		if err := os.WriteFile(filepath.Join(dir, original.File), raw, 0o644); err != nil {
			t.Fatal(err)
		}
		r := newReader()
		var err error
		if r.folder, err = folder.Open(dir, r.list); err != nil {
			t.Fatal(err)
		}
		defer r.folder.Close()
		r.index["A-11"] = 0
		r.facts.Links = []record.Link{{ID: "A-11"}}
		r.readInstrumentFiles()
		if err := r.list.Write(io.Discard, nil); err != nil {
			t.Fatal(err)
		}
		for _, k := range r.facts.Kept {
			if k.Name != "traces/a.sor" {
				t.Errorf("%s is handed over", k.Name)
			}
		}
		for _, i := range r.facts.InstrumentFiles {
			if i.Link != "A-11" || i.SHA256 == "" {
				t.Errorf("half a file: %+v", i)
			}
		}
	})
}
