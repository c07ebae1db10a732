package statement

import (
	"slices"
	"strings"
	"time"

	"spanseal/internal/quantity"
	"spanseal/internal/record"
)

// CodeRow is one row of the table of codes.
type CodeRow struct {
	Code   string
	Params []Param
	// Rests says what must be on record for the statement to be true.
	Rests string
	// Example are arguments of an example, invented.
	Example []Argument
}

// Param is one argument of a code; Group is the vocabulary's, of words.
type Param struct {
	Name  string
	Kind  Kind
	Group string
}

// Codes returns the table, in the order in which things are asked and said.
func Codes() []CodeRow { return slices.Clone(codes) }

// Of lists the codes of a question, advice or change: those that begin with its
// name and a dot, and the name itself.
func Of(name string) (out []CodeRow) {
	for _, e := range codes {
		if e.Code == name || strings.HasPrefix(e.Code, name+".") {
			out = append(out, e)
		}
	}
	return out
}

// Lookup returns a code's row.
func Lookup(code string) (CodeRow, bool) {
	e := index[code]
	if e == nil {
		return CodeRow{}, false
	}
	return *e, true
}

// Question is the name of the question that a code belongs to: what stands
// before the dot.
func Question(code string) string {
	name, _, _ := strings.Cut(code, ".")
	return name
}

var codes = slices.Concat(questions, advice, settling(), answering, leads, notes, figures, retestCodes, changes)

var index = func() map[string]*CodeRow {
	m := make(map[string]*CodeRow, len(codes))
	for i := range codes {
		if m[codes[i].Code] != nil {
			panic("statement: code twice: " + codes[i].Code)
		}
		m[codes[i].Code] = &codes[i]
	}
	return m
}()

// entry writes a row: parameters as "name:kind name:kind".
func entry(code, params, rests string, example ...Argument) CodeRow {
	e := CodeRow{Code: code, Rests: rests, Example: example}
	for _, p := range strings.Fields(params) {
		name, kind, _ := strings.Cut(p, ":")
		kind, group, _ := strings.Cut(kind, ".")
		e.Params = append(e.Params, Param{name, Kind(kind), group})
	}
	return e
}

func number(s string) Number { return Number{quantity.Must(s)} }

func day(m time.Month, d int) Day { return Day(record.NewDate(2026, m, d)) }

func moment(m time.Month, d, hour, minute int) Moment {
	return Moment(time.Date(2026, m, d, hour, minute, 0, 0, time.UTC))
}

