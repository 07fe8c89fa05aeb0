package session

import "time"

// Cell is one field of the light-direction wheel.
type Cell struct {
	Side   Side   `json:"side"`
	Height Height `json:"height"`
}

// SetupOrder says in which order setups are found.
type SetupOrder string

// The orders. Dates are those of the first frame, or of logging where there is none.
const (
	OrderBest   SetupOrder = ""       // by relevance where there are words, else newest first
	OrderNewest SetupOrder = "newest" // newest first
	OrderOldest SetupOrder = "oldest" // oldest first
)

// SetupQuery says which setups to find. Criteria add up (all must hold); within one
// list any entry will do. The zero query finds everything, newest first. As JSON it is how
// the log keeps a search.
type SetupQuery struct {
	// Words are looked up in subject, background, support, lens, notes, tags and the
	// lights in words; each must occur, the last as a prefix. Any text is allowed.
	Words string `json:"words,omitempty"`
	// Meaning gives the English, in which lights stand in the log, for a word of the window's
	// language ("links": "left"): such a word finds both. It is not kept.
	Meaning map[string]string `json:"-"`
	// Cells, Sides, Heights, Kinds and Modifiers hold of one and the same light.
	Cells   []Cell      `json:"cells,omitempty"`
	Sides   []Side      `json:"sides,omitempty"`
	Heights []Height    `json:"heights,omitempty"`
	Kinds   []LightKind `json:"kinds,omitempty"`
	// Modifiers are compared without case, accents and punctuation.
	Modifiers []string `json:"modifiers,omitempty"`
	// MainLight: that one light is the main one (Setup.MainLight), not just any. Without a
	// criterion for a light it asks for nothing.
	MainLight bool `json:"mainLight,omitempty"`
	// ApertureMin and ApertureMax bound the f-numbers really shot with; 0 is open.
	ApertureMin float64 `json:"apertureMin,omitempty"`
	ApertureMax float64 `json:"apertureMax,omitempty"`
	// ShutterMin and ShutterMax bound the exposure times really shot with, in seconds; 0 is
	// open. They are taken exactly: who asks in round numbers allows for what cameras round.
	ShutterMin float64 `json:"shutterMin,omitempty"`
	ShutterMax float64 `json:"shutterMax,omitempty"`
	// MagnificationMin and Max bound the magnification; 0 is open.
	MagnificationMin float64 `json:"magnificationMin,omitempty"`
	MagnificationMax float64 `json:"magnificationMax,omitempty"`
	// Since (inclusive) and Until (exclusive) bound the date; zero is open.
	Since time.Time `json:"since,omitzero"`
	Until time.Time `json:"until,omitzero"`
	// Blended: a stack shot under it has been blended.
	Blended bool       `json:"blended,omitempty"`
	Order   SetupOrder `json:"order,omitempty"`
	// Limit bounds the rows given back (0: 100); Offset skips some. Neither is kept.
	Limit  int `json:"-"`
	Offset int `json:"-"`
}

// FoundSetup is a setup and what was shot under it.
type FoundSetup struct {
	Setup
	Dir            string // folder of its session
	Taken          time.Time
	FNumber        []float64 // apertures shot with, ascending
	ShutterSeconds []float64 // exposure times shot with, ascending
	Stacks         int
	Frames         int
	Blended        int // stacks of it that have been blended
	// Cover is the name of a frame to show for it, relative to Dir; "" when none.
	Cover string
	// Score is the relevance of the words found; higher is better, 0 without words.
	Score float64
}

// SetupResults is a page of what was found.
type SetupResults struct {
	Setups []FoundSetup
	Total  int // how many there are in all
	Logged int // how many setups the log holds
	// Meant are the words that were looked up in place of mistyped ones, "" when those of
	// the query were found as they stand.
	Meant string
	// Wheel counts, for each cell, the setups that would be found if only that cell
	// were chosen and all other criteria stayed. Under the cell overhead without a side it
	// counts those that would be found if overhead were chosen on all sides, as the wheel does.
	Wheel map[Cell]int
	// The counts of the other filters, each by the same rule: as if of its list only that
	// entry were chosen. What would find nothing is left out.
	Heights map[Height]int
	Kinds   map[LightKind]int
	// Modifiers are those in the log, most setups first and at most 40 of them.
	Modifiers []Counted
	// Main and Blended count what would be found with MainLight and with Blended.
	Main, Blended int
	// Apertures and Shutters have a band for every f-number and for every whole stop of
	// exposure time that was shot with, Magnifications one for every doubling; ascending.
	Apertures, Shutters, Magnifications []Band
	// Years counts by the year of the date.
	Years map[int]int
}

// Counted is a text and how many setups would be found by it.
type Counted struct {
	Text   string
	Setups int
}

// Band is a range of a number, both ends included, and how many setups would be found if
// the query asked for it.
type Band struct {
	Min, Max float64
	Setups   int
}
