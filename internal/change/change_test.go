package change_test

import (
	"encoding/json"
	"fmt"
	"iter"
	"os"
	"strings"
	"testing"

	"spanseal/internal/change"
	"spanseal/internal/golden"
	"spanseal/internal/statement"
)

// The vectors are results of the job in testdata/change/job.txtar, in which the
// first loss of K-02 is 2.70 dB: results-1.json was written by the last program
// that wrote form 1, results-2.json by the present one.
const (
	form1 = "../../testdata/change/results-1.json"
	form2 = "../../testdata/change/results-2.json"
)

func file(t testing.TB, name string) string {
	t.Helper()
	b, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return string(b)
}

// parts are results without their links, and the links as a writer hands them over.
func parts(results string) (head []byte, links iter.Seq2[string, []byte], err error) {
	var all map[string]json.RawMessage
	if err := json.Unmarshal([]byte(results), &all); err != nil {
		return nil, nil, err
	}
	var raw []json.RawMessage
	if err := json.Unmarshal(all["links"], &raw); err != nil {
		return nil, nil, err
	}
	all["links"] = json.RawMessage("[]")
	if head, err = json.Marshal(all); err != nil {
		return nil, nil, err
	}
	return head, func(yield func(string, []byte) bool) {
		for _, one := range raw {
			var name struct {
				Link string `json:"link"`
			}
			if json.Unmarshal(one, &name) != nil || !yield(name.Link, one) {
				return
			}
		}
	}, nil
}

// compare says what differs, each statement in its JSON form.
func compare(t testing.TB, was, now string) (out []string) {
	t.Helper()
	old, err := change.Read(strings.NewReader(was), int64(len(was)))
	if err != nil {
		t.Fatal(err)
	}
	head, links, err := parts(now)
	if err != nil {
		t.Fatal(err)
	}
	list, err := old.Compare(head, links)
	if err != nil {
		t.Fatal(err)
	}
	for _, s := range list {
		out = append(out, s.Key())
	}
	return out
}

// swap replaces texts, each of which stands there.
func swap(t testing.TB, results string, pairs ...string) string {
	t.Helper()
	for i := 0; i < len(pairs); i += 2 {
		if !strings.Contains(results, pairs[i]) {
			t.Fatalf("%q does not stand there", pairs[i])
		}
		results = strings.Replace(results, pairs[i], pairs[i+1], 1)
	}
	return results
}

// linkOf is the text of a link in the results, with what parts it from the next.
func linkOf(t testing.TB, results, name string) string {
	t.Helper()
	from := strings.Index(results, `    {
      "link": "`+name+`"`)
	to := strings.Index(results[max(from, 0):], "\n    }")
	if from < 0 || to < 0 {
		t.Fatalf("%s does not stand there", name)
	}
	return results[from : from+to+len("\n    }")]
}

