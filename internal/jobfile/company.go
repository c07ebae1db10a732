package jobfile

import (
	"path"
	"slices"

	"gopkg.in/yaml.v3"

	"spanseal/internal/company"
	"spanseal/internal/diag"
	"spanseal/internal/folder"
	"spanseal/internal/record"
	"spanseal/internal/source"
	"spanseal/internal/strict"
)

// layOver lays job.yaml over the company file that it names, if it names one.
func (r *reader) layOver(d *strict.YAML, top *yaml.Node) *yaml.Node {
	n := valueOf(top, company.Key)
	if n == nil || n.Tag == "!!null" {
		return top
	}
	// Unless the file is read, what is missing may stand there, and how to read others.
	d.Part, r.Parsed, r.WrongZone = true, false, true
	name, ok := d.Scalar(n, company.Key)
	if !ok {
		return top
	}
	file, problem := company.Find(r.folder.Dir(), name)
	if problem != nil {
		problem.Place = d.At(n)
		r.list.Add(*problem)
		return top
	}
	if in := r.folder; in.Exists(company.TakenName) && file.Name != company.TakenName {
		r.list.Add(diag.Problem{Code: "reserved-name", Place: diag.Place{File: company.TakenName},
			Message: "a revision keeps under this name what the job took from its company file", Fix: "rename the file, or remove it from the job folder"})
	}
	firm := r.readFirm(file)
	if firm == nil {
		return top
	}
	d.Part, r.Parsed, r.WrongZone = false, true, false
	r.Company = &record.Company{File: file.Name, Name: name, Dir: file.Dir, Data: file.Raw}
	r.laid = company.Lay(top, firm, file.File)
	d.Others = r.laid.From
	if !r.folder.Exists(payFile) {
		r.layPay()
	}
	return r.laid.Top
}

// readFirm reads a company file by itself, so that whatever is wrong in it is said,
// also of what the job does not take. It returns the nodes that may be taken.
func (r *reader) readFirm(file *company.CompanyFile) *yaml.Node {
	d := &strict.YAML{File: file.File, List: r.list}
	firm := company.Read(d)
	if firm == nil {
		return nil
	}
	alone := newReader(r.folder, r.list)
	alone.probing = true
	alone.Company = &record.Company{File: file.Name, Dir: file.Dir}
	d.Part = true
	ks := alone.keys(d)
	for _, own := range company.Own {
		delete(ks, own)
	}
	d.Object(firm, file.Name, ks)
	var known []*yaml.Node
	for i := 0; i+1 < len(firm.Content); i += 2 {
		if _, is := ks[firm.Content[i].Value]; is {
			known = append(known, firm.Content[i], firm.Content[i+1])
		}
	}
	firm.Content = known
	return firm
}

// layPay lays the pay of job.yaml over the company's.
func (r *reader) layPay() {
	top := r.laid.Top
	for i := 0; i+1 < len(top.Content); i += 2 {
		if top.Content[i].Value == "pay" {
			top.Content[i+1] = r.laid.OverPay(top.Content[i+1])
			return
		}
	}
	if pay := r.laid.OverPay(nil); pay != nil {
		top.Content = append(top.Content, &yaml.Node{Kind: yaml.ScalarNode, Tag: "!!str", Value: "pay", Line: pay.Line, Column: pay.Column}, pay)
	}
}

// readKey reads where the key lies. What a company file says is relative to that file.
func (r *reader) readKey(d *strict.YAML) func(*yaml.Node) {
	return func(n *yaml.Node) {
		key := &r.Job.Sign.Key
		if d.Text("sign.key", key)(n); r.Company != nil && d.FileOf(n).Name == r.Company.File && *key != "" {
			*key = path.Join(path.Dir(r.Company.File), *key)
		}
	}
}

// Take settles what the job takes from its company file, once all that names people
// and instruments is read: those that somebody or something names. It keeps a file of
// it as evidence.
func (c *Contents) Take(in *folder.JobFolder, facts *record.Facts) {
	if c.laid == nil {
		return
	}
	named := map[[2]string]bool{}
	name := func(list string, ids ...string) {
		for _, id := range ids {
			named[[2]string{list, id}] = true
		}
	}
	job := &facts.Job
	name("people", job.Sign.As)
	for i := range facts.Readings {
		name("people", facts.Readings[i].Person)
		name("instruments", facts.Readings[i].Instrument, facts.Readings[i].Source)
	}
	for i := range facts.Terminations {
		name("people", facts.Terminations[i].Person)
	}
	for i := range facts.Inspections {
		name("people", facts.Inspections[i].Person)
	}
	for _, a := range job.Answers {
		name("people", a.Who)
	}
	for _, v := range job.Declared {
		name("people", v.By)
	}
	taken := c.laid.Taken(c.Company.Name, func(list, id string) bool { return named[[2]string{list, id}] })
	idle := func(list, id string) bool { return slices.Contains(taken.Idle, [2]string{list, id}) }
	job.People = slices.DeleteFunc(slices.Clone(job.People), func(p record.Person) bool { return idle("people", p.ID) })
	job.Instruments = slices.DeleteFunc(slices.Clone(job.Instruments), func(i record.Instrument) bool { return idle("instruments", i.ID) })
	facts.Company.Took = taken.Keys
	in.Keep(source.New(company.TakenName, taken.YAML))
}

// readBeside reads a file that the job folder lacks from beside the company file.
func (r *reader) readBeside(name string, limit int64) ([]byte, error) {
	files, err := company.OpenFiles(r.folder.Dir(), r.Company.Dir)
	if err != nil {
		return nil, err
	}
	defer files.Close()
	return files.ReadUpTo(name, limit)
}
