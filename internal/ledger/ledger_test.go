package ledger_test

import (
	"bytes"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/google/go-cmp/cmp"

	"spanseal/internal/diag"
	"spanseal/internal/golden"
	"spanseal/internal/jobfile"
	"spanseal/internal/ledger"
	"spanseal/internal/quantity"
	"spanseal/internal/record"
	"spanseal/internal/source"
)

// made are the columns of a table of what somebody made, with a number and a time.
var made = jobfile.Columns{Required: []string{"link", "kind"}, Optional: []string{"estimate_db", "finished"}}

// open opens a table of a job in the zone of Dublin.
func open(t testing.TB, name, text string, how jobfile.Schedule, columns *jobfile.Columns) (*ledger.Ledger, *diag.List) {
	t.Helper()
	zone, err := time.LoadLocation("Europe/Dublin")
	if err != nil {
		t.Fatal(err)
	}
	list := new(diag.List)
	job := ledger.Shared{List: list, Scheduled: "links.csv", Zone: zone, ZoneSaid: new(bool)}
	return ledger.Open(job, source.New(name, []byte(text)), &how, columns), list
}

// said are all problems as a person reads them.
func said(t testing.TB, list *diag.List) string {
	t.Helper()
	var b bytes.Buffer
	if err := list.WriteAll(&b, nil); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

// readAll reads every cell of a schedule, or of what somebody made, as package intake does.
func readAll(l *ledger.Ledger, schedule bool) (links []record.Link) {
	for o := range l.Rows() {
		if !schedule {
			l.Must("link", "the number of a link")
			l.Number("estimate_db")
			l.Time("finished")
			continue
		}
		for i := range l.Links("link") {
			l.Take(i)
			link := record.Link{ID: l.Must("link", "its number on the drawings"), From: l.Text("from"), To: l.Text("to"), Cable: l.Text("cable"), Strand: l.Text("strand"), Origin: o}
			l.Fibre(&link)
			l.Length(&link)
			link.MatedPairs, link.Splices = l.Count("mated_pairs"), l.Count("splices")
			link.EndA, link.EndB = l.End("end_a"), l.End("end_b")
			link.Splitters = l.Splitters()
			link.Names = l.Receivers()
			links = append(links, link)
		}
	}
	return links
}

const heading = "link,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b"

// TestOpen: which row is the heading, what parts the cells, and what a column is called.
func TestOpen(t *testing.T) {
	semicolons := strings.ReplaceAll(heading, ",", ";")
	for _, c := range []struct {
		name, text string
		how        jobfile.Schedule
		from, to   string // of the first row
		row        int
		length     string
	}{
		{"commas", heading + "\nL-1,a,b,OS2,312.5,2,0,none,none\n", jobfile.Schedule{}, "a", "b", 2, "312.5 m"},
		{"semicolons and a decimal comma", semicolons + "\nL-1;a;b;OS2;312,5;2;0;none;none\n", jobfile.Schedule{}, "a", "b", 2, "312.5 m"},
		{"semicolons and a decimal point in some row", semicolons + "\nL-1;a;b;OS2;312;2;0;none;none\nL-2;a;b;OS2;312.5;2;0;none;none\n", jobfile.Schedule{}, "a", "b", 2, "312 m"},
		{"tabs", strings.ReplaceAll(heading, ",", "\t") + "\nL-1\ta\tb\tOS2\t312\t2\t0\tnone\tnone\n", jobfile.Schedule{}, "a", "b", 2, "312 m"},
		{"a byte order mark", "\ufeff" + heading + "\nL-1,a,b,OS2,312,2,0,none,none\n", jobfile.Schedule{}, "a", "b", 2, "312 m"},
		{"blank rows, above and between", "\n\n" + heading + "\n\nL-1,a,b,OS2,312,2,0,none,none\n", jobfile.Schedule{}, "a", "b", 5, "312 m"},
		{"capitals and other order", "To,From,LINK,Fibre,Length_m,mated_pairs,splices,end_a,end_b\nb,a,L-1,OS2,312,2,0,none,none\n", jobfile.Schedule{}, "a", "b", 2, "312 m"},
		{"a title above, of a schedule that job.yaml tells of", "Port Ansel,,,,,,,,\n" + heading + "\nL-1,a,b,OS2,312,2,0,none,none\n", jobfile.Schedule{Own: true}, "a", "b", 3, "312 m"},
		{"a heading by its line", "link,from\n" + heading + "\nL-1,a,b,OS2,312,2,0,none,none\n", jobfile.Schedule{Own: true, HeaderLine: 2}, "a", "b", 3, "312 m"},
		{"columns of other names", "Fibre no,Near,Far,fibre,length_m,mated_pairs,splices,end_a,end_b\nL-1,a,b,OS2,312,2,0,none,none\n",
			jobfile.Schedule{Own: true, Columns: map[string]string{"fibre_no": "link", "near": "from", "far": "to"}}, "a", "b", 2, "312 m"},
		{"kilometres", "link,from,to,fibre,length_km,mated_pairs,splices,end_a,end_b\nL-1,a,b,OS2,0.3125,2,0,none,none\n", jobfile.Schedule{}, "a", "b", 2, "0.3125 km"},
		{"the finer of two lengths", heading + ",length_km\nL-1,a,b,OS2,312,2,0,none,none,0.31240\n", jobfile.Schedule{}, "a", "b", 2, "0.31240 km"},
		{"two lengths as good as each other", heading + ",length_km\nL-1,a,b,OS2,312,2,0,none,none,0.312\n", jobfile.Schedule{}, "a", "b", 2, "312 m"},
	} {
		t.Run(c.name, func(t *testing.T) {
			l, list := open(t, "links.csv", c.text, c.how, &jobfile.ScheduleColumns)
			if l == nil || list.Len() > 0 {
				t.Fatalf("refused or noted:\n%s", said(t, list))
			}
			links := readAll(l, true)
			if list.Len() > 0 || len(links) == 0 {
				t.Fatalf("%d links:\n%s", len(links), said(t, list))
			}
			got := links[0]
			if got.ID != "L-1" || got.From != c.from || got.To != c.to || got.Origin.Row != c.row || got.LengthText != c.length || got.MatedPairs != 2 || got.Mode != record.Singlemode {
				t.Errorf("read %+v", got)
			}
		})
	}
}

// TestLengths: feet are metres by the international foot, 0.3048 m exactly (NIST SP 811,
// B.8; recalled).
func TestLengths(t *testing.T) {
	for unit, want := range map[string]string{"m": "1000", "km": "1000000", "ft": "304.8", "kft": "304800"} {
		l, list := open(t, "links.csv", strings.Replace(heading, "length_m", "length_"+unit, 1)+"\nL-1,a,b,OS2,1000,2,0,none,none\n", jobfile.Schedule{}, &jobfile.ScheduleColumns)
		if l == nil {
			t.Fatal(said(t, list))
		}
		if links := readAll(l, true); list.Len() > 0 || !links[0].Length.Equal(quantity.Must(want)) {
			t.Errorf("1000 %s is %s m, want %s: %s", unit, links[0].Length, want, said(t, list))
		}
	}
}

// TestCells: what the methods make of a cell that is well.
func TestCells(t *testing.T) {
	l, list := open(t, "links.csv", heading+",splitters,latitude,longitude,label,notes,Duct,Duct,witness\n"+
		`L-1,a,b,G.657.A1,0,0,1000,spliced-on LC/UPC,pigtail sc/APC,1:4 + 2x32,"-53,3498",6.25,W-1,"two
lines",D1,D2,E. Brandt`+"\n", jobfile.Schedule{}, &jobfile.ScheduleColumns)
	if l == nil {
		t.Fatal(said(t, list))
	}
	links := readAll(l, true)
	if list.Len() > 0 || len(links) != 1 {
		t.Fatal(said(t, list))
	}
	got := links[0]
	if got.Fibre != "G.657.A1" || got.Mode != record.Singlemode || got.Splices != 1000 || got.Length.Sign() != 0 {
		t.Errorf("%+v", got)
	}
	if diff := cmp.Diff([]record.End{{Text: "spliced-on LC/UPC", SplicedOn: true, Connector: "LC", Polish: "UPC"}, {Text: "pigtail sc/APC", SplicedOn: true, Connector: "SC", Polish: "APC"}},
		[]record.End{got.EndA, got.EndB}); diff != "" {
		t.Error(diff)
	}
	if !slices.Equal(got.Splitters, []int{4, 32}) {
		t.Errorf("splitters %v", got.Splitters)
	}
	n := got.Names
	if n == nil || n.Label != "W-1" || n.Latitude.String() != "-53.3498" || n.Longitude.String() != "6.25" || n.Notes != "two lines" {
		t.Fatalf("names %+v", n)
	}
	// Two further columns under one heading are told apart; witness is ours.
	if diff := cmp.Diff(record.Further{{Key: "Duct", Text: "D1"}, {Key: "Duct (2)", Text: "D2"}}, n.Further); diff != "" {
		t.Error(diff)
	}
	if l.RowWord() != "line" || ledger.Noun("length_km") != "length" || ledger.Noun("mated_pairs") != "mated pairs" {
		t.Errorf("%s, %s, %s", l.RowWord(), ledger.Noun("length_km"), ledger.Noun("mated_pairs"))
	}

	l, list = open(t, "links.csv", heading+"\nL-1,a,b,OM4,10,0,0,none,none\n", jobfile.Schedule{}, &jobfile.ScheduleColumns)
	if links := readAll(l, true); list.Len() > 0 || links[0].Names != nil || links[0].Mode != record.Multimode || links[0].EndA.Text != "none" || links[0].Splitters != nil {
		t.Errorf("%+v\n%s", links, said(t, list))
	}
}

// TestTimes: a time without an offset is of the zone of the job; without a zone it is
// asked for once in a job, and no time is made up.
func TestTimes(t *testing.T) {
	const text = "link,kind,finished\nL-1,splice,2026-11-18 09:32\nL-2,splice,2026-07-18 09:32\nL-3,splice,2026-07-18 09:32 +02:00\nL-4,splice,\n"
	times := func(l *ledger.Ledger) (all []string) {
		for range l.Rows() {
			at := l.Time("finished")
			if at.IsZero() {
				all = append(all, "")
				continue
			}
			all = append(all, at.UTC().Format("2006-01-02 15:04"))
		}
		return all
	}
	l, list := open(t, "made.csv", text, jobfile.Schedule{}, &made)
	// Ireland is an hour ahead in summer (IANA time zone database).
	if got := times(l); list.Len() > 0 || !slices.Equal(got, []string{"2026-11-18 09:32", "2026-07-18 08:32", "2026-07-18 07:32", ""}) {
		t.Errorf("%q\n%s", got, said(t, list))
	}
	list = new(diag.List)
	job := ledger.Shared{List: list, ZoneSaid: new(bool)}
	if got := times(ledger.Open(job, source.New("made.csv", []byte(text)), &jobfile.Schedule{}, &made)); !slices.Equal(got, []string{"", "", "2026-07-18 07:32", ""}) {
		t.Errorf("without a zone: %q", got)
	}
	if p := list.Sorted(); len(p) != 1 || p[0].Place.Line != 2 || p[0].Want != "the job does not say of which zone" {
		t.Errorf("without a zone: %s", said(t, list))
	}
}

// TestSeries: a row stands for as many links as its name counts; cells that count say
// what they say of each, all others the same of all.
func TestSeries(t *testing.T) {
	const text = heading + ",strand,label,trunk\nK1-8..K1-10,panel R1 port 1..3,wall,OS2,312,2,0,none,none,8..10,W..,T\n"
	l, list := open(t, "links.csv", text, jobfile.Schedule{}, &jobfile.ScheduleColumns)
	var got []string
	for _, link := range readAll(l, true) {
		got = append(got, strings.Join([]string{link.ID, link.From, link.To, link.Strand, link.Names.Label}, "|"))
	}
	want := []string{"K1-8|panel R1 port 1|wall|8|W..", "K1-9|panel R1 port 2|wall|9|W..", "K1-10|panel R1 port 3|wall|10|W.."}
	if diff := cmp.Diff(want, got); diff != "" || list.Len() > 0 {
		t.Errorf("%s\n%s", diff, said(t, list))
	}
	l, list = open(t, "links.csv", text, jobfile.Schedule{NoSeries: true}, &jobfile.ScheduleColumns)
	if links := readAll(l, true); len(links) != 1 || links[0].ID != "K1-8..K1-10" || links[0].From != "panel R1 port 1..3" || list.Len() > 0 {
		t.Errorf("not a series: %+v\n%s", links, said(t, list))
	}
	// A note on a cell of the row is said of the first link alone.
	long := strings.Repeat("n", 1001)
	l, list = open(t, "links.csv", heading+",notes\nK1..K3,a,b,OS2,312,2,0,none,none,"+long+"\n", jobfile.Schedule{}, &jobfile.ScheduleColumns)
	links := readAll(l, true)
	if len(links) != 3 || list.Count(diag.Note) != 1 || len(links[2].Names.Notes) != 1000 {
		t.Errorf("%d links, %s", len(links), said(t, list))
	}
}

// TestHopeless: after so many faults the rest of a file is not read, and that is said.
func TestHopeless(t *testing.T) {
	text := "link,kind,estimate_db\n" + strings.Repeat("L-1,splice,x\n", 20_001)
	l, list := open(t, "made.csv", text, jobfile.Schedule{}, &made)
	rows := 0
	for range l.Rows() {
		rows++
		l.Number("estimate_db")
	}
	if rows != 20_000 || l.Faults() != 20_000 || !l.Hopeless() {
		t.Errorf("%d rows, %d faults", rows, l.Faults())
	}
	if all := list.Sorted(); !slices.ContainsFunc(all, func(p diag.Problem) bool {
		return p.Code == "too-many-faults" && strings.HasSuffix(p.Message, "what stands from line 20002 on is not read")
	}) {
		t.Errorf("not said: %v", all[len(all)-1])
	}
}

// TestRefused holds what is said of each file of testdata/err, to the letter.
func TestRefused(t *testing.T) {
	files, err := filepath.Glob("testdata/err/*.csv")
	if err != nil || len(files) == 0 {
		t.Fatal("no files", err)
	}
	for _, file := range files {
		name := filepath.Base(file)
		t.Run(name, func(t *testing.T) {
			raw, err := os.ReadFile(file)
			if err != nil {
				t.Fatal(err)
			}
			schedule := !strings.HasPrefix(name, "made-")
			columns := &jobfile.ScheduleColumns
			if !schedule {
				columns = &made
			}
			l, list := open(t, "links.csv", string(raw), jobfile.Schedule{}, columns)
			if l != nil {
				readAll(l, schedule)
			}
			if list.Len() == 0 || l == nil && list.Errors() == 0 {
				t.Error("nothing is said of it")
			}
			golden.Compare(t, strings.TrimSuffix(file, ".csv")+".txt", said(t, list))
		})
	}
}

// FuzzRead: whatever the bytes are, a table is read or refused, rows come in order, and
// whatever stops a cell is said at a place of the file.
func FuzzRead(f *testing.F) {
	files, _ := filepath.Glob("testdata/err/*.csv")
	for _, name := range files {
		if raw, err := os.ReadFile(name); err == nil {
			f.Add(string(raw))
		}
	}
	f.Add(heading + "\nL-1,a,b,OS2,312.5,2,0,factory LC,none\n")
	f.Add("link;kind;estimate_db;finished\nL-1;splice;0,03;2026-11-18 09:32\n")
	f.Fuzz(func(t *testing.T, text string) {
		for _, columns := range []*jobfile.Columns{&jobfile.ScheduleColumns, &made} {
			l, list := open(t, "links.csv", text, jobfile.Schedule{}, columns)
			if l == nil {
				if list.Errors() == 0 {
					t.Fatal("refused without a word")
				}
				continue
			}
			last := 0
			for _, link := range readAll(l, columns != &made) {
				if link.Origin.Row < last {
					t.Fatalf("row %d after %d", link.Origin.Row, last)
				}
				last = link.Origin.Row
				if link.LengthText == "" && list.Errors() == 0 {
					t.Fatalf("row %d has no length, and nothing is said", last)
				}
			}
			for _, p := range list.Sorted() {
				if p.Place.File != "links.csv" || p.Message == "" || strings.Contains(p.Message, "\n") {
					t.Fatalf("%s: %q", p.Place, p.Message)
				}
			}
		}
	})
}
