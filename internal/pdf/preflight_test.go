package pdf

import (
	"fmt"
	"os"
	"os/exec"
	"regexp"
	"slices"
	"strings"
	"testing"
)

// preflight runs PDFBox's validator and returns its findings. It knows only
// part 1 of ISO 19005, level B; no validator of part 3 is packaged for the
// machines that test this.
func preflight(t *testing.T, data []byte) []string {
	t.Helper()
	var jars []string
	for _, name := range []string{"preflight", "xmpbox", "pdfbox2", "fontbox2", "commons-logging", "javax.activation", "jaxb-api"} {
		jar := "/usr/share/java/" + name + ".jar"
		if _, err := os.Stat(jar); err != nil {
			if os.Getenv("CI") != "" {
				t.Fatalf("%s is missing", jar)
			}
			t.Skipf("left out: %s is missing", jar)
		}
		jars = append(jars, jar)
	}
	path := save(t, data)
	run(t, "java", "-version")
	out, err := exec.Command("java", "-cp", strings.Join(jars, ":"), "org.apache.pdfbox.preflight.Validator_A1b", path).CombinedOutput()
	if exit, ok := err.(*exec.ExitError); err != nil && !(ok && exit.ExitCode() == 255) {
		t.Fatalf("%v\n%s", err, out)
	}
	if !strings.Contains(string(out), "PDF/A-1b file") {
		t.Fatalf("not a verdict:\n%s", out)
	}
	return regexp.MustCompile(`(?m)^\d+(\.\d+)* : .*$`).FindAllString(string(out), -1)
}

// later are the findings against part 1 that part 3 permits.
var later = regexp.MustCompile(`^(` + strings.Join([]string{
	`1\.4\.7 : .*EmbeddedFile entry is present in the Names dictionary`,           // 6.8: files may be embedded
	`1\.2\.9 : .*EmbeddedFile entry is present in a FileSpecification dictionary`, // the same
	`5\.3\.1 : .*widget annotation lacks an appearance dictionary( on page 1)?`,   // 6.3.3: not where its size is zero
	`7\.11\.2 : Error on MetaData, part must be 1`,                                // 6.6.4: it is 3
}, "|") + `)$`)

func against(findings []string) []string {
	return slices.DeleteFunc(findings, later.MatchString)
}

// withCIDSets adds to each font the list of its codes, which part 1 asks for
// (and part 3 leaves out, 6.2.11.4.2), or the validator would not look further.
func withCIDSets(t *testing.T, f *forgery) []byte {
	n := f.add("<</Length 8192>>\nstream\n" + strings.Repeat("\xFF", 8192) + "\nendstream")
	f.all("/Type/FontDescriptor", fmt.Sprintf("/Type/FontDescriptor/CIDSet %d 0 R", n))
	return f.flat(t)
}

func TestPreflight(t *testing.T) {
	for name, data := range kinds(t) {
		t.Run(name, func(t *testing.T) {
			t.Parallel()
			for _, found := range against(preflight(t, withCIDSets(t, takeApart(t, data)))) {
				t.Error(found)
			}
		})
	}
	t.Run("at fault", func(t *testing.T) {
		t.Parallel()
		f := takeApart(t, kinds(t)["certificate"])
		f.all(`/W\[32\[\d+`, "/W[32[999")
		f.content(t, "BT ", "0 0 0 1 k BT ") // ink of no profile
		f.all("<pdfaid:conformance>A", "<pdfaid:conformance>X")
		found := strings.Join(against(preflight(t, withCIDSets(t, f))), "\n")
		for _, want := range []string{"width", "Color", "conformance level"} {
			if !strings.Contains(found, want) {
				t.Errorf("no %q in\n%s", want, found)
			}
		}
	})
}
