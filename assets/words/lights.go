package words

// What is measured of a light trial, and the arithmetic of lamps.
const (
	InShadow        = "in shadow"
	InHighlight     = "in highlight"
	ModellingName   = "modelling"
	ChangeName      = "since the last"
	ModelFlat       = "flat"
	ModelSoft       = "soft"
	ModelClear      = "clear"
	ModelHard       = "hard"
	ChangeSame      = "as bright"
	ChangeBrighterF = "%s stops brighter"
	ChangeDarkerF   = "%s stops darker"
	ChangeMovedF    = "%s lit otherwise" // 34 %
	FirstOfThem     = "the first"
	Measuring       = "measuring"
	HelpDistanceF   = "%s → %s: %s (inverse square)." // 40 cm, 60 cm
	HelpMoreF       = "%s stops more light"
	HelpLessF       = "%s stops less light"
	HelpRatioF      = "Light %d to light %d is %s:1, each alone; where both fall %s:1. %s"
	HelpByDistance  = "By distance, as if of one strength."
	HelpByPower     = "By distance and power."
	WhyHint         = "why this one? Enter keeps it with the setup, Esc leaves it"
	WhyF            = "%s: %s" // a frame, why its light was taken
)
