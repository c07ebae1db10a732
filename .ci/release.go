//go:build ignore

// Release builds the program for six targets and packs each into an archive
// with its manual pages, completions, the licences of its libraries and a
// software bill of materials, beside a list of SHA-256 sums.
//
//	release/spanseal_v1.2.0_linux_amd64.tar.gz   ... zip for Windows
//	release/spanseal_v1.2.0_linux_amd64.cdx.json CycloneDX 1.6
//	release/SHA256SUMS                           for sha256sum --check
//
// The same commit and compiler give the same bytes on every machine: paths are
// trimmed, and every time in an archive is that of the commit. The version is
// the one that the toolchain stamps, from the tag of the commit.
package main

import (
	"archive/tar"
	"archive/zip"
	"bytes"
	"compress/gzip"
	"crypto/sha256"
	"debug/buildinfo"
	"encoding/json"
	"fmt"
	"io"
	"io/fs"
	"log"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"runtime/debug"
	"slices"
	"strings"
	"time"
)

const name = "spanseal"

func main() {
	log.SetFlags(0)
	log.SetPrefix("release: ")
	if len(os.Args) != 2 {
		log.Fatal("usage: release FOLDER")
	}
	if err := release(os.Args[1]); err != nil {
		log.Fatal(err)
	}
}

func release(out string) error {
	if entries, err := os.ReadDir(out); err == nil && len(entries) > 0 {
		return fmt.Errorf("%s holds something already", out)
	}
	work, err := os.MkdirTemp("", name)
	if err != nil {
		return err
	}
	defer os.RemoveAll(work)
	if err := os.MkdirAll(out, 0o755); err != nil {
		return err
	}
	when, err := commitTime()
	if err != nil {
		return err
	}
	own := filepath.Join(work, "own")
	if err := build(own, runtime.GOOS, runtime.GOARCH); err != nil {
		return err
	}
	papers := filepath.Join(work, "papers")
	if err := run(nil, own, "docs", papers); err != nil {
		return err
	}
	for _, f := range []string{"README.md", "examples/guide.md", "examples/meaning.md"} {
		data, err := os.ReadFile(f)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(papers, filepath.Base(f)), data, 0o644); err != nil {
			return err
		}
	}
	for _, system := range []string{"linux", "darwin", "windows"} {
		for _, arch := range []string{"amd64", "arm64"} {
			if err := target(out, work, papers, system, arch, when); err != nil {
				return fmt.Errorf("%s/%s: %w", system, arch, err)
			}
		}
	}
	return sums(out)
}

// target makes the archive and the bill of one target.
func target(out, work, papers, system, arch string, when time.Time) error {
	program := name
	if system == "windows" {
		program += ".exe"
	}
	binary := filepath.Join(work, system+"-"+arch)
	if err := build(binary, system, arch); err != nil {
		return err
	}
	info, err := buildinfo.ReadFile(binary)
	if err != nil {
		return err
	}
	version := info.Main.Version
	base := fmt.Sprintf("%s_%s_%s_%s", name, strings.Trim(version, "()"), system, arch)
	bill, err := sbom(info, base, when)
	if err != nil {
		return err
	}
	if err := os.WriteFile(filepath.Join(out, base+".cdx.json"), bill, 0o644); err != nil {
		return err
	}
	files := map[string][]byte{"sbom.cdx.json": bill}
	if files["licences.txt"], err = licences(info); err != nil {
		return err
	}
	if files[program], err = os.ReadFile(binary); err != nil {
		return err
	}
	err = fs.WalkDir(os.DirFS(papers), ".", func(p string, d fs.DirEntry, err error) error {
		if err == nil && !d.IsDir() {
			files[p], err = os.ReadFile(filepath.Join(papers, filepath.FromSlash(p)))
		}
		return err
	})
	if err != nil {
		return err
	}
	pack, suffix := tarball, ".tar.gz"
	if system == "windows" {
		pack, suffix = zipped, ".zip"
	}
	archive, err := pack(base, program, files, when)
	if err != nil {
		return err
	}
	fmt.Println(base + suffix)
	return os.WriteFile(filepath.Join(out, base+suffix), archive, 0o644)
}

