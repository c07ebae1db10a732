package statement

import "spanseal/internal/record"

// figures are what drawings say to those who do not see them: alternative texts,
// on paper only. Their numbers are those that are drawn.
var figures = []CodeRow{
	entry("figure.reading", "nm:nm measured:number limit:number", "one loss of the link at the wavelength is judged, means aside unless they alone are; the tightest limit allows this", NM(1310), number("0.42"), number("2.22")),
	entry("figure.readings", "nm:nm n:count least:number most:number limit:number", "so many losses of the link at the wavelength are judged, means aside unless they alone are; the tightest limit allows this", NM(1310), Count(2), number("0.42"), number("1.12"), number("2.22")),
	entry("figure.none-over", "", "no loss that is drawn fails"),
	entry("figure.over", "n:count", "so many losses that are drawn fail", Count(2)),
	entry("figure.losses", "fibre:name nm:nm n:count least:number most:number", "so many losses of links of the fibre count at the wavelength, and no limit judges them", Name("OS2"), NM(1310), Count(24), number("0.35"), number("1.20")),
	entry("figure.losses-limit", "fibre:name nm:nm n:count least:number most:number limit:number", "so many losses of links of the fibre count at the wavelength; the tightest limit of each is the same", Name("OS2"), NM(1310), Count(24), number("0.35"), number("1.20"), number("2.22")),
	entry("figure.losses-limits", "fibre:name nm:nm n:count least:number most:number lowest:number highest:number", "so many losses of links of the fibre count at the wavelength; the tightest limits of them reach from the lowest to the highest", Name("OS2"), NM(1310), Count(24), number("0.35"), number("1.20"), number("2.10"), number("2.31")),
	entry("figure.margins", "n:count least:number link:name most:number", "the smallest margins of so many links with a judged loss reach from the least, of the link, to the most", Count(30), number("-0.35"), Name("A-07"), number("1.65")),
	entry("figure.margins-open", "n:count links:list", "of the links with a margin that is drawn, these are not certified", Count(2), Names("A-07", "B-09")),
	entry("figure.ports", "place:name n:count pass:count", "by the names of their ends, so many ports of the place are in the job, and at so many the worst link passes", Name("panel R1"), Count(24), Count(20)),
	entry("figure.ports-at", "n:count ports:list verdict:word.finding", "at these ports the worst link has the verdict", Count(2), Names("3", "5"), Word{"finding", "marginal"}),
	entry("figure.ports-never", "n:count ports:list", "at these ports a link was never measured", Count(1), Names("7")),
	entry("figure.retest", "subject:subject then:number now:number", "the loss that was certified, and that of the retest", Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("0.42"), number("0.62")),
}

// Failing says how many of the readings of a drawing fail.
func Failing(n int) Statement {
	if n == 0 {
		return New("figure.none-over")
	}
	return New("figure.over", Count(n))
}
