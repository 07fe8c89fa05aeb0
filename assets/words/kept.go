package words

// Earlier searches.
var (
	EarlierSearches  = say("earlier searches")
	SearchesHead     = say("Searches from before.")
	SearchesNone     = say("No search from before.")
	SearchesNoneTodo = say("Every search that led to a setup stands here afterwards.")
	SearchesTodo     = say("Enter asks again. K keeps what is asked now under a name.")
	KeepSearch       = say("keep this search")
	KeepSearchF      = say("Keep “%s” as") // what is asked
	AskAgain         = say("ask again")
	ForgetIt         = say("forget it")
	RecentSearch     = say("recent")
)

// Templates.
var (
	TemplatesKey      = say("templates")
	TemplatesHead     = say("Templates.")
	TemplatesNone     = say("No template yet.")
	TemplatesNoneLog  = say("A template is a setup kept under a name, to begin from it again. Log one first: L at the Table.")
	TemplatesNoneKeep = say("A template is a setup kept under a name, to begin from it again. K keeps that of this card.")
	TemplatesTodo     = say("Enter puts one on the table. K keeps this card’s setup under a name.")
	KeepTemplate      = say("keep this setup")
	KeepTemplateF     = say("Keep %s as a template called") // Setup 9
	BeginFrom         = say("put it on the table")
	TemplateUsedF     = say("Set up from %s: it holds from the next frame on.")
	KeptHint          = say("a name")
	KeptAsF           = say("Kept as %s.")
	ForgottenF        = say("%s is forgotten.")
	NeverUsed         = say("not used yet")
	UsedF             = say("used %s") // 2 May
)

// A subject over its days.
var (
	StackName     = say("Stack")
	OverDays      = say("this subject over days")
	NoSubject     = say("No subject was noted for this setup.")
	NothingShotOf = say("Nothing else was shot of it yet.")
	DaysHeadF     = say("%s, %s.") // pine cone, 2 May
	OfAllF        = say("%d of %d")
	DayNext       = say("the next")
	DayBefore     = say("the one before")
	DayFirst      = say("the first")
	DayLast       = say("the last")
	DayStackF     = say("%s of %d frames")
	DayGoneF      = say("%s, files gone")
	DaySinceF     = say("day %d")
	DayFlip       = say("there and back")
	DayHold       = say("flip to this one")
	DayLaidF      = say("laid on %s") // 2 May
	DayAlone      = say("framed differently: not laid on the others")
	DayLayingF    = say("laying them on each other: %d of %d")
)

// The log's file.
var (
	LogFile         = say("the log: copies, out, in")
	LogHead         = say("The setup log.")
	LogTodoF        = say("It is kept in %s, and copied once a day.")
	LogMemory       = say("It is kept in memory only, and is gone when the program ends.")
	LogNoCopies     = say("No copy yet: the first is made on the day after the first setup.")
	CopyDaily       = say("daily copy")
	CopyBeforeF     = say("made before restoring")
	CopyMigration   = say("made before the log’s form changed")
	LogRestore      = say("put this copy back")
	LogExportJSON   = say("out, as one file")
	LogExportCSV    = say("out, as tables")
	LogImport       = say("in again")
	LogMerge        = say("take in another log")
	RestoreHeadF    = say("Put the log back to %s?") // 2 May, 14:05
	RestoreTodo     = say("All setups, templates and edits logged since then leave the log. A copy of the log as it is now is made first, so this can be undone. Photographs are not touched.")
	RestoreYes      = say("put it back")
	RestoreNo       = say("leave it as it is")
	RestoredF       = say("The log is that of %s. What it was before is among the copies.")
	LogPathJSON     = say("Write the whole log to one file (JSON). Type where, then Enter.")
	LogPathCSV      = say("Write the whole log as tables (CSV) into a folder of its own. Type where, then Enter.")
	LogPathImport   = say("Take in a file (.json) or a folder of tables. What is there already is recognised; nothing is doubled or removed.")
	LogPathMerge    = say("Take in all that another log (.db) holds. That log stays as it is; nothing is doubled or removed. Of a setup in both, the one changed later stays.")
	LogPathHint     = say("a path")
	LogWrittenF     = say("Written to %s.")
	LogMergedF      = say("Came in: %s.")
	LogMergedNone   = say("All of it was in the log already.")
	LogWorking      = say("Working on the log.")
	LogWorkingF     = say("%d of %d.")
	LogStop         = say("stop")
	LogStopped      = say("Stopped. The log is as it was.")
	SetupOne        = say("%d setup")
	SetupMany       = say("%d setups")
	SessionOne      = say("%d session")
	SessionMany     = say("%d sessions")
	EditOne         = say("%d edit")
	EditMany        = say("%d edits")
	TemplateOne     = say("%d template")
	TemplateMany    = say("%d templates")
	UpdatedOne      = say("%d setup changed later there")
	UpdatedMany     = say("%d setups changed later there")
	ExportNameF     = say("setup log %s") // 2026-05-21
	LogCopyOfF      = say("%s, %s")       // 2 May, 14:05
	KilobytesF      = say("%d kB")
	MegabytesF      = say("%.1f MB")
	GigabytesF      = say("%.1f GB")
	CopyUnknownWhyF = say("made before: %s")
)