const (
	person   = `{"id": "sv", "name": "S. Varga"}`
	meter    = `{"id": "FS-1", "kind": "fusion splicer", "serial": "7714"}`
	trunkA   = `"trunks": [{"id": "T1", "fibres": 12, "method": "method A", "far": [1, 2]}], `
	spare    = `{"id": "C2", "description": "spare"}`
	item     = `{"line": "2.1", "title": "Strand tested", "unit": "strand", "fibre": "OS2", "cable": "C1", "rate": "7.25"}`
	day1     = `{"file": "readings/day1.csv", "sha256": "618ad816f8a95b878b7eb7547ae2b4c01477daa0639a72e9b3bf9eb2cce9e457", "size": 956, "rows": 12, "used": 12, "superseded": 0, "refused": 0, "blank": 0}`
	splice   = `{"end": "", "kind": "splice", "estimate_db": "0.02", "attempts": 1, "end_face": "not inspected", "person": "mo", "finished": "2026-11-16T14:13:00Z"}`
	loss     = `{"quantity": "insertion_loss", "wavelength_nm": 1550, "direction": "B-A", "value": "0.66", "instrument": "PM-9", "source": "LS-4", "person": "mo", "time": "2026-11-18T08:54:00Z", "reference_time": "2026-11-18T08:30:00Z", "fate": "used", "file": "readings/day1.csv", "row": 5}`
	loss1310 = `{"quantity": "insertion_loss", "wavelength_nm": 1310, "direction": "B-A", "value": "0.74", "instrument": "PM-9", "source": "LS-4", "person": "mo", "time": "2026-11-18T08:54:00Z", "reference_time": "2026-11-18T08:30:00Z", "fate": "used", "file": "readings/day1.csv", "row": 3}`
	asked    = `"question": {"code": "direction-difference", "args": {"difference": "2.03", "nm": 1310}, "text": "The two directions differ by 2.03 dB at 1310 nm. Why?"}`
	reply    = `"answer": {"text": "Connector at C1 was worn.", "who": "M. Okafor", "day": "2026-11-20"}`
	whole    = `  "questions": [
    {"kind": "evidence", "code": "near-miss-names", "verdict": "pass", "question": {"code": "near-miss-names.alike", "args": {"links": ["K-01", "K-O1"]}, "text": "Are K-01 and K-O1 one link?"}}
  ],
  "statistics"`
	answered = `  "questions": [
    {"kind": "evidence", "code": "near-miss-names", "verdict": "pass", "question": {"code": "near-miss-names.alike", "args": {"links": ["K-01", "K-O1"]}, "text": "Are K-01 and K-O1 one link?"}, "answer": {"text": "Both exist.", "who": "M. Okafor", "day": "2026-11-20"}}
  ],
  "statistics"`
)

// row is one kind of change: what is altered in the results of the earlier and of
// the later revision, pairs of old and new texts.
type row struct {
	name     string
	was, now []string
}

