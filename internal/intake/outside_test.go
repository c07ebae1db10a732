package intake

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"spanseal/internal/outside"
)

// officeEntry reads the workbook of office/: merged headings, formulas, dates.
const officeEntry = `
header_line: 2
header_rows: 2
columns: {link: Strang, time: Zeit}
not_measured: ["---"]
each:
  - {wavelength_nm: 1310, direction: A-B, loss_db: 1310 nm A-B}
  - {wavelength_nm: 1310, direction: B-A, loss_db: 1310 nm B-A}
  - {wavelength_nm: 1550, direction: A-B, loss_db: 1550 nm A-B}
  - {wavelength_nm: 1550, direction: B-A, loss_db: 1550 nm B-A}
`

const officeFacts = `A-11 insertion_loss 1310 nm A-B 0.35 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!C4]
A-11 insertion_loss 1310 nm B-A 0.33 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!D4]
A-11 insertion_loss 1550 nm A-B 0.1 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!E4]
A-11 insertion_loss 1550 nm B-A 0.3 used, at 2026-11-18T10:31:07Z [day1.xlsx Lesesaal!F4]
A-12 insertion_loss 1310 nm B-A 1 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!D5]
A-12 insertion_loss 1550 nm A-B -0.02 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!E5]
A-12 insertion_loss 1550 nm B-A 0.005 used, at 2026-11-18T23:59:59Z [day1.xlsx Lesesaal!F5]
readings/day1.xlsx: 2 rows, 2 used, 0 superseded, 0 refused, 0 blank
  sheet "Lesesaal": all others are empty
  1 cell without a reading, as not_measured of the mapping says
`

func checkOffice(t *testing.T, name string) {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	facts, list := readMemory(t, "readings/day1.xlsx", raw, officeEntry)
	if got := printFacts(facts, list); got != officeFacts {
		t.Errorf("got\n%s\nwant\n%s", got, officeFacts)
	}
}

// TestOfficeWorkbook reads a workbook that another program wrote: office/day1.xlsx
// is what LibreOffice 7.4 made of office/day1.fods, with
// soffice --headless --convert-to xlsx day1.fods.
func TestOfficeWorkbook(t *testing.T) { checkOffice(t, filepath.Join(corpus, "office", "day1.xlsx")) }

// TestOfficeWorkbookAnew has the installed LibreOffice write it again.
func TestOfficeWorkbookAnew(t *testing.T) {
	office := outside.Program(t, "soffice", "libreoffice")
	dir := t.TempDir()
	cmd := exec.Command(office, "-env:UserInstallation=file://"+filepath.ToSlash(filepath.Join(dir, "profile")), "--headless",
		"--convert-to", "xlsx", "--outdir", dir, filepath.Join(corpus, "office", "day1.fods"))
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	checkOffice(t, filepath.Join(dir, "day1.xlsx"))
}
