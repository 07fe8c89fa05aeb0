package words

// What goes into Plan.
var (
	PlanSensor       = say("sensor")
	PlanLens         = say("lens")
	FieldWidth       = say("field width")
	PlanDepth        = say("subject depth")
	PlanSharp        = say("sharp to")
	PlanFramesAtMost = say("frames at most")
	PlanExposure     = say("good exposure")

	PlanHintF        = say("e.g. %s") // an example of what a field holds
	PlanSensorHint   = say("36 × 24 mm")
	PlanLensHint     = say("105 mm, pupil 1.0")
	PlanWidthHint    = say("33 mm")
	PlanDepthHint    = say("12 mm")
	PlanFramesHint   = say("no limit")
	PlanExposureHint = say("f/8 · 1/4 s")
	PlanLightHint    = say("LED panel, 40 W")

	PlanSensorExample        = say("36 × 24 mm")
	PlanPupilExample         = say("pupil 0.8")
	PlanRangeExample         = say("f/2.8-22")
	PlanMagnificationExample = say("0.5 or 1:2")
	PlanDistanceExample      = say("42 cm")
	PlanSharpExample         = say("0.02 mm")
	PlanCannotReadF          = say("“%s” cannot be read. Write it like %s.")
	PlanNoWholeNumberF       = say("“%s” is no whole number.")
)

// The sentence of Plan.
var (
	PlanAskBoth      = say("What will be shot?")
	PlanAskSize      = say("How wide is the field?")
	PlanAskDepth     = say("How deep is the subject?")
	PlanAskBothTodo  = say("Type how wide the field is and how deep the subject (F); the rest follows.")
	PlanAskSizeTodo  = say("Type its width, the magnification or the distance (F); the rest follows.")
	PlanAskDepthTodo = say("Type it in millimetres (F); aperture and frames follow.")
	PlanCannot       = say("That cannot be planned.")
	PlanProblemF     = say("%s: %s")                           // the input, what is wrong with it
	PlanAnswerF      = say("%s, %d frames, %s apart.")         // f/9, 28 frames, 0.44 mm apart.
	PlanOneF         = say("%s, one frame.")                   // f/9
	PlanLeastBlurF   = say("The least blur that %s can give.") // 28 frames
	PlanFewestF      = say("The fewest that hold the whole depth to %s µm.")
	PlanOneHolds     = say("One frame holds the whole depth.")
	PlanDiffractionF = say("Diffraction blurs beyond what counts as sharp at every aperture; here the blur is least, %s µm.")
	PlanInsteadF     = say("%s µm of blur instead of the %s at f/%s.")
	PlanTimeF        = say("About %s in all.") // 3 minutes
)

// What Plan remembers.
var (
	PlanRemembersSensorF = say("Remembered for %s: sensor %s.")              // VTX 2, 36 × 24 mm
	PlanForgetsSensorF   = say("The sensor remembered for %s is forgotten.") // VTX 2
	PlanRemembersPupilF  = say("Remembered for %s: pupil magnification %s.") // Vantor 105, 0.8
	PlanForgetsPupilF    = say("The pupil magnification of %s is forgotten.")
	PlanSensorToldF      = say("Sensor as remembered for %s.") // VTX 2
	PlanPupilToldF       = say("Pupil as remembered for %s.")  // Vantor 105
)

// The rest of Plan.
var (
	PlanAperture  = say("aperture")
	PlanHeld      = say("depth held")
	PlanAtLeast   = say("at least")
	PlanEffective = say("effective")
	PlanShutter   = say("shutter")
	PlanPupilF    = say("pupil %s")     // 0.8, as it is typed
	PlanTakeF     = say("%s take")      // 28
	PlanMoreThanF = say("more than %s") // 28
	PlanEndless   = say("endless")
	PlanBlurF     = say("blur on the sensor, with %s") // 28 frames
	PlanBlur      = say("blur on the sensor")
	PlanLeastF    = say("%s µm, the least")
	PlanMicrons   = say("µm")
	PlanFocus     = say("focus")
	PlanDiffracts = say("diffraction")
	PlanBoth      = say("both")
	PlanFromSide  = say("from the side")
	PlanSliceOne  = say("one slice")
	PlanSlicesF   = say("%d slices,")
	PlanRound     = say("depth stretched")
	PlanTooFine   = say("too fine to draw")
	PlanOwnSharp  = say("a number of your own")
	PlanLastTime  = say("Last time")
	PlanAlikeF    = say("Setup %d, %s: %s")          // 6, "gear train, ×0.6", "f/6.3, 21 frames"
	PlanStacksF   = sayAs("PlanStacksF", "%s in %s") // 41 frames in 3 stacks
	PlanShot      = say("Planned and shot")
	PlanTooFarF   = say("%s: you turned about %s times too far each time, %s mm instead of %s.") // Stack 4
	PlanFinerF    = say("%s: you turned about %s of the step each time, %s mm instead of %s.")
	PlanAsAskedF  = say("%s: you turned as planned, about %s mm each time.")
	PlanWidestF   = say("The widest was %s mm.")
	PlannedF      = say("Planned: %s")     // f/9, 28 frames, 0.44 mm apart.
	PlannedCountF = say("%d of %d frames") // shot, planned
)

// Measuring the magnification.
var (
	MeasureAdvice  = say("Two marks on the ruler, by a click each or by the arrows and Space; then type how far apart they are.")
	MeasureFirst   = say("Set the first mark.")
	MeasureSecond  = say("Set the second mark.")
	MeasureLength  = say("How far apart are they? Type it, and Enter.")
	MeasureIsF     = say("Magnification ×%s.") // 1.09
	MeasureKeepF   = say("The field is %s wide. Enter keeps it with the lens and the setup.")
	MeasureNone    = say("There is no frame to measure on. Shoot one of a ruler.")
	MeasureApart   = say("distance on the ruler")
	MeasureNoSizeF = say("“%s” is no length. Write it like 10 mm.")
	MeasuredF      = say("Measured: ×%s.")
)

// What the keys do in Plan.
var (
	PlanFill       = say("fill in")
	PlanTake       = say("take it to the Table")
	PlanMeasure    = say("measure the magnification")
	PlanNextLens   = say("another lens")
	PlanSharpKeyF  = say("sharp to: %s")
	PlanFromRow    = say("another aperture")
	PlanBest       = say("the recommended one")
	PlanCautionsF  = say("all %d cautions")
	PlanCaution    = say("the caution, and rules")
	PlanCautionsUp = say("back to the drawing")
	MeasureMark    = say("set the mark")
	MeasureMove    = say("move the mark")
	MeasureFine    = say("in fine steps")
	MeasureCoarse  = say("in large steps")
	MeasureOther   = say("another frame")
	MeasureKeep    = say("keep it")
)

// More counted things.
var (
	SecondOne, SecondMany = say("%d second"), say("%d seconds")
	HoursF                = say("%s hours")
)
