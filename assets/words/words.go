// Package words holds the strings on screen, in British English, in one place so that
// they can be translated. It holds no logic beyond counting; what is said when is
// decided in app/present and in the places.
//
// A name that ends in F is a format for fmt.Sprintf; its comment or its neighbours
// say what goes in. Words of the subject itself (kinds, sides, heights) are the types'
// own in package session.
package words

import "strconv"

// Of the program and its places.
const (
	Program = "Stillbench"
	TitleF  = "%s – Stillbench" // the session's folder
	Table   = "Table"
	Stacks  = "Stacks"
	Setups  = "Setups"
	Plan    = "Plan"
)

// Counted things, one and many.
const (
	FrameOne, FrameMany     = "%d frame", "%d frames"
	StackOne, StackMany     = "%d stack", "%d stacks"
	TestOne, TestMany       = "%d test", "%d tests"
	SingleOne, SingleMany   = "%d single", "%d singles"
	MarkerOne, MarkerMany   = "%d marker", "%d markers"
	FileOne, FileMany       = "%d file", "%d files"
	MinuteOne, MinuteMany   = "%d minute", "%d minutes"
	HourOne, HourMany       = "%d hour", "%d hours"
	ProblemOne, ProblemMany = "%d notice", "%d notices"
	ThingOne, ThingMany     = "%d thing", "%d things"
	AsideOne, AsideMany     = "%d set aside", "%d set aside"
)

// Names of what stands beside a drawing.
const (
	NearFar       = "near → far"
	InOrder       = "in order shot"
	NearEnd       = "near end"
	FarEnd        = "far end"
	NearOpen      = "near end still open"
	FarOpen       = "far end still open"
	FirstShot     = "first shot"
	LastShot      = "last shot"
	HeldByNoneF   = "%s mm held by no frame"
	HeldByNone    = "held by no frame"
	AsideF        = "%d set aside" // the frame's number
	FrameF        = "Frame %d"     // within its stack
	TestFrame     = "Test frame"
	SingleFrame   = "Single"
	MarkerFrame   = "Marker"
	StackF        = "Stack %d"
	NamedStackF   = "Stack %d · %s"
	TestName      = "Test"
	TestsName     = "Tests"
	SetupF        = "Setup %d"
	NoSetup       = "No setup logged"
	NoLights      = "no lights logged"
	TimeUnknown   = "time unknown"
	NoPicture     = "no picture in this file"
	FrameComes    = "the newest frame comes here"
	PictureComing = "reading the picture"
	Today         = "today"
	Yesterday     = "yesterday"
	ToF           = "to %s" // a time
	AndF          = "%s and %s"
	UnderTenth    = "under 0.1 %"
)

// numbers in words, as they begin a sentence.
var numbers = [...]string{
	"No", "One", "Two", "Three", "Four", "Five", "Six", "Seven", "Eight", "Nine", "Ten", "Eleven", "Twelve",
}

// Number is n as it begins a sentence: in words up to twelve ("No", "One", ...), in
// digits above and below.
func Number(n int) string {
	if n < 0 || n >= len(numbers) {
		return strconv.Itoa(n)
	}
	return numbers[n]
}

// Plural picks the form that goes with n.
func Plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

var months = [...]string{"Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"}

// Month is the short name of a month, 1 to 12.
func Month(m int) string { return months[m-1] }