// questions are what the judge asks of a link or of the job.
var questions = []CodeRow{
	entry("not-measured", "", "no loss reading of the link counts, and the schedule lists the link"),
	entry("missing-wavelength", "nm:nm", "the job requires the wavelength, and no loss reading of the link has it", NM(1550)),
	entry("missing-direction.unstated", "nm:nm", "loss readings at the wavelength state no direction, and the job requires both", NM(1550)),
	entry("missing-direction.way", "nm:nm way:word.way", "the loss at the wavelength was read in the other direction only, and the job requires both", NM(1550), Way(record.BA)),
	entry("missing-direction.splice", "splice:name nm:nm end:name", "the splice was read from that end only, and the job requires both directions", Name("S2"), NM(1550), Name("A")),
	entry("missing-reflectance", "end:name", "the job requires reflectance, and no reading of it was taken from that end", Name("B")),
	entry("direction-exempt", "reason:name", "the schedule exempts the link from one direction, for this reason", Name("end B is inside a locked cage")),
	entry("wavelength-exempt", "nm:nm reason:name", "the schedule exempts the link from being measured at this wavelength, for this reason, and no loss counts there", NM(1550), Name("the source has no laser for it")),
	entry("no-reference-time", "", "the reading has no time of its reference"),
	entry("no-software", "", "nobody says with which software the instrument measured"),
	entry("no-date", "", "the reading has no time"),
	entry("unknown-instrument.none", "", "neither the reading nor the mapping of its file names an instrument"),
	entry("unknown-instrument.unlisted", "instrument:name", "the reading names the instrument, and the job's list does not", Name("PM-7")),
	entry("reel-loss", "nm:nm way:word.way reel:number shipped:number most:number", "the loss of the fibre on the reel and that of the shipping record differ by more than this percentage of the latter", NM(1550), Way(record.AB), number("0.81"), number("0.70"), number("10")),
	entry("calibration-interval", "instrument:name calibrated:day due:day months:number", "the job gives these days for an instrument that was used, and the second is later than the month in which that many months from the first end", Name("PM-1"), day(3, 3), Day(record.NewDate(2028, 3, 3)), number("12")),
	entry("calibration.no-dates", "instrument:name", "the job gives the instrument neither a calibration date nor a due date", Name("PM-1")),
	entry("calibration.no-due", "instrument:name", "the job gives the instrument no due date", Name("PM-1")),
	entry("calibration.no-start", "instrument:name", "the job gives the instrument no calibration date", Name("PM-1")),
	entry("calibration.overdue", "instrument:name day:day due:day", "the reading was taken on the day, after the due date that the job gives", Name("PM-1"), day(11, 18), day(11, 2)),
	entry("calibration.early", "instrument:name day:day calibrated:day", "the reading was taken on the day, before the calibration date that the job gives", Name("PM-1"), day(11, 18), day(11, 20)),
	entry("unknown-person.none", "", "neither the reading nor the mapping of its file names a person"),
	entry("unknown-person.unlisted", "person:name", "the reading names the person, and the job's list does not", Name("T. Idris")),
	entry("expired-qualification", "person:name until:day day:day", "the reading was taken on the day, after the person's qualification ran out", Name("M. Okafor"), day(10, 31), day(11, 18)),
	entry("reference-age.younger", "reference:moment reading:moment", "the reference is of a later time than the reading", moment(11, 18, 9, 40), moment(11, 18, 9, 32)),
	entry("reference-age.old", "reference:moment hours:number", "the reference was taken more hours before the reading than the job allows", moment(11, 17, 8, 5), number("12")),
	entry("before-shut", "shut:moment", "the reading was taken before the record of a splice says that its closure was shut", moment(11, 18, 11, 0)),
	entry("before-finished", "end:word.end_at finished:moment", "the reading was taken before the record of the termination says it was finished", End("B"), moment(11, 18, 11, 0)),
	entry("colour-code.strand", "strand:name given:name wanted:statement table:name", "the schedule gives the strand another colour than the job's colour table has at its number", Name("7"), Name("blue"), Statement{Code: "hue.plain", Args: []Argument{Word{"colour", "red"}}}, Name("ANSI/TIA-598-D")),
	entry("colour-code.tube", "tube:name given:name wanted:statement table:name", "the schedule gives the tube another colour than the job's colour table has at its number, which follows from the strand's", Name("3"), Name("blue"), Statement{Code: "hue.plain", Args: []Argument{Word{"colour", "green"}}}, Name("ANSI/TIA-598-D")),
	entry("colour-code.tube-number", "strand:name given:name tube:count per:count", "at so many fibres per tube the strand is in this tube, and the schedule gives another", Name("34"), Name("2"), Count(3), Count(12)),
	entry("colour-code.unknown", "given:name table:name", "the schedule gives a colour in which no word names one of the job's table", Name("sky"), Name("ANSI/TIA-598-D")),
	entry("array-position.far", "trunk:name position:count far:count wanted:count method:name", "the schedule says that a test found the position there, and the method of the trunk has another far position", Name("T1"), Count(3), Count(4), Count(10), Name("ANSI/TIA-568.3-E, method B")),
	entry("array-position.swapped", "trunk:name position:count other:count far:count other-far:count method:name", "the schedule says that a test found each of the two positions where the method of the trunk has the other", Name("T1"), Count(3), Count(4), Count(9), Count(10), Name("ANSI/TIA-568.3-E, method B")),
	entry("array-position.same", "trunk:name position:count other:count far:count", "the schedule says that a test found both positions there", Name("T1"), Count(3), Count(4), Count(9)),
	entry("hue.plain", "colour:word.colour", "the job's colour table has this one at the number", Word{"colour", "red"}),
	entry("hue.traced", "colour:word.colour tracer:word.colour", "the job's colour table has this one with this tracer at the number", Word{"colour", "red"}, Word{"colour", "black"}),
	entry("negative-loss", "", "the loss is below zero by more than its uncertainty and the job's threshold"),
	entry("below-glass", "nm:nm length:number least:number", "the loss, with its uncertainty and the job's threshold, is less than the lowest loss of glass over the scheduled length", NM(1550), number("5000"), number("0.75")),
	entry("length-difference", "scheduled:number measured:number", "measured and scheduled length differ by more than the job's threshold", number("312"), number("402")),
	entry("bend", "loss:number nm:nm way:word.way excess:number base:number short:nm length:number", "the loss at the longer wavelength is more than that at the shorter one, in that direction, and what glass of the scheduled length loses more or less, by more than the job's threshold",
		number("0.92"), NM(1550), Way(record.AB), number("0.44"), number("0.51"), NM(1310), number("312")),
	entry("direction-difference", "difference:number nm:nm", "the losses of the two directions differ by more than the job's threshold", number("0.62"), NM(1310)),
	entry("connection-count.spliced", "ends:count pairs:amount", "the schedule has more spliced-on ends than mated pairs", Count(2), Amount{1, "mated_pair"}),
	entry("connection-count.three-cord", "pairs:amount", "a three-cord reference, and fewer than two mated pairs in the schedule", Amount{1, "mated_pair"}),
	entry("connection-count.ends", "pairs:amount", "both ends have connectors, and the schedule counts fewer than two mated pairs", Amount{1, "mated_pair"}),
	entry("connection-count.two-cord", "", "a two-cord reference, and no mated pair in the schedule"),
	entry("connection-count.no-connector", "pairs:amount ends:count", "the schedule counts more mated pairs than it gives ends with a connector, and no more than two", Amount{2, "mated_pair"}, Count(1)),
	entry("splice-count.fewer", "scheduled:amount recorded:count", "fewer splices of the span are on record, as terminations or as readings, than the schedule has, and at least one", Amount{5, "splice"}, Count(1)),
	entry("splice-count.more", "scheduled:amount recorded:count", "more splices of the span are on record, as terminations or as readings, than the schedule has", Amount{1, "splice"}, Count(2)),
	entry("loosened.splices", "scheduled:amount recorded:count subject:subject measured:number limit:number", "a limit of loss that is met would not be, were there only the splices that are on record", Amount{5, "splice"}, Count(1), Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("2.90"), number("2.52")),
	entry("loosened.pairs", "pairs:amount ends:count subject:subject measured:number limit:number", "a limit of loss that is met would not be, were there a mated pair only at the ends that have a connector", Amount{2, "mated_pair"}, Count(1), Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("1.52"), number("0.87")),
	entry("loosened.length", "scheduled:number measured:number subject:subject loss:number limit:number", "a limit of loss that is met would not be, were the length that which was measured", number("2000"), number("400"), Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, number("2.11"), number("1.66")),
	entry("out-of-specification", "set:name subject:subject measured:number attempts:count", "the splice is within a limit of the set that applies after so many attempts, which are on record, and over the limits that it replaces", Name("splice-carrier"), Subject{Quantity: record.SpliceLoss, NM: 1550, Way: record.TwoWay, Event: "S1"}, number("0.15"), Count(3)),
	entry("duplicate-rows.reading", "row:row other:row", "two rows have the same time, value, quantity, wavelength and direction", Row{File: "readings/day2.csv", Row: 7}, Row{File: "readings/day1.csv", Row: 7}),
	entry("duplicate-rows.file", "file:name other:name", "the two files have the same SHA-256", Name("readings/day1.csv"), Name("readings/copy.csv")),
	entry("end-face.failed", "end:word.end_at", "the record of the termination says that the face did not pass, and no later one of that end that it did", End("A")),
	entry("end-face.not-inspected", "end:word.end_at", "the record of the termination says no inspection, no later one of that end that the face passed, and the job requires one", End("A")),
	entry("end-face.unrecorded", "end:name", "no termination is on record at the end, and the job requires an inspection", Name("A")),
	entry("inspection.missing", "end:name", "the job requires an inspection of every end face, the schedule has a connector at the end, and no inspection of its face is on record", Name("A")),
	entry("inspection.outdated", "end:name inspected:moment finished:moment", "the job requires an inspection of every end face, and the last one on record of that face was before the record of a termination says that the end was finished", Name("B"), moment(11, 17, 9, 10), moment(11, 18, 11, 0)),
	entry("inspection.failed", "end:name criterion:name", "the last inspection on record of that face, once the end was finished, says that it did not pass by the criterion", Name("B"), Name("IEC 61300-3-35:2022")),
	entry("inspection.contradicts", "end:name criterion:name", "the last inspection on record of that face, once the end was finished, says that it did not pass by the criterion, and the record of the termination says that it did", Name("B"), Name("IEC 61300-3-35:2022")),
	entry("original.missing", "subjects:list", "the job requires the instrument's own file of every loss, and none is on record that is of these losses, which count", List{Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.BA}}),
	entry("no-termination", "end:name", "the end is spliced on, the job limits the splicer's estimate, and none is on record", Name("A")),
	entry("expected-orl", "measured:number nm:nm expected:number", "the optical return loss is better than backscatter and reflectances allow, by more than the job's threshold", number("41"), NM(1550), number("33.7")),
	entry("no-uncertainty", "", "guarded acceptance was agreed, and neither instrument nor job gives an uncertainty"),
	entry("no-limit.which", "gaps:list", "no set that binds the link has a limit for a reading that the job requires", List{Statement{Code: "gap.none-end", Args: []Argument{Name("A"), NM(1310)}}}),
	entry("no-limit.unjudged", "gaps:list", "one of several sets that bind the link has no figure for the reading", List{Statement{Code: "gap.value", Args: []Argument{Name("owner"), Word{"value", "cable"}, Name("OS2"), NM(1310)}}}),
	entry("gap.value", "set:name value:word.value fibre:name nm:nm", "the set has no row of the value for the fibre and wavelength", Name("owner"), Word{"value", "cable"}, Name("OS2"), NM(1310)),
	entry("gap.value-end", "set:name value:word.value end:name nm:nm", "the set has no row of the value for the connection and wavelength", Name("owner"), Word{"value", "return_loss"}, Name("A"), NM(1310)),
	entry("gap.none", "fibre:name pairs:amount splices:amount nm:nm", "no limit of any set that binds applies to such a link", Name("OS2"), Amount{2, "mated_pair"}, Amount{1, "splice"}, NM(1310)),
	entry("gap.none-end", "end:name nm:nm", "no limit of reflectance or return loss of any set that binds applies", Name("A"), NM(1310)),
	entry("application.no-figure", "application:name value:word.value", "the application's set has no row of the value for the link", Name("10GBASE-LR"), Word{"value", "discrete_reflectance"}),
	entry("application.no-figure-count", "application:name value:word.value n:count level:number", "the application's set has no row of the value for so many reflections", Name("400GBASE-DR4"), Word{"value", "discrete_reflectance"}, Count(12), number("-55")),
	entry("application.no-figure-fibre", "application:name value:word.value fibre:name", "the application's set has no row of the value for the fibre at the wavelengths that were measured", Name("10GBASE-SR"), Word{"value", "channel_loss"}, Name("OM1")),
	entry("application.average-any", "application:name", "the application is judged by the mean of both directions at whatever wavelength, and there is none", Name("owner's system")),
	entry("application.loss-any", "application:name", "the application is judged by a loss at whatever wavelength, and there is none", Name("owner's system")),
	entry("application.average", "application:name nm:either", "the application is judged by the mean of both directions at such a wavelength, and there is none", Name("100GBASE-LR4"), Either{Span{1295, 1310}}),
	entry("application.loss", "application:name nm:either", "the application is judged by a loss at such a wavelength, and there is none", Name("10GBASE-LR"), Either{Span{1260, 1355}}),
	entry("application.fibre", "application:name fibre:name", "the application's set has no limit of loss for the fibre", Name("10GBASE-SR"), Name("OS2")),
	entry("not-judged", "set:name limit:name reason:statement", "the limit binds the link, and what it is about was not measured, or not all of it", Name("tia-568.3-e"), Name("splice-loss"), Statement{Code: "open.unread", Args: []Argument{Word{"quantity", "splice_loss"}}}),
	entry("open.unread", "quantity:word.quantity", "no reading of the quantity counts", Word{"quantity", "splice_loss"}),
	entry("open.unread-at", "quantity:word.quantity nm:either", "no reading of the quantity at such a wavelength counts", Word{"quantity", "splice_loss"}, Either{Span{1550, 1550}}),
	entry("open.end", "quantity:word.quantity end:name", "no reading of the quantity was taken from that end", Word{"quantity", "return_loss"}, Name("B")),
	entry("open.splices", "n:count splices:amount nm:nm", "the schedule has so many splices in the span, and only those have a reading at the wavelength that can be judged: both directions, unless the job is content with one", Count(2), Amount{5, "splice"}, NM(1550)),
	entry("unjudged.fibre", "fibre:name", "the limit is about other fibres", Name("OS2")),
	entry("unjudged.connector", "", "the limit is about other connectors than the schedule has at the ends"),
	entry("unjudged.method", "", "the limit is about another reference method or other test cords"),
	entry("unjudged.length", "length:number", "the limit is about other lengths than the scheduled one", number("312")),
	entry("unjudged.pairs", "pairs:amount", "the limit is about links with another number of mated pairs", Amount{2, "mated_pair"}),
	entry("unjudged.splices", "splices:amount", "the limit is about links with another number of splices", Amount{1, "splice"}),
	entry("unjudged.attempts", "", "the limit applies after a number of attempts that no splice of the link has on record"),
	entry("unjudged.reflections", "n:count", "the limit is about links with another number of reflections that count", Count(0)),
	entry("unjudged.wavelength", "nm:either", "the limit is about wavelengths that the job does not require, and its set has another limit of the quantity for one that it does", Either{Span{1310, 1310}}),
	entry("unjudged.no-splice", "", "the schedule has no splice in the span"),
	entry("unjudged.no-connection", "", "the schedule counts no mated pair"),
	entry("unjudged.figure", "value:word.value fibre:name", "the set has no row of the value for such a link", Word{"value", "cable"}, Name("OS1")),
	entry("unjudged.replaced", "limit:name", "that limit of the same set applies instead", Name("short-link")),
	entry("unjudged.job", "", "the limit is about all connections of the job together"),
	entry("optional.reflectance", "", "the job requires no reflectance, and the set has other limits to judge"),
	entry("optional.exempt", "reason:name", "the schedule exempts the link from being measured at the wavelengths that the limit is about, for this reason", Name("the source has no laser for it")),
	entry("optional.agreed", "by:name reason:name", "job.yaml lists it under judge.optional, agreed by them for this reason", Name("Port Ansel Council"), Name("the spans are short")),
	entry("set-idle", "set:name links:amount reasons:list", "the set binds so many links, and none of its limits judged anything on any of them", Name("splice-carrier"), Amount{24, "link"}, List{Statement{Code: "unjudged.no-splice"}}),
	entry("population", "n:count of:word.population_of nm:nm mode:word.mode", "so many connections, or splices, of the job make the population, each link with both directions as one", Count(96), Word{"population_of", "insertion_loss"}, NM(1310), Word{"mode", "singlemode"}),
	entry("not-shown.averages", "set:name percentile:number of:word.population_of_one nm:nm mode:word.mode least:count", "the set limits a percentile of single connections, no loss at the wavelength is of one alone, and so many show it at least",
		Name("iec-61755-1-grade-b"), number("97"), Word{"population_of_one", "insertion_loss"}, NM(1310), Word{"mode", "singlemode"}, Count(99)),
	entry("not-shown.each", "n:count set:name limit:number nm:nm mode:word.mode", "the set limits every connection, and so many links with several connections lose more than the limit together",
		Count(3), Name("iso-11801-1-connections"), number("0.75"), NM(1310), Word{"mode", "singlemode"}),
	entry("not-shown.few", "n:count set:name percentile:number of:word.population_of_one nm:nm mode:word.mode over:count limit:number least:count", "so many losses of single connections, of which so many are over the limit, are too few to show the percentile with 95 % confidence; so many show it at least, if no more are over",
		Count(12), Name("iec-61755-1-grade-b"), number("97"), Word{"population_of_one", "insertion_loss"}, NM(1310), Word{"mode", "singlemode"}, Count(0), number("0.25"), Count(99)),
	entry("identical-results", "links:list", "the links have the same loss at every wavelength and direction, which chance does not explain by the spread and number of the job's losses", Names("A-07", "A-08", "A-09")),
	entry("near-miss-names.alike", "links:list", "the names of the schedule differ by what is easily misread", Names("A-10", "A-1O")),
	entry("near-miss-names.letter", "link:name letter:name others:list", "the name has this letter where at least three others, and no other is written like it, have a digit", Name("A-1O"), Name("O"), Names("A-11", "A-12", "A-13")),
	entry("polarity.unknown", "link:name pair:name", "the schedule pairs the link with a name that it does not list", Name("A-07"), Name("A-70")),
	entry("polarity.other", "link:name pair:name", "the schedule pairs the link with one that names another", Name("A-07"), Name("A-08")),
	entry("polarity.unchecked", "link:name pair:name", "the schedule has no polarity for the pair", Name("A-07"), Name("A-08")),
	entry("polarity.disagree", "link:name pair:name polarity:word.polarity other:word.polarity", "the schedule gives the two strands different polarities", Name("A-07"), Name("A-08"), Word{"polarity", "crossed"}, Word{"polarity", "straight"}),
	entry("polarity.straight", "link:name pair:name polarity:word.polarity", "the schedule gives the pair this polarity", Name("A-07"), Name("A-08"), Word{"polarity", "straight"}),
	entry("same-moment", "instrument:name links:list at:moment", "readings of the instrument on these links have the same time", Name("PM-1"), Names("A-07", "A-08"), moment(11, 18, 9, 32)),
	entry("two-instruments", "person:name instrument:name link:name other-instrument:name other:name at:moment n:count", "readings of the person with these instruments at these links overlap in time from this moment on, and so many such stays of the person overlap",
		Name("M. Okafor"), Name("PM-1"), Name("A-07"), Name("PM-2"), Name("B-03"), moment(11, 18, 9, 32), Count(4)),
	entry("direction-copied", "n:count all:count", "so many of all losses that count in direction A-B have the very same value in B-A, and hardly any differs by one step of the readings", Count(47), Count(48)),
	entry("wavelength-copied", "short:nm long:nm n:count all:count", "so many of all losses that count at the shorter wavelength have the very same value at the longer one, and hardly any differs by one step of the readings", NM(1310), NM(1550), Count(47), Count(48)),
	entry("wavelengths-swapped", "short:nm long:nm more:number n:count", "the mean of so many differences of multimode losses, of the longer wavelength beyond the shorter one", NM(850), NM(1300), number("0.21"), Count(48)),
	entry("pace", "instrument:name n:count from:moment seconds:count", "so many different links and one more were read by the instrument within the seconds", Name("PM-1"), Count(10), moment(11, 18, 9, 32), Count(45)),
	entry("shown", "subject:subject shown:name value:number", "the cell of the reading holds this text, and the value is counted for it", Subject{Quantity: record.InsertionLoss, NM: 1310, Way: record.AB}, Name("OL"), number("100")),
	entry("stands-out", "share:count rest:count", "the mean share of their limits that the readings of the group and of the others use", Count(81), Count(42)),
}

