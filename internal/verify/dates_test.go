package verify

import (
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/seal"
)

func notes(r *Report) string {
	var all []string
	for _, i := range r.Items {
		all = append(all, i.Notes...)
	}
	return strings.Join(all, "\n")
}

// TestFuture: a date that has not come yet by the reader's clock is said to be
// one, whatever carries it. A day's grace covers the noon that a day of issue
// stands for, and clocks that differ.
func TestFuture(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	set := fstest.MapFS{}
	maker{signer: me}.issue(t, set)
	paper := maker{signer: me}.paper(t, "L-1")
	read := PDF("a.pdf", paper, &Trust{})
	token, err := me.SignToken(*read.Items[0].Claim)
	if err != nil {
		t.Fatal(err)
	}
	look := map[string]func(*Trust) *Report{
		"paper": func(trust *Trust) *Report { return PDF("a.pdf", paper, trust) },
		"token": func(trust *Trust) *Report { return TokenText(token, trust) },
		"revision": func(trust *Trust) *Report {
			r, err := folder(set, "r1", trust)
			if err != nil {
				t.Fatal(err)
			}
			return r
		},
	}
	for _, c := range []struct {
		name string
		now  time.Time
		said bool
	}{
		{"no clock", time.Time{}, false},
		{"years later", issued.AddDate(3, 0, 0), false},
		{"23 hours before", issued.Add(-23 * time.Hour), false},
		{"two days before", issued.Add(-48 * time.Hour), true},
	} {
		for what, see := range look {
			trust := trusting(me)
			trust.Now = c.now
			r := see(trust)
			if said := strings.Contains(notes(r), "signed with a date in the future, 2026-11-25: this computer's clock says 2026-11-23"); said != c.said || r.Conclusion() != Holds {
				t.Errorf("%s, %s: said %v, %s: %s", what, c.name, said, r.Conclusion(), notes(r))
			}
		}
	}
}

// TestDatesOfASet: the dates of papers, manifest and signatures agree, and
// those of revisions do not run backwards.
func TestDatesOfASet(t *testing.T) {
	me := newSigner(t, "R. Lindqvist")
	day := func(n int) time.Time { return issued.AddDate(0, 0, n) }
	chain := func(times ...time.Time) fstest.MapFS {
		f, h := fstest.MapFS{}, ""
		for i, at := range times {
			h = maker{signer: me, revision: i + 1, previous: h, at: at}.issue(t, f)
		}
		return f
	}
	dated := func(text string) fstest.MapFS {
		f := fstest.MapFS{}
		maker{signer: me, manifest: func(m *seal.Manifest) { m.Issued = text }}.issue(t, f)
		return f
	}
	east := time.FixedZone("", 14*3600)
	for _, c := range []struct {
		name    string
		set     fstest.MapFS
		at      string
		outcome Conclusion
		fault   string
		note    string
	}{
		{"in order", chain(day(0), day(3), day(3)), ".", Holds, "", "superseded by r3, issued on 2026-11-28"},
		{"earlier on the same day", chain(day(0), day(0).Add(-8*time.Hour)), ".", Holds, "", ""},
		{"earlier by the calendar alone", chain(day(0).In(east), day(0).Add(time.Hour)), ".", Holds, "", ""},
		{"backwards", chain(day(0), day(-4), day(3)), ".", Broken, "r2 is dated 2026-11-21, before r1, which it follows and which is dated 2026-11-25", ""},
		{"backwards, from the last", chain(day(0), day(-4), day(3)), "r3", Broken, "r2 is dated 2026-11-21", ""},
		{"backwards, from the first", chain(day(0), day(-4)), "r1", Holds, "", "superseded by r2, issued on 2026-11-21; that is before r1 itself was, on 2026-11-25: one of the two dates is wrong"},
		{"another day in the manifest", dated("2026-10-01T09:30:00Z"), "r1", Broken, "it says that it was issued on 2026-10-01, its signature 2026-11-25", ""},
		{"the day before in the manifest", dated("2026-11-24T23:30:00Z"), "r1", Broken, "a document issued on 2026-11-25, the manifest on 2026-11-24", ""},
	} {
		t.Run(c.name, func(t *testing.T) {
			r, err := folder(c.set, c.at, trusting(me))
			if err != nil {
				t.Fatal(err)
			}
			if found := strings.Join(faults(r, ""), "\n"); r.Conclusion() != c.outcome || (c.fault == "") != (found == "") || !strings.Contains(found, c.fault) {
				t.Errorf("%s, want %s; found %q, want %q", r.Conclusion(), c.outcome, found, c.fault)
			}
			if !strings.Contains(notes(r), c.note) {
				t.Errorf("noted %q, want %q", notes(r), c.note)
			}
		})
	}
}

// TestSupersededBySuccessor: a revision signed by the successor of the key
// supersedes as one of the key itself does; one of a stranger's key does not.
func TestSupersededBySuccessor(t *testing.T) {
	me, stranger := newSigner(t, "R. Lindqvist"), newSigner(t, "R. Lindqvist")
	next, err := me.Successor("M. Okafor", "Tidewater Fibre Works", issued.AddDate(0, 0, -1), 3)
	if err != nil {
		t.Fatal(err)
	}
	after, err := next.Successor("S. Varga", "Tidewater Fibre Works", issued.AddDate(0, 0, -1), 3)
	if err != nil {
		t.Fatal(err)
	}
	for _, c := range []struct {
		name   string
		second *seal.Signer
		said   bool
	}{{"the same", me, true}, {"its successor", next, true}, {"the successor's", after, true}, {"a stranger of the same name", stranger, false}} {
		f := fstest.MapFS{}
		h := maker{signer: me}.issue(t, f)
		maker{signer: c.second, revision: 2, previous: h}.issue(t, f)
		r, err := folder(f, "r1", trusting(me))
		if err != nil {
			t.Fatal(err)
		}
		if said := strings.Contains(notes(r), "superseded by r2"); said != c.said || r.Conclusion() != Holds {
			t.Errorf("%s: said %v, %s", c.name, said, r.Conclusion())
		}
	}
}
