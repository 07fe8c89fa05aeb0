package words

// Of touching up: inside an outline the blend takes its picture from one frame.
const (
	TouchUp        = "touch up"
	TouchHeadF     = "Touch up %s." // stack 5
	TouchOutline   = "Drag round what one frame shows better, or begin with an arrow key."
	TouchTryF      = "Inside stands frame %d. N and F try others, Enter keeps it."
	TouchKeptF     = "Kept, from frame %d. U takes it back. Draw the next, or leave with Esc."
	TouchNearer    = "nearer frame"
	TouchFarther   = "farther frame"
	TouchBefore    = "frame before" // where near and far are not known
	TouchAfter     = "frame after"
	TouchNoOutline = "no outline"
	TouchEnd       = "leave"
	TouchThere     = "there, one to one"
	TouchFromF     = "%d from frame %d" // the first from frame 3
	TouchUndoF     = "touch up %s from frame %d"
)
