package words

// Of proofs: blends at preview size.
const (
	Proof       = "Proof"
	ProofOfF    = "of %s"       // 7 frames
	ProofOfOfF  = "of %d of %s" // 7 of 9 frames
	BlendIt     = "blend it"
	ShowProof   = "the proof"
	ShowFrame   = "the frame, whole"
	NoProofYet  = "The proof of this stack is not made yet; it comes by itself."
	NoProofHere = "Only a stack has a proof. A hand over the lens begins one."
	ProofLeftF  = "without %s" // frames 3 and 5
	TouchOne    = "%d touch-up"
	TouchMany   = "%d touch-ups"
)

// Of the sheet on which a blend is asked for.
const (
	BlendHeadF     = "Blend %s." // stack 3
	BlendTodo      = "At full size, beside whatever else you do. The frames are only read."
	BlendFrames    = "frames"
	BlendAll       = "all %d"
	BlendWithoutF  = "%s, without those set aside (%s)" // 12 of 13, 5
	BlendCharacter = "character"
	BlendSuitsF    = "Suggested here: %s."               // the reason
	BlendOtherF    = "Suggested here is %s, though: %s." // fine threads, the reason
	BlendSuits     = "the one that suits; the proof will tell which"
	BlendFormat    = "format"
	BlendDepth     = "depth map"
	BlendDepthYes  = "yes, as a 16-bit PNG beside it, and how sure it is in a second one"
	BlendDepthNo   = "no"
	BlendGoesTo    = "goes to"
	BlendOverWords = "a file of that name is there, and will be written over"
	BlendTouched   = "touch-ups"
	BlendNow       = "blend it"
	BlendChar      = "the other character"
	BlendKind      = "another format"
	BlendMap       = "with a depth map, or without"
	BlendWhere     = "another place or name"
	BlendOver      = "write over it"
	BlendLeave     = "leave it"
	BlendWhereHint = "where the blend goes, with its name"
	BlendQueuedF   = "%s is in the queue; Q shows it."
	BlendFolderF   = "%s blends" // beside the session's folder
)

// Formats of blends, and the endings that choose them.
const (
	FormatTIFF = "16-bit TIFF, to work on"
	FormatPNG  = "16-bit PNG, to work on and to show"
	FormatJPEG = "JPEG, to show"
)

// Of the queue of blends.
const (
	QueueHeadF     = "Blending %s." // stack 3
	QueueDone      = "Nothing is being blended."
	QueueTodoF     = "%s to go, one after the other. You can go on working." // 2 blends
	QueueTodoNone  = "What was blended stands below. B in Stacks blends another."
	BlendOne       = "%d blend"
	BlendMany      = "%d blends"
	QueueWordF     = "blending, %s"
	QueueWordStart = "blending"
	QueueWordEnded = "blends"
	QueueAtWorkF   = "%s done"
	QueueLeftF     = "%s, about %s left"
	QueueWaits     = "waits"
	QueueStopped   = "Stopped. Nothing of it was written."
	QueueResultF   = "%s: %d × %d pixels, of %s, as %s."
	QueueLeftOutF  = "%s is left out: %s."
	QueueNoteF     = "The setup log was not told of it: %s."
	QueueStop      = "stop this one"
	QueueStopRest  = "stop all"
	QueueForget    = "clear the list"
	OpenBlend      = "open the last one"
	QueueMap       = "Depth map: %s."
	BlendDoneF     = "%s is blended: %s."
	BlendFailedF   = "%s was not blended: %s."
	BlendMoreF     = "and %d more like it"
	BlendDoExists  = "Choose another name, or write over it"
	BlendDoRoom    = "Make room on that disk, or choose another"
	BlendDoRights  = "Look at the rights of the folder, or choose another"
	BlendDoAway    = "Is the disk or card away? Bring it back and blend again"
	QuitHeadF      = "%s not finished." // Two blends are
	QuitOne        = "A blend is"
	QuitManyF      = "%s blends are"
	QuitTodo       = "Quitting stops them; nothing half-written is left. Y quits, Esc stays."
	QuitYes        = "stop them and quit"
	QuitNo         = "stay"
)
