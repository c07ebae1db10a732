#!/bin/sh
# Draws the pictures of the README from the demonstration job.
set -eu
here=$(pwd)
dir=$(mktemp -d)
trap 'rm -rf "$dir"' EXIT
go run ../cmd/spanseal demo "$dir/demo" >/dev/null
issued=$dir/demo/issued/r1
pdftoppm -r 80 -png -f 1 -l 1 -singlefile "$issued/certificates/A-12.pdf" "$here/certificate"
pdftoppm -r 80 -png -f 1 -l 1 -singlefile "$issued/summary.pdf" "$here/summary"
sheet=$(find "$issued/nonconformance" -name '*.pdf' | sort | head -n 1)
pdftoppm -r 80 -png -f 1 -l 1 -singlefile "$sheet" "$here/nonconformance"
cat > "$dir/retest.csv" <<'END'
link,wavelength_nm,direction,loss_db,time,instrument,person
A-12,1310,A-B,0.76,2031-02-03 10:12,PM-21,S. Varga
A-12,1310,B-A,0.75,2031-02-03 10:14,PM-21,S. Varga
A-12,1550,A-B,1.18,2031-02-03 10:13,PM-21,S. Varga
A-12,1550,B-A,1.23,2031-02-03 10:15,PM-21,S. Varga
END
SPANSEAL_PASSPHRASE="harbour lights" go run ../cmd/spanseal compare "$issued/certificates/A-12.pdf" "$dir/retest.csv" \
  --reference as-certified --test-cords as-certified --uncertainty 0.12 --trust "$dir/demo/signer.pem" \
  --sheet "$dir/comparison.pdf" --key "$dir/demo/signer.p12" --date 2031-02-05 --postdated --claim W-2031-07 --discovered 2031-01-28 \
  --reported 2031-01-30 --cleaning "Both faces cleaned and inspected before the retest" >/dev/null || true # 4: it has changed
pdftoppm -r 80 -png -f 1 -l 1 -singlefile "$dir/comparison.pdf" "$here/comparison"
