package words

// Of the sheet on which the stacks are handed on.
var (
	HandOn         = say("hand the stacks on")
	HandingOnF     = say("handing on, %d %%")
	HandHead       = say("Hand the stacks on.")
	HandTodoF      = say("The next program gets a folder for each stack. %s")
	HandTodoStay   = say("The frames here stay as they are.")
	HandTodoMove   = say("The frames leave this folder; one key here puts them back.")
	HandNone       = say("There is no stack to hand on.")
	HandNoneTodo   = say("A stack begins after a hand over the lens.")
	HandNoRoom     = say("There is no room for that.")
	HandNoRoomF    = say("%s are needed, and %s are free there. Choose another disk, or links.")
	HandWrong      = say("That cannot be done.")
	HandLooking    = say("Looking at what is there…")
	HandBusyHead   = say("Handing on.")
	HandBusyTodoF  = say("%d %% done. You can go on working; Esc leaves it at work.")
	HandBackHead   = say("Putting back.")
	HandDoneHead   = say("Handed on.")
	HandBackDone   = say("Put back.")
	HandHaltHead   = say("Not handed on.")
	HandPartHead   = say("Not all was handed on.")
	HandQuitWhat   = say("A handoff is")
	HandQuitTodo   = say("Quitting stops it; the stack at work is put back to where it was. Y quits, Esc stays.")
	HandStacks     = say("stacks")
	HandStacksF    = say("%s, %s, %s") // 5 stacks, 58 files, 6.4 MB
	HandStackOne   = say("%d stack")
	HandStackMany  = say("%d stacks")
	HandFileOne    = say("%d file")
	HandFileMany   = say("%d files")
	HandOthersToo  = say("with the markers, singles and tests, in folders of their own")
	HandNewF       = say("%d of them not there yet")
	HandNewNone    = say("all of them there already")
	HandAs         = say("files")
	HandPattern    = say("folders are named")
	HandSidecars   = say("sidecars")
	HandNo         = say("no")
	HandXMP        = say("XMP beside each frame: subject, light, setup, place in the stack")
	HandXMPReject  = say("XMP beside each frame, and those set aside rated −1")
	HandSheet      = say("contact sheet")
	HandSheetF     = say("PDF, %s")
	HandTables     = say("tables")
	HandTablesYes  = say("CSV and JSON of the session, a recipe and a plain list for each stack")
	HandGoesTo     = say("go to")
	HandRoom       = say("room")
	HandRoomF      = say("%s needed, %s free")
	HandLeftOut    = say("left out")
	HandTablesF    = say("%s in %s") // 12 files in tables
	HandThere      = say("there already")
	HandAsideF     = say("%s, %d set aside")
	HandNow        = say("hand them on")
	HandAsOther    = say("another way")
	HandPatternKey = say("name the folders")
	HandOthersKey  = say("others too, or not")
	HandXMPKey     = say("sidecars")
	HandSheetKey   = say("contact sheet")
	HandTablesKey  = say("tables")
	HandWhereKey   = say("another place")
	HandBackKeyF   = say("put back what was moved there (%d)")
	HandStop       = say("stop it")
	HandOpen       = say("open the folder")
	HandAgain      = say("hand on more")
	HandWhereHint  = say("the folder they go to")
	HandFolderF    = say("%s stacks") // beside the session's folder
)

// HandWays are the ways in which files come into their folders, by the word of handoff.How.
var HandWays = map[string]string{
	"copy":     say("copied, each copy read back and compared"),
	"hardlink": say("linked: the same file under a second name; a copy where that cannot be"),
	"symlink":  say("pointed to by symbolic links"),
	"reflink":  say("sharing blocks with the originals until one is changed; a copy where that cannot be"),
	"move":     say("moved there; one key puts them back"),
}
