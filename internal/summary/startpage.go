package summary

import (
	"fmt"
	"html/template"
	"io"
	"io/fs"
	"net/url"
	"slices"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/claim"
	"spanseal/internal/judge"
	"spanseal/internal/seal"
	"spanseal/internal/wording"
)

// startTemplate is where the page is drawn: HTML with the words of package html/template.
const startTemplate = "start/index.html"

// startPage is what the template of the start page sees. Texts are escaped by it,
// paths are escaped here.
type startPage struct {
	Language, Title, Verdict, Lead string
	Conforms, Named                bool // Named: some link has further names
	Say                            map[string]string
	Counts, Facts                  []captioned
	Open                           []openPoint
	Papers, Evidence               []filed
	Links                          []startLink
	Checks                         []string
}

type captioned struct{ Caption, Value string }

// openPoint is what stands in the way of conformity; of the job as a whole it has no path.
type openPoint struct {
	Path                      template.URL
	Link, Verdict, What, Next string
	Certified                 bool // marginal
}

// filed is a file of the revision.
type filed struct {
	Path        template.URL
	Title, Note string
}

type startLink struct {
	Path                                 template.URL
	Link, Places, Names, Length, Verdict string
	IsOpen, Certified                    bool // both: marginal
}

// WriteStart writes index.html, on which a receiver starts: what the summary says
// first, and every file of the revision one click away. Files are those that the
// revision has so far; those of the manifest follow.
func WriteStart(to io.Writer, s *certify.PaperSet, files []seal.ManifestFile) error {
	text, err := fs.ReadFile(s.Templates, startTemplate)
	if err != nil {
		return err
	}
	t, err := template.New(startTemplate).Option("missingkey=error").Parse(string(text))
	if err != nil {
		return err
	}
	d := newOverview(s)
	d.settle()
	return t.Execute(to, d.startPage(files))
}

func (o *overview) startPage(files []seal.ManifestFile) *startPage {
	w, job, counts := o.words, &o.Facts.Job, o.Judgement.Counts
	p := &startPage{
		Language: w.Language, Title: o.Titled(w.Say("start.title", "job", job.Number, "n", w.Whole(o.Revision))),
		Conforms: o.Judgement.Conforms(), Verdict: w.Say("summary.does_not_conform"), Lead: strings.Join(w.States(claim.Job(job, o.Judgement, o.Declared)), " "),
		Say: map[string]string{
			"skip": w.Say("start.skip"), "open": w.Say("open.title"), "link": w.Say("links.link"), "verdict": w.Say("links.verdict"), "what": w.Say("wrong.what"),
			"next": w.Say("start.next"), "papers": w.Say("start.papers"), "links": w.Say("links.title"), "find": w.Say("start.find"),
			"found": w.Say("start.found"), "found_none": w.Say("start.found_none"), "places": w.Say("links.places"), "names": w.Say("start.names"),
			"length": w.Say("start.length"), "check": w.Say("start.check"), "evidence": w.Say("start.evidence"), "evidence_note": "", "foot": w.Say("small.records") + " " + w.Say("small.live") + " " + w.Say("small.codes"),
		},
	}
	if p.Conforms {
		p.Verdict = w.Say("summary.conforms")
	}
	for _, one := range []struct {
		key string
		n   int
	}{{"scheduled", counts.Scheduled}, {"measured", counts.Measured}, {"certified", counts.Certified}, {"marginal", counts.Marginal}, {"failed", counts.Failed}, {"incomplete", counts.Incomplete}} {
		p.Counts = append(p.Counts, captioned{w.Say("summary.count_" + one.key), w.Whole(one.n)})
	}
	measured := ""
	if first, last := o.MeasuredInAll(); !first.IsZero() {
		measured = w.Days(first, last)
	}
	for _, one := range []captioned{
		{w.Say("rail.title"), job.Title}, {w.Say("rail.site"), wording.Comma(job.Site.Name, job.Site.Address)},
		{w.Say("rail.customer"), job.Customer.Name}, {w.Say("start.contractor"), job.Contractor.Name},
		{w.Say("rail.measured"), measured}, {w.Say("rail.issued"), w.Day(o.IssuedOn())},
	} {
		if one.Value != "" {
			p.Facts = append(p.Facts, one)
		}
	}
	p.open(o)
	p.links(o)
	p.papers(o, files)
	p.Checks = []string{w.Say("start.check_text"), w.Say("start.check_self")}
	if key := o.Signer; key.Fingerprint != "" {
		p.Checks = slices.Insert(p.Checks, 1, w.Say("start.check_key", "name", key.Name, "key", key.KeyID, "fingerprint", key.Fingerprint))
	}
	return p
}

