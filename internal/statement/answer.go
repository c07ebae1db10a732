package statement

// answering is what stands beside a question that the job answers.
var answering = []CodeRow{
	entry("answer", "person:name day:day text:name", "job.yaml has the answer to the question, by that person and of that day", Name("M. Okafor"), day(11, 20), Name("The slack was dressed again, and the loss is the same.")),
}
