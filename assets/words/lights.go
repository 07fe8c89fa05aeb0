package words

// What is measured of a light trial, and the arithmetic of lamps.
var (
	InShadow        = say("in shadow")
	InHighlight     = say("in highlight")
	ModellingName   = say("modelling")
	ChangeName      = say("since the last")
	ModelFlat       = say("flat")
	ModelSoft       = say("soft")
	ModelClear      = say("clear")
	ModelHard       = say("hard")
	ChangeSame      = say("as bright")
	ChangeBrighterF = say("%s stops brighter")
	ChangeDarkerF   = say("%s stops darker")
	ChangeMovedF    = say("%s lit otherwise") // 34 %
	FirstOfThem     = say("the first")
	Measuring       = say("measuring")
	HelpDistanceF   = say("%s → %s: %s (inverse square).") // 40 cm, 60 cm
	HelpMoreF       = say("%s stops more light")
	HelpLessF       = say("%s stops less light")
	HelpRatioF      = say("Light %d to light %d is %s:1, each alone; where both fall %s:1. %s")
	HelpByDistance  = say("By distance, as if of one strength.")
	HelpByPower     = say("By distance and power.")
	WhyHint         = say("why this one? Enter keeps it with the setup, Esc leaves it")
	WhyF            = say("%s: %s") // a frame, why its light was taken
)
