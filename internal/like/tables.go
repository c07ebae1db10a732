package like

import (
	"bytes"
	"cmp"
	"path"
	"slices"
	"strings"

	"spanseal/internal/folder"
)

// largestHead bounds what is looked at of a table for its heading, in bytes.
const largestHead = 1_000_000

// mostHead is how many lines above a heading are looked through.
const mostHead = 100

// tables copies the headings of the tables that people keep.
func (c *Copy) tables() {
	if !c.drafted {
		c.links()
	}
	for _, name := range []string{"terminations.csv", "inspections.csv", "originals.csv"} {
		if head, err := c.head(name, "link"); err == nil {
			c.Files = append(c.Files, NewFile{name, head})
			if name != "terminations.csv" {
				c.say(name, "as in the older job, which had one")
			}
		}
	}
}

// links copies the heading of the schedule.
func (c *Copy) links() {
	schedule := ""
	if n := at(c.top, "schedule", "file"); n != nil {
		schedule = n.Value
	}
	schedule = cmp.Or(schedule, folder.Links)
	if schedule == folder.Links && !c.has(schedule) {
		for _, other := range []string{"links.xlsx", "links.xlsm", "links.tsv", "links.txt"} {
			if c.has(other) {
				schedule = other
				break
			}
		}
	}
	heading := "link"
	if n := at(c.top, "schedule", "columns", "link"); n != nil {
		heading = n.Value
	}
	if head, err := c.head(schedule, heading); err == nil {
		c.Files = append(c.Files, NewFile{schedule, head})
	}
	c.say(schedule, "every link that must be certified")
	c.schedule = schedule
}

func (c *Copy) has(name string) bool {
	_, err := c.old.Lstat(name)
	return err == nil
}

// head is a table down to the line in which a heading stands.
func (c *Copy) head(name, heading string) ([]byte, error) {
	if !slices.Contains([]string{".csv", ".tsv", ".txt"}, strings.ToLower(path.Ext(name))) {
		return nil, errNone
	}
	file, err := c.old.File(name)
	if err != nil {
		return nil, err
	}
	defer file.Close()
	data := make([]byte, largestHead)
	n, _ := file.Read(data)
	data = data[:n]
	if bytes.IndexByte(data, 0) >= 0 { // UTF-16
		return nil, errNone
	}
	end := 0
	for range mostHead {
		next := bytes.IndexByte(data[end:], '\n')
		line := data[end:]
		if next >= 0 {
			line = data[end : end+next]
		}
		if end += len(line) + 1; holds(line, heading) {
			return append(slices.Clone(data[:min(end-1, len(data))]), '\n'), nil
		}
		if next < 0 {
			break
		}
	}
	return nil, errNone
}

// holds reports that a line has a cell with the heading.
func holds(line []byte, heading string) bool {
	text := strings.TrimPrefix(string(line), "\ufeff")
	for _, cell := range strings.FieldsFunc(text, func(r rune) bool { return strings.ContainsRune(",;\t|", r) }) {
		if strings.EqualFold(strings.Trim(cell, " \r\""), heading) {
			return true
		}
	}
	return false
}
