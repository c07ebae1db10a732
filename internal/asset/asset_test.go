package asset_test

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"spanseal/internal/asset"
	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/outside"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/testset"
)

// registered is the library whose links have ids of a register and coordinates, all but
// the last two.
func registered() *record.Facts {
	f := testset.Library()
	for i := range f.Links[:len(f.Links)-2] {
		east, north := quantity.Must("-6.2603100"), quantity.Must("53.34"+string(rune('0'+i%10))+"0")
		f.Links[i].Names = &record.Names{Asset: "PA-" + f.Links[i].ID, Longitude: &east, Latitude: &north}
	}
	return f
}

func export(t *testing.T, f *record.Facts) (*certify.PaperSet, *asset.Export) {
	t.Helper()
	set := testset.New(t, f, testset.NewSettings())
	return set, &asset.Export{Writer: set.Writer, By: "office@tidewater.example"}
}

func made(t *testing.T, e *asset.Export, format string) []byte {
	t.Helper()
	data, problems, err := e.Make(format)
	if err != nil || problems.Errors() > 0 {
		t.Fatalf("%v, %v", err, problems.Sorted())
	}
	again, _, err := e.Make(format)
	if err != nil || !bytes.Equal(data, again) {
		t.Errorf("the same job gives other bytes, %v", err)
	}
	return data
}

func codes(problems *diag.List) (all []string) {
	for _, p := range problems.Sorted() {
		all = append(all, p.Severity.String()+" "+p.Code)
	}
	return all
}

// geoJSONRules are rules of RFC 7946, each with its section, in another language. Numbers
// stay the texts that they are in the file.
const geoJSONRules = `
import json, sys
def once(pairs):
    keys = [k for k, _ in pairs]
    assert len(keys) == len(set(keys)), keys # RFC 8259, 4: names should be unique
    return dict(pairs)
text = sys.stdin.buffer.read().decode("utf-8") # 11: UTF-8, without a byte order mark (RFC 8259, 8.1)
assert not text.startswith("\ufeff")
all = json.loads(text, parse_float=str, parse_int=str, parse_constant=lambda c: sys.exit(c), object_pairs_hook=once)
assert all["type"] == "FeatureCollection" and isinstance(all["features"], list) # 3.3
assert "crs" not in all # 4: the system of coordinates is WGS 84 and not named
assert not {"coordinates", "geometries", "geometry", "properties"} & set(all) # 7.1
ids = set()
for f in all["features"]:
    assert f["type"] == "Feature" and "geometry" in f and isinstance(f["properties"], dict) # 3.2
    assert not {"coordinates", "geometries", "features"} & set(f) # 7.1
    assert isinstance(f["id"], str) and f["id"] not in ids # 3.2: a string or number
    ids.add(f["id"])
    g = f["geometry"]
    assert g["type"] == "Point" and len(g["coordinates"]) == 2 # 3.1.2, 3.1.1
    east, north = map(float, g["coordinates"])
    assert -180 <= east <= 180 and -90 <= north <= 90 # 4: degrees
    assert g["coordinates"] == [f["properties"]["longitude"], f["properties"]["latitude"]] # 3.1.1: longitude first
    print(f["id"], *g["coordinates"], f["properties"].get("loss_db_1310_A-B", f["properties"].get("loss_db_850_A-B", "-")), sep="\t")
`

// TestGeoJSON has another program hold the map against the rules of RFC 7946, and the
// digits that it reads against the record.
func TestGeoJSON(t *testing.T) {
	f := registered()
	_, e := export(t, f)
	data := made(t, e, "geojson")
	check := exec.Command(outside.Program(t, "python3"), "-c", geoJSONRules)
	check.Stdin = bytes.NewReader(data)
	got, err := check.CombinedOutput()
	if err != nil {
		t.Fatalf("%v: %s", err, got)
	}
	var want strings.Builder
	for i, l := range f.Links[:len(f.Links)-2] {
		loss := "-"
		for _, r := range f.Readings {
			if r.Link == l.ID && r.Direction == record.AB && (r.WavelengthNM == 1310 || r.WavelengthNM == 850) {
				loss = r.Value.String()
			}
		}
		want.WriteString(strings.Join([]string{"BL-2026-031/" + l.ID, "-6.2603100", "53.34" + string(rune('0'+i%10)) + "0", loss}, "\t") + "\n")
	}
	if string(got) != want.String() {
		t.Errorf("got\n%s\nwant\n%s", got, want.String())
	}
}

