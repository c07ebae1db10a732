package verify

import (
	"crypto/rand"
	"crypto/rsa"
	"crypto/x509"
	"crypto/x509/pkix"
	"maps"
	"math/big"
	"strings"
	"testing"
	"testing/fstest"
	"time"

	"spanseal/internal/seal"
)

// renew stamps the revision r1 of a set anew, with a list that may be changed
// before.
func (h held) renew(t testing.TB, fsys fstest.MapFS, at time.Time, change func(list []byte) []byte, chain ...held) {
	t.Helper()
	m, err := seal.ParseManifest(fsys["r1/manifest.json"].Data)
	if err != nil {
		t.Fatal(err)
	}
	s := &stampsOf{fsys: fsys, name: "r1", manifest: m}
	numbers, _, err := s.numbers()
	if err != nil {
		t.Fatal(err)
	}
	n := len(numbers) + 1
	list, err := s.list(n)
	if err != nil {
		t.Fatal(err)
	}
	if change != nil {
		list = change(list)
	}
	reply, _, err := seal.RenewStamp(list, func(request []byte) ([]byte, error) { return h.answer(request, at, chain...) })
	if err != nil {
		t.Fatal(err)
	}
	fsys["r1.stamps/"+seal.StampList(n)] = &fstest.MapFile{Data: list}
	fsys["r1.stamps/"+seal.StampReply(n)] = &fstest.MapFile{Data: reply}
}