// advice says what usually causes a finding and what to try first. It claims
// nothing about the link.
var advice = []CodeRow{
	entry("advice.guard", "guard:number", "the margin is positive and smaller than the guard band", number("0.20")),
	entry("advice.owner", "text:name", "the limit set says so for a reading that is out by so much", Name("Clean every connection and measure again.")),
	entry("advice.attenuator", "", "the loss is below the least that the application needs"),
	entry("advice.bend", "", "the loss at a longer wavelength is more than that at a shorter one and the glass explain"),
	entry("advice.clean", "", "a loss is over its limit"),
	entry("advice.seat", "loss:number", "a loss is over its limit on a link with mated pairs; Fresnel loss of two faces of silica", number("0.3")),
	entry("advice.rework", "", "a loss is over its limit on a link with splices"),
	entry("advice.reference", "", "a loss is over its limit"),
	entry("advice.splice", "", "a splice is over its limit"),
	entry("advice.mode-field", "difference:number least:number", "the two directions of the splice differ so much", number("0.53"), number("0.07")),
	entry("advice.face", "end:name", "the reflectance at the end is over its limit", Name("A")),
	entry("advice.polish", "", "a reflectance is over its limit"),
	entry("advice.reflection", "", "the optical return loss is below its limit"),
	entry("advice.length", "", "the length is over its limit"),
	entry("advice.splice-again", "", "the splicer's estimate is over the job's limit"),
}

// settling says, to whoever receives the papers, how an open question is settled.
// What the technician changes for that in job.yaml is the terminal's to say.
func settling() (out []CodeRow) {
	for _, question := range []string{
		"missing-wavelength", "missing-direction", "missing-reflectance", "calibration", "calibration-interval", "no-date", "unknown-instrument", "unknown-person",
		"expired-qualification", "reference-age", "before-finished", "before-shut", "direction-exempt", "wavelength-exempt", "no-reference-time", "no-software", "reel-loss", "colour-code", "array-position", "negative-loss", "below-glass", "length-difference",
		"bend", "direction-difference", "connection-count", "splice-count", "out-of-specification", "loosened", "duplicate-rows", "identical-results", "same-moment", "pace", "near-miss-names",
		"direction-copied", "wavelength-copied", "wavelengths-swapped", "two-instruments",
		"polarity", "end-face", "inspection", "original", "no-termination", "expected-orl", "no-limit", "not-shown", "no-uncertainty", "application", "not-judged", "set-idle",
	} {
		out = append(out, entry("settle."+question, "", "the question is open"))
	}
	return out
}
