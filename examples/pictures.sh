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
