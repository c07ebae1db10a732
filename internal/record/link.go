package record

import "spanseal/internal/quantity"

// Link is one line of the schedule: a link that must be certified.
type Link struct {
	ID     string `json:"id"`
	Cable  string `json:"cable,omitempty"`
	Tube   string `json:"tube,omitempty"`
	Strand string `json:"strand,omitempty"`
	From   string `json:"from"`  // end A's place
	To     string `json:"to"`    // end B's place
	Fibre  string `json:"fibre"` // "OS2", "OM4", ...
	Mode   Mode   `json:"mode"`
	// Length in metres. LengthText is how the schedule wrote it, with its unit.
	Length     quantity.Decimal `json:"length_m"`
	LengthText string           `json:"length_text,omitempty"`
	// MatedPairs counts every connection, both ends included.
	MatedPairs int `json:"mated_pairs"`
	// Splices counts those in the span; spliced-on ends add their own.
	Splices int `json:"splices"`
	// Splitters are the ratios of those on the way, 8 of 1:8, in their order; Leg is
	// which output of the last one the link is.
	Splitters    []int    `json:"splitters,omitempty"`
	Leg          string   `json:"splitter_leg,omitempty"`
	EndA         End      `json:"end_a"`
	EndB         End      `json:"end_b"`
	Applications []string `json:"applications,omitempty"` // ids that the link must carry
	Limits       []string `json:"limits,omitempty"`       // sets that bind it besides the job's
	// Pair and Polarity: the strand it is paired with and "crossed" or
	// "straight", where recorded.
	Pair     string `json:"pair,omitempty"`
	Polarity string `json:"polarity,omitempty"`
	// Exempt is a stated reason for measuring one direction only, or "".
	Exempt string `json:"exempt,omitempty"`
	Stage  string `json:"stage,omitempty"`
	*Names        // nil where none is given, as of nearly all links
	*Array        // nil where the link is no position of a trunk
	*Terms        // the same
	Origin Origin `json:"origin"`
}

// Mode is singlemode or multimode.
type Mode string

const (
	Singlemode Mode = "singlemode"
	Multimode  Mode = "multimode"
)

// End is one end of a link.
type End struct {
	Text      string `json:"text"` // as in the schedule
	SplicedOn bool   `json:"spliced_on,omitempty"`
	Connector string `json:"connector,omitempty"` // "LC"
	Polish    string `json:"polish,omitempty"`    // "PC", "UPC", "APC"
}

// SplicedEnds returns how many ends are spliced on: 0, 1 or 2.
func (l Link) SplicedEnds() int {
	n := 0
	if l.EndA.SplicedOn {
		n++
	}
	if l.EndB.SplicedOn {
		n++
	}
	return n
}

// AllSplices returns the splices in the span and those behind spliced-on ends.
func (l Link) AllSplices() int { return l.Splices + l.SplicedEnds() }

// Faces are the ends of the link that have an end face, in order.
func (l *Link) Faces() (ends []string) {
	if l.EndA.Connector != "" {
		ends = append(ends, "A")
	}
	if l.EndB.Connector != "" {
		ends = append(ends, "B")
	}
	return ends
}

// Terms are what of one link departs from the job.
type Terms struct {
	Method *Method `json:"method,omitempty"`
	// Witness watched this link being measured.
	Witness string `json:"witness,omitempty"`
	// NotAt are the reasons for which the link need not be measured at a wavelength, nm.
	NotAt map[int]string `json:"exempt_wavelengths,omitempty"`
}

// ExemptAt is the stated reason for not measuring a link at a wavelength.
func (l *Link) ExemptAt(nm int) (reason string, exempt bool) {
	if l.Terms == nil {
		return "", false
	}
	reason, exempt = l.Terms.NotAt[nm]
	return reason, exempt
}