// TestTable holds the table against results.csv: the same verdict and losses under the id
// of the register.
func TestTable(t *testing.T) {
	f := registered()
	set, e := export(t, f)
	rows := func(data []byte, err error) (all []map[string]string) {
		t.Helper()
		cells, broken := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil || broken != nil {
			t.Fatal(err, broken)
		}
		for _, row := range cells[1:] {
			line := map[string]string{}
			for i, text := range row {
				line[cells[0][i]] = text
			}
			all = append(all, line)
		}
		return all
	}
	table := map[string]map[string]string{}
	for _, line := range rows(made(t, e, "assets"), nil) {
		table[line["asset"]] = line
	}
	if len(table) != len(f.Links)-2 {
		t.Errorf("%d assets of %d", len(table), len(f.Links)-2)
	}
	losses := 0
	for _, line := range rows(set.ResultsCSV()) {
		got := table[line["asset"]]
		if line["asset"] == "" || line["kind"] != "limit" || line["quantity"] != "insertion_loss" {
			continue
		}
		losses++
		if key := "loss_db_" + line["wavelength_nm"] + "_" + line["direction"]; got[key] != line["measured"] || got["verdict"] != line["link_verdict"] || got["certificate"] != line["certificate"] {
			t.Errorf("%s: %s is %q, results.csv has %v", line["asset"], key, got[key], line)
		}
	}
	if losses < 80 {
		t.Errorf("only %d losses were compared", losses)
	}
}

// TestMembers: what the schedule brings along neither takes the place of a result nor
// passes for one.
func TestMembers(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(*record.Facts)
		want   map[string]any
	}{
		{"a bound", func(f *record.Facts) { f.Readings[0].Shown = "<0.05" }, map[string]any{"loss_db_1310_A-B": "<0.05"}},
		{"a column that is called as ours", func(f *record.Facts) {
			f.Links[0].Further = record.Further{{Key: "verdict", Text: "=fine"}, {Key: "label", Text: "x"}, {Key: "loss_db_1310_A-B", Text: "0.01"}, {Key: "loss_db_1625_A-B", Text: "0.01"}}
		}, map[string]any{"verdict": "pass", "verdict (schedule)": "=fine", "label (schedule)": "x", "loss_db_1310_A-B (schedule)": "0.01", "loss_db_1625_A-B (schedule)": "0.01"}},
		{"names that receivers use", func(f *record.Facts) { f.Links[0].Room, f.Links[0].Tray = "R1", "3" }, map[string]any{"room": "R1", "tray": "3"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := registered()
			c.change(f)
			_, e := export(t, f)
			var got struct {
				Features []struct{ Properties map[string]any }
			}
			if err := json.Unmarshal(made(t, e, "geojson"), &got); err != nil {
				t.Fatal(err)
			}
			cells, err := csv.NewReader(bytes.NewReader(made(t, e, "assets"))).ReadAll()
			if err != nil {
				t.Fatal(err)
			}
			for key, want := range c.want {
				if is := got.Features[0].Properties[key]; is != want {
					t.Errorf("GeoJSON: %s is %v, want %v", key, is, want)
				}
				at := slices.Index(cells[0], key)
				if at < 0 || strings.TrimPrefix(cells[1][at], "'") != want {
					t.Errorf("the table: %s is not %v: %q", key, want, cells[1])
				}
			}
		})
	}
}

