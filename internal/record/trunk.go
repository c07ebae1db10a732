package record

// Trunk is a cable with an array connector at each end, of which each link is one
// position.
type Trunk struct {
	ID          string `json:"id"`
	Description string `json:"description,omitempty"`
	From        string `json:"from,omitempty"` // end A's place, or "" of the links
	To          string `json:"to,omitempty"`
	Fibres      int    `json:"fibres"` // 8, 12, 16 or 24
	// Polarity is the id of a table that comes with the program, or "" of the job's own;
	// Method is as it is printed.
	Polarity string `json:"polarity,omitempty"`
	Method   string `json:"method"`
	// Far has for each place of the face, from one, the place at which it comes out.
	Far []int `json:"far"`
}

// Array is the place of a link on the faces of a trunk.
type Array struct {
	Trunk    string `json:"trunk"`
	Position int    `json:"position"` // at end A, key up
	// FarPosition is where a test found it at end B, 0 where none did.
	FarPosition int `json:"far_position,omitempty"`
}
