package words

// The wanted area and the sharp parts, as they are drawn on a frame; the trial called back.
const (
	WantedArea     = "wanted area"
	WantAll        = "want all of it"
	WantedAll      = "All of the picture is wanted again. U takes that back."
	WantedAlready  = "All of the picture is wanted already."
	WantedNoStack  = "A wanted area belongs to a stack. Shoot its first frame, then draw."
	CoveredWithin  = "Every depth in the wanted area is sharp in one frame or another."
	DrawHead       = "Draw what must be sharp."
	DrawAdvice     = "Drag a rectangle over it, or move one with the arrow keys. Shift: any outline."
	DrawAdviceFree = "Drag round it in one line, of any form. Shift: a rectangle."
	DrawKeep       = "keep it"
	DrawLeave      = "leave it"
	DrawAll        = "all of it"
	DrawFree       = "any outline"
	DrawRectangle  = "rectangle"
	DrawMove       = "move it"
	DrawSize       = "its size"
	TrialRecall    = "light trial"
	TrialAway      = "back to the frame"
	SharpParts     = "sharp parts"
	SharpPartsOff  = "sharp parts off"
)