// TestRenewal: what a chain of renewed stamps proves, and what it does not. The
// signer's key was stolen in June 2028; the set was issued in November 2026.
func TestRenewal(t *testing.T) {
	me := certify(t, "R. Lindqvist", nil, func(c *x509.Certificate) { signerUse(c); c.NotAfter = year(2030) })
	first := certify(t, "Harbour clock", nil, clockUse)
	second := certify(t, "Tower clock", nil, clockUse)
	stranger := certify(t, "Station clock", nil, clockUse)
	short := certify(t, "Sand glass", nil, func(c *x509.Certificate) { clockUse(c); c.NotAfter = year(2029) })
	strongKey, err := rsa.GenerateKey(rand.Reader, 3072)
	if err != nil {
		t.Fatal(err)
	}
	strong := held{certificate(t, &x509.Certificate{SerialNumber: big.NewInt(9), Subject: pkix.Name{CommonName: "Strong clock"}, NotBefore: year(2020), NotAfter: year(2060),
		KeyUsage: x509.KeyUsageDigitalSignature, ExtraExtensions: []pkix.Extension{timeStamping}}, nil, strongKey, strongKey), strongKey}
	stolen := func(tr *Trust) { tr.Revoke(seal.KeyIDOf(me.Certificate), year(2028), "laptop stolen") }

	whole := fstest.MapFS{}
	maker{signer: me.asSigner(t)}.issue(t, whole)
	byte40 := func(name string) func(fstest.MapFS) {
		return func(f fstest.MapFS) {
			data := append([]byte(nil), f[name].Data...)
			data[40] ^= 1
			f[name] = &fstest.MapFile{Data: data}
		}
	}
	for _, c := range []struct {
		name    string
		make    func(f fstest.MapFS)
		trust   func(tr *Trust)
		outcome Conclusion
		says    string
	}{
		{"not stamped", func(fstest.MapFS) {}, stolen, Untrusted, "no time-stamp proves"},
		{"stamped before the theft", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil) }, stolen, Holds, "a renewed time-stamp proves that it was no later than 2027-06-01"},
		{"stamped after the theft", func(f fstest.MapFS) { first.renew(t, f, year(2029), nil) }, stolen, Untrusted, "no time-stamp proves"},
		{"long after the signer's certificate ended", func(f fstest.MapFS) { first.renew(t, f, year(2039), nil) }, nil, Holds, "Harbour clock vouches that all of r1 existed on 2039-06-01"},
		{"twice, the first counts", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); second.renew(t, f, year(2033), nil) }, stolen, Holds, "the renewed time-stamp 2: Tower clock vouches"},
		{"the first clock stolen after the second stamp", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); second.renew(t, f, year(2033), nil) }, func(tr *Trust) {
			stolen(tr)
			tr.Revoke(seal.KeyIDOf(first.Certificate), year(2034), "clock stolen")
		}, Holds, "no later than 2027-06-01"},
		{"the first clock stolen before the second stamp", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); second.renew(t, f, year(2033), nil) }, func(tr *Trust) {
			stolen(tr)
			tr.Revoke(seal.KeyIDOf(first.Certificate), year(2032), "clock stolen")
		}, Untrusted, "the renewed time-stamp 1, of 2027-06-01 by Harbour clock, does not count: the key"},
		{"the algorithm broken, not renewed", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil) }, weak("P-256", 2036), Untrusted, "all keys of P-256 are revoked since 2036-06-01"},
		{"the algorithm broken, renewed before", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); strong.renew(t, f, year(2035), nil) }, weak("P-256", 2036), Holds, "no later than 2027-06-01"},
		{"the algorithm broken, renewed after", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); strong.renew(t, f, year(2037), nil) }, weak("P-256", 2036), Untrusted, "all keys of P-256"},
		{"another algorithm broken", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil) }, weak("RSA-2048", 2036), Holds, "no later than 2027-06-01"},
		{"renewed late", func(f fstest.MapFS) { short.renew(t, f, year(2027), nil); second.renew(t, f, year(2033), nil) }, nil, Holds, "the renewed time-stamp 1 was renewed late"},
		{"due", func(f fstest.MapFS) { short.renew(t, f, year(2027), nil) }, nil, Holds, "the renewed time-stamp 1 should have been renewed: the certificate of Sand glass ended on 2029-06-01"},
		{"of a clock that nobody trusts", func(f fstest.MapFS) { stranger.renew(t, f, year(2027), nil) }, stolen, Untrusted, "by Station clock, does not count: its authority is not among those trusted"},
		{"the signer's own clock", func(f fstest.MapFS) { certify(t, "Own clock", &me, clockUse).renew(t, f, year(2027), nil) }, stolen, Untrusted, "by Own clock, does not count"},
		{"dated after the one over it", func(f fstest.MapFS) { first.renew(t, f, year(2035), nil); second.renew(t, f, year(2027), nil) }, stolen, Holds, "the renewed time-stamp 1 does not count: it is dated 2035-06-01"},
		{"the stamp changed", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); byte40("r1.stamps/1.tsr")(f) }, nil, Broken, "r1.stamps/1.tsr: "},
		{"its list changed", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); byte40("r1.stamps/1.sha512")(f) }, nil, Broken, "it is over something else"},
		{"its list gone", func(f fstest.MapFS) { first.renew(t, f, year(2027), nil); delete(f, "r1.stamps/1.sha512") }, nil, Broken, "the list that it is over, 1.sha512, is not here"},
		{"the first of two gone", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), nil)
			second.renew(t, f, year(2033), nil)
			delete(f, "r1.stamps/1.tsr")
		}, nil, Broken, "the stamp before it, 1.tsr, is not here"},
		{"a list that leaves a paper out", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), func(list []byte) []byte { return without(list, "certificates/L-1.pdf") })
		}, nil, Broken, "it does not list r1/certificates/L-1.pdf"},
		{"a list that leaves the stamp before out", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), nil)
			second.renew(t, f, year(2033), func(list []byte) []byte { return without(list, "r1.stamps/1.tsr") })
		}, nil, Broken, "it does not list r1.stamps/1.tsr"},
		{"a list with more", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), func(list []byte) []byte {
				return append(list, strings.Repeat("0", 128)+"  r2/summary.pdf\n"...)
			})
		}, nil, Broken, "it lists r2/summary.pdf, which is no part of the revision"},
		{"a list in another order", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), func(list []byte) []byte {
				a, b, _ := strings.Cut(string(list), "\n")
				return []byte(b + a + "\n")
			})
		}, nil, Broken, "not written the one way"},
		{"the set changed after", func(f fstest.MapFS) {
			first.renew(t, f, year(2027), nil)
			byte40("r1/evidence/readings/a.csv")(f)
		}, nil, Broken, "it lists r1/evidence/readings/a.csv with another hash"},
		{"the stamps of another set", func(f fstest.MapFS) {
			other := fstest.MapFS{}
			maker{signer: me.asSigner(t), at: issued.AddDate(0, 0, 1)}.issue(t, other)
			first.renew(t, other, year(2027), nil)
			f["r1.stamps/1.tsr"], f["r1.stamps/1.sha512"] = other["r1.stamps/1.tsr"], other["r1.stamps/1.sha512"]
		}, nil, Broken, "with another hash"},
		{"a list whose stamp never came", func(f fstest.MapFS) { f["r1.stamps/1.sha512"] = &fstest.MapFile{Data: []byte("x")} }, nil, Holds, "no time-stamp of this revision, and not looked at"},
	} {
		t.Run(c.name, func(t *testing.T) {
			set := maps.Clone(whole)
			c.make(set)
			trust := &Trust{Now: year(2040).AddDate(0, 0, -1)}
			trust.Add(me.Certificate)
			for _, clock := range []held{first, second, strong, short} {
				trust.AddTime(clock.Certificate)
			}
			if c.trust != nil {
				c.trust(trust)
			}
			r, err := folder(set, "r1", trust)
			if err != nil {
				t.Fatal(err)
			}
			said := notes(r)
			for _, i := range r.Items {
				said += "\n" + i.Path + ": " + strings.Join(i.Faults, "\n")
				if i.Signer != nil {
					said += "\n" + i.Signer.Why
				}
			}
			if r.Conclusion() != c.outcome || !strings.Contains(said, c.says) {
				t.Errorf("%s, want %s; it says\n%s\nwant %q", r.Conclusion(), c.outcome, said, c.says)
			}
		})
	}
}

