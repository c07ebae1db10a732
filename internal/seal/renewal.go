package seal

import (
	"bytes"
	"crypto"
	"crypto/sha512"
	"encoding/hex"
	"errors"
	"fmt"
	"io/fs"
	"slices"
	"strconv"
	"strings"

	"golang.org/x/crypto/cryptobyte"
	cbasn1 "golang.org/x/crypto/cryptobyte/asn1"
)

// StampsFolder is the folder of renewed time-stamps that lies beside that of a
// revision.
func StampsFolder(revision string) string { return revision + ".stamps" }

// StampList and StampReply are the names of a list and of the time-stamp over
// it in that folder.
func StampList(n int) string  { return strconv.Itoa(n) + ".sha512" }
func StampReply(n int) string { return strconv.Itoa(n) + ".tsr" }

// ListedFile is one line of a list that is time-stamped: a file and its hash.
type ListedFile struct {
	Path string // from the folder that holds the revision, forward slashes
	Sum  [sha512.Size]byte
}

// EncodeList sorts files by path and writes the one encoding of a list.
func EncodeList(files []ListedFile) ([]byte, error) {
	files = slices.Clone(files)
	slices.SortFunc(files, func(a, b ListedFile) int { return strings.Compare(a.Path, b.Path) })
	var b bytes.Buffer
	for i, f := range files {
		if !fs.ValidPath(f.Path) || strings.ContainsAny(f.Path, "\\\n\r") {
			return nil, fmt.Errorf("the name %q does not fit into a list of files", f.Path)
		}
		if i > 0 && files[i-1].Path == f.Path {
			return nil, fmt.Errorf("%q is listed twice", f.Path)
		}
		fmt.Fprintf(&b, "%s  %s\n", hex.EncodeToString(f.Sum[:]), f.Path)
	}
	return b.Bytes(), nil
}

// ParseList reads a list and refuses any bytes that EncodeList would not have
// written.
func ParseList(data []byte) ([]ListedFile, error) {
	var files []ListedFile
	for line := range bytes.Lines(data) {
		sum, path, ok := strings.Cut(strings.TrimSuffix(string(line), "\n"), "  ")
		raw, err := hex.DecodeString(sum)
		if !ok || err != nil || len(raw) != sha512.Size {
			return nil, fmt.Errorf("line %d is not a SHA-512, two spaces and a file", len(files)+1)
		}
		files = append(files, ListedFile{path, [sha512.Size]byte(raw)})
	}
	again, err := EncodeList(files)
	if err != nil {
		return nil, err
	}
	if !bytes.Equal(data, again) {
		return nil, errors.New("the list is not written the one way it is written")
	}
	return files, nil
}

// RenewStamp has a list time-stamped. It returns a response as RFC 3161, 3.2
// keeps it in a file.
func RenewStamp(list []byte, ask Ask) ([]byte, *Timestamp, error) {
	token, ts, err := stampOver(imprint{list, crypto.SHA512}, ask)
	if err != nil {
		return nil, nil, err
	}
	return replyOf(token), ts, nil
}

// ReadRenewal checks a time-stamp against the list that it is over. Whether its
// authority is to be believed is the caller's question.
func ReadRenewal(reply, list []byte) (*Timestamp, error) {
	token, err := tokenOf(reply)
	if err == nil && !bytes.Equal(reply, replyOf(token)) {
		err = errors.New("the time-stamp response is not written the one way it is written")
	}
	if err == nil && len(token) > MaxTimestamp {
		err = errors.New("the time-stamp response is too long")
	}
	if err != nil {
		return nil, err
	}
	return parseTimestamp(token, imprint{list, crypto.SHA512})
}

// replyOf is a TimeStampResp (RFC 3161, 2.4.2) with the status granted and no
// word more.
func replyOf(token []byte) []byte {
	var b cryptobyte.Builder
	b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) {
		b.AddASN1(cbasn1.SEQUENCE, func(b *cryptobyte.Builder) { b.AddASN1Int64(0) })
		b.AddBytes(token)
	})
	return b.BytesOrPanic()
}
