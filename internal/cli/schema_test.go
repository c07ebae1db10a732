package cli_test

import (
	"bytes"
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
	"github.com/rogpeppe/go-internal/txtar"
	"github.com/santhosh-tekuri/jsonschema/v6"

	"spanseal/internal/evidence"
	"spanseal/internal/form"
	"spanseal/internal/intake"
	"spanseal/internal/pdf"
	"spanseal/internal/record"
	"spanseal/internal/schema/schematest"
	"spanseal/internal/statement"
	"spanseal/templates"
)

// compiled is a schema as the program prints it.
func compiled(t testing.TB, name string) *jsonschema.Schema {
	t.Helper()
	return schematest.Compile(t, name, must(t, 0, "schema", name))
}

// corpusJob is the job.yaml of a job of intake's corpus.
func corpusJob(t *testing.T, name string) []byte {
	t.Helper()
	a, err := txtar.ParseFile(name)
	if err != nil {
		t.Fatal(err)
	}
	job, err := os.ReadFile("../../testdata/intake/base/job.yaml")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range a.Files {
		switch f.Name {
		case "job.yaml":
			job = f.Data
		case "job.yaml+":
			job = append(slices.Clone(job), f.Data...)
		case "job.yaml~": // old => new, a line each
			for line := range strings.Lines(string(f.Data)) {
				old, fix, _ := strings.Cut(strings.ReplaceAll(strings.TrimSuffix(line, "\n"), `\n`, "\n"), " =>")
				job = bytes.Replace(job, []byte(old), []byte(strings.TrimPrefix(fix, " ")), 1)
			}
		}
	}
	return job
}

// TestSchemaTakesGoodJobs: what intake reads, the schema takes.
func TestSchemaTakesGoodJobs(t *testing.T) {
	s := compiled(t, "job")
	good, err := filepath.Glob("../../testdata/intake/ok/*.txtar")
	if err != nil || len(good) < 40 {
		t.Fatalf("%d jobs, %v", len(good), err)
	}
	jobs := map[string][]byte{}
	for _, name := range good {
		jobs[filepath.Base(name)] = corpusJob(t, name)
	}
	for _, name := range []string{"../../templates/demo/job.yaml", "../../testdata/script/cabinet/job.yaml"} {
		if jobs[name], err = os.ReadFile(name); err != nil {
			t.Fatal(err)
		}
	}
	for name, data := range jobs {
		if err := schematest.ValidateYAML(s, data); err != nil {
			t.Errorf("%s: %v", name, err)
		}
	}
}

// TestSchemaRefusesBadJobs: faults of form are seen by an editor already.
func TestSchemaRefusesBadJobs(t *testing.T) {
	s := compiled(t, "job")
	for _, name := range []string{"bad-date", "answers", "missing-key", "no-reference", "paper", "people-not-a-list", "question-weight", "reference", "site-is-text",
		"uncertainty", "unknown-key", "wrong-type", "empty-value"} {
		if err := schematest.ValidateYAML(s, corpusJob(t, "../../testdata/intake/err/job-"+name+".txtar")); err == nil {
			t.Errorf("job-%s: the schema takes it", name)
		}
	}
}

// TestSchemaKeysAreIntakes holds every object of the schema against the keys
// that intake itself names when it meets an unknown one.
func TestSchemaKeysAreIntakes(t *testing.T) {
	const probe = "zzqqzzqqzzqq"
	job := fmt.Sprintf(`%[1]s: 1
job:
  %[1]s: 1
  number: X
  title: T
  site: {name: a, %[1]s: 1}
  customer: {name: a, %[1]s: 1}
  contractor: {name: a, %[1]s: 1}
  warranty: {months: 2, %[1]s: 1}
  witness: [{who: a, day: 2026-11-18, %[1]s: 1}]
people: [{id: a, name: b, %[1]s: 1}]
instruments: [{id: a, kind: k, serial: "1", %[1]s: 1}]
cables: [{id: a, %[1]s: 1}]
judge:
  %[1]s: 1
  limits: [tia-568.3-e]
  reference: one-cord
  test_cords: standard
  require: {%[1]s: 1, wavelengths_nm: {%[1]s: 1}}
  termination: {%[1]s: 1}
  questions: {calibration: {%[1]s: 1}}
  optional: [{%[1]s: 1}]
pay: {%[1]s: 1, period: {%[1]s: 1}, releases: [{%[1]s: 1}], items: [{%[1]s: 1}]}
sign: {%[1]s: 1}
colours: {%[1]s: 1}
originals: {%[1]s: 1}
trunks: [{%[1]s: 1}]
documents: {%[1]s: 1}
schedule: {%[1]s: 1}
declared: [{%[1]s: 1}]
answers: [{%[1]s: 1}]
readings:
  - files: "readings/*.csv"
    %[1]s: 1
    columns: {%[1]s: 1}
    each: [{%[1]s: 1}]
    directions: {%[1]s: 1}
`, probe)
	dir := t.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "job.yaml"), []byte(job), 0o644); err != nil {
		t.Fatal(err)
	}
	_, problems := intake.Read(dir, intake.Options{})
	var intakes []string
	for _, p := range problems.Sorted() {
		if known, ok := strings.CutPrefix(p.Want, "known here: "); ok && p.Code == "unknown-key" {
			intakes = append(intakes, known)
		}
	}
	var ours []string
	var walk func(v any)
	walk = func(v any) {
		switch v := v.(type) {
		case map[string]any:
			if props, ok := v["properties"].(map[string]any); ok && v["additionalProperties"] == false {
				var names []string
				for name := range props {
					names = append(names, name)
				}
				slices.Sort(names)
				ours = append(ours, strings.Join(names, ", "))
			}
			for _, x := range v {
				walk(x)
			}
		case []any:
			for _, x := range v {
				walk(x)
			}
		}
	}
	walk(document(t, "job"))
	// Questions are intake's to pass on and judge's to know.
	var codes []string
	for _, c := range evidence.Checks() {
		codes = append(codes, c.Code)
	}
	slices.Sort(codes)
	intakes = append(intakes, strings.Join(codes, ", "))
	slices.Sort(intakes)
	slices.Sort(ours)
	if diff := cmp.Diff(intakes, ours); diff != "" {
		t.Errorf("keys of intake (-) and of the schema (+):\n%s", diff)
	}
}

