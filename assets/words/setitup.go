package words

// Set it up like this: the sentences of the page, a step each.
var (
	StepSubjectF    = say("On the table: %s.") // the subject
	StepSubject     = say("The subject on the table.")
	StepBackgroundF = say("background: %s")
	StepSupportF    = say("support: %s")
	StepNoMore      = say("Nothing else was noted of it.")
	StepCameraF     = say("Camera: %s.") // f/10, ×1.1
	StepCamera      = say("Set the camera.")
	StepLightF      = say("%d · %s, %s.") // Light 1: LED panel, diffuser; back-left
	StepAtCamera    = say("on the camera’s side")
	StepBehind      = say("straight behind the subject")
	StepRoundF      = say("%.0f° round to the %s from the camera") // left or right
	StepUpF         = say("%.0f° up")
	StepLevel       = say("level with the subject")
	StepDownF       = say("%.0f° below the table")
	StepAwayF       = say("%s away")
	StepThrough     = say("shining through the subject")
	StepNoLight     = say("No light was logged.")
	StepNoLightTodo = say("The picture shows how it looked.")
	StepLook        = say("This is how it looked.")
	StepLookTodo    = say("B makes it the setup on the table.")
	StepOfF         = say("step %d of %d")
	RoundLeft       = say("left")
	RoundRight      = say("right")
	SubjectWord     = say("subject")
	CameraWord      = say("camera")
	LookWord        = say("look")
	TrialOfIt       = say("its light trial")
)

// LampCaution stands at the foot of the printed page.
var LampCaution = say("Lamps: do not look into a bright LED or a flash from near; lamps get hot, keep dry material away; weight stands that can tip; keep water away from the mains. The makers’ instructions and local rules come first.")

// What the keys do on that page.
var (
	SetItUp     = say("set it up like this")
	StepNext    = say("next step")
	StepBefore  = say("step before")
	OnTheTable  = say("put it on the table")
	PrintPage   = say("print to PDF")
	BackToCards = say("back to the cards")
	PutOnTableF = say("Set up as %s: it holds from the next frame on.") // Setup 9
	NoSession   = say("Open the folder that the pictures arrive in first (Ctrl O).")
	PrintedF    = say("Printed to %s.")
)
