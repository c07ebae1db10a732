package verify

import (
	"crypto/sha512"
	"crypto/x509"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"time"

	"spanseal/internal/seal"
)

// maxStamps is how many times the stamps of a revision may have been renewed:
// once a month for longer than any warranty.
const maxStamps = 999

// stampsOf is what renewed time-stamps of a revision are over, see package seal.
type stampsOf struct {
	fsys     fs.FS
	name     string // of the revision's folder
	manifest *seal.Manifest
	sums     map[string][sha512.Size]byte // of listed files, each reckoned once
}

// number is how the lists call the revision, whatever its folder is called.
func (s *stampsOf) number() string { return seal.RevisionFolder(s.manifest.Revision) }

// at is where a listed file lies.
func (s *stampsOf) at(listed string) string {
	first, rest, _ := strings.Cut(listed, "/")
	if first == s.number() {
		return path.Join(s.name, rest)
	}
	return path.Join(seal.StampsFolder(s.name), rest)
}

// files are what the list of that number holds: the whole revision, and the
// stamps before.
func (s *stampsOf) files(n int) []string {
	files := []string{path.Join(s.number(), seal.ManifestName), path.Join(s.number(), seal.ManifestSignature)}
	for _, f := range s.manifest.Files {
		files = append(files, path.Join(s.number(), f.Path))
	}
	for i := 1; i < n; i++ {
		dir := seal.StampsFolder(s.number())
		files = append(files, path.Join(dir, seal.StampList(i)), path.Join(dir, seal.StampReply(i)))
	}
	slices.Sort(files)
	return files
}

// list makes the list of that number from the files as they are.
func (s *stampsOf) list(n int) ([]byte, error) {
	files := s.files(n)
	listed := make([]seal.ListedFile, len(files))
	err := inParallel(len(files), func(i int) (err error) {
		listed[i].Path = files[i]
		sum, known := s.sums[files[i]]
		if !known {
			sum, err = sumOf(s.fsys, s.at(files[i]))
		}
		listed[i].Sum = sum
		return err
	})
	if err != nil {
		return nil, err
	}
	if s.sums == nil {
		s.sums = map[string][sha512.Size]byte{}
	}
	for _, f := range listed {
		s.sums[f.Path] = f.Sum
	}
	return seal.EncodeList(listed)
}

func sumOf(fsys fs.FS, name string) (sum [sha512.Size]byte, err error) {
	f, err := open(fsys, name)
	if err != nil {
		return sum, fmt.Errorf("%s: %w", name, err)
	}
	defer f.Close()
	h := sha512.New()
	if _, err := io.Copy(h, f); err != nil {
		return sum, err
	}
	return [sha512.Size]byte(h.Sum(nil)), nil
}

// against compares a list that was stamped with the files, and says the first
// difference.
func (s *stampsOf) against(n int, stamped []byte) error {
	was, err := seal.ParseList(stamped)
	if err != nil {
		return err
	}
	now, err := s.list(n)
	if err != nil {
		return err
	}
	if slices.Equal(stamped, now) {
		return nil
	}
	are, err := seal.ParseList(now)
	if err != nil {
		return err
	}
	for i := range max(len(was), len(are)) {
		switch {
		case i >= len(was) || i < len(are) && are[i].Path < was[i].Path:
			return fmt.Errorf("it does not list %s", are[i].Path)
		case i >= len(are) || was[i].Path < are[i].Path:
			return fmt.Errorf("it lists %s, which is no part of the revision", was[i].Path)
		case was[i].Sum != are[i].Sum:
			return fmt.Errorf("it lists %s with another hash", was[i].Path)
		}
	}
	return errors.New("it lists other files")
}

// numbers are those of the stamps that lie beside a revision, in order, and
// what else lies there.
func (s *stampsOf) numbers() (numbers []int, others []string, err error) {
	dir := seal.StampsFolder(s.name)
	switch info, err := fs.Lstat(s.fsys, dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, nil, nil
	case err != nil:
		return nil, nil, err
	case !info.IsDir():
		return nil, []string{dir}, nil
	}
	entries, err := fs.ReadDir(s.fsys, dir)
	if err != nil {
		return nil, nil, err
	}
	for _, e := range entries {
		if n, err := strconv.Atoi(strings.TrimSuffix(e.Name(), ".tsr")); err == nil && n > 0 && n <= maxStamps && e.Name() == seal.StampReply(n) {
			numbers = append(numbers, n)
		}
	}
	slices.Sort(numbers)
	for _, e := range entries {
		name := e.Name()
		if slices.ContainsFunc(numbers, func(n int) bool { return name == seal.StampReply(n) || name == seal.StampList(n) }) || byDesktop(s.fsys, path.Join(dir, name), e) {
			continue
		}
		others = append(others, path.Join(dir, name))
	}
	return numbers, others, nil
}

