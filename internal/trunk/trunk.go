// Package trunk makes the paper of each trunk of a job: all its positions on one
// certificate, with a picture of both faces, signed and labelled as one. The links that
// are its positions keep papers of their own.
//
// A trunk is as good as the worst of its links. Its token vouches for trunk.json in the
// form spanseal-trunk/1, which is attached as record.json: the trunk, and of each
// position that is a link its name, certificate, verdict and far position.
package trunk

import (
	"crypto/sha256"
	"strings"

	"spanseal/internal/certify"
	"spanseal/internal/diag"
	"spanseal/internal/form"
	"spanseal/internal/judge"
	"spanseal/internal/layout"
	"spanseal/internal/page"
	"spanseal/internal/polarity"
	"spanseal/internal/rail"
	"spanseal/internal/record"
	"spanseal/internal/seal"
	"spanseal/internal/statement"
	"spanseal/internal/wording"
)

// Format names the form of the record attached to the paper of a trunk.
const Format = "spanseal-trunk/1"

// TrunkRecord is what is known about one trunk.
type TrunkRecord struct {
	Format      string        `json:"format"`
	Certificate string        `json:"certificate"` // job number, "/", trunk
	Revision    int           `json:"revision"`
	Issued      record.Date   `json:"issued"`
	Specimen    bool          `json:"specimen,omitempty"`
	Verdict     judge.Verdict `json:"verdict"` // the worst of the links
	Job         struct {
		Number string       `json:"number"`
		Title  string       `json:"title"`
		Site   record.Party `json:"site"`
	} `json:"job"`
	Trunk     record.Trunk          `json:"trunk"`
	Positions []FacePlace           `json:"positions"` // those that are links, in their order
	Questions []statement.Statement `json:"questions,omitempty"`
}

// FacePlace is one of the face that is a link.
type FacePlace struct {
	Position    int           `json:"position"`
	Link        string        `json:"link"`
	Certificate string        `json:"certificate,omitempty"` // of pass and marginal
	File        string        `json:"file"`                  // in the revision's folder
	Verdict     judge.Verdict `json:"verdict"`
	Far         int           `json:"far_position,omitempty"` // as a test found it
	Wanted      int           `json:"far_position_wanted"`    // by the method
}

// sheet is the paper of one trunk.
type sheet struct {
	*certify.PaperSet
	words     *wording.Wording
	t         record.Trunk
	at        map[int]*judge.LinkResult
	record    *TrunkRecord
	questions []*judge.Finding
	measured  []record.Reading
}

// of gathers what is known about a trunk, nil where none of its positions is a link.
func of(s *certify.PaperSet, t record.Trunk) *sheet {
	sh := &sheet{PaperSet: s, words: s.Words(), t: t, at: map[int]*judge.LinkResult{}}
	r := &TrunkRecord{Format: Format, Certificate: s.CertificateNumber(t.ID), Revision: s.Revision, Issued: s.IssuedOn(), Specimen: s.Specimen, Trunk: t}
	job := &s.Facts.Job
	r.Job.Number, r.Job.Title, r.Job.Site = job.Number, job.Title, job.Site
	for _, l := range s.Judgement.Results() {
		if l.Link.Array != nil && l.Link.Trunk == t.ID {
			sh.at[l.Link.Position] = l
		}
	}
	asked := map[string]bool{}
	for place := 1; place <= polarity.FaceOf(t.Fibres).Places; place++ {
		l := sh.at[place]
		if l == nil {
			continue
		}
		p := FacePlace{Position: place, Link: l.Link.ID, File: s.PathOf(l), Verdict: l.Verdict, Far: l.Link.FarPosition, Wanted: polarity.Far(&t, place)}
		if l.Verdict.Certifiable() {
			p.Certificate = s.CertificateNumber(l.Link.ID)
		}
		r.Positions = append(r.Positions, p)
		r.Verdict = max(r.Verdict, l.Verdict)
		sh.measured = append(sh.measured, l.Readings...)
		if sh.t.From == "" {
			sh.t.From = l.Link.From
		}
		if sh.t.To == "" {
			sh.t.To = l.Link.To
		}
		for i := range l.Findings {
			f := &l.Findings[i]
			if key := f.Question.Key(); statement.Question(f.Question.Code) == "array-position" && !asked[key] {
				asked[key] = true
				sh.questions = append(sh.questions, f)
				r.Questions = append(r.Questions, s.Told(f.Question))
			}
		}
	}
	if len(r.Positions) == 0 {
		return nil
	}
	sh.record = r
	return sh
}

