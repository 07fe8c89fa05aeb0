package words

// Of looking closely at the frames of a group.
var (
	LookClosely     = say("look closely")
	AsideDoneF      = say("%s is set aside. X puts it back.") // Frame 7
	AsideBackF      = say("%s is back. X sets it aside again.")
	CloseWhole      = say("whole")
	CloseOne        = say("one to one")
	CloseTwo        = say("two to one")
	CloseScaleOne   = say("1:1")
	CloseScaleTwo   = say("2:1")
	CloseHeadF      = say("%s, %s.")          // Frame 7, one to one
	CloseTurnsF     = say("%s, %s, in turn.") // Frame 5, frame 7
	CloseProof      = say("The proof")        // begins a headline
	CloseProofIn    = say("the proof")        // within one
	CloseStep       = say("← → or V B: the other frames at this spot. W A S F: elsewhere.")
	CloseStepWhole  = say("← → or V B: the other frames. Z, or a click on a spot: one to one.")
	CloseHeldF      = say("%s is held. Step to the one to compare it with.") // Frame 5
	CloseTurning    = say("Each for half a second. Step on to compare another; E ends it.")
	CloseProofSize  = say("At preview size, reduced: judge how the frames join.")
	CloseProofMoreF = say("At preview size, enlarged %s times: judge the joins, not the sharpness.")
	CloseNotIn      = say("This frame is not in the proof: the region may lie a little beside it.")
	CloseSizeNone   = say("The size of this picture is not known, so it is shown whole.")
	CloseOnlyOne    = say("There is no other frame here to compare it with.")
	ClipNothing     = say("Nothing is clipped in view.")
	ClipF           = say("Too bright: %s (rising strokes). Too dark: %s (falling).")
	ClipBrightF     = say("Too bright, in view: %s (rising strokes).")
	ClipDarkF       = say("Too dark, in view: %s (falling strokes).")
	ClipWhole       = say("Nothing is clipped at this size. One to one shows specks as well.")
	AtPreviewSize   = say("at preview size")
)

// What the keys do there.
var (
	CloseZoomOne   = say("1:1")
	CloseZoomTwo   = say("2:1")
	CloseZoomWhole = say("whole")
	CloseFrames    = say("frames")
	CloseStepKey   = say("step through the frames, at the same spot")
	CloseMoveKey   = say("move what is in view")
	CloseMove      = say("move")
	CloseShowProof = say("proof")
	CloseShowFrame = say("frame")
	CloseFlicker   = say("flicker")
	CloseAside     = sayAs("CloseAside", "set aside")
	CloseAlsoF     = say("%s, by the thumb; Y as well, left on QWERTZ") // 1:1
	CloseSteady    = say("steady")
	CloseClip      = say("clipping")
	CloseClipOff   = say("no clipping")
)
