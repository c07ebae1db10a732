package cli_test

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/cli"
)

// fillIn replaces texts in a file, each of which must stand there once.
func fillIn(t *testing.T, file string, changes ...[2]string) {
	t.Helper()
	b, err := os.ReadFile(file)
	if err != nil {
		t.Fatal(err)
	}
	text := string(b)
	for _, c := range changes {
		if strings.Count(text, c[0]) != 1 {
			t.Fatalf("%s holds %q %d times\n%s", filepath.Base(file), c[0], strings.Count(text, c[0]), text)
		}
		text = strings.Replace(text, c[0], c[1], 1)
	}
	if err := os.WriteFile(file, []byte(text), 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestFromExportsToSigned starts with nothing but two exports, of which LibreOffice wrote
// one, says what the list of new asks and no more, and ends with a verified set.
func TestFromExportsToSigned(t *testing.T) {
	at := t.TempDir()
	var rows strings.Builder
	rows.WriteString("Strand;Wavelength (nm);Direction;Loss (dB);Operator;Meter;Source;Date;Time\r\n")
	minute := 0
	for n := 1; n <= 12; n++ {
		for _, nm := range []int{1310, 1550} {
			for _, way := range []string{"A-B", "B-A"} {
				minute += 2
				fmt.Fprintf(&rows, "K1-%02d;%d;%s;0,%d;M. Osei;PM-9;LS-4;18.11.2026;%02d:%02d\r\n", n, nm, way, 700-nm/5+minute*37%83, 8+minute/60, minute%60)
			}
		}
	}
	day1 := filepath.Join(at, "day1.csv")
	if err := os.WriteFile(day1, []byte(rows.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	dir := filepath.Join(at, "job")
	said := must(t, cli.ExitOK, "new", dir, "--from", day1, "--from", "../../testdata/intake/office/panel.xlsx")
	_, said, _ = strings.Cut(said, "\n\n")
	const list = `still to say, in this order
  1  job.yaml   job: number, title, site, customer, contractor, time_zone
  2  job.yaml   people: the name of mo; sign: who signs
  3  job.yaml   instruments: kind, serial, calibrated and due of PM-9, LS-4, TS-2
  4  job.yaml   judge: limits, reference and test_cords, as agreed; see: spanseal limits list
  5  links.csv  from, to, length_m, mated_pairs, splices, end_a, end_b; see: spanseal help job-folder
  6  links.csv  fibre: line 2 single-mode (1310, 1550 nm): OS2, OS1a, OS1 or G.652.D; line 3 multimode (850, 1300 nm): OM1 to OM5
  7  links.csv  check whether this is right: cable and strand are from the names; length_m is the least that was measured; places are from "From", "To"

`
	if got, _, _ := strings.Cut(said, "next\n"); got != list {
		t.Fatalf("(-want +got)\n%s", cmp.Diff(list, got))
	}
	const dates = "calibrated: 2026-03-03, due: 2027-03-03"
	fillIn(t, filepath.Join(dir, "job.yaml"),
		[2]string{"\n  number:  ", "\n  number: QO-2026-011"}, [2]string{"\n  title:  ", "\n  title: Quay office, two cables"},
		[2]string{"site: {name: , address: }", `site: {name: Quay Office, address: "3 Quay Row"}`}, [2]string{"customer: {name: }", "customer: {name: Harbour Board}"},
		[2]string{"contractor: {name: , address: }", `contractor: {name: Tidewater Fibre Works, address: "4 Slipway Lane"}`}, [2]string{"\n  time_zone:  ", "\n  time_zone: Europe/Dublin"},
		[2]string{"{id: mo, name: }", "{id: mo, name: M. Okafor}"}, [2]string{"as: }", "as: mo}"},
		[2]string{"id: PM-9, kind: power meter, serial: , calibrated: , due: ", "id: PM-9, kind: power meter, serial: 22803, " + dates},
		[2]string{"id: LS-4, kind: light source, serial: , calibrated: , due: ", "id: LS-4, kind: light source, serial: 40117, " + dates},
		[2]string{"id: TS-2, kind: , serial: , calibrated: , due: ", "id: TS-2, kind: test set, serial: 90310, " + dates},
		[2]string{"\n  limits:  ", "\n  limits: [tia-568.3-e]"}, [2]string{"\n  reference:  ", "\n  reference: one-cord"}, [2]string{"\n  test_cords:  ", "\n  test_cords: standard"})
	fillIn(t, filepath.Join(dir, "links.csv"),
		[2]string{"K1-01..K1-12,K1,1..12,,,,,,,,", "K1-01..K1-12,K1,1..12,plant room,roof,OS2,412,2,0,spliced-on LC/UPC,spliced-on LC/UPC"},
		[2]string{"M2-1..M2-6,M2,1..6,R1/01..R1/06,C4/01..C4/06,,61,,,,", "M2-1..M2-6,M2,1..6,R1/01..R1/06,C4/01..C4/06,OM4,61,2,0,factory LC,factory LC"})
	must(t, cli.ExitOK, "check", dir)
	key := filepath.Join(dir, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "M. Okafor")
	must(t, cli.ExitOK, "issue", dir)
	must(t, cli.ExitOK, "verify", filepath.Join(dir, "issued", "r1"), "--trust", certificatePath(key))

	// Each link of a series stands in the results for itself, in its order.
	b, err := os.ReadFile(filepath.Join(dir, "issued", "r1", "results.json"))
	if err != nil {
		t.Fatal(err)
	}
	var results struct {
		Links []struct {
			Link     string
			Schedule struct{ Strand, From string }
		}
	}
	if err := json.Unmarshal(b, &results); err != nil {
		t.Fatal(err)
	}
	var got, want []string
	for _, l := range results.Links {
		got = append(got, fmt.Sprint(l.Link, " ", l.Schedule.Strand, " ", l.Schedule.From))
	}
	for n := range 12 {
		want = append(want, fmt.Sprintf("K1-%02d %d plant room", n+1, n+1))
	}
	for n := range 6 {
		want = append(want, fmt.Sprintf("M2-%d %d R1/%02d", n+1, n+1, n+1))
	}
	if !slices.Equal(got, want) {
		t.Errorf("results (-want +got)\n%s", cmp.Diff(want, got))
	}

	// Written out row by row the schedule is the same: nothing changed between revisions.
	var out strings.Builder
	out.WriteString("link,cable,strand,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b\n")
	for n := 1; n <= 12; n++ {
		fmt.Fprintf(&out, "K1-%02d,K1,%d,plant room,roof,OS2,412,2,0,spliced-on LC/UPC,spliced-on LC/UPC\n", n, n)
	}
	for n := 1; n <= 6; n++ {
		fmt.Fprintf(&out, "M2-%d,M2,%d,R1/%02d,C4/%02d,OM4,61,2,0,factory LC,factory LC\n", n, n, n, n)
	}
	if err := os.WriteFile(filepath.Join(dir, "links.csv"), []byte(out.String()), 0o644); err != nil {
		t.Fatal(err)
	}
	if again := must(t, cli.ExitOK, "issue", dir, "--reason", "rows written out"); !strings.Contains(again, "Nothing printed or recorded has changed.") {
		t.Error(again)
	}
}
