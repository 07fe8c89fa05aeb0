package words

// The sentence of the Table.
var (
	NothingYet        = say("No frame has come yet.")
	NoticeLong        = say("There is something to know first: I shows it.")
	NothingYetAdviceF = say("Every picture that arrives in %s shows here.") // the folder's name
	ReadingF          = say("Reading in: %d of %d.")
	ReadingAdvice     = say("You can shoot meanwhile; the newest frame comes up as soon as it is read.")
	HoldStill         = say("Hold still.")
	HoldAdviceF       = say("%s, %s so far.")     // Stack 4, 7 frames
	HoldAsideF        = say("%s, %s so far, %s.") // ..., 1 set aside
	QuietF            = say("Quiet for %s.")      // 12 minutes
	QuietStackF       = say("%s has %s. Go on, or hold a hand over the lens to begin the next.")
	AsLeftF           = say("%s, %s.")
	AsLeftAdvice      = say("As the folder was found. Shoot on, or hold a hand over the lens to begin a stack.")
	MarkerSeen        = say("Begin the stack.")
	MarkerAdvice      = say("A hand was over the lens. Turn to the nearest point and shoot; then on towards the far end.")
	SingleSeen        = say("A single.")
	SingleAdvice      = say("A hand over the lens begins a stack.")
	TestSeen          = say("A test frame.")
	TestAdvice        = say("Move the light and shoot another to compare, or hold a hand over the lens to begin the stack.")
	TrialLightsF      = say("%s lights. Which one?") // Three
	TrialFramesF      = say("%s test frames.")
	TrialAdviceF      = say("Press %s to take its light. A hand over the lens begins the stack.") // A, B or C
	TrialAdvicePlain  = say("Log where the light stands (L) to compare. A hand over the lens begins the stack.")
	Or                = say("or")
)

// The rest of the Table.
var (
	LightMoved       = say("The light moved")
	LogFirstSetup    = say("Log the light")
	AskLightMovedF   = say("The light moved at %s. Log it?") // A0012
	NotMoved         = say("leave the setup as it is")
	SubjectField     = say("subject")
	NotesField       = say("notes")
	SubjectHint      = say("what stands on the table")
	NotesHint        = say("background, support, anything to find it by")
	TestFrames       = say("test frames")
	LightAsLogged    = say("light, as logged")
	ClippedName      = say("clipped")
	ClippedNothing   = say("nothing")
	ClippedUnknown   = say("not measured")
	ClippedInF       = say("%s, in %s") // 1.2 %, red
	Red, Green, Blue = say("red"), say("green"), say("blue")
	DraftHead        = say("Where does the light stand now?")
	DraftAdvice      = say("The arrows move it, Page ↑ and ↓ lift and lower it. Enter logs it from the next frame on.")
	DraftAdviceFirst = say("The arrows move it, Page ↑ and ↓ lift and lower it. Enter logs it for this session.")
)

// Moving a light.
var (
	DraftLog      = say("log it")
	DraftLeave    = say("leave it")
	DraftAdd      = say("another light")
	DraftKind     = say("another kind")
	DraftDiffuser = say("diffuser")
	DraftRemove   = say("remove it")
	DraftCorrect  = say("correct it")
	DraftRound    = say("round the subject")
	DraftFar      = say("farther, nearer")
	DraftHigh     = say("higher, lower")
	DraftNext     = say("the next light")
	DraftNumbers  = say("type numbers")
	Diffuser      = say("diffuser") // as it is written in the log
	TrialChoose   = say("put its light on the table")
	TrialBefore   = say("the trial before")
	TrialNext     = say("the next trial")
	TrialNoLight  = say("No light was logged for that frame. L logs where it stands.")
	TrialStands   = say("That light is on the table already.")
	LastTests     = sayAs("LastTests", "the last")
)
