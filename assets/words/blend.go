package words

// Of proofs: blends at preview size.
var (
	Proof       = say("Proof")
	ProofOfF    = say("of %s")       // 7 frames
	ProofOfOfF  = say("of %d of %s") // 7 of 9 frames
	BlendIt     = say("blend it")
	ShowProof   = say("the proof")
	ShowFrame   = say("the frame, whole")
	NoProofYet  = say("The proof of this stack is not made yet; it comes by itself.")
	NoProofHere = say("Only a stack has a proof. A hand over the lens begins one.")
	ProofLeftF  = say("without %s") // frames 3 and 5
	TouchOne    = say("%d touch-up")
	TouchMany   = say("%d touch-ups")
)

// Of the sheet on which a blend is asked for.
var (
	BlendHeadF     = say("Blend %s.") // stack 3
	BlendTodo      = say("At full size, while you go on working. The frames are only read.")
	BlendFrames    = say("frames")
	BlendAll       = say("all %d")
	BlendWithoutF  = say("%s, without those set aside (%s)") // 12 of 13, 5
	BlendCharacter = say("character")
	BlendSuitsF    = say("Suggested here: %s.")               // the reason
	BlendOtherF    = say("Suggested here is %s, though: %s.") // fine threads, the reason
	BlendSuits     = say("the one that suits; the proof will tell which")
	BlendFormat    = say("format")
	BlendDepth     = say("depth map")
	BlendDepthYes  = say("yes, as a 16-bit PNG beside it, and how sure it is in a second one")
	BlendDepthNo   = say("no")
	BlendGoesTo    = say("goes to")
	BlendOverWords = say("a file of that name is there, and will be written over")
	BlendTouched   = say("touch-ups")
	BlendNow       = say("blend it")
	BlendChar      = say("the other character")
	BlendKind      = say("another format")
	BlendMap       = say("with a depth map, or without")
	BlendWhere     = say("another place or name")
	BlendOver      = say("write over it")
	BlendLeave     = say("leave it")
	BlendWhereHint = say("where the blend goes, with its name")
	TypeTodo       = say("Type it, then Enter. Esc leaves it as it was.")
	BlendQueuedF   = say("%s is in the queue; Q shows it.")
	BlendFolderF   = say("%s blends") // beside the session's folder
)

// Formats of blends, and the endings that choose them.
var (
	FormatTIFF = say("16-bit TIFF, to work on")
	FormatPNG  = say("16-bit PNG, to work on and to show")
	FormatJPEG = say("JPEG, to show")
)

// Of the queue of blends.
var (
	QueueHeadF        = say("Blending %s.") // stack 3
	QueueNone         = say("Nothing is being blended.")
	QueueDoneF        = say("%s is blended.")           // Stack 3
	QueueAllDoneF     = say("%s blends are made.")      // Two
	QueueShortF       = say("%s: frames are left out.") // Stack 3
	QueueTodoShort    = say("Which, and why, stands below. Bring them back and blend again with B in Stacks.")
	QueueBegins       = say("Beginning to blend.")
	QueueTodoOne      = say("It is written once it is done. You can go on working.")
	QueueTodoF        = say("%s to go, one after the other. You can go on working.") // 2 blends
	QueueTodoNone     = say("What was blended stands below. B in Stacks blends another.")
	QueueFailedOne    = say("A blend has failed.")
	QueueFailedF      = say("%s blends have failed.") // Two
	QueueTodoFailed   = say("Why, and what to do, stands below. B in Stacks blends again.")
	BlendOne          = say("%d blend")
	BlendMany         = say("%d blends")
	QueueWordF        = say("blend %s") // 14 %
	QueueWordStart    = say("blending")
	QueueWordEnded    = say("blends")
	QueueAtWorkF      = say("%s done")
	QueueLeftF        = say("%s, about %s left")
	QueueWaits        = say("waits")
	QueueStopped      = say("Stopped. Nothing of it was written.")
	QueueResultF      = say("%d × %d pixels, of %s, as %s: %s.") // 8 256, 5 504, 12 frames, smooth surfaces, the file
	QueueLeftOutF     = say("%s is left out: %s.")
	QueueLeftOutManyF = say("%s are left out: %s.") // their names
	QueueNoteF        = say("It could not be noted in the setup log: %s.")
	QueueStop         = say("stop this one")
	QueueStopRest     = say("stop all")
	QueueForget       = say("clear the list")
	OpenBlend         = say("open the last one")
	QueueMap          = say("Depth map: %s.")
	BlendDoneF        = say("%s is blended: %s.")
	BlendFailedF      = say("%s was not blended: %s.")
	BlendMoreF        = say("and %d more like it")
	BlendDoExists     = say("Choose another name, or write over it")
	BlendDoRoom       = say("Make room on that disk, or choose another")
	BlendDoRights     = say("Look at the rights of the folder, or choose another")
	BlendDoAway       = say("Is the disk or card away? Bring it back and blend again")
	QuitHeadF         = say("%s not finished.") // Two blends are
	QuitOne           = say("A blend is")
	QuitManyF         = say("%s blends are")
	QuitTodo          = say("Quitting stops them; nothing half-written is left. Y quits, Esc stays.")
	QuitYes           = say("stop them and quit")
	QuitNo            = say("stay")
)
