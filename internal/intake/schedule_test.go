package intake

import (
	"encoding/json"
	"os"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"
)

// TestSchedule holds what the columns of links.csv become.
func TestSchedule(t *testing.T) {
	dir := t.TempDir()
	picture, err := os.ReadFile("../page/testdata/grey.jpg")
	if err != nil {
		t.Fatal(err)
	}
	layOut(t, dir, []txtar.File{
		{Name: "links.csv", Data: lines(
			"Link;Cable;Tube;Strand;From;To;Fibre;Length_km;Mated pairs;Splices;End A;End B;Applications;Limits;Pair;Polarity;Exempt;Stage;Colour;Latitude;Longitude;Rack unit",
			"A-11;C1;3;34;R1;C1;itu-t g.652.d;1,2500;2;1;pigtail SC/APC;none;\"10gbase-lr; 1000base-lx|x\";owner a;A-12;crossed;far end locked;final;violet;-53.349805;6,26;12",
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
	if got, want := printProblems(list), `photos/A-12.jpg: question: the picture's name begins with no link of links.csv [photo-of-no-link]
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
		`"applications":["10gbase-lr","1000base-lx","x"],"limits":["owner","a"],"pair":"A-12","polarity":"crossed","exempt":"far end locked","stage":"final","colour":"violet","latitude":"-53.349805","longitude":"6.26","further":{"Rack unit":"12"},"origin":{"file":"links.csv","sha256":"","size":0,"row":2}}]`
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
