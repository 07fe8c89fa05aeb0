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
	CloseStep       = "← → or V B: the other frames, at the same spot. Shift with arrows, or W A S F, moves it."
	CloseStepWhole  = "← → or V B: the other frames. Z, or a click where you want to look: one to one."
	CloseHeldF      = "%s is held. Step to the one to compare it with." // Frame 5
	CloseTurning    = "Each for half a second. Step on to compare another; X ends it."
	CloseProofSize  = "At preview size, reduced here: judge how the frames join."
	CloseProofMoreF = "At preview size, enlarged %s times here: judge how the frames join, not how sharp it is."
	CloseNotIn      = "This frame is not in the proof: the region may lie a little beside it."
	CloseSizeNone   = "How large this picture is is not known: it is shown whole."
	CloseOnlyOne    = "There is no other frame here to compare it with."
	ClipNothing     = "Nothing is clipped in view."
	ClipF           = "Clipped in view: %s too bright (rising strokes), %s too dark (falling strokes)."
	ClipBrightF     = "Clipped in view: %s too bright (rising strokes)."
	ClipDarkF       = "Clipped in view: %s too dark (falling strokes)."
	ClipWhole       = "One to one shows more: specks are averaged away here."
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
