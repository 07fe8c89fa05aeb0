package words

// The sentence of Setups.
var (
	NoSetups           = say("No setup in the log yet.")
	NoSetupsAdvice     = say("Log where the light stands at the Table (L), and every setup can be found again here.")
	SetupWordOne       = say("setup")
	SetupWordMany      = say("setups")
	SetupsAllF         = say("%s %s in the log.") // Fourteen setups
	SetupsAllAdvice    = say("Type words, or press where the light stood.")
	LitFromF           = say(", lit from %s")
	SideHeightF        = say("%s, %s") // back-left, high
	SeveralSides       = say("several sides")
	OfLoggedF          = say("Of %d in the log.")
	OfThemF            = say("%s of them by %s") // Four of them by an LED panel
	ByF                = say("%s by %s")         // two by a window
	OneOfThem          = sayAs("OneOfThem", "One")
	AnLED              = say("an LED panel")
	AFlash             = say("a flash")
	ALamp              = say("a lamp")
	AWindow            = say("a window")
	NothingFoundAdvice = say("Ask for less, or clear it all (C).")
	RangeF             = say("%s to %s")
	MeantF             = say("Found for “%s”.")
	SearchFailed       = say("The log could not be searched.")
)

// The rest of Setups.
var (
	WordsField     = say("words")
	WordsHint      = say("subject, notes")
	LightFrom      = say("light from")
	HeightName     = say("height")
	MadeBy         = say("made by")
	ShotWith       = say("shot with")
	ShotAt         = say("shot at")
	Only           = say("only")
	ApertureName   = say("aperture")
	ShutterName    = say("shutter")
	ModifierName   = say("modifier")
	SizeName       = say("size")
	DayName        = say("day")
	AnyF           = say("any %s") // aperture
	MainOnly       = say("main light")
	VerdictOfF     = say("%d of %d: %s") // 1 of 3: a gap
	BlendedOnly    = say("blended")
	FromSideF      = say("from %s") // back-left, high
	Everything     = say("everything")
	LightName      = say("light")
	DistanceName   = say("distance")
	Magnification  = say("magnification")
	StacksName     = say("stacks")
	FramesName     = say("frames")
	WhereName      = say("direction")
	OthersName     = say("other lights")
	BackgroundName = say("background")
	SupportName    = say("support")
	LensName       = say("lens")
	BlendedOfF     = say("%d blended")
	PairDifferF    = say("%s and %s differ in %s.")
	PairSameF      = say("%s and %s are alike in all that was noted.")
	PairMore       = say("more")
	Unknown        = say("–")
	NoStacksShot   = say("Nothing was shot under this setup yet.")
	OtherFolderF   = say("This setup was logged in %s. Open that folder to see its stacks.")
)

// What the keys do in Setups.
var (
	Find       = say("find words")
	ClearAll   = say("clear it all")
	ToWheel    = say("where the light stood")
	ToHeights  = say("how high it stood")
	ToKinds    = say("what made it")
	ToModifier = say("what stood before it")
	ToAperture = say("the aperture")
	ToShutter  = say("the shutter")
	ToSize     = say("the magnification")
	ToDay      = say("the day")
	ToOnly     = say("main light, blended")
	ByBest     = say("best first")
	ByNewest   = say("newest first")
	ByOldest   = say("oldest first")
	ShowStacks = say("the stacks shot so")
	LayBeside  = say("lay it beside another")
	TakeAway   = say("take it away again")
	FromCard   = say("from card to card")
	MoreBelowF = say("%d more below")
)
