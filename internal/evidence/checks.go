// Package evidence knows the questions about how a job was measured: what each
// asks and why, what settles it, and how much it weighs.
//
// A check is a question, never an accusation. [Checks] lists them with the weight
// and the threshold that they have unless the job says otherwise, and [Settings]
// returns what a job made of them. Whether a question is asked about a link is for
// package judge to find.
package evidence

import (
	"slices"

	"spanseal/internal/quantity"
)

// Weight is what a question does to a link.
type Weight string

const (
	Fatal Weight = "fatal" // the link is incomplete until it is settled
	Note  Weight = "note"  // it is printed; the verdict stands
	Off   Weight = "off"   // it is not asked
)

// Check explains one question. Its default weight and threshold are ours;
// no standard sets them, and job.yaml changes them under judge.questions.
type Check struct {
	Code   string
	Title  string
	Asks   string // what it asks
	Why    string // why an owner would ask it
	Settle string // how to settle it
	Weight Weight // unless job.yaml says otherwise
	// Threshold unless job.yaml says otherwise, and its unit in words; nil where
	// the check has none.
	Threshold *quantity.Decimal
	Unit      string
	// Source is where the check or its threshold comes from.
	Source string
}

// Checks returns every check, in the order in which they are asked.
func Checks() []Check { return slices.Clone(checks) }

