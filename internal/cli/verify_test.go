package cli_test

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"spanseal/internal/cli"
	"spanseal/internal/pdf"
)

// The text of a label can be checked as it was scanned: by itself, behind the
// address of a checking page, or from a file.
func TestVerifyLabel(t *testing.T) {
	job := bigJob(t, 1)
	key := filepath.Join(job, "signer.p12")
	must(t, cli.ExitOK, "key", "new", key, "--name", "R. Lindqvist")
	must(t, cli.ExitOK, "issue", job)
	data, err := os.ReadFile(filepath.Join(job, "issued", "r1", "certificates", "L-00001.pdf"))
	if err != nil {
		t.Fatal(err)
	}
	paper, err := pdf.Open(data)
	if err != nil {
		t.Fatal(err)
	}
	var token string
	for _, a := range paper.Attachments {
		if a.Name == "token.txt" {
			token = strings.TrimSpace(string(a.Data))
		}
	}
	file := filepath.Join(t.TempDir(), "scanned.txt")
	if err := os.WriteFile(file, []byte(token+"\r\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	marked := filepath.Join(t.TempDir(), "marked.txt")
	if err := os.WriteFile(marked, []byte("\ufeffhttps://check.example/#"+token+"\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	broken := filepath.Join(t.TempDir(), "broken.txt")
	if err := os.WriteFile(broken, []byte(token[:60]+"\r\n"+token[60:]+"\r\n"), 0o644); err != nil {
		t.Fatal(err)
	}
	cert := filepath.Join(job, "signer.pem")
	other := "A"
	if token[60] == 'A' {
		other = "B"
	}
	changed := token[:60] + other + token[61:]
	for _, test := range []struct {
		name string
		args []string
		code int
		says string
	}{
		{"trusted", []string{token, "--trust", cert}, cli.ExitOK, "INTACT, SIGNER TRUSTED  SS1."},
		{"behind an address", []string{"https://check.example/#" + token, "--trust", cert}, cli.ExitOK, "INTACT, SIGNER TRUSTED  https://check.example/#SS1."},
		{"in a file", []string{file, "--trust", cert}, cli.ExitOK, "INTACT, SIGNER TRUSTED  "},
		{"in a file, with address and byte order mark", []string{marked, "--trust", cert}, cli.ExitOK, "INTACT, SIGNER TRUSTED  "},
		{"no certificate at hand", []string{token}, cli.ExitUntrusted, "WELL FORMED, SIGNATURE NOT CHECKED  SS1."},
		{"changed", []string{changed, "--trust", cert}, cli.ExitWrong, "NOT"},
		{"cut", []string{token[:len(token)-8], "--trust", cert}, cli.ExitWrong, "NOT"},
		{"in lower case", []string{strings.ToLower(token), "--trust", cert}, cli.ExitWrong, "NOT READABLE  ss1."},
		{"in lower case, behind an address", []string{"https://check.example/#" + strings.ToLower(token), "--trust", cert}, cli.ExitWrong, "NOT READABLE  https://"},
		{"a line break inside", []string{token[:60] + "\n" + token[60:], "--trust", cert}, cli.ExitWrong, "NOT READABLE  SS1."},
		{"a line break inside, in a file", []string{broken, "--trust", cert}, cli.ExitWrong, "NOT READABLE  "},
		{"without its beginning", []string{token[4:], "--trust", cert}, cli.ExitRefused, ""},
	} {
		t.Run(test.name, func(t *testing.T) {
			out := must(t, test.code, append([]string{"verify"}, test.args...)...)
			if !strings.HasPrefix(out, test.says) {
				t.Errorf("got\n%s\nwant it to begin with %q", out, test.says)
			}
		})
	}
}
