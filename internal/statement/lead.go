package statement

import "spanseal/internal/record"

// leads are the first sentences of a paper: what was measured, when, and what it
// proves.
var leads = []Entry{
	entry("lead.measured", "link:name from:name to:name ways:list", "losses of the link at these wavelengths and in these directions count, and none of them has a time",
		Name("A-12"), Name("rack R1 port 12"), Name("cabinet K1 port 12"), List{example("lead.both", Wavelengths(1310, 1550))}),
	entry("lead.measured-on", "link:name from:name to:name ways:list day:day", "losses of the link at these wavelengths and in these directions count, and every reading with a time is of the day",
		Name("A-12"), Name("rack R1 port 12"), Name("cabinet K1 port 12"), List{example("lead.both", Wavelengths(1310, 1550)), example("lead.one", Wavelengths(1383), Word{"from", string(record.AB)})}, day(11, 18)),
	entry("lead.measured-days", "link:name from:name to:name ways:list first:day last:day", "losses of the link at these wavelengths and in these directions count, and the readings with a time are of the first day to the last",
		Name("A-12"), Name("rack R1 port 12"), Name("cabinet K1 port 12"), List{example("lead.both", Wavelengths(1310, 1550))}, day(11, 17), day(11, 18)),
	entry("lead.never", "link:name from:name to:name", "no reading of the link counts", Name("B-03"), Name("rack R1 port 3"), Name("cabinet K1 port 3")),
	entry("lead.no-loss", "link:name from:name to:name", "readings of the link count, and none of them is a loss", Name("B-03"), Name("rack R1 port 3"), Name("cabinet K1 port 3")),
	entry("lead.both", "nm:list", "at each of the wavelengths a loss counts in direction A-B and one in B-A", Wavelengths(1310, 1550)),
	entry("lead.one", "nm:list way:word.from", "at each of the wavelengths a loss counts in this direction and none in the other", Wavelengths(1383), Word{"from", string(record.AB)}),
	entry("lead.unstated", "nm:list", "at each of the wavelengths a loss counts whose direction nobody states", Wavelengths(1310)),
	entry("lead.pass", "sets:list reference:word.reference", "every reading that counts, but lengths, was held against a limit of a set and met each; of the sets, these judged losses",
		List{Standard{"ANSI/TIA-568.3-E", "2022"}}, Word{"reference", "one-cord"}),
	entry("lead.pass-bound", "sets:list reference:word.reference unbound:list", "every reading that was held against a limit met it; the unbound ones were held against none",
		List{Standard{"ANSI/TIA-568.3-E", "2022"}}, Word{"reference", "one-cord"}, List{Subject{Quantity: record.Reflectance, NM: 1310}}),
	entry("lead.set-some", "set:standard nm:list", "of the wavelengths with losses, the set judged these only", Standard{"owner's figures", ""}, Wavelengths(1310)),
	entry("lead.no-uncertainty", "", "neither instrument nor job gives an uncertainty for any loss that counts"),
	entry("lead.some-uncertainty", "n:count all:count", "for so many of all losses that count neither instrument nor job gives an uncertainty", Count(2), Count(8)),
	entry("lead.marginal-u", "subject:subject margin:number u:number", "the smallest margin of the marginal readings, less than the expanded uncertainty of that reading",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.BA}, number("0.02"), number("0.12")),
	entry("lead.marginal-band", "subject:subject margin:number band:number", "the smallest margin of the marginal readings, less than the band that the job calls marginal",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.BA}, number("0.02"), number("0.10")),
	entry("lead.questions", "n:count answered:count", "so many different questions are asked of the link, and so many of them are answered", Count(2), Count(1)),
	entry("lead.fail", "subject:subject measured:number limit:number over:number", "the reading that is out by most, and the most that was allowed",
		Subject{Quantity: record.InsertionLoss, NM: 1550, Way: record.AB}, number("2.61"), number("2.22"), number("0.39")),
	entry("lead.fail-shown", "subject:subject shown:name limit:number", "the reading that is out by most is no number but this text, and the most that was allowed",
		Subject{Quantity: record.InsertionLoss, NM: 1550, Way: record.AB}, Name("OL"), number("2.22")),
	entry("lead.fail-low", "subject:subject measured:number limit:number short:number", "the reading that is out by most, and the least that is needed",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("4.20"), number("5.00"), number("0.80")),
	entry("lead.fail-low-shown", "subject:subject shown:name limit:number", "the reading that is out by most is no number but this text, and the least that is needed",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, Name("<0.05"), number("5.00")),
	entry("lead.fail-guard", "subject:subject margin:number guard:number", "the reading is within its limit, and not by the guard that was agreed",
		Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("0.05"), number("0.12")),
	entry("lead.fail-other", "", "a finding that is not about a loss fails"),
	entry("lead.missing", "", "a reading that the job requires is missing"),
	entry("lead.unlimited", "", "no limit binds a reading that the job requires, or an application finds nothing to judge"),
	entry("lead.unsettled", "", "a question is open that the job or the program calls fatal"),
	entry("lead.uncertain", "", "guarded acceptance was agreed, and a loss has no uncertainty"),
	entry("lead.not-certified", "", "the link is fail or incomplete"),

	entry("lead.job", "scheduled:amount measured:count certified:count", "counts of the links of the schedule", Amount{25, "link"}, Count(24), Count(22)),
	entry("lead.job-sets", "sets:list", "these sets judged losses of certified links", List{example("lead.set-all", Standard{"ANSI/TIA-568.3-E", "2022"}), example("lead.set-links", Standard{"owner's figures", ""}, Count(5), Count(22))}),
	entry("lead.set-all", "set:standard", "the set judged a loss of every certified link", Standard{"ANSI/TIA-568.3-E", "2022"}),
	entry("lead.set-links", "set:standard n:count all:count", "the set judged a loss of so many of all certified links", Standard{"owner's figures", ""}, Count(5), Count(22)),
	entry("lead.job-marginal-u", "n:count", "so many certified links have a reading whose margin is less than its uncertainty", Count(2)),
	entry("lead.job-marginal-band", "n:count band:number", "so many certified links have a reading whose margin is less than the band that the job calls marginal", Count(2), number("0.10")),
	entry("lead.job-all", "", "every link of the schedule is certified, and nothing about the job as a whole stands in the way"),
	entry("lead.declared", "file:name by:name day:day because:name", "a file of readings differs from that of the revision before, and job.yaml explains it under declared",
		Name("readings/day1.csv"), Name("M. Okafor"), day(11, 24), Name("the export of the morning was cut off")),
	entry("lead.declared-undated", "file:name by:name because:name", "a file of readings differs from that of the revision before, and job.yaml explains it under declared without a day",
		Name("readings/day1.csv"), Name("M. Okafor"), Name("the export of the morning was cut off")),
	entry("lead.job-failed", "n:count", "so many links fail", Count(1)),
	entry("lead.job-incomplete", "n:count", "so many links are incomplete", Count(2)),
	entry("lead.job-whole", "", "something about the job as a whole stands in the way"),
	entry("lead.job-questions", "n:count answered:count", "so many different questions are asked of the links and of the job, and so many of them are answered", Count(3), Count(2)),
	entry("lead.job-no-questions", "", "no question is asked"),
}

// example is a statement within an example; the table is not there yet, so New
// cannot make it.
func example(code string, args ...Value) Statement { return Statement{Code: code, Args: args} }
