package words

// Set it up like this: the sentences of the page, a step each.
const (
	StepSubjectF    = "On the table: %s." // the subject
	StepSubject     = "The subject on the table."
	StepBackgroundF = "background: %s"
	StepSupportF    = "support: %s"
	StepNoMore      = "Nothing else was noted of it."
	StepCameraF     = "Camera: %s." // f/10, ×1.1
	StepCamera      = "Set the camera."
	StepLightF      = "%d · %s, %s." // Light 1: LED panel, diffuser; back-left
	StepAtCamera    = "on the camera's side"
	StepBehind      = "straight behind the subject"
	StepRoundF      = "%.0f° round to the %s from the camera" // left or right
	StepUpF         = "%.0f° up"
	StepLevel       = "level with the subject"
	StepDownF       = "%.0f° below the table"
	StepAwayF       = "%s away"
	StepThrough     = "shining through the subject"
	StepNoLight     = "No light was logged."
	StepNoLightTodo = "The picture shows how it looked."
	StepLook        = "This is how it looked."
	StepLookTodo    = "B makes it the setup on the table."
	StepOfF         = "step %d of %d"
	RoundLeft       = "left"
	RoundRight      = "right"
	SubjectWord     = "subject"
	CameraWord      = "camera"
	LookWord        = "look"
	TrialOfIt       = "its light trial"
)

// LampCaution stands at the foot of the printed page.
const LampCaution = "Lamps: do not look into a bright LED or a flash from near; lamps get hot, keep dry material away; weight stands that can tip; keep water away from the mains. The makers' instructions and local rules go first."

// What the keys do on that page.
const (
	SetItUp     = "set it up like this"
	StepNext    = "next step"
	StepBefore  = "step before"
	OnTheTable  = "put it on the table"
	PrintPage   = "print to PDF"
	BackToCards = "back to the cards"
	PutOnTableF = "Set up as %s: it holds from the next frame on." // Setup 9
	NoSession   = "Open the folder that the pictures arrive in first (Ctrl O)."
	PrintedF    = "Printed to %s."
)