func rows(t testing.TB, base string) []row {
	last := linkOf(t, base, "K-03")
	first := linkOf(t, base, "K-01")
	second := linkOf(t, base, "K-02")
	return []row{
		{"nothing", nil, nil},
		{"white space", nil, []string{`"job": "BL`, `"job":     "BL`, `"cable": "C1",`, `"cable":"C1" ,`}},
		{"a field of the job", nil, []string{`"order": "PO-7718"`, `"order": "PO-7719"`}},
		{"a field that is gone", nil, []string{`    "witness": "E. Brandt",
`, ""}},
		{"a field of a later form", nil, []string{`"witness": "E. Brandt",`, `"witness": "E. Brandt", "weather": "fog",`}},
		{"an evidence check", nil, []string{`{"bend": {"weight": "note"`, `{"bend": {"weight": "off"`}},
		{"an evidence check more", nil, []string{`{"bend":`, `{"pace": {"weight": "note"}, "bend":`}},
		{"a field of a person", nil, []string{`"valid_until": "2027-06-30"`, `"valid_until": "2027-07-31"`}},
		{"a person more", []string{", " + person, ""}, nil},
		{"a person gone", nil, []string{", " + person, ""}},
		{"a field of an instrument", nil, []string{`"due": "2027-03-04"`, `"due": "2027-03-05"`}},
		{"an instrument more", []string{", " + meter, ""}, nil},
		{"an instrument gone", nil, []string{", " + meter, ""}},
		{"a field of a cable", nil, []string{"88-2041", "88-2042"}},
		{"a cable more", []string{", " + spare, ""}, nil},
		{"a trunk more", nil, []string{`"cables": [`, trunkA + `"cables": [`}},
		{"a trunk gone", []string{`"cables": [`, trunkA + `"cables": [`}, nil},
		{"the method of a trunk", []string{`"cables": [`, trunkA + `"cables": [`}, []string{`"cables": [`, strings.Replace(trunkA, "method A", "method B", 1) + `"cables": [`}},
		{"a cable gone", nil, []string{", " + spare, ""}},
		{"a field of a pay item", nil, []string{`"rate": "7.25"`, `"rate": "7.5"`}},
		{"a pay item more", []string{item, ""}, nil},
		{"a pay item gone", nil, []string{item, ""}},
		{"a release of retainage", nil, []string{payItems, released("50") + payItems}},
		{"a release of retainage gone", []string{payItems, released("50") + payItems}, nil},
		{"a field of a release of retainage", []string{payItems, released("50") + payItems}, []string{payItems, released("40") + payItems}},
		{"the statement billed last, and the period", []string{payItems, `"period": {"from": "2026-11-01", "to": "2026-11-30"}, ` + payItems}, []string{payItems, `"billed": "r1", "period": {"from": "2026-12-01", "to": "2026-12-31"}, ` + payItems}},
		{"a rate that holds for what was billed", nil, []string{`"rate": "7.25"`, `"rate": "7.50", "retroactive": true`}},
		{"a set more", []string{"    " + tenGig + ",\n", ""}, nil},
		{"a set gone", nil, []string{"    " + tenGig + ",\n", ""}},
		{"another edition", nil, []string{`"standard": "IEEE Std 802.3", "edition": "2022"`, `"standard": "IEEE Std 802.3", "edition": "2027"`}},
		{"another file of a set", nil, []string{`"sha256": "4a8479d110c9855433`, `"sha256": "5a8479d110c9855433`}},
		{"a file of readings", nil, []string{`"sha256": "618ad816`, `"sha256": "718ad816`}},
		{"a file more", []string{day1, ""}, nil},
		{"a file gone", nil, []string{day1, ""}},
		{"another order", nil, []string{first, "FIRST", second, first, "FIRST", second}},
		{"a link more", []string{",\n" + last, ""}, nil},
		{"a link gone", nil, []string{",\n" + last, ""}},
		{"a verdict", nil, []string{`"verdict": "incomplete"`, `"verdict": "pass"`}},
		{"a field of the schedule", nil, []string{`"length_m": "312",
        "length_text": "312 m"`, `"length_m": "321",
        "length_text": "321 m"`}},
		{"a picture", nil, []string{`      "readings": [`, `      "photos": ["K-01_A.jpg 5f0c91d2"],
      "readings": [`}},
		{"a field of an inspection", []string{`      "readings": [`, looked}, []string{`      "readings": [`, strings.Replace(looked, "2015", "2022", 1)}},
		{"another result of an inspection", []string{`      "readings": [`, looked}, []string{`      "readings": [`, strings.Replace(looked, "fail", "pass", 1)}},
		{"an inspection more", nil, []string{`      "readings": [`, looked}},
		{"an inspection gone", []string{`      "readings": [`, looked}, nil},
		{"a field of a termination", nil, []string{`"estimate_db": "0.03", "attempts": 1, "lot": "26-0417"`, `"estimate_db": "0.03", "attempts": 1, "lot": "26-0418"`}},
		{"a termination more", []string{",\n        " + splice, ""}, nil},
		{"a termination gone", nil, []string{",\n        " + splice, ""}},
		{"one put before another", nil, []string{splice, strings.Replace(splice, "0.02", "0.07", 1) + ", " + splice}},
		{"a reading", nil, []string{loss, strings.Replace(strings.Replace(loss, "0.66", "0.61", 1), "row\": 5", "row\": 15", 1)}},
		{"the same number with more digits", nil, []string{loss, strings.NewReplacer("0.66", "0.660", "day1", "day2").Replace(loss)}},
		{"a reading beyond the range", nil, []string{loss, strings.Replace(loss, `"0.66"`, `"100", "shown": "OL"`, 1)}},
		{"a reading no longer beyond the range", []string{loss, strings.Replace(loss, `"0.66"`, `"100", "shown": "OL"`, 1)}, nil},
		{"readings of one file", nil, []string{loss, strings.Replace(loss, "0.66", "0.61", 1), loss1310, strings.Replace(loss1310, "0.74", "0.70", 1)}},
		{"readings of two files", nil, []string{loss, strings.NewReplacer("0.66", "0.61", "day1", "day2").Replace(loss), loss1310, strings.Replace(loss1310, "0.74", "0.70", 1)}},
		{"readings beyond the range", nil, []string{loss, strings.Replace(loss, `"0.66"`, `"100", "shown": "OL"`, 1), loss1310, strings.Replace(loss1310, "0.74", "0.70", 1)}},
		{"the same value of another file", nil, []string{loss, strings.Replace(loss, "day1", "day2", 1)}},
		{"the same value in another row", nil, []string{loss, strings.Replace(loss, "row\": 5", "row\": 15", 1)}},
		{"many rows", nil, manyRows()},
		{"a reading more", []string{",\n        " + loss, ""}, nil},
		{"a reading gone", nil, []string{",\n        " + loss, ""}},
		{"readings more", []string{",\n        " + loss, "", ",\n        " + loss1310, ""}, nil},
		{"readings gone", nil, []string{",\n        " + loss, "", ",\n        " + loss1310, ""}},
		{"a field of a reading", nil, []string{loss, strings.Replace(loss, `"mo"`, `"sv"`, 1)}},
		{"one superseded", nil, []string{second, strings.TrimSuffix(second, "\n    }") + `,
      "superseded": [` + strings.NewReplacer("0.66", "9.99", `"used"`, `"superseded"`).Replace(loss) + "]\n    }"}},
		{"one superseded no more", []string{second, strings.TrimSuffix(second, "\n    }") + `,
      "superseded": [` + strings.NewReplacer("0.66", "9.99", `"used"`, `"superseded"`).Replace(loss) + "]\n    }"}, nil},
		{"one on the reel", nil, []string{second, strings.TrimSuffix(second, "\n    }") + `,
      "stages": [` + strings.NewReplacer("0.66", "0.12", `"used"`, `"other_stage", "method": {"reference": "one-cord", "stage": "reel"}`).Replace(loss) + "]\n    }"}},
		{"one on the reel no more", []string{second, strings.TrimSuffix(second, "\n    }") + `,
      "stages": [` + strings.NewReplacer("0.66", "0.12", `"used"`, `"other_stage", "method": {"reference": "one-cord", "stage": "reel"}`).Replace(loss) + "]\n    }"}, nil},
		{"one that counted is superseded", nil, []string{loss, strings.NewReplacer("0.66", "0.61", "day1", "day2").Replace(loss), `      "findings": [`, `      "superseded": [` + loss + `],
      "findings": [`}},
		{"a limit", nil, []string{`"measured": "0.70", "limit": "2.2248"`, `"measured": "0.70", "limit": "2.97"`}},
		{"one side of a limit between two", []string{`"limit": "2.2248", "margin"`, `"limit": "2.2248", "between": ["0.50", "2.2248"], "margin"`}, []string{`"limit": "2.2248", "margin"`, `"limit": "2.2248", "between": ["0.60", "2.2248"], "margin"`}},
		{"the other side is nearer now", []string{`"limit": "2.2248", "margin"`, `"limit": "2.2248", "between": ["0.50", "2.2248"], "margin"`}, []string{`"limit": "2.2248", "margin"`, `"limit": "0.50", "between": ["0.50", "2.2248"], "margin"`}},
		{"a question more", []string{asked, `"note": 1`}, nil},
		{"a question settled", nil, []string{asked, `"note": 1`}},
		{"an answer", []string{asked, asked + ", " + reply}, []string{asked, asked + ", " + strings.Replace(reply, "worn", "dirty", 1)}},
		{"an answer more", nil, []string{asked, asked + ", " + reply}},
		{"an answer gone", []string{asked, asked + ", " + reply}, nil},
		{"a question of the job more", nil, []string{`  "statistics"`, whole}},
		{"a question of the job settled", []string{`  "statistics"`, whole}, nil},
		{"an answer about the job", []string{`  "statistics"`, answered}, []string{`  "statistics"`, strings.Replace(answered, "Both exist", "One is K-02", 1)}},
		{"an answer about the job more", []string{`  "statistics"`, whole}, []string{`  "statistics"`, answered}},
		{"an answer about the job gone", []string{`  "statistics"`, answered}, []string{`  "statistics"`, whole}},
		{"what follows of something else", nil, []string{`"mean": "1.0283"`, `"mean": "1.0284"`, `"margin": "1.5248"`, `"margin": "1.5"`, `"measured": 3`, `"measured": 2`}},
	}
}

