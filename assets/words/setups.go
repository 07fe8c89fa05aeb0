package words

// The sentence of Setups.
const (
	NoSetups           = "No setup in the log yet."
	NoSetupsAdvice     = "Log where the light stands at the Table (L), and every setup can be found again here."
	SetupWordOne       = "setup"
	SetupWordMany      = "setups"
	SetupsAllF         = "%s %s in the log." // Fourteen setups
	SetupsAllAdvice    = "Type words, or press where the light stood."
	LitFromF           = ", lit from %s"
	SideHeightF        = "%s, %s" // back-left, high
	SeveralSides       = "several sides"
	OfLoggedF          = "Of %d in the log."
	OfThemF            = "%s of them by %s" // Four of them by an LED panel
	ByF                = "%s by %s"         // two by a window
	AnLED              = "an LED panel"
	AFlash             = "a flash"
	ALamp              = "a lamp"
	AWindow            = "a window"
	NothingFoundAdvice = "Ask for less, or clear it all (C)."
	RangeF             = "%s to %s"
	MeantF             = "Found for “%s”."
	SearchFailed       = "The log could not be searched."
)

// The rest of Setups.
const (
	WordsField     = "words"
	WordsHint      = "subject, notes"
	LightFrom      = "light from"
	HeightName     = "height"
	MadeBy         = "made by"
	ShotWith       = "shot with"
	ShotAt         = "shot at"
	Only           = "only"
	ApertureName   = "aperture"
	ShutterName    = "shutter"
	ModifierName   = "modifier"
	SizeName       = "size"
	DayName        = "day"
	AnyF           = "any %s" // aperture
	MainOnly       = "main light"
	VerdictOfF     = "%d of %d: %s" // 1 of 3: a gap
	BlendedOnly    = "blended"
	FromSideF      = "from %s" // back-left, high
	Everything     = "everything"
	LightName      = "light"
	DistanceName   = "distance"
	Magnification  = "magnification"
	StacksName     = "stacks"
	FramesName     = "frames"
	WhereName      = "direction"
	OthersName     = "other lights"
	BackgroundName = "background"
	SupportName    = "support"
	LensName       = "lens"
	BlendedOfF     = "%d blended"
	PairDifferF    = "%s and %s differ in %s."
	PairSameF      = "%s and %s are alike in all that was noted."
	PairMore       = "more"
	Unknown        = "–"
	NoStacksShot   = "Nothing was shot under this setup yet."
	OtherFolderF   = "This setup was logged in %s. Open that folder to see its stacks."
)

// What the keys do in Setups.
const (
	Find       = "find words"
	ClearAll   = "clear it all"
	ToWheel    = "where the light stood"
	ToHeights  = "how high it stood"
	ToKinds    = "what made it"
	ToModifier = "what stood before it"
	ToAperture = "the aperture"
	ToShutter  = "the shutter"
	ToSize     = "the magnification"
	ToDay      = "the day"
	ToOnly     = "main light, blended"
	ByBest     = "best first"
	ByNewest   = "newest first"
	ByOldest   = "oldest first"
	ShowStacks = "the stacks shot so"
	LayBeside  = "lay it beside another"
	TakeAway   = "take it away again"
	FromCard   = "from card to card"
	MoreBelowF = "%d more below"
)