// stamped checks the renewed time-stamps beside a revision and returns a Trust
// that takes into account when all of it existed. Each stamp is judged by the
// next: it counts if its authority was to be believed when that was made.
func (t *Trust) stamped(fsys fs.FS, v *revision, r *Report) *Trust {
	s := &stampsOf{fsys: fsys, name: v.name, manifest: v.manifest}
	numbers, others, err := s.numbers()
	dir := seal.StampsFolder(v.name)
	if err != nil {
		r.add(Item{Path: dir, Kind: KindStamp, State: Intact, Notes: []string{fmt.Sprintf("%s cannot be read and was not checked: %v", dir, err)}})
		return t
	}
	for _, name := range others {
		r.add(Item{Path: name, Kind: KindFile, State: Intact, Notes: []string{"no time-stamp of this revision, and not looked at"}})
	}
	stamps := make([]*seal.Timestamp, len(numbers)) // nil: not as it was made
	for i, n := range numbers {
		item := Item{Path: path.Join(dir, seal.StampReply(n)), Kind: KindStamp, State: Intact}
		stamps[i], err = s.read(n)
		switch {
		case n != i+1:
			item.fault(Missing, fmt.Sprintf("the stamp before it, %s, is not here", seal.StampReply(i+1)))
			stamps[i] = nil
		case err != nil:
			item.fault(Changed, err.Error())
		}
		r.Files += 2
		if item.State != Intact {
			r.add(item)
			return t // what follows rests on it
		}
	}
	var existed time.Time
	for i, ts := range slices.Backward(stamps) {
		item := Item{Path: path.Join(dir, seal.StampReply(numbers[i])), Kind: KindStamp, State: Intact}
		authority := signer(ts.Chain[0])
		t.judgeTime(authority, ts.Chain, ts.Time, existed, seal.Lineage(v.by.Chain))
		name, on := fmt.Sprintf("the renewed time-stamp %d", numbers[i]), ts.Time.UTC().Format(time.DateOnly)
		switch later := existed; {
		case !authority.Trusted:
			item.note(fmt.Sprintf("%s, of %s by %s, does not count: %s", name, on, authority.Name, authority.Why))
		case !later.IsZero() && ts.Time.Sub(later) > ahead:
			item.note(fmt.Sprintf("%s does not count: it is dated %s, after the one that was put over it", name, on))
		default:
			existed = ts.Time
			item.note(fmt.Sprintf("%s: %s vouches that all of %s existed on %s", name, authority.Name, s.number(), on))
			switch ends := authority.NotAfter; {
			case !later.IsZero() && ends.Before(later):
				item.note(fmt.Sprintf("%s was renewed late: the certificate of %s ended on %s", name, authority.Name, ends.Format(time.DateOnly)))
			case later.IsZero() && authority.Expired:
				item.note(fmt.Sprintf("%s should have been renewed: the certificate of %s ended on %s", name, authority.Name, ends.Format(time.DateOnly)))
			}
		}
		r.add(item)
	}
	if existed.IsZero() {
		return t
	}
	with := *t
	with.existed = existed
	return &with
}

// read reads the stamp of that number and checks it against its list, and that
// against the files.
func (s *stampsOf) read(n int) (*seal.Timestamp, error) {
	dir := seal.StampsFolder(s.name)
	list, err := readFile(s.fsys, path.Join(dir, seal.StampList(n)))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("the list that it is over, %s, is not here", seal.StampList(n))
	}
	if err != nil {
		return nil, err
	}
	reply, err := readFile(s.fsys, path.Join(dir, seal.StampReply(n)))
	if err != nil {
		return nil, err
	}
	ts, err := seal.ReadRenewal(reply, list)
	if err != nil {
		return nil, err
	}
	return ts, s.against(n, list)
}

// Renewal is what a time-stamp over a revision is to be over.
type Renewal struct {
	Dir      string // of the revision
	Revision int
	Number   int    // of the stamp, from 1
	List     []byte // see package seal

	signers []*x509.Certificate // of the revision's manifest, and those that it follows
}

// Paths are where the list and the time-stamp over it belong.
func (r *Renewal) Paths() (list, reply string) {
	dir := seal.StampsFolder(r.Dir)
	return filepath.Join(dir, seal.StampList(r.Number)), filepath.Join(dir, seal.StampReply(r.Number))
}

// Renew makes ready the next time-stamp of a revision that was verified.
func Renew(dir string) (*Renewal, error) {
	abs, err := filepath.Abs(dir)
	if err != nil {
		return nil, err
	}
	fsys, name := os.DirFS(filepath.Dir(abs)), filepath.Base(abs)
	data, signature, err := readManifest(fsys, name)
	if err != nil {
		return nil, err
	}
	m, by, err := seal.VerifyManifest(data, signature)
	if err != nil {
		return nil, err
	}
	s := &stampsOf{fsys: fsys, name: name, manifest: m}
	numbers, _, err := s.numbers()
	if err != nil {
		return nil, err
	}
	n := len(numbers) + 1
	if n > maxStamps {
		return nil, fmt.Errorf("%s was stamped %d times", name, maxStamps)
	}
	list, err := s.list(n)
	return &Renewal{Dir: dir, Revision: m.Revision, Number: n, List: list, signers: seal.Lineage(by.Chain)}, err
}

// TrustedTime reports whether a time-stamp authority is to be believed about a
// revision, and why or why not.
func (t *Trust) TrustedTime(ts *seal.Timestamp, r *Renewal) (bool, string) {
	s := signer(ts.Chain[0])
	t.judgeTime(s, ts.Chain, ts.Time, time.Time{}, r.signers)
	return s.Trusted, s.Why
}
