package intake

import (
	"spanseal/internal/source"
	"spanseal/internal/table"
)

// scheduleFile is the file of the schedule: the one that job.yaml names, or the
// one that lies there.
func (r *reader) scheduleFile() string {
	if r.job.Schedule.File != "" {
		return r.job.Schedule.File
	}
	return r.folder.Schedule()
}

// scheduleSheet makes a table of the schedule's workbook: of the sheet that
// job.yaml names, or of the only one that holds anything.
func (r *reader) scheduleSheet(f *source.File) *table.Worksheet {
	c := sheetChoice{
		wrong: "correct sheet under schedule in job.yaml", which: "name the one of the schedule in job.yaml: schedule: {sheet: NAME}",
	}
	if name := r.job.Schedule.Sheet; name != "" {
		c.named, c.says = name+", as job.yaml says", func(sheet string) bool { return sheet == name }
	}
	b, chosen := r.chooseSheets(f, c)
	if len(chosen) == 0 {
		return nil
	}
	return table.NewSheet(f, b, chosen[0])
}