func document(t *testing.T, name string) map[string]any {
	t.Helper()
	data, err := templates.Files.ReadFile("schema/" + name + ".schema.json")
	if err != nil {
		t.Fatal(err)
	}
	var doc map[string]any
	if err := json.Unmarshal(data, &doc); err != nil {
		t.Fatal(err)
	}
	return doc
}

// TestSchemasOfWhatIsIssued: the results and every record of the demonstration
// are as their schemas say.
func TestSchemasOfWhatIsIssued(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "demo")
	must(t, 0, "demo", dir)
	validate := func(s *jsonschema.Schema, what string, data []byte) {
		doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(data))
		if err == nil {
			err = s.Validate(doc)
		}
		if err != nil {
			t.Errorf("%s: %v", what, err)
		}
	}
	data, err := os.ReadFile(filepath.Join(dir, "issued/r1/results.json"))
	if err != nil {
		t.Fatal(err)
	}
	validate(compiled(t, "results"), "results.json", data)
	records := compiled(t, "record")
	papers, err := filepath.Glob(filepath.Join(dir, "issued/r1/[cn]*/*.pdf")) // of links: certificates and nonconformance sheets
	if err != nil || len(papers) != 30 {
		t.Fatalf("%d papers, %v", len(papers), err)
	}
	for _, name := range papers {
		data, err := os.ReadFile(name)
		if err != nil {
			t.Fatal(err)
		}
		paper, err := pdf.Open(data)
		if err != nil {
			t.Fatal(err)
		}
		found := false
		for _, a := range paper.Attachments {
			if a.Name == "record.json" {
				found = true
				validate(records, name, a.Data)
			}
		}
		if !found {
			t.Errorf("%s carries no record", name)
		}
	}
}

// TestSchemasNameEveryMember: a member that a type may write is in its schema,
// whether the demonstration happens to write it or not.
func TestSchemasNameEveryMember(t *testing.T) {
	for name, of := range map[string]reflect.Type{"record": reflect.TypeFor[form.Record](), "results": reflect.TypeFor[form.Results]()} {
		doc := document(t, name)
		members(t, doc, name, doc, of)
	}
}

func members(t *testing.T, doc map[string]any, at string, schema map[string]any, of reflect.Type) {
	if ref, ok := schema["$ref"].(string); ok {
		def, ok := doc["$defs"].(map[string]any)[strings.TrimPrefix(ref, "#/$defs/")].(map[string]any)
		if !ok {
			t.Errorf("%s: %s is not defined", at, ref)
			return
		}
		schema = def
	}
	for of.Kind() == reflect.Pointer {
		of = of.Elem()
	}
	switch {
	case of == reflect.TypeFor[record.Further](): // which writes itself, as texts under any heading
		if text, _ := schema["additionalProperties"].(map[string]any); text["type"] != "string" {
			t.Errorf("%s: further columns are texts, and the schema has %v", at, schema)
		}
	case of.Kind() == reflect.Slice:
		items, ok := schema["items"].(map[string]any)
		if !ok {
			t.Errorf("%s: a list without items", at)
			return
		}
		members(t, doc, at+"[]", items, of.Elem())
	case of.Kind() == reflect.Map:
		if of.Elem().Kind() == reflect.Struct {
			members(t, doc, at+"{}", schema["additionalProperties"].(map[string]any), of.Elem())
		}
	case of == reflect.TypeFor[statement.Statement](): // which writes itself
		props, _ := schema["properties"].(map[string]any)
		if names := slices.Sorted(maps.Keys(props)); !slices.Equal(names, []string{"args", "code", "text"}) {
			t.Errorf("%s: a statement has code, args and text, and the schema names %q", at, names)
		}
	case of.Kind() == reflect.Struct && !reflect.PointerTo(of).Implements(reflect.TypeFor[interface{ UnmarshalText([]byte) error }]()):
		props, _ := schema["properties"].(map[string]any)
		for _, f := range reflect.VisibleFields(of) { // without those of an embedded type that others hide
			member, _, _ := strings.Cut(f.Tag.Get("json"), ",")
			if member == "-" || !f.IsExported() || f.Anonymous || f.Type.Name() == "nowhere" { // which takes the place of what is left out
				continue
			}
			sub, ok := props[member].(map[string]any)
			if !ok {
				t.Errorf("%s: %s writes %q, and the schema does not name it", at, of, member)
				continue
			}
			members(t, doc, at+"."+member, sub, f.Type)
		}
	}
}
