package statement

import "spanseal/internal/record"

// changes say what differs between two revisions that follow each other: old and
// new, as the results of both have it.
var changes = []CodeRow{
	entry("change.none", "", "nothing that the results of both revisions have differs"),
	entry("change.older-form", "", "the results of the revision before are of a form that lacks the schedule, the terminations and the job's terms"),
	entry("change.partial", "n:amount", "so many links of the schedule have no reading, and the issuer declares that they follow", Amount{3, "link"}),

	entry("change.job", "field:word.change_field old:any new:any", "the value of this field of the job differs", Word{"change_field", "customer_order"}, As(Name("PO-7718")), As(Name("PO-7719"))),
	entry("change.person", "id:name field:word.change_field old:any new:any", "the value of this field of the person differs", Name("mo"), Word{"change_field", "valid_until"}, As(day(10, 31)), As(day(12, 31))),
	entry("change.person-new", "id:name", "only the new revision lists the person", Name("ti")),
	entry("change.person-gone", "id:name", "only the earlier revision lists the person", Name("ti")),
	entry("change.instrument", "id:name field:word.change_field old:any new:any", "the value of this field of the instrument differs", Name("PM-1"), Word{"change_field", "calibrated"}, As(day(3, 3)), As(day(3, 30))),
	entry("change.instrument-new", "id:name", "only the new revision lists the instrument", Name("PM-7")),
	entry("change.instrument-gone", "id:name", "only the earlier revision lists the instrument", Name("PM-7")),
	entry("change.cable", "id:name field:word.change_field old:any new:any", "the value of this field of the cable differs", Name("C1"), Word{"change_field", "reel"}, As(Name("R-31")), As(Name("R-32"))),
	entry("change.cable-new", "id:name", "only the new revision lists the cable", Name("C2")),
	entry("change.cable-gone", "id:name", "only the earlier revision lists the cable", Name("C2")),
	entry("change.trunk", "id:name field:word.change_field old:any new:any", "the value of this field of the trunk differs", Name("T1"), Word{"change_field", "method"}, As(Name("ANSI/TIA-568.3-E, method A")), As(Name("ANSI/TIA-568.3-E, method B"))),
	entry("change.trunk-new", "id:name", "only the new revision lists the trunk", Name("T2")),
	entry("change.trunk-gone", "id:name", "only the earlier revision lists the trunk", Name("T2")),
	entry("change.item", "id:name field:word.change_field old:any new:any", "the value of this field of the pay item differs", Name("12"), Word{"change_field", "rate"}, Any{number("12.50"), ""}, Any{number("13"), ""}),
	entry("change.item-new", "id:name", "only the new revision lists the pay item", Name("15")),
	entry("change.item-gone", "id:name", "only the earlier revision lists the pay item", Name("15")),
	entry("change.release", "day:day field:word.change_field old:any new:any", "the value of this field of the release of retainage differs", day(11, 20), Word{"change_field", "percent"}, Any{number("50"), "%"}, Any{number("40"), "%"}),
	entry("change.release-new", "day:day", "only the new revision lists the release of retainage", day(11, 20)),
	entry("change.release-gone", "day:day", "only the earlier revision lists the release of retainage", day(11, 20)),
	entry("change.check", "check:word.check_name field:word.change_field old:any new:any", "what the job says about this evidence check differs", Word{"check_name", "bend"}, Word{"change_field", "weight"}, Any{}, As(Word{"change_value", "off"})),

	entry("change.set-added", "set:name", "only the new revision lists the limit set", Name("campus")),
	entry("change.set-removed", "set:name", "only the earlier revision lists the limit set", Name("campus")),
	entry("change.set-edition", "set:name old:name new:name", "the edition of the limit set differs", Name("campus"), Name("2024"), Name("2026")),
	entry("change.set", "set:name field:word.change_field old:any new:any", "the value of this field of the limit set differs", Name("campus"), Word{"change_field", "sha256"}, As(Name("5f0c91d2a6b04e13")), As(Name("77b1c0aa91f2e3d4"))),
	entry("change.file", "file:name", "the file of readings has another SHA-256", Name("readings/day1.csv")),
	entry("change.file-new", "file:name", "only the new revision lists the file of readings", Name("readings/day2.csv")),
	entry("change.file-gone", "file:name", "only the earlier revision lists the file of readings", Name("readings/day2.csv")),

	entry("change.order", "", "links that both revisions list come in another order"),
	entry("change.link-new", "links:list verdict:word.verdict_word", "only the new revision lists the links", Names("A-25"), Word{"verdict_word", "incomplete"}),
	entry("change.link-gone", "links:list verdict:word.verdict_word", "only the earlier revision lists the links", Names("A-25"), Word{"verdict_word", "incomplete"}),
	entry("change.verdict", "links:list old:word.verdict_word new:word.verdict_word", "the verdict of the links differs", Names("A-07"), Word{"verdict_word", "fail"}, Word{"verdict_word", "pass"}),
	entry("change.link", "links:list field:word.change_field old:any new:any", "the value of this field of the schedule differs for the links", Names("A-07"), Word{"change_field", "length_m"}, Any{number("312"), "m"}, Any{number("321"), "m"}),
	entry("change.termination", "links:list of:any field:word.change_field old:any new:any", "the value of this field of the termination differs", Names("A-07"), As(Phrase{As(End("B"))}), Word{"change_field", "lot"}, As(Name("L-5")), As(Name("L-6"))),
	entry("change.termination-new", "links:list of:any kind:any", "only the new revision has the record of the termination", Names("A-07"), As(Phrase{As(End(""))}), As(Known{"made", "splice"})),
	entry("change.inspection", "links:list of:any field:word.change_field old:any new:any", "the value of this field of the inspection differs", Names("A-07"), As(Phrase{As(End("B"))}), Word{"change_field", "edition"}, As(Name("2015")), As(Name("2022"))),
	entry("change.inspection-new", "links:list of:any result:any", "only the new revision has the inspection", Names("A-07"), As(Phrase{As(End("B"))}), As(Word{"end_face", "pass"})),
	entry("change.inspection-gone", "links:list of:any result:any", "only the earlier revision has the inspection", Names("A-07"), As(Phrase{As(End("B"))}), As(Word{"end_face", "fail"})),
	entry("change.termination-gone", "links:list of:any kind:any", "only the earlier revision has the record of the termination", Names("A-07"), As(Phrase{As(End(""))}), As(Known{"made", "splice"})),
	entry("change.reading", "links:list of:any old:any new:any from:row", "the reading that counts has another value, which is in this row", Names("A-07"), loss(1310), Any{number("2.70"), "dB"}, Any{number("0.80"), "dB"}, Row{File: "readings/day2.csv", Row: 3}),
	entry("change.origin", "links:list of:any old:name new:name", "the readings that count have the values that counted before, and are of the other file", Names("A-07"), AnyOf(loss(1310)), Name("readings/day1.csv"), Name("readings/day2.csv")),
	entry("change.row", "links:list of:any old:row new:row", "the reading has the same value, and is in another row of the file", Names("A-07"), loss(1310), Row{File: "readings/day1.csv", Row: 3}, Row{File: "readings/day1.csv", Row: 4}),
	entry("change.rows", "file:name links:amount", "readings of so many links are in other rows of the file than before", Name("readings/day1.csv"), Amount{24, "link"}),
	entry("change.reading-new", "links:list of:any new:any", "only the new revision has such a reading that counts", Names("A-07"), loss(1550), Any{number("0.80"), "dB"}),
	entry("change.reading-gone", "links:list of:any old:any", "only the earlier revision has such a reading that counts", Names("A-07"), loss(1550), Any{number("0.80"), "dB"}),
	entry("change.reading-field", "links:list of:any field:word.change_field old:any new:any", "this field of the readings differs", Names("A-07"), AnyOf(loss(1310)), Word{"change_field", "person"}, As(Name("mo")), As(Name("ti"))),
	entry("change.readings", "of:any links:amount", "so many links have another reading of this kind that counts; the results of both revisions have each", As(Phrase{As(insertionLoss)}), Amount{2400, "link"}),
	entry("change.readings-changed", "links:list quantity:word.quantity changes:list file:name", "each of these readings that count has another value, which is in the file", Names("A-07"), insertionLoss, List{step(1310, "2.70", "0.80", ""), step(1550, "2.75", "0.71", "dB")}, Name("readings/day2.csv")),
	entry("change.readings-new", "links:list quantity:word.quantity readings:list", "only the new revision has each of these readings that count", Names("A-07"), insertionLoss, List{readAt(1310, "0.80", ""), readAt(1550, "0.71", "dB")}),
	entry("change.readings-gone", "links:list quantity:word.quantity readings:list", "only the earlier revision has each of these readings that count", Names("A-07"), insertionLoss, List{readAt(1310, "0.80", ""), readAt(1550, "0.71", "dB")}),
	entry("value.step", "of:any old:any new:any", "the reading has another value than before", As(Phrase{As(NM(1310)), As(Way(record.AB))}), Any{number("2.70"), ""}, Any{number("0.80"), "dB"}),
	entry("value.read", "of:any value:any", "the reading has the value", As(Phrase{As(NM(1310)), As(Way(record.AB))}), Any{number("0.80"), "dB"}),
	entry("change.stage-new", "links:list of:any stage:word.stage value:any", "a reading of this value at this stage of the work is on record beside those that count, and was not before", Names("A-07"), loss(1310), Word{"stage", "reel"}, Any{number("0.12"), "dB"}),
	entry("change.stage-gone", "links:list of:any stage:word.stage value:any", "a reading of this value at this stage of the work was on record beside those that count, and is no more", Names("A-07"), loss(1310), Word{"stage", "reel"}, Any{number("0.12"), "dB"}),
	entry("change.superseded-new", "links:list of:any value:any", "a reading of this value is superseded, and neither counted nor was superseded before", Names("A-07"), loss(1310), Any{number("2.70"), "dB"}),
	entry("change.superseded-gone", "links:list of:any value:any", "a reading of this value was superseded, and neither counts nor is superseded any more", Names("A-07"), loss(1310), Any{number("2.70"), "dB"}),
	entry("change.limit", "links:list of:any set:name old:any new:any", "the limit of the set for the links differs", Names("A-07"), AnyOf(loss(1310)), Name("campus"), Any{number("2.22"), "dB"}, Any{number("2.97"), "dB"}),
	entry("change.question-new", "links:list question:statement", "only the new revision asks this of the links", Names("A-07"), Statement{Code: "no-date"}),
	entry("change.question-settled", "links:list question:statement", "only the earlier revision asks this of the links", Names("A-07"), Statement{Code: "no-date"}),
	entry("change.asked-new", "question:statement", "only the new revision asks this of the job", Statement{Code: "near-miss-names.alike", Args: []Argument{Names("A-10", "A-1O")}}),
	entry("change.asked-settled", "question:statement", "only the earlier revision asks this of the job", Statement{Code: "near-miss-names.alike", Args: []Argument{Names("A-10", "A-1O")}}),
	entry("change.answer-new", "links:list question:statement answer:statement", "only in the new revision has the question, about the links, an answer", Names("A-07"), Statement{Code: "no-date"}, said("Of 18 November.")),
	entry("change.answer", "links:list question:statement old:statement new:statement", "the question, about the links, has another answer", Names("A-07"), Statement{Code: "no-date"}, said("Of 18 November."), said("Of 19 November.")),
	entry("change.answer-gone", "links:list question:statement answer:statement", "only in the earlier revision has the question, about the links, an answer", Names("A-07"), Statement{Code: "no-date"}, said("Of 18 November.")),
	entry("change.asked-answer-new", "question:statement answer:statement", "only in the new revision has the question about the job an answer", Statement{Code: "near-miss-names.alike", Args: []Argument{Names("A-10", "A-1O")}}, said("Both exist.")),
	entry("change.asked-answer", "question:statement old:statement new:statement", "the question about the job has another answer", Statement{Code: "near-miss-names.alike", Args: []Argument{Names("A-10", "A-1O")}}, said("Both exist."), said("One is A-11.")),
	entry("change.asked-answer-gone", "question:statement answer:statement", "only in the earlier revision has the question about the job an answer", Statement{Code: "near-miss-names.alike", Args: []Argument{Names("A-10", "A-1O")}}, said("Both exist.")),
}

// said is an answer, as an example.
func said(text string) Statement {
	return Statement{Code: "answer", Args: []Argument{Name("M. Okafor"), day(11, 20), Name(text)}}
}

// loss is the loss from A to B, as an example of a reading.
func loss(nm int) Any {
	return As(Phrase{As(Word{"quantity", string(record.InsertionLoss)}), As(NM(nm)), As(Way(record.AB))})
}

var insertionLoss = Word{"quantity", string(record.InsertionLoss)}

// readAt and step are a value from A to B, and another, as examples.
func readAt(nm int, value, unit string) Statement {
	return Statement{Code: "value.read", Args: []Argument{As(Phrase{As(NM(nm)), As(Way(record.AB))}), Any{number(value), unit}}}
}

func step(nm int, old, now, unit string) Statement {
	return Statement{Code: "value.step", Args: []Argument{As(Phrase{As(NM(nm)), As(Way(record.AB))}), Any{number(old), ""}, Any{number(now), unit}}}
}

// AnyOf makes a list of values of any kind.
func AnyOf(items ...Any) Any {
	var list List
	for _, item := range items {
		list = append(list, item)
	}
	return As(list)
}