// TestStampsOfNothing: stamps whose revision is not here are named; those of one
// that is here are looked at with it.
func TestStampsOfNothing(t *testing.T) {
	me := certify(t, "R. Lindqvist", nil, signerUse)
	set := fstest.MapFS{}
	maker{signer: me.asSigner(t)}.issue(t, set)
	set["r1.stamps/1.sha512"] = &fstest.MapFile{Data: []byte("x")}
	set["r2.stamps/1.tsr"] = &fstest.MapFile{Data: []byte("x")}
	trust := &Trust{Now: year(2027)}
	trust.Add(me.Certificate)
	r, err := folder(set, ".", trust)
	if err != nil {
		t.Fatal(err)
	}
	named := map[string]bool{}
	for _, i := range r.Items {
		named[i.Path] = true
	}
	if !named["r2.stamps"] || named["r1.stamps"] || !named["r1.stamps/1.sha512"] {
		t.Errorf("named are %v", named)
	}
}

func weak(algorithm string, since int) func(*Trust) {
	return func(t *Trust) { t.weak = map[string]revocation{algorithm: {since: year(since), reason: "broken"}} }
}

// without is a list less one line.
func without(list []byte, path string) []byte {
	var kept strings.Builder
	for line := range strings.Lines(string(list)) {
		if !strings.HasSuffix(line, path+"\n") {
			kept.WriteString(line)
		}
	}
	return []byte(kept.String())
}

// TestWeakAlgorithms reads algorithms from a list of revoked keys.
func TestWeakAlgorithms(t *testing.T) {
	me := certify(t, "R. Lindqvist", nil, signerUse)
	for line, want := range map[string]string{
		"P-256 since 2045-01-01 broken by computation": "",
		"rsa-2048 since 2031-01-01":                    "",
		"P-256":                                        "stands without the day since which",
		"P-256 until 2045-01-01":                       "stands without the day since which",
		"P-257 since 2045-01-01":                       "is not a key id",
	} {
		trust, err := ReadTrust(year(2028), []string{folderOf(t, map[string][]byte{"me.pem": me.pem(), "revoked.txt": []byte(line + "\n")})}, nil)
		if want != "" {
			if err == nil || !strings.Contains(err.Error(), want) {
				t.Errorf("%s: %v, want %q", line, err, want)
			}
		} else if err != nil || len(trust.weak) != 1 {
			t.Errorf("%s: %v", line, err)
		}
	}
}
