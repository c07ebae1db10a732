package form

import (
	"slices"

	"spanseal/internal/record"
)

// methodColumns are those that follow the columns which every job has, where some
// reading was made otherwise than the job has it.
var methodColumns = []string{"reference_method", "test_cords", "launch", "stage", "software", "group_index"}

// methods are the columns of methods that a job has: all or none.
func (w *Writer) methods() []string {
	for i := range w.Facts.Readings {
		if w.Facts.Readings[i].Method != nil {
			return methodColumns
		}
	}
	return nil
}

// methodCells say how a reading was made; none of a job that has no such columns, and
// empty ones for a finding without a reading.
func (w *Writer) methodCells(columns []string, r *ResultReading) []string {
	if columns == nil {
		return nil
	}
	if r.File == "" {
		return make([]string, len(columns))
	}
	m := w.Facts.Job.Policy.MethodOf(&record.Reading{Method: r.Method})
	return []string{string(m.Reference), string(m.TestCords), m.Launch, string(m.Stage), m.Software, digits(m.GroupIndex)}
}

// sayMethods says of every reading of a link how it was made where one of them was made
// otherwise than the job has it.
func (w *Writer) sayMethods(readings []ResultReading) {
	if !slices.ContainsFunc(readings, func(r ResultReading) bool { return r.Method != nil }) {
		return
	}
	job := w.Facts.Job.Policy.Method()
	for i := range readings {
		if readings[i].Method == nil {
			readings[i].Method = &job
		}
	}
}