const tenGig = `{"id": "10gbase-lr", "title": "10GBASE-LR", "standard": "IEEE Std 802.3", "edition": "2022", "file": "10gbase-lr.yaml", "sha256": "4a8479d110c985543314a83512d68f1fd556f9ac3e1a1350fee362697dec31c4", "built_in": true, "owner": false, "low_count": 0}`

// looked is an inspection in front of the readings.
const looked = `      "inspections": [{"end": "A", "criterion": "IEC 61300-3-35", "edition": "2015", "cleaning": "before", "result": "fail", "person": "mo", "time": "2026-11-18T09:10:00Z"}],
      "readings": [`

// payItems is in front of the items of pay, released a release in front of those.
const payItems = `"items": [{"line": "2.1"`

func released(percent string) string {
	return `"releases": [{"day": "2026-11-20", "percent": "` + percent + `", "reason": "accepted"}], `
}

// manyRows moves all twelve rows of readings.
func manyRows() (pairs []string) {
	for n := 13; n > 1; n-- {
		pairs = append(pairs, fmt.Sprintf(`"file": "readings/day1.csv", "row": %d}`, n), fmt.Sprintf(`"file": "readings/day1.csv", "row": %d}`, n+1))
	}
	return pairs
}

// TestKinds alters one thing at a time. Each is said, and nothing else.
func TestKinds(t *testing.T) {
	base := file(t, form2)
	met := map[string]bool{
		"change.partial":    true, // package issue adds it: what is partial is not in the results
		"change.older-form": true, // TestFormOne
		"change.readings":   true, // TestCrowd
	}
	var all strings.Builder
	all.WriteString("What is said where one thing is altered: a heading for each row of TestKinds.\n")
	for _, c := range rows(t, base) {
		t.Run(c.name, func(t *testing.T) {
			got := compare(t, swap(t, base, c.was...), swap(t, base, c.now...))
			fmt.Fprintf(&all, "\n%s\n\t%s\n", c.name, strings.Join(got, "\n\t"))
			for _, s := range got {
				var one struct{ Code string }
				if err := json.Unmarshal([]byte(s), &one); err != nil {
					t.Fatal(err)
				}
				met[one.Code] = true
			}
		})
	}
	for _, e := range statement.Codes() {
		if strings.HasPrefix(e.Code, "change.") && !met[e.Code] {
			t.Errorf("no row makes %s", e.Code)
		}
	}
	golden.Compare(t, "../../testdata/change/kinds.txt", all.String())
}

