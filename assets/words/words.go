// Package words holds the strings on screen, in one place: in British English here, in German
// and French in de.po and fr.po, between which the system's locale chooses once at start. It
// holds no logic beyond language and counting; what is said when is decided in app/present and
// in the places.
//
// A name that ends in F is a format for fmt.Sprintf; its comment or its neighbours
// say what goes in. Words of the subject itself (kinds, sides, heights) and sentences of the
// engine are English where they are made; Of says them in the window's language.
package words

import (
	"fmt"
	"strings"
)

// Of the program and its places.
var (
	Program = say("Stillbench")
	TitleF  = say("%s – Stillbench") // the session's folder
	Table   = say("Table")
	Stacks  = say("Stacks")
	Setups  = say("Setups")
	Plan    = say("Plan")
)

// Counted things, one and many.
var (
	FrameOne, FrameMany     = say("%d frame"), say("%d frames")
	StackOne, StackMany     = say("%d stack"), say("%d stacks")
	TestOne, TestMany       = say("%d test"), say("%d tests")
	SingleOne, SingleMany   = say("%d single"), say("%d singles")
	MarkerOne, MarkerMany   = say("%d marker"), say("%d markers")
	FileOne, FileMany       = say("%d file"), say("%d files")
	MinuteOne, MinuteMany   = say("%d minute"), say("%d minutes")
	HourOne, HourMany       = say("%d hour"), say("%d hours")
	ProblemOne, ProblemMany = say("%d notice"), say("%d notices")
	ThingOne, ThingMany     = say("%d thing"), say("%d things")
	AsideOne, AsideMany     = say("%d set aside"), say("%d set aside")
)

// Names of what stands beside a drawing.
var (
	NearFar       = say("near → far")
	InOrder       = say("in order shot")
	NearEnd       = say("near end")
	FarEnd        = say("far end")
	NearOpen      = say("near end still open")
	FarOpen       = say("far end still open")
	FirstShot     = say("first shot")
	LastShot      = say("last shot")
	HeldByNoneF   = say("%s mm held by no frame")
	HeldByNone    = say("held by no frame")
	AsideF        = say("%d set aside") // the frame's number
	FrameF        = say("Frame %d")     // within its stack
	TestFrame     = say("Test frame")
	SingleFrame   = say("Single")
	MarkerFrame   = say("Marker")
	StackF        = say("Stack %d")
	NamedStackF   = say("Stack %d · %s")
	TestName      = say("Test")
	TestsName     = say("Tests")
	SetupF        = say("Setup %d")
	NoSetup       = say("No setup logged")
	NoLights      = say("no lights logged")
	TimeUnknown   = say("time unknown")
	NoPicture     = say("no picture in this file")
	FrameComes    = say("the newest frame comes here")
	PictureComing = say("reading the picture")
	Today         = say("today")
	Yesterday     = say("yesterday")
	DateF         = say("%d %s")    // 2 May
	DateYearF     = say("%d %s %d") // 2 May 2025
	ToF           = say("to %s")    // a time
	AndF          = say("%s and %s")
	UnderTenth    = say("under 0.1 %")
)

// numbers in words, as they begin a sentence.
var numbers = [...]string{
	say("No"), say("One"), say("Two"), say("Three"), say("Four"), say("Five"), say("Six"), say("Seven"), say("Eight"), say("Nine"), say("Ten"), say("Eleven"), say("Twelve"),
}

// Number is n as it begins a sentence: in words up to twelve ("No", "One", ...), in
// digits above and below.
func Number(n int) string {
	if n < 0 || n >= len(numbers) {
		return fmt.Sprintf("%d", Whole(n))
	}
	return numbers[n]
}

// NumberWithin is a number in words as it stands within a sentence; German writes it small there too.
func NumberWithin(n int) string { return strings.ToLower(Number(n)) }

var months = [...]string{say("Jan"), say("Feb"), say("Mar"), say("Apr"), say("May"), say("Jun"), say("Jul"), say("Aug"), say("Sep"), say("Oct"), say("Nov"), say("Dec")}

// Month is the short name of a month, 1 to 12.
func Month(m int) string { return months[m-1] }
