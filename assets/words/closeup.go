package words

// Of looking closely at the frames of a group.
const (
	LookClosely     = "look closely"
	CloseWhole      = "whole"
	CloseOne        = "one to one"
	CloseTwo        = "two to one"
	CloseScaleOne   = "1:1"
	CloseScaleTwo   = "2:1"
	CloseHeadF      = "%s, %s."          // Frame 7, one to one
	CloseTurnsF     = "%s, %s, in turn." // Frame 5, frame 7
	CloseProof      = "The proof"        // begins a headline
	CloseProofIn    = "the proof"        // within one
	CloseStep       = "← → or V B: the other frames at this spot. W A S F: elsewhere."
	CloseStepWhole  = "← → or V B: the other frames. Z, or a click on a spot: one to one."
	CloseHeldF      = "%s is held. Step to the one to compare it with." // Frame 5
	CloseTurning    = "Each for half a second. Step on to compare another; X ends it."
	CloseProofSize  = "At preview size, reduced: judge how the frames join."
	CloseProofMoreF = "At preview size, enlarged %s times: judge the joins, not the sharpness."
	CloseNotIn      = "This frame is not in the proof: the region may lie a little beside it."
	CloseSizeNone   = "How large this picture is is not known: it is shown whole."
	CloseOnlyOne    = "There is no other frame here to compare it with."
	ClipNothing     = "Nothing is clipped in view."
	ClipF           = "Too bright: %s (rising strokes). Too dark: %s (falling)."
	ClipBrightF     = "Too bright, in view: %s (rising strokes)."
	ClipDarkF       = "Too dark, in view: %s (falling strokes)."
	ClipWhole       = "Nothing is clipped at this size. One to one shows specks as well."
	AtPreviewSize   = "at preview size"
)

// What the keys do there.
const (
	CloseZoomOne   = "1:1"
	CloseZoomTwo   = "2:1"
	CloseZoomWhole = "whole"
	CloseFrames    = "frames"
	CloseStepKey   = "step through the frames, at the same spot"
	CloseMoveKey   = "move what is in view"
	CloseMove      = "move"
	CloseShowProof = "proof"
	CloseShowFrame = "frame"
	CloseFlicker   = "flicker"
	CloseSteady    = "steady"
	CloseClip      = "clipping"
	CloseClipOff   = "no clipping"
)
