package words

// Why the program cut between two groups.
const (
	ReasonMarker      = "a hand over the lens"
	ReasonAfterMarker = "after the hand"
	ReasonGap         = "a pause"
	ReasonTurned      = "the camera was turned"
	ReasonSettings    = "other settings"
	ReasonCameraMoved = "another framing"
	ReasonLightMoved  = "the light moved"
	ReasonByHand      = "by hand"
)

// The sentence of Stacks.
const (
	NoStacks        = "No stack yet."
	NoStacksAdvice  = "Hold a hand over the lens for one frame, then shoot from the nearest point to the farthest."
	NoStacksAdviceF = "So far: %s. A hand over the lens begins a stack."
	StacksF         = "%s %s, %s." // Six stacks, 84 frames
	StackWordOne    = "stack"
	StackWordMany   = "stacks"
	StacksAlsoF     = "Beside them %s."
	StacksOnly      = "Nothing else was shot."
	StackFirstF     = "%s: %s" // Stack 3: fill in between 6 and 7.
	OthersCoveredF  = "The other %s are covered."
	OtherCovered    = "The other stack is covered."
	AllCoveredF     = "All %s stacks are covered."
	BothCovered     = "Both stacks are covered."
	OneCovered      = "The stack is covered."
	CoveredAdvice   = "From near to far, as far as they were checked."
	QuestionF       = "%s: %s"
	QuestionAdvice  = "Open it (Enter), then split it, join it, or say what it is (K)."
	CheckedOfF      = "%d of %d checked so far."
)

// Verdicts as they stand in rows.
const (
	RowCovered   = "covered"
	RowBlurred   = "a frame is blurred"
	RowGap       = "a gap"
	RowNear      = "near end open"
	RowFar       = "far end open"
	RowUnsteady  = "light changed"
	RowUndecided = "undecided"
	RowTooFew    = "too few frames"
	RowNoCheck   = "not checked yet"
)

// The rest of Stacks.
const (
	NeverSharp        = "Never sharp"
	NeverSharpShareF  = "%s of the wanted area"
	NeverSharpSpecks  = "specks only"
	NeverSharpNothing = "nothing"
	AtSpot            = "at the spot, one to one"
	SameSpot          = "the same spot"
	InEachFrame       = "in each frame"
	OtherSetup        = "other setup"
	WhichSetup        = "Under which setup was it shot?"
	WhichSetupF       = "Now: %s."
	WhichSetupOthersF = "Or %s."
	WhichSetupNone    = "Now: none."
	WhichSetupOnly    = "No other is logged in this session."
	WhatIsIt          = "What are these frames?"
	NameHint          = "a name for this group"
	KindMarker        = "a marker: a hand was over the lens"
	KindStack         = "a stack: one composition, to be blended"
	KindSingle        = "a single, on its own"
	KindTest          = "a test of light or exposure"
)

// What the keys do in Stacks.
const (
	UpDown         = "go through it"
	OpenIt         = "open it"
	CloseIt        = "close it"
	StackBefore    = "the stack before"
	StackNext      = "the next stack"
	GoTop          = "to the beginning"
	GoBottom       = "to the end"
	Join           = "join"
	JoinBefore     = "join with the one before"
	NameIt         = "name it"
	KindIs         = "what is it?"
	SetAside       = "set frame aside"
	PutBack        = "put it back"
	IsAside        = "set aside"
	SplitBeforeF   = "split before %d"
	MoveBack       = "to the group before"
	MoveOn         = "to the next group"
	MoveEither     = "group before, next"
	Step           = "step near, far"
	MoveSpot       = "move the spot"
	LookElsewhere  = "look elsewhere"
	Unmark         = "it is no marker"
	CallMarker     = "call it a marker"
	SpotDone       = "stay here"
	OfF            = "%d of %d"
	WhatIsItAdvice = "S a stack, I a single, T a test, M a marker. Esc leaves it as it is."
)