// open are the points that the summary has first.
func (p *startPage) open(d *overview) {
	w := d.words
	for i := range d.Judgement.Questions {
		if one := &d.Judgement.Questions[i]; !one.Verdict.Certifiable() {
			p.Open = append(p.Open, openPoint{Link: w.Say("open.whole"), Verdict: w.Say("open." + one.Verdict.String()), What: d.wholeJob(one), Next: wording.FirstOf(d.Next(*one)...)})
		}
	}
	for _, l := range d.exceptions() {
		what, next := d.why(l)
		p.Open = append(p.Open, openPoint{Path: href(d.PathOf(l)), Link: l.Link.ID, Verdict: w.Say("open." + l.Verdict.String()), What: what, Next: next, Certified: l.Verdict.Certifiable()})
	}
}

func (p *startPage) links(d *overview) {
	w := d.words
	p.Links = make([]startLink, 0, len(d.Judgement.Links))
	for _, l := range d.Judgement.Results() {
		one := startLink{Path: href(d.PathOf(l)), Link: l.Link.ID, Places: l.Link.From + " – " + l.Link.To, Verdict: w.Say("open." + l.Verdict.String()),
			IsOpen: l.Verdict != judge.Pass, Certified: l.Verdict.Certifiable(), Length: w.Short(l.Link.Length.Round(min(l.Link.Length.Places(), 3)))}
		given, further := l.Link.Given()
		var names []string
		for _, n := range slices.Concat(given, further) {
			names = append(names, n.Text)
		}
		one.Names = strings.Join(names, " · ")
		p.Named = p.Named || one.Names != ""
		p.Links = append(p.Links, one)
	}
}

// papers are the files that are not of one link alone: papers and data, and the
// originals apart.
func (p *startPage) papers(d *overview, files []seal.ManifestFile) {
	w := d.words
	titles := map[string]string{certify.SummaryPath: w.Say("summary.title"), "statement.pdf": w.Say("statement.title"), "labels.pdf": w.Say("labels.title"),
		"results.csv": w.Say("start.results_csv"), "results.json": w.Say("start.results_json"), "results.xlsx": w.Say("start.results_xlsx"), "check.html": w.Say("check.title")}
	ofLinks := make(map[string]bool, len(d.Judgement.Links))
	for _, l := range d.Judgement.Results() {
		ofLinks[d.PathOf(l)] = true
		if len(l.Superseded) > 0 {
			titles[d.SupersededPath(l)] = w.Say("superseded.title") + " " + l.Link.ID
		}
	}
	order := []string{certify.SummaryPath, "statement.pdf", "labels.pdf", "check.html", "results.xlsx", "results.csv", "results.json"}
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b seal.ManifestFile) int {
		place := func(f seal.ManifestFile) int {
			if i := slices.Index(order, f.Path); i >= 0 {
				return i
			}
			return len(order)
		}
		if n := place(a) - place(b); n != 0 {
			return n
		}
		return strings.Compare(a.Path, b.Path)
	})
	var size int64
	for _, f := range files {
		name, inside := strings.CutPrefix(f.Path, "evidence/")
		inside = inside || strings.HasPrefix(name, "originals/") // of instruments
		switch title := titles[f.Path]; {
		case inside:
			size += f.Size
			p.Evidence = append(p.Evidence, filed{href(f.Path), name, bytes(w, f.Size)})
		case ofLinks[f.Path]:
		case title == "":
			title = f.Path
			if trunk, ok := strings.CutPrefix(title, "trunks/"); ok {
				title = w.Say("trunk.title") + " " + strings.TrimSuffix(trunk, ".pdf")
			} else if strings.HasPrefix(title, "bundle") {
				title = w.Say("bundle.title")
			}
			fallthrough
		default:
			p.Papers = append(p.Papers, filed{href(f.Path), title, f.Path + ", " + bytes(w, f.Size)})
		}
	}
	p.Say["evidence_note"] = w.Count("start.evidence_files", len(p.Evidence), "size", bytes(w, size))
}

// bytes is a size for people.
func bytes(w *wording.Wording, n int64) string {
	switch {
	case n < 1000:
		return w.Whole(int(n)) + "\u00a0B"
	case n < 1_000_000:
		return w.Whole(int(n+500)/1000) + "\u00a0kB"
	}
	tenths := (n + 50_000) / 100_000
	return fmt.Sprintf("%s%s%d\u00a0MB", w.Whole(int(tenths/10)), w.Mark, tenths%10)
}

// href is a path of the revision as a page beside it refers to it. It begins with
// "./", so that no name is taken for the scheme of an address.
func href(name string) template.URL {
	return template.URL("./" + (&url.URL{Path: name}).EscapedPath())
}
