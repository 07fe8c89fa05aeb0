package session

// GroupingVersion grows with every change that makes the same frames be grouped otherwise, or their
// seams and questions be worded otherwise: what the log keeps of an older one is found again.
const GroupingVersion = 4

// Kind says what a group of frames is.
type Kind string

// The kinds of group.
const (
	KindMarker Kind = "marker" // a hand, glove, card or cap before the lens
	KindStack  Kind = "stack"  // one composition at different focus, to be blended
	KindSingle Kind = "single" // a frame that stands alone on purpose
	KindTest   Kind = "test"   // a look at light, exposure or composition before a stack
)

// kindQuestions are the questions about what a group is, with the two kinds that each is between.
var kindQuestions = []struct {
	text    Text
	between [2]Kind
}{
	{Say("Stack or single?"), [2]Kind{KindStack, KindSingle}},
	{Say("Test or single?"), [2]Kind{KindTest, KindSingle}},
}

// AskKind asks which of two kinds a group is; the text is empty where nobody asks that.
func AskKind(a, b Kind) Text {
	for _, q := range kindQuestions {
		if q.between == [2]Kind{a, b} || q.between == [2]Kind{b, a} {
			return q.text
		}
	}
	return Text{}
}

// OrElse is the kind that the group may be instead of its own, where its question asks that; else "".
func (g *Group) OrElse() Kind {
	for _, q := range kindQuestions {
		switch {
		case q.text.Form != g.Question.Form:
		case g.Kind == q.between[0]:
			return q.between[1]
		case g.Kind == q.between[1]:
			return q.between[0]
		}
	}
	return ""
}

// Rule names the evidence by which the program cut between two groups.
type Rule string

// The rules, as they stand in the JSON.
const (
	RuleMarker      Rule = "marker"       // a hand over the lens
	RuleAfterMarker Rule = "after-marker" // the frame before was one
	RuleGap         Rule = "gap"          // a pause, against the pace of the run
	RuleTurned      Rule = "turned"       // the camera was turned upright or level
	RuleSettings    Rule = "settings"     // aperture or focal length changed
	RuleCameraMoved Rule = "camera-moved" // another framing
	RuleLightMoved  Rule = "light-moved"  // the same framing, lit otherwise
	RuleByHand      Rule = "by-hand"      // the photographer said so
)

// Reason is one piece of evidence for a seam.
type Reason struct {
	Rule   Rule
	Detail Text // in words, e.g. "4 min pause", "f/10 → f/3.5"
}

// Seam is the place between two groups, with the reasons why the program cut there,
// strongest first.
type Seam struct {
	Reasons []Reason
	// Confidence in 0..1 that the groups really part here; 1 when set by hand.
	Confidence float64
}

// Group is a run of frames that belong together. Groups are in time order and every
// readable frame is in exactly one.
type Group struct {
	// ID is stable within a session: a group that gains frames keeps it.
	ID   int64
	Kind Kind
	// Frames are fingerprints, in time order.
	Frames []string
	// Seam says why the group starts here; nil for the first of the session.
	Seam *Seam
	// Confidence in 0..1 that Kind is right; 1 when set by hand.
	Confidence float64
	// Question is what the program would like to know ("One stack or two?"), empty
	// when it is sure.
	Question Text
	// Name is the photographer's, "" when not named.
	Name string
	// SetupID is the setup that the group was shot under, 0 when none was logged.
	SetupID int64
}