// TestLeftOut: nothing is left out in silence, and no two lines have one key.
func TestLeftOut(t *testing.T) {
	for _, c := range []struct {
		name, format string
		change       func(*record.Facts)
		want         []string
	}{
		{"all have ids", "assets", func(f *record.Facts) { f.Links = f.Links[:5] }, nil},
		{"some have none", "assets", func(*record.Facts) {}, []string{"note no-asset"}},
		{"none has one", "assets", func(f *record.Facts) { f.Links = f.Links[len(f.Links)-2:] }, []string{"error no-asset"}},
		{"two have one", "assets", func(f *record.Facts) { f.Links[1].Asset = f.Links[0].Asset }, []string{"error asset-twice", "note no-asset"}},
		{"two on a map have one", "geojson", func(f *record.Facts) { f.Links[1].Asset = f.Links[0].Asset }, []string{"note no-coordinates"}},
		{"none is on a map", "geojson", func(f *record.Facts) { f.Links = f.Links[len(f.Links)-2:] }, []string{"error no-coordinates"}},
		{"no papers", "cobie", func(f *record.Facts) { f.Links = f.Links[:5] }, []string{"error nothing-issued"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := registered()
			c.change(f)
			there := map[string]bool{}
			for _, l := range f.Links {
				there[l.ID] = true
			}
			f.Readings = slices.DeleteFunc(f.Readings, func(r record.Reading) bool { return !there[r.Link] })
			f.Terminations = slices.DeleteFunc(f.Terminations, func(x record.Termination) bool { return !there[x.Link] })
			_, e := export(t, f)
			data, problems, err := e.Make(c.format)
			if got := codes(problems); !slices.Equal(got, c.want) || err != nil {
				t.Errorf("%q, %v, want %q", got, err, c.want)
			}
			if (data == nil) != (problems.Errors() > 0) {
				t.Errorf("%d bytes with %d errors", len(data), problems.Errors())
			}
		})
	}
}

// issued writes what an export reads of a revision.
func issued(t *testing.T, set *certify.PaperSet, change func(files []string) []string) string {
	t.Helper()
	dir := t.TempDir()
	results, err := set.ResultsJSON()
	if err != nil {
		t.Fatal(err)
	}
	var files []string
	for _, l := range set.Judgement.Results() {
		files = append(files, set.PathOf(l))
		if len(l.Superseded) > 0 {
			files = append(files, set.SupersededPath(l))
		}
	}
	m := seal.Manifest{Job: set.Facts.Job.Number, Revision: 1, Issued: "2026-11-25T16:00:00+01:00", Files: []seal.ManifestFile{seal.NewManifestFile("results.json", results)}}
	for _, name := range change(files) {
		m.Files = append(m.Files, seal.NewManifestFile(name, []byte(name)))
	}
	manifest, err := m.Encode()
	if err == nil {
		err = os.Mkdir(filepath.Join(dir, "r1"), 0o755)
	}
	for name, data := range map[string][]byte{"results.json": results, "manifest.json": manifest} {
		if err == nil {
			err = os.WriteFile(filepath.Join(dir, "r1", name), data, 0o644)
		}
	}
	if err != nil {
		t.Fatal(err)
	}
	return dir
}

func asIs(files []string) []string { return files }

