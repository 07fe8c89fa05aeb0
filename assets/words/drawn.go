package words

// The wanted area and the sharp parts, as they are drawn on a frame.
const (
	WantedArea     = "wanted area"
	WantAll        = "want all of it"
	WantedAll      = "All of the picture is wanted again. U takes that back."
	WantedAlready  = "All of the picture is wanted already."
	WantedNoStack  = "A wanted area belongs to a stack. Shoot its first frame, then draw."
	DrawHead       = "Draw what must be sharp."
	DrawAdvice     = "Drag a rectangle, or move one with the arrows. With Shift, drag round a shape of any form."
	DrawAdviceFree = "Drag round what must be sharp, in one line. With Shift, drag a rectangle."
	DrawKeep       = "keep it"
	DrawLeave      = "leave it as it was"
	DrawAll        = "all of it"
	DrawFree       = "any outline"
	DrawRectangle  = "rectangle"
	DrawMove       = "move it"
	DrawSize       = "its size"
	SharpParts     = "sharp parts"
	SharpPartsOff  = "sharp parts off"
)
