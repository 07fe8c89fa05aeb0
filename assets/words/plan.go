package words

// What goes into Plan.
const (
	PlanSensor       = "sensor"
	PlanLens         = "lens"
	FieldWidth       = "field width"
	PlanDepth        = "subject depth"
	PlanSharp        = "sharp to"
	PlanFramesAtMost = "frames at most"
	PlanExposure     = "good exposure"

	PlanSensorHint   = "36 × 24 mm"
	PlanLensHint     = "105 mm, pupil 1.0"
	PlanWidthHint    = "33 mm"
	PlanDepthHint    = "12 mm"
	PlanFramesHint   = "no limit"
	PlanExposureHint = "f/8 · 1/4 s"
	PlanLightHint    = "LED panel, 40 W"

	PlanSensorExample        = "36 × 24 mm"
	PlanPupilExample         = "pupil 0.8"
	PlanRangeExample         = "f/2.8-22"
	PlanMagnificationExample = "0.5 or 1:2"
	PlanDistanceExample      = "42 cm"
	PlanSharpExample         = "0.02 mm"
	PlanCannotReadF          = "“%s” cannot be read. Write it like %s."
	PlanNoWholeNumberF       = "“%s” is no whole number."
)

// The sentence of Plan.
const (
	PlanAskBoth      = "What will be shot?"
	PlanAskSize      = "How wide is the field?"
	PlanAskDepth     = "How deep is the subject?"
	PlanAskBothTodo  = "Tell how wide the field is and how deep the subject (F): the rest follows."
	PlanAskSizeTodo  = "Tell its width, the magnification or the distance (F): the rest follows."
	PlanAskDepthTodo = "Tell it in millimetres (F): aperture and frames follow."
	PlanCannot       = "That cannot be planned."
	PlanProblemF     = "%s: %s"                           // the input, what is wrong with it
	PlanAnswerF      = "%s, %d frames, %s apart."         // f/9, 28 frames, 0.44 mm apart.
	PlanOneF         = "%s, one frame."                   // f/9
	PlanLeastBlurF   = "The least blur that %s can give." // 28 frames
	PlanFewestF      = "The fewest that hold the whole depth to %s µm."
	PlanOneHolds     = "One frame holds the whole depth."
	PlanDiffractionF = "Diffraction blurs beyond what counts as sharp at every aperture; here the blur is least, %s µm."
	PlanInsteadF     = "%s µm of blur instead of the %s at f/%s."
	PlanTimeF        = "About %s in all." // 3 minutes
)

// What Plan remembers.
const (
	PlanRemembersSensorF = "Remembered for %s: sensor %s."              // VTX 2, 36 × 24 mm
	PlanForgetsSensorF   = "The sensor told for %s is forgotten."       // VTX 2
	PlanRemembersPupilF  = "Remembered for %s: pupil magnification %s." // Vantor 105, 0.8
	PlanForgetsPupilF    = "The pupil magnification of %s is forgotten."
	PlanSensorToldF      = "Sensor as remembered for %s." // VTX 2
	PlanPupilToldF       = "Pupil as remembered for %s."  // Vantor 105
)

// The rest of Plan.
const (
	PlanAperture  = "aperture"
	PlanHeld      = "depth held"
	PlanAtLeast   = "at least"
	PlanEffective = "effective"
	PlanShutter   = "shutter"
	PlanPupilF    = "pupil %s"     // 0.8, as it is typed
	PlanTakeF     = "%s take"      // 28
	PlanMoreThanF = "more than %s" // 28
	PlanEndless   = "endless"
	PlanBlurF     = "blur on the sensor, with %s" // 28 frames
	PlanBlur      = "blur on the sensor"
	PlanLeastF    = "%s µm, the least"
	PlanMicrons   = "µm"
	PlanFocus     = "focus"
	PlanDiffracts = "diffraction"
	PlanBoth      = "both"
	PlanFromSide  = "from the side"
	PlanSliceOne  = "one slice"
	PlanSlicesF   = "%d slices,"
	PlanRound     = "depth stretched"
	PlanTooFine   = "too fine to draw"
	PlanOwnSharp  = "a number of your own"
	PlanLastTime  = "Last time"
	PlanAlikeF    = "Setup %d, %s: %s" // 6, "gear train, ×0.6", "f/6.3, 21 frames"
	PlanStacksF   = "%s in %s"         // 41 frames in 3 stacks
	PlanShot      = "Planned and shot"
	PlanTooFarF   = "%s: you turned about %s times too far each time, %s mm instead of %s." // Stack 4
	PlanFinerF    = "%s: you turned about %s of the step each time, %s mm instead of %s."
	PlanAsAskedF  = "%s: you turned as planned, about %s mm each time."
	PlanWidestF   = "The widest was %s mm."
	PlannedF      = "Planned: %s"     // f/9, 28 frames, 0.44 mm apart.
	PlannedCountF = "%d of %d frames" // shot, planned
)

// Measuring the magnification.
const (
	MeasureAdvice  = "Click two marks on the ruler in this frame, then type how far apart they are."
	MeasureFirst   = "Click the first mark."
	MeasureSecond  = "Click the second mark."
	MeasureLength  = "How far apart are they? Type it, and Enter."
	MeasureIsF     = "Magnification ×%s." // 1.09
	MeasureKeepF   = "The field is %s wide. Enter keeps it with the lens and the setup."
	MeasureNone    = "There is no frame to measure on. Shoot one of a ruler."
	MeasureApart   = "distance on the ruler"
	MeasureNoSizeF = "“%s” is no length. Write it like 10 mm."
	MeasuredF      = "Measured: ×%s."
)

// What the keys do in Plan.
const (
	PlanFill       = "fill in"
	PlanTake       = "take it to the Table"
	PlanMeasure    = "measure the magnification"
	PlanNextLens   = "another lens"
	PlanSharpKeyF  = "sharp to: %s"
	PlanFromRow    = "another aperture"
	PlanBest       = "the recommended one"
	PlanCautionsF  = "all %d cautions"
	PlanCaution    = "the caution, and rules"
	PlanCautionsUp = "back to the drawing"
	MeasureMark    = "set the mark"
	MeasureMove    = "move the mark"
	MeasureFine    = "in fine steps"
	MeasureCoarse  = "in large steps"
	MeasureOther   = "another frame"
	MeasureKeep    = "keep it"
)

// More counted things.
const (
	SecondOne, SecondMany = "%d second", "%d seconds"
	HoursF                = "%s hours"
)
