#!/bin/sh
# Draws the pictures of the README and the guide from the demonstration job, and
# keeps beside each the text of its page, with the SHA-256 of the picture. A test
# in internal/cli compares that text with what the demonstration says today.
set -eu
here=$(pwd)
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
draw() { # PAPER NAME
  pdftoppm -r 80 -png -f 1 -l 1 -singlefile "$1" "$here/$2"
  { sha256sum "$here/$2.png" | cut -d ' ' -f 1; pdftotext -raw -enc UTF-8 -f 1 -l 1 "$1" -; } | tr -d '\f' > "$here/testdata/$2.txt"
}
go run ../cmd/spanseal demo "$dir/demo" >/dev/null
issued=$dir/demo/issued/r1
draw "$issued/certificates/A-12.pdf" certificate
draw "$issued/summary.pdf" summary
draw "$issued/nonconformance/A-07.pdf" nonconformance
SPANSEAL_PASSPHRASE="harbour lights" go run ../cmd/spanseal compare "$issued/certificates/A-12.pdf" "$here/testdata/retest.csv" \
  --reference as-certified --test-cords as-certified --uncertainty 0.12 --trust "$dir/demo/signer.pem" \
  --sheet "$dir/comparison.pdf" --key "$dir/demo/signer.p12" --date 2031-02-05 --postdated --claim W-2031-07 --discovered 2031-01-28 \
  --reported 2031-01-30 --cleaning "Both faces cleaned and inspected before the retest" >/dev/null || true # 4: it has changed
draw "$dir/comparison.pdf" comparison