var checks = []Check{
	{
		Code: "missing-wavelength", Title: "Every required wavelength", Weight: Fatal,
		Asks:   "Was the loss measured at every wavelength that the job requires for this kind of fibre?",
		Why:    "A bend shows at the longer wavelength, dirt at both; owners ask for both on every strand.",
		Settle: "Measure at the wavelength that is missing, or agree on another set of wavelengths.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "missing-direction", Title: "Both directions", Weight: Fatal,
		Asks:   "Was the loss measured from both ends?",
		Why:    "Owners ask for both directions and their average; exceptions are stated with a reason.",
		Settle: "Measure from the other end, or state the exemption and its reason in the schedule.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "missing-reflectance", Title: "Reflectance where it is required", Weight: Fatal,
		Asks:   "Was the reflectance of each end measured?",
		Why:    "The job requires it.",
		Settle: "Measure reflectance or return loss from each end.",
		Source: "the job's own requirement",
	},
	{
		Code: "calibration", Title: "Calibration valid on the day", Weight: Fatal,
		Asks:   "Was the meter, and the light source where it is named, within its calibration on the day of the reading?",
		Why:    "A reading of an instrument out of calibration proves nothing; owners ask for the dates and compare them with the day of the test.",
		Settle: "Enter the dates of the calibration certificate under instruments, or measure again with an instrument in calibration.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "calibration-interval", Title: "Interval of calibration", Weight: Note, Threshold: number("12"), Unit: "months",
		Asks:   "Is the instrument calibrated as often as the job wants?",
		Why:    "A due date far away was set by whoever wrote it down; owners' documents ask for a calibration within the last year.",
		Settle: "Show that the maker or the owner allows the longer interval, or have the instrument calibrated.",
		Source: "one year is asked by owners' documents; that an interval ends with its month is common practice",
	},
	{
		Code: "no-date", Title: "Day of the reading", Weight: Fatal,
		Asks:   "On which day was this measured?",
		Why:    "Without the day nobody can tell whether the instrument was in calibration or the termination finished.",
		Settle: "Map the column with the time, or give the day in the mapping.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "unknown-instrument", Title: "Instrument on the job's list", Weight: Fatal,
		Asks:   "Which instrument took this reading?",
		Why:    "Make, serial and calibration come from the job's list of instruments; a reading without one cannot be traced.",
		Settle: "Add the instrument to job.yaml, or name it in the mapping of the file.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "unknown-person", Title: "Person on the job's list", Weight: Note,
		Asks:   "Who measured this?",
		Why:    "Owners ask for the technician's name and qualification.",
		Settle: "Add the person to job.yaml, or name them in the mapping of the file.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "expired-qualification", Title: "Qualification valid on the day", Weight: Note,
		Asks:   "Was the person's qualification valid on the day of the reading?",
		Why:    "Some owners accept only readings by people who were qualified at the time.",
		Settle: "Enter the renewed qualification, or have the link measured by a qualified person.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "reference-age", Title: "Age of the reference", Weight: Note, Threshold: number("12"), Unit: "hours",
		Asks:   "Was the reference taken again within the time allowed before the reading, and not after it?",
		Why:    "Sources drift and cords get dirty; a stale reference moves every reading that rests on it.",
		Settle: "Take a new reference and measure again, or agree on the longest age with the owner.",
		Source: "the figure is ours: one reference a working day",
	},
	{
		Code: "no-reference-time", Title: "Time of the reference", Weight: Off,
		Asks:   "When was the reference taken?",
		Why:    "Without the time nobody can tell whether the reference was fresh; some owners want it for every session.",
		Settle: "Map the column with the time of the reference, or give it in the mapping.",
		Source: "asked by an owner's specification; asked only if the job sets its weight",
	},
	{
		Code: "no-software", Title: "Software of the instrument", Weight: Off,
		Asks:   "With which version of its software did the instrument measure?",
		Why:    "Versions work values out differently; some owners want it for every session.",
		Settle: "Add software under judge in job.yaml, to links.csv, to the mapping or as a column.",
		Source: "asked by an owner's specification; asked only if the job sets its weight",
	},
	{
		Code: "reel-loss", Title: "Loss on the reel against the shipping record", Weight: Off, Threshold: number("10"), Unit: "%",
		Asks:   "Did the cable lose on the reel what its maker's record says?",
		Why:    "A reel that loses more than when it left the maker was damaged on the way; after placing nobody can tell any more.",
		Settle: "Measure the reel again, or settle it with the maker before the cable is placed.",
		Source: "asked by an owner's specification with a percentage of its own; asked only if the job sets its weight",
	},
	{
		Code: "before-finished", Title: "Measured after the work was finished", Weight: Fatal,
		Asks:   "Was the link measured before one of its terminations was finished?",
		Why:    "The reading does not show the link that is handed over.",
		Settle: "Measure again, or correct the time of the termination or the clock of the instrument.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "before-shut", Title: "Measured after the closure was shut", Weight: Fatal,
		Asks:   "Was the link measured before a closure on its way was shut for the last time?",
		Why:    "Fibres move when a tray is laid in and the closure is shut; a bend made then is in no reading.",
		Settle: "Measure again, or correct the time in terminations.csv or the clock of the instrument.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "direction-exempt", Title: "One direction by exemption", Weight: Note,
		Asks:   "The schedule exempts this link from being measured in both directions: does the owner agree with the reason?",
		Why:    "Owners allow single-ended readings for stated reasons only.",
		Settle: "Have the owner agree in writing, or measure the other way as well.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "wavelength-exempt", Title: "One wavelength by exemption", Weight: Note,
		Asks:   "The schedule exempts this link from being measured at a wavelength: does the owner agree with the reason?",
		Why:    "Owners ask for every wavelength on every strand and allow exceptions for stated reasons only.",
		Settle: "Have the owner agree in writing, or measure at that wavelength as well.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "negative-loss", Title: "Negative loss", Weight: Fatal, Threshold: number("0"), Unit: "dB below zero, beyond the uncertainty",
		Asks:   "How can more light come out of the link than went in?",
		Why:    "Beyond the uncertainty this points at the reference: a cord was dirty or bad when it was taken (MIL-STD-2042-6B says the same of P2 > P1).",
		Settle: "Clean the cords, take a new reference and measure again.",
		Source: "MIL-STD-2042-6B(SH), method 6E1",
	},
	{
		Code: "below-glass", Title: "Less loss than the glass", Weight: Fatal, Threshold: number("0.05"), Unit: "dB below, beyond the uncertainty",
		Asks:   "How can the link lose less than the glass alone must lose over its length?",
		Why:    "The reference may be wrong, the length in the schedule too long, or another link was measured.",
		Settle: "Check the length and the link's name, take a new reference and measure again.",
		Source: "the figure is ours; lowest losses of glass in the set lowest-glass-loss",
	},
	{
		Code: "length-difference", Title: "Length as scheduled and as measured", Weight: Note, Threshold: number("5"), Unit: "percent of the scheduled length, and 10 m more",
		Asks:   "Is the length in the schedule that of the link, where an instrument measured another?",
		Why:    "The glass is allowed its loss by the length in the schedule: one that is too long loosens the limit, and another length may be that of another link.",
		Settle: "Correct the length in the schedule, or check the link's name and the group index that the instrument was set to.",
		Source: "the figure is ours: glass is a little longer than its cable, and slack at the ends is a few metres",
	},
	{
		Code: "bend", Title: "More loss at the longer wavelength", Weight: Note, Threshold: number("0.2"), Unit: "dB more at the longer wavelength than glass explains",
		Asks:   "Is the fibre bent too tightly somewhere?",
		Why:    "Connections lose about as much at one wavelength as at another, and what glass loses more or less is known for each pair of wavelengths; a bend loses more at the longer one.",
		Settle: "Look for tight bends in trays, panels and closures, dress the fibre again and measure again.",
		Source: "common practice: 0.5 dB for one event is widely used, 0.2 dB is the tighter rule; differences of glass in the set glass-differences",
	},
	{
		Code: "direction-difference", Title: "Difference between the directions", Weight: Note, Threshold: number("0.5"), Unit: "dB",
		Asks:   "Why do the two directions differ so much?",
		Why:    "End-to-end loss hardly depends on direction; a large difference points at a dirty end or a reference that moved between the two.",
		Settle: "Clean and inspect the ends and cords, take a new reference and measure both ways again.",
		Source: "the figure is ours",
	},
	{
		Code: "connection-count", Title: "Connections and reference method", Weight: Note,
		Asks:   "Do the number of connections and the reference method fit each other?",
		Why:    "The reference method decides which connections are inside the measurement, and so the limit.",
		Settle: "Count every mated pair of the link, both ends included, and correct the schedule or the method.",
		Source: "IEC 61280-4-1 and -4-2, from memory",
	},
	{
		Code: "splice-count", Title: "Splices scheduled and recorded", Weight: Note,
		Asks:   "Are as many splices of the span on record as the schedule has?",
		Why:    "Each splice of the schedule loosens the limit of the link.",
		Settle: "Correct the schedule, or record the splices that are missing.",
		Source: "common practice",
	},
	{
		Code: "out-of-specification", Title: "A splice out of specification", Weight: Note,
		Asks:   "Does the owner accept a splice that is within the limit after several attempts, and over the limit before?",
		Why:    "Such acceptances allow more after so many attempts, and have the splice listed.",
		Settle: "Have the owner accept it in writing, or make the splice again.",
		Source: "asked by a carrier's acceptance exhibit, section 6",
	},
	{
		Code: "loosened", Title: "A count that loosens the limit", Weight: Fatal,
		Asks:   "Is the schedule right, if the link would fail by what is on record?",
		Why:    "Splices, mated pairs and length of the schedule make the limit. By those on record the loss is over it.",
		Settle: "Correct the schedule, or show the record of what the schedule has.",
		Source: "the figure follows from the limit itself",
	},
	{
		Code: "duplicate-rows", Title: "The same row twice", Weight: Note,
		Asks:   "Is one reading in the files twice?",
		Why:    "The same reading exported twice is harmless, but a count of readings would be wrong.",
		Settle: "Leave one of the two files out.",
		Source: "common practice",
	},
	{
		Code: "identical-results", Title: "Identical results on several links", Weight: Note, Threshold: number("2"), Unit: "links with the same losses, which chance does not explain",
		Asks:   "How do several links come to have the same loss at every wavelength and direction?",
		Why:    "Chance makes short links alike, by their spread and their number; beyond that, one link may have been measured under several names.",
		Settle: "Measure one of the links again, with the owner present if need be.",
		Source: "the figures are ours: fewer than 0.02 such coincidences expected by chance, as the job's own losses tell",
	},
	{
		Code: "direction-copied", Title: "One direction like the other", Weight: Note,
		Asks:   "Was each direction measured?",
		Why:    "Two measurements differ in the last digit more often than not: over a job, one direction that is the very same as the other was copied or measured once.",
		Settle: "Measure some links again in both directions, with the owner present if need be.",
		Source: "the figures are ours: eight losses or more, and eight times as many as differ by one step",
	},
	{
		Code: "wavelength-copied", Title: "One wavelength like another", Weight: Note,
		Asks:   "Was each wavelength measured?",
		Why:    "Glass and connections do not lose the very same at two wavelengths: over a job, one that is the very same as the other was copied, or the source did not switch.",
		Settle: "Measure some links again at both wavelengths, with the owner present if need be.",
		Source: "the figures are ours: eight losses or more, and eight times as many as differ by one step",
	},
	{
		Code: "wavelengths-swapped", Title: "Two wavelengths swapped", Weight: Note,
		Asks:   "Are two wavelengths of the multimode links swapped?",
		Why:    "Multimode glass loses more than twice as much at 850 nm as at 1300 nm; readings that say otherwise over a whole job stand under the wrong wavelength.",
		Settle: "Compare the columns of the mapping with the instrument's own file.",
		Source: "the figures are ours: 0.05 dB, half of what glass differs by, and four standard errors; differences of glass in the set glass-differences",
	},
	{
		Code: "two-instruments", Title: "One person at two instruments", Weight: Note,
		Asks:   "How did one person read two instruments at two links at the same time?",
		Why:    "Somebody else measured one of the links, or a clock is wrong; the qualification shown may not be theirs.",
		Settle: "Name who measured, or correct the clock of an instrument.",
		Source: "common practice",
	},
	{
		Code: "same-moment", Title: "Two links at one moment", Weight: Note,
		Asks:   "How did one instrument measure two links at the same moment?",
		Why:    "One row may stand under two names. Strands that the schedule pairs may be measured together.",
		Settle: "Check the names against the instrument's own file.",
		Source: "common practice",
	},
	{
		Code: "pace", Title: "Pace of work", Weight: Note, Threshold: number("10"), Unit: "seconds a link, over ten links",
		Asks:   "How could so many links be measured in so short a time?",
		Why:    "Unplugging, cleaning and plugging take time.",
		Settle: "Check the instrument's clock and the mapping of times.",
		Source: "the figure is ours",
	},
	{
		Code: "near-miss-names", Title: "Names that nearly match", Weight: Note,
		Asks:   "Are these two names of the schedule really two links?",
		Why:    "Names that differ by a letter that looks like another, or by capitals or spaces, get mixed up on labels and in reports.",
		Settle: "Correct the schedule, or leave it if both links exist.",
		Source: "common practice",
	},
	{
		Code: "array-position", Title: "Positions of array connectors", Weight: Fatal,
		Asks:   "Did a test find each position of a trunk where the method that was agreed brings it out?",
		Why:    "A position that comes out elsewhere leads transmitters to transmitters; a swapped pair passes every limit of loss.",
		Settle: "Find the swapped fibres in the connector or cassette, or correct the method or the schedule.",
		Source: "ANSI/TIA-568.3, polarity methods",
	},
	{
		Code: "colour-code", Title: "Colours of strand and tube", Weight: Note,
		Asks:   "Are strand and tube of the colours that their numbers have in the table that the job names?",
		Why:    "A colour that is not the number's shows a wrong number in the schedule, or a strand that was crossed with another.",
		Settle: "Look at the strand in its closure or panel, and correct number, colour or table.",
		Source: "ANSI/TIA-598, or the owner's own table",
	},
	{
		Code: "polarity", Title: "Polarity of a pair", Weight: Note,
		Asks:   "Do both strands of the pair name each other, and with the same polarity?",
		Why:    "A pair must lead transmitter to receiver; owners ask for the polarity of each pair.",
		Settle: "Check the pair with a light source and correct the schedule or the patching.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "end-face", Title: "End face inspected and clean", Weight: Fatal,
		Asks:   "Was the end face inspected, and did it pass?",
		Why:    "Dirt and damage at an end face come back as loss and reflectance later, and damage the face that is mated to it.",
		Settle: "Clean, inspect again and record the result; polish or replace the connector if it does not come clean.",
		Source: "IEC 61300-3-35",
	},
	{
		Code: "inspection", Title: "Inspection of every end face", Weight: Fatal,
		Asks:   "Does the last inspection on record of each end face say that it passed, and is there one of every face if the job requires it?",
		Why:    "A face that is dirty or damaged when it is mated harms both; factory-made faces arrive dirty too, and owners' documents ask for every face. No reading is out of a limit, so the link is incomplete and not failed: cleaning may settle it.",
		Settle: "Inspect the face, clean it if needed, inspect it again, and add a row to inspections.csv.",
		Source: "IEC 61300-3-35; ISO/IEC 14763-3 requires inspection (its abstract); that the last inspection decides is ours",
	},
	{
		Code: "original", Title: "The instrument's own file of every loss", Weight: Fatal,
		Asks:   "Where is the file that the instrument wrote of this loss?",
		Why:    "Owners' documents ask for the instrument's own data files too; an export can be edited, and the file shows more than a number.",
		Settle: "Copy the file from the instrument, under a name that fits the pattern in job.yaml, or list it in originals.csv.",
		Source: "asked by owners' documents; common practice",
	},
	{
		Code: "no-termination", Title: "Record of a spliced-on end", Weight: Note,
		Asks:   "Where is the record of an end that was spliced on?",
		Why:    "The job limits the splicer's estimate, and there is none to compare with the limit.",
		Settle: "Enter the termination, or correct the end in the schedule.",
		Source: "the job's own requirement",
	},
	{
		Code: "expected-orl", Title: "Return loss that glass allows", Weight: Note, Threshold: number("3"), Unit: "dB better than expected",
		Asks:   "How can the link's optical return loss be better than backscatter and the reflectances allow?",
		Why:    "Backscatter alone limits the optical return loss of a long fibre.",
		Settle: "Check the reference of the return-loss meter, the link's length and the constants that the job gives.",
		Source: "the figure is ours",
	},
}

func number(s string) *quantity.Decimal {
	d := quantity.Must(s) // not a limit: when a question is asked unless the job says otherwise
	return &d
}
