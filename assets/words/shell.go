package words

// Of the shell.
const (
	Welcome       = "Where do the pictures arrive?"
	WelcomeAdvice = "Choose the folder that the camera's pictures come into. They are only ever read."
	TourTable     = "Shows the newest frame beside the camera, and what to do next."
	TourStacks    = "A hand over the lens, then the frames from near to far: that makes a stack; here they are gone through."
	TourSetups    = "Finds again how something was lit: log the light at the Table with L whenever it moves."
	TourPlan      = "Tells aperture, frames and step before the shot."
	ChooseFolder  = "choose the folder"
	TryDemo       = "try the demo session"
	RecentF       = "%s again" // a folder
	OpeningF      = "Opening %s."
	OpeningAdvice = "One moment."
	MakingDemo    = "Making the demo session."
	CannotOpenF   = "%s could not be opened: %s."
	CannotDemoF   = "The demo session could not be made: %s."
	FailedF       = "That was not done: %s."
	KeysOfF       = "The keys of %s."
	KeysAdvice    = "A click on a word does the same. Esc goes back."
	Back          = "back"
	AllKeys       = "all keys"
	Dim           = "dim"
	FullLight     = "full light"
	FullScreen    = "whole screen"
	OtherFolder   = "another folder"
	Undo          = "undo"
	Redo          = "do it again"
	UndoF         = "undo: %s" // split before A0012.JPG
	RedoF         = "again: %s"
	UndoneF       = "Undone: %s. R does it again."
	RedoneF       = "Done again: %s."
	NothingToUndo = "There is nothing to undo."
	NothingToRedo = "There is nothing to do again."
	CouldNotReadF = "%s could not be read."
	NoticesF      = "%s to know."
	NoticesAdvice = "The session goes on without it. Nothing was changed on disk."
)
