// Package truth holds no code, only a test: I read an issued set as an outsider,
// and recompute from the inputs every statement that stands in it.
//
// The test makes random jobs, has the program issue them in process, and then
// reads what a receiver has: results.json, the record.json attached to each
// paper, the manifest and the page text. What each code of package statement
// claims is worked out anew from the model of the job that the input files were
// written from, in exact fractions, by one small function for each code. None
// of them uses the code that made the statement: the checking side imports
// neither judge, certify, claim, wording nor change, and of package statement
// only the list of codes, so that a code without a checker fails the test.
//
// That the checkers can fail is shown too: statements of issued sets are made
// false, one way at a time, and each must be caught.
//
// SPANSEAL_TRUTH_JOBS says how many random jobs; without it 40 are made.
package truth
