// Package bulk makes jobs of any size, for tests and benchmarks.
//
// A job of n links is the same each time and raises no question: its losses
// differ from link to link, its people keep a pace that people keep, its
// instruments are in calibration. It is invented, like the demonstration.
//
//	job.yaml               a team, its meter and its source for every 2000 links
//	links.csv              n links of OS2, 24 to a cable
//	readings/team-01.csv   4 rows a link, each a loss and a reflectance
package bulk

import (
	"bufio"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"time"
)

const (
	perCable = 24
	perTeam  = 2000 // links
	perDay   = 200  // links of one team: a link takes it two minutes
)

// firstDay is when every team begins.
var firstDay = time.Date(2026, time.November, 2, 0, 0, 0, 0, time.UTC)

// Write makes a job folder of n links below dir, which must be there.
func Write(dir string, n int) error {
	if err := os.Mkdir(filepath.Join(dir, "readings"), 0o755); err != nil {
		return err
	}
	teams := (n + perTeam - 1) / perTeam
	err := errors.Join(
		write(dir, "job.yaml", func(w io.Writer) { job(w, teams) }),
		write(dir, "links.csv", func(w io.Writer) { links(w, n) }),
	)
	for t := range teams {
		name := fmt.Sprintf("readings/team-%02d.csv", t+1)
		err = errors.Join(err, write(dir, name, func(w io.Writer) { readings(w, t, min(perTeam, n-t*perTeam)) }))
	}
	return err
}

func write(dir, name string, print func(io.Writer)) error {
	f, err := os.Create(filepath.Join(dir, filepath.FromSlash(name)))
	if err != nil {
		return err
	}
	w := bufio.NewWriterSize(f, 1<<20)
	print(w)
	return errors.Join(w.Flush(), f.Close())
}

func job(w io.Writer, teams int) {
	fmt.Fprint(w, `job:
  number: BL-2026-077
  title: Quayside distribution
  site: {name: Port Ansel quays, address: "1 Quay Row, Port Ansel"}
  customer: {name: Port Ansel Council, order: PO-7792}
  contractor: {name: Tidewater Fibre Works, address: "4 Slipway Lane, Port Ansel", licence: C7-20881}
  time_zone: Europe/Dublin
people:
`)
	for t := range teams {
		fmt.Fprintf(w, "  - {id: p%d, name: Team %d, role: fibre technician, qualification: FT-%d, valid_until: 2028-01-31}\n", t+1, t+1, 4001+t)
	}
	fmt.Fprintln(w, "instruments:")
	for t := range teams {
		fmt.Fprintf(w, "  - {id: LS-%d, kind: light source, serial: \"%d\", calibrated: 2026-03-03, due: 2027-03-03}\n", t+1, 41001+t)
		fmt.Fprintf(w, "  - {id: PM-%d, kind: power meter, serial: \"%d\", calibrated: 2026-03-03, due: 2027-03-03, uncertainty_db: 0.12}\n", t+1, 22001+t)
	}
	fmt.Fprint(w, `judge:
  limits: [tia-568.3-e]
  reference: one-cord
  test_cords: standard
  decision: simple
  require: {wavelengths_nm: {singlemode: [1310, 1550]}, directions: both, reflectance: optional}
sign: {key: signer.p12}
documents: {paper: A4, language: en}
readings:
  - files: "readings/*.csv"
`)
}

func id(link int) string { return fmt.Sprintf("L-%06d", link+1) }

func links(w io.Writer, n int) {
	fmt.Fprintln(w, "link,cable,strand,from,to,fibre,length_m,mated_pairs,splices,end_a,end_b")
	for i := range n {
		cable, strand := i/perCable+1, i%perCable+1
		fmt.Fprintf(w, "%s,Q-%04d,%d,panel Q%d port %d,cabinet %d port %d,OS2,%d,2,0,spliced-on LC/UPC,spliced-on LC/UPC\n",
			id(i), cable, strand, cable, strand, cable, strand, 120+scatter(cable)%480)
	}
}

// readings writes the rows of one team: from each end at both wavelengths.
func readings(w io.Writer, team, n int) {
	fmt.Fprintln(w, "link,wavelength_nm,direction,loss_db,reflectance_db,source,instrument,person,reference_time,time")
	for i := range n {
		link := team*perTeam + i
		day := firstDay.AddDate(0, 0, i/perDay)
		reference := day.Add(8 * time.Hour)
		at := reference.Add(15*time.Minute + time.Duration(i%perDay)*2*time.Minute)
		loss := losses(link)
		for row, way := range []string{"A-B", "A-B", "B-A", "B-A"} {
			fmt.Fprintf(w, "%s,%d,%s,%d.%02d,-%d.%d,LS-%d,PM-%d,p%d,%s,%s\n",
				id(link), []int{1310, 1550}[row%2], way, loss[row]/100, loss[row]%100, 48+scatter(link+row)%9, scatter(link-row)%10,
				team+1, team+1, team+1, reference.Format("2006-01-02 15:04"), at.Add(time.Duration(20*row)*time.Second).Format(time.DateTime))
		}
	}
}

// losses are those of a link in hundredths of a decibel: A-B at 1310 and 1550,
// then B-A. No two of 100,000 links have the same four.
func losses(link int) [4]int {
	const most = 80 * 9 * 12 * 12
	k := link * 48271 % most // a prime that most is no multiple of: neighbours differ
	ab := 30 + k%80
	ba := ab - 4 + k/80%9
	return [4]int{ab, ab - k/720%12, ba, ba - k/8640}
}

// scatter is a number that looks like chance.
func scatter(i int) int { return (i * 2654435761 >> 7) & 0xFFFF }
