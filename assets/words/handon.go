package words

// Of the sheet on which the stacks are handed on.
const (
	HandOn         = "hand the stacks on"
	HandingOnF     = "handing on, %d %%"
	HandHead       = "Hand the stacks on."
	HandTodoF      = "The next program gets a folder for each stack. %s"
	HandTodoStay   = "The frames here stay as they are."
	HandTodoMove   = "The frames leave this folder; one key here puts them back."
	HandNone       = "There is no stack to hand on."
	HandNoneTodo   = "A stack begins after a hand over the lens."
	HandNoRoom     = "There is no room for that."
	HandNoRoomF    = "%s are needed, and %s are free there. Choose another disk, or links."
	HandWrong      = "That cannot be done."
	HandLooking    = "Looking at what is there…"
	HandBusyHead   = "Handing on."
	HandBusyTodoF  = "%d %% done. You can go on working; Esc leaves it at work."
	HandBackHead   = "Putting back."
	HandDoneHead   = "Handed on."
	HandBackDone   = "Put back."
	HandHaltHead   = "Not handed on."
	HandPartHead   = "Not all was handed on."
	HandQuitWhat   = "A handoff is"
	HandQuitTodo   = "Quitting stops it; the stack at work is put back to where it was. Y quits, Esc stays."
	HandStacks     = "stacks"
	HandStacksF    = "%s, %s, %s" // 5 stacks, 58 files, 6.4 MB
	HandStackOne   = "%d stack"
	HandStackMany  = "%d stacks"
	HandFileOne    = "%d file"
	HandFileMany   = "%d files"
	HandOthersToo  = "with the markers, singles and tests, in folders of their own"
	HandNewF       = "%d of them not there yet"
	HandNewNone    = "all of them there already"
	HandAs         = "files"
	HandPattern    = "folders are named"
	HandSidecars   = "sidecars"
	HandNo         = "no"
	HandXMP        = "XMP beside each frame: subject, light, setup, place in the stack"
	HandXMPReject  = "XMP beside each frame, and those set aside rated −1"
	HandSheet      = "contact sheet"
	HandSheetF     = "PDF, %s"
	HandTables     = "tables"
	HandTablesYes  = "CSV and JSON of the session, a recipe and a plain list for each stack"
	HandGoesTo     = "go to"
	HandRoom       = "room"
	HandRoomF      = "%s needed, %s free"
	HandLeftOut    = "left out"
	HandTablesF    = "%s in %s" // 12 files in tables
	HandThere      = "there already"
	HandAsideF     = "%s, %d set aside"
	HandNow        = "hand them on"
	HandAsOther    = "another way"
	HandPatternKey = "name the folders"
	HandOthersKey  = "others too, or not"
	HandXMPKey     = "sidecars"
	HandSheetKey   = "contact sheet"
	HandTablesKey  = "tables"
	HandWhereKey   = "another place"
	HandBackKeyF   = "put back what was moved there (%d)"
	HandStop       = "stop it"
	HandOpen       = "open the folder"
	HandAgain      = "hand on more"
	HandWhereHint  = "the folder they go to"
	HandFolderF    = "%s stacks" // beside the session's folder
)

// HandWays are the ways in which files come into their folders, by the word of handoff.How.
var HandWays = map[string]string{
	"copy":     "copied, each copy read back and compared",
	"hardlink": "linked: the same file under a second name; a copy where that cannot be",
	"symlink":  "pointed to by symbolic links",
	"reflink":  "sharing blocks with the originals until one is changed; a copy where that cannot be",
	"move":     "moved there; one key puts them back",
}
