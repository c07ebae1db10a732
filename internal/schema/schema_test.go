package schema_test

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"path"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"spanseal/internal/diag"
	"spanseal/internal/inspection"
	"spanseal/internal/intake"
	"spanseal/internal/jobfile"
	"spanseal/internal/limits"
	"spanseal/internal/original"
	"spanseal/internal/schema"
	"spanseal/internal/schema/schematest"
	"spanseal/internal/source"
	"spanseal/templates"
)

// isTable: these are described as tables.
var isTable = []string{"links", "terminations", "inspections", "originals"}

// compiled is a schema, read by a validator of somebody else's making.
func compiled(t *testing.T, name string) *jsonschema.Schema {
	t.Helper()
	data, err := schema.Of(templates.Files, name)
	if err != nil {
		t.Fatal(name, err)
	}
	return schematest.Compile(t, name, string(data))
}

func TestEveryDescription(t *testing.T) {
	ids := map[string]string{}
	for _, d := range schema.All(templates.Files) {
		data, err := schema.Of(templates.Files, d.Name)
		if err != nil {
			t.Errorf("%s: %v", d.Name, err)
			continue
		}
		if slices.Contains(isTable, d.Name) {
			continue
		}
		compiled(t, d.Name)
		var head struct {
			ID    string `json:"$id"`
			Title string
		}
		if err := json.Unmarshal(data, &head); err != nil || head.Title == "" || ids[head.ID] != "" {
			t.Errorf("%s: id %q (also of %q), title %q, %v", d.Name, head.ID, ids[head.ID], head.Title, err)
		}
		ids[head.ID] = d.Name
	}
	if _, err := schema.Of(templates.Files, "nothing"); !errors.Is(err, fs.ErrNotExist) {
		t.Errorf("of nothing: %v", err)
	}
	// Nothing below templates/schema is left undescribed.
	entries, err := fs.ReadDir(templates.Files, "schema")
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range entries {
		name, _, _ := strings.Cut(e.Name(), ".")
		if name != "README" && !slices.ContainsFunc(schema.All(templates.Files), func(d schema.Described) bool { return d.Name == name }) {
			t.Errorf("no description is named %s", name)
		}
	}
}

// What the program itself has is valid, and so is a job's own file with some keys of
// it; what it has not is refused.
func TestFiles(t *testing.T) {
	files := func(pattern string) (texts []string) {
		names, err := fs.Glob(templates.Files, pattern)
		if err != nil || len(names) == 0 {
			t.Fatal(pattern, err)
		}
		for _, name := range names {
			data, err := fs.ReadFile(templates.Files, name)
			if err != nil {
				t.Fatal(err)
			}
			texts = append(texts, string(data))
		}
		return texts
	}
	tests := []struct {
		name     string
		ok, fail []string
	}{
		{"limits", append(files("limits/*.yaml"), "id: a\ntitle: A\nedition: 2026\nowner: B\nextends: tia-568.3-e\nvalues: {mated_pair: 0.3 dB}\n"),
			[]string{"id: a\ntitle: A\n", "id: A b\ntitle: A\nedition: 2026\n", "id: a\ntitle: A\nedition: 2026\nvalues: {mated_pair: 0.3}\n",
				"id: a\ntitle: A\nedition: 2026\nlimits: [{id: b, quantity: loss}]\n", "id: a\ntitle: A\nedition: 2026\nlimit: []\n",
				"id: a\ntitle: A\nedition: 2026\nvalues: {x: {unit: dB}}\n", "id: a\ntitle: A\nedition: 2026\nprovenance: believed\n"}},
		{"limit-tests", files("limits/tests/*.yaml"),
			[]string{"set: a\n", "tests: [{name: b}]\n", "tests: [{name: b, expect: [{quantity: loss}]}]\n", "tests: [{name: b, expect: {quantity: length}, links: {}}]\n"}},
		{"style", append(files("documents/style.yaml"), "points: {title: 21}\n", "logo: mark.png\ncolours: {ink: \"000000\"}\n"),
			[]string{"points: {titel: 21}\n", "point: {title: 21}\n", "points: 21\n"}},
		{"labels", append(files("documents/labels.yaml"), "symbol: 22\n", "symbol: largest\nA4: {columns: 5}\n"), []string{"A4: {colums: 5}\n", "A4: {columns: [5]}\n"}},
		{"certificate", append(files("documents/certificate.yaml"), "sections: [link, readings]\n"), []string{"section: [link]\n", "sections: {link: 1}\n"}},
		{"wording", append(files("wording/en.yaml"), "locale: {decimal: \",\"}\n"), []string{"nothing: x\n"}},
		{"pay", []string{"currency: EUR\nitems: [{line: 1, title: a, unit: link, rate: 3.20}]\n"}, []string{"items: [{line: 1, title: a, unit: metre}]\n", "currencies: EUR\n"}},
		{"mapping", []string{"delimiter: ;\ncolumns: {link: Cable ID}\n"}, []string{"delimiter: x\n", "column: {link: a}\n"}},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			s := compiled(t, tt.name)
			for _, text := range tt.ok {
				if err := schematest.ValidateYAML(s, []byte(text)); err != nil {
					t.Errorf("%.60q: %v", text, err)
				}
			}
			for _, text := range tt.fail {
				if err := schematest.ValidateYAML(s, []byte(text)); err == nil {
					t.Errorf("%q is taken", text)
				}
			}
		})
	}
}