// sealed is the record in bytes, with its token and its symbol.
func (sh *sheet) sealed() (data []byte, token string, symbol [][]bool, err error) {
	if data, err = form.Encode(sh.record); err != nil {
		return nil, "", nil, err
	}
	_, last := sh.MeasuredOn(sh.measured)
	sum := sha256.Sum256(data)
	r := sh.record
	token, symbol, err = sh.Seal(seal.Claim{Certificate: r.Certificate, Revision: r.Revision, Job: r.Job.Number, Link: sh.t.ID,
		Verdict: r.Verdict.String(), Issued: r.Issued.String(), Measured: last.String(), Record: [16]byte(sum[:16])})
	return data, token, symbol, err
}

// Papers are makers of the papers of the job's trunks.
func Papers(s *certify.PaperSet) (makers []func() (*certify.Paper, error)) {
	for _, t := range s.Facts.Job.Trunks {
		makers = append(makers, func() (*certify.Paper, error) {
			sh := of(s, t)
			if sh == nil {
				return nil, nil
			}
			return sh.document()
		})
	}
	return makers
}

// Rehearse refuses what would keep the papers of the trunks, or their labels, from being
// written.
func Rehearse(s *certify.PaperSet) *diag.List {
	problems := &diag.List{}
	for _, t := range s.Facts.Job.Trunks {
		sh := of(s, t)
		if sh == nil {
			continue
		}
		_, last := s.MeasuredOn(sh.measured)
		claim := seal.Claim{Certificate: sh.record.Certificate, Revision: 1, Job: s.Facts.Job.Number, Link: t.ID,
			Verdict: sh.record.Verdict.String(), Issued: "2026-01-01", Measured: last.String()}
		if claim.Measured != "" {
			claim.Issued = claim.Measured
		}
		place := diag.Place{File: "job.yaml"}
		if s.PlaceOf != nil {
			place = s.PlaceOf("trunks")
		}
		problems.Join(s.RehearseOther(claim, certify.Label{ID: t.ID, From: sh.t.From, To: sh.t.To, Verdict: sh.record.Verdict, Measured: last}, place))
	}
	return problems
}

// Labels are those of the certified trunks.
func Labels(s *certify.PaperSet) (labels []certify.Label, err error) {
	for _, t := range s.Facts.Job.Trunks {
		sh := of(s, t)
		if sh == nil || !sh.record.Verdict.Certifiable() {
			continue
		}
		_, _, symbol, err := sh.sealed()
		if err != nil {
			return nil, err
		}
		_, measured := s.MeasuredOn(sh.measured)
		labels = append(labels, certify.Label{ID: t.ID, From: sh.t.From, To: sh.t.To, Verdict: sh.record.Verdict, Measured: measured, Symbol: symbol})
	}
	return labels, nil
}

func (sh *sheet) document() (*certify.Paper, error) {
	data, token, symbol, err := sh.sealed()
	if err != nil {
		return nil, err
	}
	w := sh.words
	title := w.Say("trunk.title")
	if !sh.record.Verdict.Certifiable() {
		title = w.Say("trunk.title_open")
	}
	d := sh.NewDocument("trunks/"+form.FileName(sh.t.ID)+".pdf", title+" "+sh.record.Certificate, func(f *layout.Flow) { sh.compose(f, title, symbol) })
	d.Token = token
	d.Attachments = append([]page.Attachment{{Name: "record.json", MIME: "application/json", Description: w.Say("trunk.attached"), Relationship: "Data", Data: data, Modified: sh.Issued}},
		sh.TokenFile(token)...)
	return d, nil
}