// TestFormOne reads results of the earlier form: what that one has is compared, and a
// statement says that it has not all.
func TestFormOne(t *testing.T) {
	old, now := file(t, form1), file(t, form2)
	const meter = `"serial": "22803", "calibrated": "2026-03-03"`
	var all strings.Builder
	all.WriteString("What is said of results of form 1: a heading for each row of TestFormOne.\n")
	for _, c := range []row{
		{"nothing but what the later program wrote", nil, nil},
		{"the job", nil, []string{`"order": "PO-7718"`, `"order": "PO-7719"`, `"title": "Reading rooms"`, `"title": "Reading halls"`}},
		{"what form 1 has not", nil, []string{`"witness": "E. Brandt"`, `"witness": "F. Castell"`, `"length_m": "312"`, `"length_m": "321"`, `"lot": "26-0417"`, `"lot": "26-0418"`}},
		{"an instrument and a person", nil, []string{meter, strings.Replace(meter, "22803", "22804", 1), `"name": "S. Varga"`, `"name": "S. Vargas"`}},
		{"a verdict", []string{`"verdict": "incomplete"`, `"verdict": "pass"`}, nil},
		{"a reading", nil, []string{`"value": "0.66"`, `"value": "0.61"`}},
		{"a limit", nil, []string{`"limit": "2.2248"`, `"limit": "2.97"`}},
		{"a link gone", nil, []string{",\n" + linkOf(t, now, "K-03"), ""}},
		{"without a form", []string{`  "format": "spanseal-results/1",
`, ""}, nil},
	} {
		got := compare(t, swap(t, old, c.was...), swap(t, now, c.now...))
		fmt.Fprintf(&all, "\n%s\n\t%s\n", c.name, strings.Join(got, "\n\t"))
		if got[len(got)-1] != `{"code":"change.older-form"}` {
			t.Errorf("%s: nothing says that the results are of an earlier form", c.name)
		}
	}
	golden.Compare(t, "../../testdata/change/form1.txt", all.String())
}