// The keys of limit sets and of their tests are those that package limits names when
// it meets an unknown one.
func TestKeysOfLimits(t *testing.T) {
	const probe = "zzqqzzqqzzqq"
	for _, tt := range []struct {
		name, text string
		parse      func(*source.File) []string
	}{
		{"limits", fmt.Sprintf(`%[1]s: 1
id: a
title: A
edition: 1
owner: B
provenance: read
values:
  loss: {unit: dB, rows: [{value: 1, %[1]s: 1}], %[1]s: 1}
limits:
  - id: x
    quantity: insertion_loss
    %[1]s: 1
    where: {%[1]s: 1}
    at_most: [{rate: loss, %[1]s: 1}]
    over: [{say: much, %[1]s: 1}]
  - {id: y, quantity: insertion_loss, budget: {launch: 1 dBm, sensitivity: 1 dBm, %[1]s: 1}}
`, probe), func(f *source.File) []string { _, list := limits.Parse(f); return wants(list.Sorted()) }},
		{"limit-tests", fmt.Sprintf(`%[1]s: 1
set: a
link: {%[1]s: 1}
tests:
  - name: b
    %[1]s: 1
    expect: [{quantity: length, none: true, %[1]s: 1}]
`, probe), func(f *source.File) []string { _, list := limits.ParseCases(f); return wants(list.Sorted()) }},
	} {
		want := tt.parse(source.New("probe.yaml", []byte(tt.text)))
		data, err := schema.Of(templates.Files, tt.name)
		if err != nil {
			t.Fatal(err)
		}
		var doc any
		if err := json.Unmarshal(data, &doc); err != nil {
			t.Fatal(err)
		}
		got := objects(doc)
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: keys that are read (-) and of the schema (+):\n%s", tt.name, diff)
		}
	}
}

// The columns are those that are read, each once and described.
func TestColumns(t *testing.T) {
	both := func(required, optional []string) []string { return slices.Concat(required, optional) }
	tests := []struct {
		name               string
		required, optional []string
	}{
		{"links", jobfile.ScheduleColumns.Required, both(jobfile.ScheduleColumns.Optional, jobfile.ScheduleColumns.Names)},
		{"terminations", intake.TerminationColumns.Required, intake.TerminationColumns.Optional},
		{"inspections", inspection.Required, inspection.Optional},
		{"originals", original.Required, original.Optional},
	}
	for _, tt := range tests {
		data, err := schema.Of(templates.Files, tt.name)
		if err != nil {
			t.Fatal(err)
		}
		var doc struct {
			Context     string `json:"@context"`
			URL         string
			TableSchema struct {
				Columns []struct {
					Name, Titles string
					Required     bool
					Description  string `json:"dc:description"`
				}
			}
		}
		if err := json.Unmarshal(data, &doc); err != nil {
			t.Fatal(err)
		}
		if doc.Context != "http://www.w3.org/ns/csvw" || doc.URL != path.Base(tt.name)+".csv" { // Metadata Vocabulary for Tabular Data, 5.2 and 5.4
			t.Errorf("%s: context %q, url %q", tt.name, doc.Context, doc.URL)
		}
		want, got := map[string]bool{}, map[string]bool{}
		for _, c := range tt.required {
			one := strings.Split(c, "|")
			for _, c := range one {
				want[c] = len(one) == 1 // of several, one is required
			}
		}
		for _, c := range tt.optional {
			want[c] = false
		}
		for _, c := range doc.TableSchema.Columns {
			if _, twice := got[c.Name]; twice || c.Titles != c.Name || c.Description == "" {
				t.Errorf("%s: %s stands twice, has another title or no description", tt.name, c.Name)
			}
			got[c.Name] = c.Required
		}
		if diff := cmp.Diff(want, got); diff != "" {
			t.Errorf("%s: columns that are read (-) and described (+):\n%s", tt.name, diff)
		}
	}
}

// wants are the keys that problems name as known, one text for each object.
func wants(problems []diag.Problem) (known []string) {
	for _, p := range problems {
		if keys, ok := strings.CutPrefix(p.Want, "known here: "); ok && p.Code == "unknown-key" {
			known = append(known, keys)
		}
	}
	slices.Sort(known)
	return known
}

// objects are the keys of each object of a schema that takes no others.
func objects(doc any) (all []string) {
	switch v := doc.(type) {
	case map[string]any:
		if props, ok := v["properties"].(map[string]any); ok && v["additionalProperties"] == false {
			all = append(all, strings.Join(slices.Sorted(maps.Keys(props)), ", "))
		}
		for _, x := range v {
			all = append(all, objects(x)...)
		}
	case []any:
		for _, x := range v {
			all = append(all, objects(x)...)
		}
	}
	slices.Sort(all)
	return all
}
