package words

// Of the help on what the program says of a stack. Each stands beside a drawing of such a stack.
var (
	HelpKey       = say("what it says of a stack")
	HelpHead      = say("What is said of a stack.")
	HelpTodo      = say("A bar is what one frame holds sharp, near to far; the line is what all hold.")
	HelpTooFew    = say("At least two frames are needed before anything can be said. Go on shooting.")
	HelpBlurred   = say("The frame was moved while the shutter was open: a breath on the table, a step on the floor. Shoot the same focus again; the new frame takes the place of the flawed one.")
	HelpGap       = say("No frame holds the depth between two neighbours. Turn the focus back to there and shoot it; where it is shot late does not matter.")
	HelpNear      = say("The nearest frame is still getting sharper towards you. Turn nearer than where the stack began, and shoot until the nearest part is soft again.")
	HelpFar       = say("The farthest frame is still sharp at its far side. Go on turning. If only the background is left there, draw the wanted area (W) and it no longer counts.")
	HelpUnsteady  = say("Between two frames the light, the white balance or the settings changed. A blend would show it: shoot the frames after the change again, or before it.")
	HelpUndecided = say("Too little can be seen to judge by: nothing sharp enough, or frames that do not lie on each other. Look at the frames yourself before the subject goes.")
	HelpCovered   = say("Every depth of the wanted area is held by a frame, both ends are past the subject, and no frame is flawed. The camera may be moved.")
)

// VerdictHelp are the names under which the verdicts are explained, by session.Verdict.
var VerdictHelp = map[string][2]string{
	"too-few": {RowTooFew, HelpTooFew}, "blurred": {RowBlurred, HelpBlurred}, "gap": {RowGap, HelpGap}, "near-open": {RowNear, HelpNear},
	"far-open": {RowFar, HelpFar}, "unsteady": {RowUnsteady, HelpUnsteady}, "undecided": {RowUndecided, HelpUndecided}, "covered": {RowCovered, HelpCovered},
}