// TestCrowd: where more than forty links have other values, one statement
// counts them.
func TestCrowd(t *testing.T) {
	results := func(value func(n int) string, links int) string {
		var b strings.Builder
		b.WriteString(`{"format":"spanseal-results/2","links":[`)
		for n := range links {
			if n > 0 {
				b.WriteByte(',')
			}
			fmt.Fprintf(&b, `{"link":"L-%d","verdict":"pass","readings":[{"quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":%q,"file":"readings/day1.csv","row":%d}]}`, n, value(n), n+2)
		}
		return b.String() + `]}`
	}
	was := func(n int) string { return fmt.Sprintf("1.%04d", n) }
	now := func(n int) string { return fmt.Sprintf("2.%04d", n) }
	if got := compare(t, results(was, 40), results(now, 40)); len(got) != 40 {
		t.Errorf("of forty links %d statements are made, not one of each", len(got))
	}
	got := compare(t, results(was, 41), results(now, 41))
	const want = `{"code":"change.readings","args":{"of":{"phrase":[{"word":"insertion_loss","group":"quantity"}]},"links":{"n":41,"of":"link"}}}`
	if len(got) != 1 || got[0] != want {
		t.Errorf("got %.2000q, want %s", got, want)
	}
}

// TestRefused is what no program wrote.
func TestRefused(t *testing.T) {
	for _, c := range []struct{ name, results, want string }{
		{"nothing", "", "EOF"},
		{"a list", "[]", "not an object"},
		{"an end that is missing", `{"format":"spanseal-results/2"`, "EOF"},
		{"another form", `{"format":"spanseal-results/3"}`, `"spanseal-results/3" is not a form of results that this program knows`},
		{"links that are no list", `{"links":{}}`, "links is not a list"},
		{"a link twice", `{"links":[{"link":"A"},{"link":"A"}]}`, `the link "A" stands there twice`},
		{"another verdict", `{"links":[{"link":"A","verdict":"good"}]}`, `"good" is not a verdict`},
		{"a set that is no object", `{"sets":[1]}`, "cannot unmarshal number"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, err := change.Read(strings.NewReader(c.results), int64(len(c.results)))
			if err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, want %q", err, c.want)
			}
		})
	}
}

// TestRefusedInComparison is what is told when the values themselves are compared.
func TestRefusedInComparison(t *testing.T) {
	for _, c := range []struct{ name, results, want string }{
		{"a member twice", `{"about":{"people":[{"id":"a","name":"L","name":"M"}]},"links":[]}`, `"name" stands there twice`},
		{"a member twice, once written in full", `{"about":{"site.name":"L","site":{"name":"M"}},"links":[]}`, `"site.name" stands there twice`},
		{"a list twice", `{"about":{"wavelengths":[1310],"wavelengths":[1550]},"links":[]}`, `"wavelengths" stands there twice`},
	} {
		t.Run(c.name, func(t *testing.T) {
			old, err := change.Read(strings.NewReader(c.results), int64(len(c.results)))
			if err != nil {
				t.Fatal(err)
			}
			head, links, err := parts(c.results)
			if err != nil {
				t.Fatal(err)
			}
			if got, err := old.Compare(head, links); err == nil || !strings.Contains(err.Error(), c.want) {
				t.Errorf("got %v, %v, want %q", got, err, c.want)
			}
		})
	}
}

// TestOwnMethod: a reading that says nothing of how it was made was made as its job says.
func TestOwnMethod(t *testing.T) {
	results := func(job, reading string) string {
		return `{"format":"spanseal-results/2","about":{"judge":{"reference":"` + job + `","test_cords":"standard"}},"links":[{"link":"A","verdict":"pass","readings":[` +
			`{"quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":"0.7","file":"a.csv","row":2` + reading + `}]}]}`
	}
	const own = `,"method":{"reference":"three-cord","test_cords":"standard"}`
	for _, c := range []struct {
		name, was, now string
		want           []string
	}{
		{"the job comes to what the reading says", results("two-cord", own), results("three-cord", ""), []string{"change.job"}},
		{"the job leaves what the reading says", results("three-cord", ""), results("two-cord", own), []string{"change.job"}},
		{"the reading alone", results("two-cord", ""), results("two-cord", own), []string{`"old":{"word":"two-cord","group":"reference"}`}},
		{"the job alone", results("two-cord", ""), results("one-cord", ""), []string{"change.job"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			got := compare(t, c.was, c.now)
			if len(got) != len(c.want) {
				t.Fatalf("got %s", got)
			}
			for i, want := range c.want {
				if !strings.Contains(got[i], want) {
					t.Errorf("got %s, want %s", got[i], want)
				}
			}
		})
	}
}