// commitTime is the time of the commit that is built.
func commitTime() (time.Time, error) {
	text, err := exec.Command("git", "log", "-1", "--format=%cI").Output()
	if err != nil {
		return time.Time{}, fmt.Errorf("no commit to build from: %w", err)
	}
	t, err := time.Parse(time.RFC3339, strings.TrimSpace(string(text)))
	return t.UTC(), err
}

func build(out, system, arch string) error {
	return run([]string{"CGO_ENABLED=0", "GOFLAGS=", "GOOS=" + system, "GOARCH=" + arch, "GOAMD64=v1"},
		"go", "build", "-trimpath", "-buildvcs=true", "-ldflags=-s -w -buildid=", "-o", out, "./cmd/"+name)
}

func run(env []string, program string, args ...string) error {
	c := exec.Command(program, args...)
	c.Env = append(os.Environ(), env...)
	c.Stderr = os.Stderr
	if err := c.Run(); err != nil {
		return fmt.Errorf("%s %s: %w", program, strings.Join(args, " "), err)
	}
	return nil
}

// sorted are the names of files in the order of an archive.
func sorted(files map[string][]byte) []string {
	var names []string
	for n := range files {
		names = append(names, n)
	}
	slices.Sort(names)
	return names
}

func mode(file, program string) int64 {
	if file == program {
		return 0o755
	}
	return 0o644
}

func tarball(base, program string, files map[string][]byte, when time.Time) ([]byte, error) {
	var b bytes.Buffer
	z, err := gzip.NewWriterLevel(&b, gzip.BestCompression)
	if err != nil {
		return nil, err
	}
	t := tar.NewWriter(z)
	for _, n := range sorted(files) {
		h := &tar.Header{Typeflag: tar.TypeReg, Name: base + "/" + n, Size: int64(len(files[n])), Mode: mode(n, program), ModTime: when, Format: tar.FormatUSTAR}
		if err := t.WriteHeader(h); err != nil {
			return nil, err
		}
		if _, err := t.Write(files[n]); err != nil {
			return nil, err
		}
	}
	if err := t.Close(); err != nil {
		return nil, err
	}
	err = z.Close()
	return b.Bytes(), err
}

func zipped(base, program string, files map[string][]byte, when time.Time) ([]byte, error) {
	var b bytes.Buffer
	z := zip.NewWriter(&b)
	for _, n := range sorted(files) {
		h := &zip.FileHeader{Name: base + "/" + n, Method: zip.Deflate, Modified: when}
		h.SetMode(fs.FileMode(mode(n, program)))
		w, err := z.CreateHeader(h)
		if err != nil {
			return nil, err
		}
		if _, err := w.Write(files[n]); err != nil {
			return nil, err
		}
	}
	err := z.Close()
	return b.Bytes(), err
}

// component is a part of the program in the form of CycloneDX 1.6.
type component struct {
	Type       string     `json:"type"`
	Ref        string     `json:"bom-ref"`
	Name       string     `json:"name"`
	Version    string     `json:"version"`
	PURL       string     `json:"purl,omitempty"` // package URL
	Properties []property `json:"properties,omitempty"`
}

type property struct {
	Name  string `json:"name"`
	Value string `json:"value"`
}

type dependency struct {
	Ref       string   `json:"ref"`
	DependsOn []string `json:"dependsOn,omitempty"`
}

