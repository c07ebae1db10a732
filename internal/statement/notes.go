package statement

import "spanseal/internal/record"

// notes are what a paper adds below its tables.
var notes = []CodeRow{
	entry("retested", "subject:subject then:number limit:number now:number", "a reading over the limit was replaced by a later one, which is within every limit that judges it",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("2.61"), number("2.22"), number("0.57")),
	entry("retested-shown", "subject:subject then:name limit:number now:number", "a reading that the file shows as this text and that counted for more than the limit was replaced by a later one, which is within every limit that judges it",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, Name("OL"), number("2.22"), number("0.57")),
	entry("retested-note", "note:name", "the file of readings has this note with the later reading", Name("after cleaning port C1-5")),
	entry("application-note.cords", "", "the limits of an application are about the whole channel, patch cords included"),
	entry("application-note.ends", "n:count reference:word.reference", "the reference leaves so many connections of the link outside the measurement; no set takes their allowance off", Count(2), Word{"reference", "three-cord"}),
	entry("application-note.engineered", "applications:list length:number", "the sets name this length, km, beyond which links are engineered, and the link is longer", Names("40GBASE-ER4"), number("30")),
	entry("confirmed.noted", "by:name day:day note:name sha256:name", "the job's file of confirmations says that the person compared the set's file, of this SHA-256, with the standard on the day, and notes this",
		Name("R. Lindqvist"), day(11, 20), Name("copy bought in 2024"), Name("9b1c4f20…a7d3")),
	entry("confirmed.bare", "by:name day:day sha256:name", "as confirmed.noted, and nothing is noted", Name("R. Lindqvist"), day(11, 20), Name("9b1c4f20…a7d3")),
	entry("warranty.registered", "registered:day", "the job says that the warranty was registered on the day, and states no window or no day of measurement", day(12, 1)),
	entry("warranty.registered-by", "registered:day last:day days:count measured:day window:word.window", "the job says that the warranty was registered on the day; so many days after the last measurement is the last day for it", day(12, 1), Day(record.NewDate(2027, 1, 17)), Count(60), day(11, 18), Word{"window", "in"}),
	entry("warranty.not-registered", "last:day days:count measured:day", "the job states no registration; so many days after the last measurement is the last day for it", Day(record.NewDate(2027, 1, 17)), Count(60), day(11, 18)),
	entry("warranty.falsified", "", "the job states windows of a warranty"),
}