// TestCOBie has an office suite read the workbook, and holds what it reads against the
// columns of the sheets (COBie 2.4, as NBIMS-US V3 and BS 1192-4:2014 have it; recalled)
// and against the record.
func TestCOBie(t *testing.T) {
	f := registered()
	f.Links[0].Names.Asset = "=1+1" // a text, whatever it begins with
	older := f.Readings[4]          // of A-02, measured again
	older.Value, older.Fate, older.Time = quantity.Must("3.10"), record.Superseded, older.Time.Add(-3600e9)
	f.Readings = append(f.Readings, older)
	set, e := export(t, f)
	e.Issued, e.Latest = issued(t, set, asIs), 1
	dir := t.TempDir()
	book := filepath.Join(dir, "handover.xlsx")
	if err := os.WriteFile(book, made(t, e, "cobie"), 0o644); err != nil {
		t.Fatal(err)
	}
	// Commas, quotes, UTF-8, as shown, every sheet in a file of its own.
	cmd := exec.Command(outside.Program(t, "soffice"), "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")), "--headless",
		"--convert-to", "csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,-1", "--outdir", dir, book)
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	read := func(sheet string) (all []string) {
		data, err := os.ReadFile(filepath.Join(dir, "handover-"+sheet+".csv"))
		if err != nil {
			t.Fatal(err)
		}
		rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
		if err != nil {
			t.Fatal(err)
		}
		for _, row := range rows {
			all = append(all, strings.Join(row, "|"))
		}
		return all
	}
	sum := func(name string) string { return seal.NewManifestFile(name, []byte(name)).SHA256 }
	documents, attributes := read("Document"), read("Attribute")
	const by = "|office@tidewater.example|2026-11-25T16:00:00|"
	for _, c := range []struct {
		name, want string
		in         []string
		at         int // -1: anywhere
	}{
		{"columns of Document", "Name|CreatedBy|CreatedOn|Category|ApprovalBy|Stage|SheetName|RowName|Directory|File|ExtSystem|ExtObject|ExtIdentifier|Description|Reference", documents, 0},
		{"columns of Attribute", "Name|CreatedBy|CreatedOn|Category|SheetName|RowName|Value|Unit|ExtSystem|ExtObject|ExtIdentifier|Description|AllowedValues", attributes, 0},
		{"a certificate", "BL-2026-031/A-01 r1" + by + "Test Reports|Contractor Certified|As Built|Component|=1+1|r1/certificates|A-01.pdf|spanseal|certificate|" + sum("certificates/A-01.pdf") + "|certificate of link A-01: pass|BL-2026-031/A-01", documents, 1},
		{"readings that were replaced", "BL-2026-031/A-02 r1 superseded readings" + by + "Test Reports|Information Only|As Built|Component|PA-A-02|r1/superseded|A-02.pdf|spanseal|superseded readings|" + sum("superseded/A-02.pdf") + "|readings of link A-02 that later ones replaced|n/a", documents, 3},
		{"a nonconformance sheet", "BL-2026-031/A-07 r1 nonconformance sheet" + by + "Test Reports|Information Only|As Built|Component|PA-A-07|r1/nonconformance|A-07.pdf|spanseal|nonconformance sheet|" + sum("nonconformance/A-07.pdf") + "|nonconformance sheet of link A-07: fail|n/a", documents, -1},
		{"a verdict", "Optical test verdict" + by + "As Built|Component|PA-A-07|fail|n/a|spanseal|link|BL-2026-031/A-07|verdict of link A-07 against its limits|pass, marginal, fail, incomplete", attributes, -1},
		{"a loss", "Insertion loss 1550 nm A-B" + by + "As Built|Component|PA-A-07|2.61|dB|spanseal|link|BL-2026-031/A-07|measured loss of the link|n/a", attributes, -1},
	} {
		if c.at >= 0 && c.in[c.at] != c.want || !slices.Contains(c.in, c.want) {
			t.Errorf("%s: no row\n%s\nin\n%s", c.name, c.want, strings.Join(c.in, "\n"))
		}
	}
	if want := len(f.Links) - 2 + 1 + 1; len(documents) != want { // each link, one that was measured again, the columns
		t.Errorf("%d rows of documents, want %d", len(documents), want)
	}
}

// TestPapersThatAreNotThere: a paper is listed only if the revision has it, and says what
// the job says now.
func TestPapersThatAreNotThere(t *testing.T) {
	f := registered()
	set, e := export(t, f)
	e.Latest = 1
	for _, c := range []struct {
		name   string
		issued func(t *testing.T) string
		want   []string
	}{
		{"as it is", func(t *testing.T) string { return issued(t, set, asIs) }, []string{"note no-asset"}},
		{"a paper that no manifest lists", func(t *testing.T) string {
			return issued(t, set, func(files []string) []string { return files[1:] })
		}, []string{"error revision-damaged", "note no-asset"}},
		{"a verdict that differs", func(t *testing.T) string {
			other := registered()
			other.Readings[0].Value = quantity.Must("9.99")
			return issued(t, testset.New(t, other, testset.NewSettings()), asIs)
		}, []string{"error changed-since-issue", "note no-asset"}},
		{"no revision", func(t *testing.T) string { return t.TempDir() }, []string{"error revision-damaged", "note no-asset"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			e.Issued = c.issued(t)
			if _, problems, err := e.Make("cobie"); err != nil || !slices.Equal(codes(problems), c.want) {
				t.Errorf("%q, %v, want %q", codes(problems), err, c.want)
			}
		})
	}
}