// TestListsInLists: a later form may have them, and they are compared like the rest.
func TestListsInLists(t *testing.T) {
	const results = `{"format":"spanseal-results/2","about":{"pairs":[[1,2],[3,4]]},"links":[]}`
	if got := compare(t, results, results); len(got) != 1 || !strings.Contains(got[0], "change.none") {
		t.Errorf("the same: %s", got)
	}
	if got := compare(t, results, strings.Replace(results, "[3,4]", "[4,3]", 1)); len(got) != 1 || !strings.Contains(got[0], "change.job") {
		t.Errorf("another order: %s", got)
	}
}

// FuzzRead: whatever can be read differs from itself in nothing, and can be compared
// with the vector either way.
func FuzzRead(f *testing.F) {
	// Small, since what is found is made smaller byte by byte.
	const small = `{"format":"spanseal-results/2","job":"J","about":{"people":[{"id":"a","name":"M"}],"judge":{"marginal_db":"0.05","questions":{"bend":{"weight":"note"}}}},"sets":[{"id":"s","edition":"1","sha256":"5f"}],` +
		`"files":[{"file":"a.csv","sha256":"5f"}],"questions":[{"question":{"code":"no-date"}}],"links":[{"link":"A","verdict":"fail","schedule":{"length_m":"3","end_a":{"text":"none"}},"terminations":[{"end":"A","kind":"splice","finished":"2026-11-16T13:13:00Z"}],` +
		`"readings":[{"quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":"0.7","file":"a.csv","row":2}],"findings":[{"code":"insertion-loss","quantity":"insertion_loss","limit":"2.2","unit":"dB","set":"s"},{"question":{"code":"no-date"},"answer":{"text":"x","who":"y","day":"2026-11-20"}}]}]}`
	for _, s := range []string{
		small, strings.Replace(small, "results/2", "results/1", 1), `{}`, `{"links":[]}`, `{"links":[{"link":"A"},{"link":"B","verdict":"fail"}]}`,
		`{"format":"spanseal-results/2","about":{"people":[{"id":"a"},{"id":"a"}],"judge":{"questions":{"x":{"weight":1}}}},"links":[{"link":"A","readings":[{}],"findings":[{"readings":[{}]}]}]}`,
		`{"format":"spanseal-results/2","links":[{"link":"A","readings":[{},{},{"value":"1","shown":"x"},{"value":null},{"quantity":"insertion_loss","wavelength_nm":1310,"direction":"A-B","value":"x"},{"quantity":"insertion_loss","wavelength_nm":"y","value":"2"}]}]}`,
		`{"links":[{"link":"A","schedule":[1,[2,{"x":[]}]],"terminations":[{"end":1},null]}]}`,
	} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, results string) {
		old, err := change.Read(strings.NewReader(results), int64(len(results)))
		if err != nil {
			return
		}
		head, links, err := parts(results)
		if err != nil {
			return // several members of a name, of which the reader takes each
		}
		same, err := old.Compare(head, links)
		if err == nil && same[0].Code != "change.none" && !strings.Contains(results, "/1") && strings.Contains(results, `"format":"spanseal-results/2"`) {
			t.Errorf("%s differs from itself: %s", results, same[0].Key())
		}
		if head, links, err = parts(small); err != nil {
			t.Fatal(err)
		}
		if old, err = change.Read(strings.NewReader(results), int64(len(results))); err != nil {
			t.Fatal(err)
		}
		_, _ = old.Compare(head, links) // it may refuse what a link holds, and must not panic
	})
}
