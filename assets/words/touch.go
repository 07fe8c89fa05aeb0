package words

// Of touching up: inside an outline the blend takes its picture from one frame.
var (
	TouchUp        = say("touch up")
	TouchHeadF     = say("Touch up %s.") // stack 5
	TouchOutline   = say("Drag round what one frame shows better, or begin with an arrow key.")
	TouchTryF      = say("Inside stands frame %d. N and F try others, Enter keeps it.")
	TouchKeptF     = say("Kept, from frame %d. U takes it back. Draw the next, or leave with Esc.")
	TouchNearer    = say("nearer frame")
	TouchFarther   = say("farther frame")
	TouchBefore    = say("frame before") // where near and far are not known
	TouchAfter     = say("frame after")
	TouchNoOutline = say("no outline")
	TouchEnd       = say("leave")
	TouchThere     = say("there, one to one")
	TouchFromF     = say("%d from frame %d") // the first from frame 3
	TouchUndoF     = say("touch up %s from frame %d")
)
