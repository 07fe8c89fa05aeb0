package words

// The sentence of the Table.
const (
	NothingYet        = "No frame has come yet."
	NothingYetAdviceF = "Every picture that arrives in %s shows here." // the folder's name
	ReadingF          = "Reading in: %d of %d."
	ReadingAdvice     = "You can shoot meanwhile; the newest frame comes up as soon as it is read."
	HoldStill         = "Hold still."
	HoldAdviceF       = "%s, %s so far."     // Stack 4, 7 frames
	HoldAsideF        = "%s, %s so far, %s." // ..., 1 set aside
	QuietF            = "Quiet for %s."      // 12 minutes
	QuietStackF       = "%s has %s. Go on, or hold a hand over the lens to begin the next."
	AsLeftF           = "%s, %s."
	AsLeftAdvice      = "As the folder was found. Shoot on, or hold a hand over the lens to begin a stack."
	MarkerSeen        = "Begin the stack."
	MarkerAdvice      = "A hand was over the lens. Turn to the nearest point and shoot; then on towards the far end."
	SingleSeen        = "A single."
	SingleAdvice      = "A hand over the lens begins a stack."
	TestSeen          = "A test frame."
	TestAdvice        = "Move the light and shoot another to compare, or hold a hand over the lens to begin the stack."
	TrialLightsF      = "%s lights. Which one?" // Three
	TrialFramesF      = "%s test frames."
	TrialAdviceF      = "Press %s to take its light. A hand over the lens begins the stack." // A, B or C
	TrialAdvicePlain  = "Log where the light stands (L) to compare. A hand over the lens begins the stack."
	Or                = "or"
)

// The rest of the Table.
const (
	LightMoved       = "The light moved"
	LogFirstSetup    = "Log the light"
	AskLightMovedF   = "The light moved at %s. Log it?" // A0012
	NotMoved         = "leave the setup as it is"
	SubjectField     = "subject"
	NotesField       = "notes"
	SubjectHint      = "what stands on the table"
	NotesHint        = "background, support, anything to find it by"
	TestFrames       = "test frames"
	LightAsLogged    = "light, as logged"
	ClippedName      = "clipped"
	ClippedNothing   = "nothing"
	ClippedUnknown   = "not measured"
	ClippedInF       = "%s, in %s" // 1.2 %, red
	Red, Green, Blue = "red", "green", "blue"
	DraftHead        = "Where does the light stand now?"
	DraftAdvice      = "The arrows move it, Page ↑ and ↓ lift and lower it. Enter logs it from the next frame on."
	DraftAdviceFirst = "The arrows move it, Page ↑ and ↓ lift and lower it. Enter logs it for this session."
)

// Moving a light.
const (
	DraftLog      = "log it"
	DraftLeave    = "leave it"
	DraftAdd      = "another light"
	DraftKind     = "another kind"
	DraftDiffuser = "diffuser"
	DraftRemove   = "remove it"
	DraftCorrectF = "correct setup %d"
	DraftRound    = "round the subject"
	DraftFar      = "farther, nearer"
	DraftHigh     = "higher, lower"
	DraftNext     = "the next light"
	DraftNumbers  = "type numbers"
	Diffuser      = "diffuser" // as it is written in the log
	TrialChoose   = "put its light on the table"
	TrialBefore   = "the trial before"
	TrialNext     = "the next trial"
	TrialNoLight  = "No light was logged for that frame. L logs where it stands."
	TrialStands   = "That light is on the table already."
	LastTests     = "the last"
)