func (sh *sheet) compose(f *layout.Flow, title string, symbol [][]bool) {
	w, job := sh.words, &sh.Facts.Job
	r := &rail.Rail{Words: w, Specimen: sh.Specimen, Treatment: rail.Treat(sh.record.Verdict), Word: w.Say("verdict." + sh.record.Verdict.String()),
		Name: layout.Field{Caption: w.Say("trunk.trunk"), Value: sh.t.ID}, Symbol: symbol, Under: w.Say("rail.scan"), Key: sh.Key()}
	certified := 0
	for _, p := range sh.record.Positions {
		if p.Verdict.Certifiable() {
			certified++
		}
	}
	r.Below = []layout.Field{{Caption: "", Value: w.Say("trunk.certified", "n", w.Whole(certified), "all", w.Whole(len(sh.record.Positions)))}}
	measured := ""
	if first, last := sh.MeasuredOn(sh.measured); !first.IsZero() {
		measured = w.Days(first, last)
	}
	r.Fields = []layout.Field{
		{Caption: w.Say("rail.certificate"), Value: sh.record.Certificate}, {Caption: w.Say("rail.revision"), Value: w.Whole(sh.Revision)},
		{Caption: w.Say("rail.measured"), Value: measured}, {Caption: w.Say("rail.issued"), Value: w.Day(sh.IssuedOn())},
		{Caption: w.Say("rail.job"), Value: wording.Comma(job.Site.Name, job.Title)}, {Caption: w.Say("rail.customer"), Value: job.Customer.Name},
	}
	f.DrawRail, f.Outline = r.Draw, true
	f.DrawHead = sh.Again(w.Say("document.continued", "title", title+" "+sh.record.Certificate))
	f.Start()
	sh.Head(f, title, w.Say("trunk.lead", "trunk", sh.t.ID, "from", sh.t.From, "to", sh.t.To, "n", w.Whole(sh.t.Fibres), "links", w.Count("links", len(sh.record.Positions))))
	f.Section(w.Say("trunk.faces"), 6, w.Say("trunk.remark", "method", sh.t.Method))
	sh.faces(f)
	sh.positions(f)
	if len(sh.questions) > 0 {
		f.Section(w.Say("questions.title"), 2)
		var texts []string
		for _, q := range sh.questions {
			texts = append(texts, sh.Posed(q))
		}
		f.List(texts)
	}
	sh.Signatures(f)
	sh.SmallPrint(f, strings.Join([]string{w.Say("trunk.note"), w.Say("small.records"), w.Say("small.live"), w.Say("small.codes")}, " "))
}

// positions is the table of every position that is a link.
func (sh *sheet) positions(f *layout.Flow) {
	w := sh.words
	f.Section(w.Say("trunk.positions"), 4)
	var rows [][]layout.Cell
	for _, p := range sh.record.Positions {
		l := sh.at[p.Position]
		far, style, verdict := w.Say("trunk.untested"), f.Body, f.Body
		if p.Far > 0 {
			if far = w.Whole(p.Far); p.Far != p.Wanted {
				style = f.Alarm()
			}
		}
		switch {
		case l.Verdict == judge.Marginal:
			verdict = f.Strong
		case !l.Verdict.Certifiable():
			verdict = f.Alarm()
		}
		row := layout.Cells(f.Body, w.Whole(p.Position), p.Link, w.Whole(p.Wanted), far, "", "", "", "", w.Say("open."+l.Verdict.String()))
		if one := l.WorstFinding(); one != nil && one.Measured != nil && one.Margin != nil {
			places := one.Places(2)
			row[4].Text = wording.Nanometres(one.WavelengthNM) + " " + w.Term("arrow", string(one.Direction))
			row[5].Text, row[6].Text, row[7].Text = w.Fixed(*one.Measured, places), sh.Allowed(*one, places), w.Fixed(*one.Margin, places)
		}
		row[1].Style, row[3].Style, row[8].Style = f.Strong, style, verdict
		rows = append(rows, row)
	}
	f.Table([]layout.Column{{Name: w.Say("trunk.position"), Right: true}, {Name: w.Say("links.link"), Wrap: true}, {Name: w.Say("trunk.wanted"), Over: w.Say("trunk.far"), Right: true}, {Name: w.Say("trunk.found"), Over: w.Say("trunk.far"), Right: true},
		{Name: w.Say("links.worst")}, {Name: w.Say("readings.measured"), Right: true}, {Name: w.Say("readings.allowed"), Right: true}, {Name: w.Say("readings.margin"), Right: true}, {Name: w.Say("links.verdict")}}, rows)
}