// sbom lists every module in a program, from what the toolchain wrote into it.
func sbom(info *debug.BuildInfo, base string, when time.Time) ([]byte, error) {
	program := component{Type: "application", Ref: base, Name: name, Version: info.Main.Version, Properties: []property{{"go:version", info.GoVersion}}}
	for _, s := range info.Settings {
		if slices.Contains([]string{"vcs.revision", "vcs.modified", "GOOS", "GOARCH", "CGO_ENABLED"}, s.Key) {
			program.Properties = append(program.Properties, property{"go:" + s.Key, s.Value})
		}
	}
	std := component{Type: "library", Ref: "pkg:golang/std@" + strings.TrimPrefix(info.GoVersion, "go"), Name: "std", Version: strings.TrimPrefix(info.GoVersion, "go")}
	std.PURL = std.Ref
	parts := []component{std}
	for _, m := range info.Deps {
		if m.Replace != nil {
			m = m.Replace
		}
		ref := "pkg:golang/" + m.Path + "@" + m.Version
		parts = append(parts, component{Type: "library", Ref: ref, Name: m.Path, Version: m.Version, PURL: ref, Properties: []property{{"go:sum", m.Sum}}})
	}
	rests := dependency{Ref: base}
	for _, p := range parts {
		rests.DependsOn = append(rests.DependsOn, p.Ref)
	}
	type metadata struct {
		Timestamp string    `json:"timestamp"`
		Component component `json:"component"`
	}
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(struct {
		Schema       string       `json:"$schema"`
		Format       string       `json:"bomFormat"`
		Spec         string       `json:"specVersion"`
		Version      int          `json:"version"`
		Metadata     metadata     `json:"metadata"`
		Components   []component  `json:"components"`
		Dependencies []dependency `json:"dependencies"`
	}{"http://cyclonedx.org/schema/bom-1.6.schema.json", "CycloneDX", "1.6", 1, metadata{when.Format(time.RFC3339), program}, parts, []dependency{rests}})
	return b.Bytes(), err
}

// licences are the texts that the authors of the libraries want to go with
// their work.
func licences(info *debug.BuildInfo) ([]byte, error) {
	root, err := exec.Command("go", "env", "GOROOT").Output()
	if err != nil {
		return nil, err
	}
	var b bytes.Buffer
	add := func(what, dir string) error {
		names, err := filepath.Glob(filepath.Join(dir, "*"))
		if err != nil {
			return err
		}
		found := false
		for _, n := range names {
			switch base := strings.ToUpper(filepath.Base(n)); {
			case strings.HasPrefix(base, "LICENSE"), strings.HasPrefix(base, "LICENCE"), strings.HasPrefix(base, "COPYING"), strings.HasPrefix(base, "NOTICE"):
				text, err := os.ReadFile(n)
				if err != nil {
					return err
				}
				fmt.Fprintf(&b, "%s, %s\n\n%s\n\n", what, filepath.Base(n), strings.TrimSpace(string(text)))
				found = true
			}
		}
		if !found {
			return fmt.Errorf("%s has no licence", what)
		}
		return nil
	}
	if err := add("Go "+info.GoVersion, strings.TrimSpace(string(root))); err != nil {
		return nil, err
	}
	for _, m := range info.Deps {
		dir, err := exec.Command("go", "list", "-m", "-f", "{{.Dir}}", m.Path).Output()
		if err != nil {
			return nil, fmt.Errorf("%s: %w", m.Path, err)
		}
		if err := add(m.Path+" "+m.Version, strings.TrimSpace(string(dir))); err != nil {
			return nil, err
		}
	}
	return b.Bytes(), nil
}

// sums lists the SHA-256 of every file, as sha256sum does.
func sums(out string) error {
	entries, err := os.ReadDir(out)
	if err != nil {
		return err
	}
	var b strings.Builder
	for _, e := range entries {
		f, err := os.Open(filepath.Join(out, e.Name()))
		if err != nil {
			return err
		}
		h := sha256.New()
		_, err = io.Copy(h, f)
		f.Close()
		if err != nil {
			return err
		}
		fmt.Fprintf(&b, "%x  %s\n", h.Sum(nil), e.Name())
	}
	return os.WriteFile(filepath.Join(out, "SHA256SUMS"), []byte(b.String()), 0o644)
}
