package statement

import "spanseal/internal/record"

// retestCodes are what a comparison says of two measurements of a link. Each rests
// on the record that the earlier paper carries, "the record" below, and on the new
// readings. Numbers have the digits with which the sheet prints them.
var retestCodes = func() []CodeRow {
	loss := Subject{Quantity: record.InsertionLoss, NM: 1550, Way: record.AB}
	short := Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}
	standard := Standard{"ANSI/TIA-568.3-E", "2022"}
	atMost := Statement{Code: "retest.allowed.at-most", Args: []Argument{number("2.22"), Name("dB")}}
	pairs := Statement{Code: "retest.described.mated-pairs", Args: []Argument{Count(2), Count(3)}}
	cords := Statement{Code: "retest.conditions.cords", Args: []Argument{Word{"cords", "standard"}, Word{"cords", "reference-grade"}}}
	const bend = "single-mode; in every direction the loss at the longest wavelength is up by more than its two measurements explain; the changes named are those of the direction in which shortest and longest wavelength differ most; "
	return []CodeRow{
		// What the numbers show.
		entry("retest.nothing-compared", "", "no quantity is comparable: each row has its reason"),
		entry("retest.higher", "subject:subject now:number then:number by:number explained:number",
			"the new loss is higher by more than the root of the squares of both expanded uncertainties; no other change has a larger normalised error", loss, number("0.98"), number("0.38"), number("0.60"), number("0.17")),
		entry("retest.lower", "subject:subject now:number then:number by:number explained:number",
			"the new loss is lower by more than the root of the squares of both expanded uncertainties; no other change has a larger normalised error", loss, number("0.38"), number("0.98"), number("0.60"), number("0.17")),
		entry("retest.further", "n:count", "so many changes besides are larger than their two measurements explain", Count(3)),
		entry("retest.none-larger", "", "every change whose two uncertainties are known is at most the root of the sum of their squares, and there is one"),
		entry("retest.undecided", "n:count", "so many changes are compared of which an uncertainty is not known", Count(2)),
		entry("retest.tolerance.exceeded", "tolerance:number subject:subject by:number", "the loss changed by more than the tolerance in the record", number("0.10"), loss, number("0.60")),
		entry("retest.tolerance.kept", "tolerance:number", "a loss is compared, and none changed by more than the tolerance in the record", number("0.10")),
		entry("retest.limit.lost", "subject:subject now:number unit:name allowed:statement standard:standard",
			"the earlier reading met this limit of the record and the new one does not; no new reading misses a limit by more", loss, number("2.48"), Name("dB"), atMost, standard),
		entry("retest.limit.still-missed", "subject:subject now:number unit:name allowed:statement standard:standard",
			"neither the earlier reading nor the new one meets this limit of the record; no new reading misses a limit by more", loss, number("2.60"), Name("dB"), atMost, standard),
		entry("retest.limit.also-missed", "n:count", "so many new readings besides miss a limit of the record", Count(2)),
		entry("retest.limit.met-now", "subject:subject now:number unit:name allowed:statement standard:standard",
			"the earlier reading missed this limit of the record, and the new one meets it and every other", loss, number("0.52"), Name("dB"), atMost, standard),
		entry("retest.limit.also-met", "n:count", "so many readings besides missed a limit of the record and meet all of theirs now", Count(2)),
		entry("retest.limit.all-met", "", "every new reading that is compared and that a limit of the record binds meets all of them, and there is one"),
		entry("retest.allowed.at-most", "limit:number unit:name", "the limit is an upper one", number("2.22"), Name("dB")),
		entry("retest.allowed.at-least", "limit:number unit:name", "the limit is a lower one", number("35"), Name("dB")),
		entry("retest.allowed.between", "least:number most:number unit:name", "the limit has two sides", number("3.00"), number("10.00"), Name("dB")),
		// Which windows of the warranty in the record the days of the claim are in.
		entry("retest.warranty.term", "discovered:day until:day months:count completed:day window:word.window", "the claim gives this day of discovery; the term of so many months from completion ends on the other", day(12, 1), Day(record.NewDate(2046, 11, 18)), Count(240), day(11, 18), Word{"window", "in"}),
		entry("retest.warranty.not-discovered", "until:day months:count completed:day", "the claim gives no day of discovery; the term of so many months from completion ends on the day", Day(record.NewDate(2046, 11, 18)), Count(240), day(11, 18)),
		entry("retest.warranty.discovery", "discovered:day until:day months:count completed:day window:word.window", "the claim gives this day of discovery; the record's window of so many months from completion ends on the other", day(12, 1), Day(record.NewDate(2028, 11, 18)), Count(24), day(11, 18), Word{"window", "in"}),
		entry("retest.warranty.reporting", "reported:day last:day days:count discovered:day window:word.window", "the claim gives this day of reporting; so many days after the day of discovery is the last", day(12, 8), day(12, 6), Count(5), day(12, 1), Word{"window", "out"}),
		entry("retest.warranty.not-reported", "last:day days:count discovered:day", "the claim gives no day of reporting; so many days after the day of discovery is the last", day(12, 6), Count(5), day(12, 1)),
		entry("retest.warranty.retention", "until:day years:count completed:day compared:day window:word.window", "records are to be kept so many years from completion, and the sheet is of the day", Day(record.NewDate(2036, 11, 18)), Count(10), day(11, 18), day(12, 9), Word{"window", "in"}),
		entry("retest.certifies-nothing", "", "the earlier document is a nonconformance sheet"),
		entry("retest.withheld", "n:count", "so many rows are not compared", Count(2)),
		entry("retest.description", "changes:list", "record and new job describe the link differently in this", List{pairs}),
		entry("retest.described.fibre", "then:name now:name", "the fibre in the record and in the new job", Name("OS2"), Name("G.657.A1")),
		entry("retest.described.length", "then:number now:number", "the length in the record and in the new job", number("312"), number("402")),
		entry("retest.described.mated-pairs", "then:count now:count", "the mated pairs in the record and in the new job", Count(2), Count(3)),
		entry("retest.described.splices", "then:count now:count", "the splices in the record and in the new job, those at the ends included", Count(1), Count(2)),
		entry("retest.no-cause", "", "something is compared"),

		// Why a quantity is not compared.
		entry("retest.not-again", "", "no new reading of the quantity"),
		entry("retest.not-then", "", "the record has no reading of the quantity"),
		entry("retest.same-reading", "", "the new reading is of the same row of the same file as one of the record, or has its moment and value"),
		entry("retest.same-half", "", "that is so of one of the two readings behind a mean"),
		entry("retest.measured-otherwise", "differences:list", "reference method or test cords differ, or are not known on one side", List{cords}),
		entry("retest.conditions.reference", "then:word.reference now:word.reference", "the reference method in the record and of the new readings", Word{"reference", "one-cord"}, Word{"reference", "three-cord"}),
		entry("retest.conditions.cords", "then:word.cords now:word.cords", "the test cords in the record and of the new readings", Word{"cords", "standard"}, Word{"cords", "reference-grade"}),

		// About the new measurement. Whether an instrument was in calibration is
		// asked as of any reading.
		entry("retest.question.copied", "", "every loss that was read on both sides, at least three, has the same digits"),
		entry("retest.question.altered", "subject:subject then:number now:number unit:name", "a reading of the same moment and instrument has another value in the record", short, number("0.52"), number("0.57"), Name("dB")),
		entry("retest.question.no-time", "", "the new readings have no time"),
		entry("retest.question.earlier", "now:day then:day", "the last new reading is of a time before the last of the record", day(11, 17), day(11, 18)),
		entry("retest.question.no-instrument", "", "a new reading names no instrument"),

		// What the pattern of changes suggests; none of it is a finding.
		entry("retest.advice.lower", "", "no loss is higher, and at least one is lower, by more than the two measurements explain"),
		entry("retest.advice.lower-sheet", "", "that is so, and the earlier document is a nonconformance sheet"),
		entry("retest.advice.bend", "long:subject change:number short:subject least:number",
			bend+"in every direction they are further apart than their four uncertainties explain", loss, number("0.60"), short, number("0.02")),
		entry("retest.advice.bend-likely", "long:subject change:number short:subject least:number",
			bend+"in every direction the longest is up by at least half as much again as the shortest, and in one they are no further apart than their four uncertainties explain", loss, number("0.47"), short, number("0.20")),
		entry("retest.advice.one-way", "way:word.way", "the loss is up by more than the two measurements explain at every wavelength in this direction only", Way(record.AB)),
		entry("retest.advice.alike", "", "every loss is up by more than the two measurements explain, and no two changes are further apart than their four uncertainties explain"),
		entry("retest.advice.no-pattern", "", "a loss is up by more than the two measurements explain, and the changes fit none of the patterns"),
	}
}()
