package words

// Earlier searches.
const (
	EarlierSearches = "earlier searches"
	SearchesHead    = "Searches from before."
	SearchesNone    = "No search from before."
	SearchesTodo    = "Enter asks again. K keeps what is asked now under a name."
	KeepSearch      = "keep this search"
	KeepSearchF     = "Keep “%s” as" // what is asked
	AskAgain        = "ask again"
	ForgetIt        = "forget it"
	RecentSearch    = "recent"
)

// Templates.
const (
	TemplatesKey  = "templates"
	TemplatesHead = "Templates."
	TemplatesNone = "No template yet."
	TemplatesTodo = "Enter puts one on the table. K keeps this card's setup under a name."
	KeepTemplate  = "keep this setup"
	KeepTemplateF = "Keep %s as a template called" // Setup 9
	BeginFrom     = "put it on the table"
	TemplateUsedF = "Set up from %s: it holds from the next frame on."
	KeptHint      = "a name"
	KeptAsF       = "Kept as %s."
	ForgottenF    = "%s is forgotten."
	NeverUsed     = "not used yet"
	UsedF         = "used %s" // 2 May
)

// A subject over its days.
const (
	StackName     = "Stack"
	OverDays      = "this subject over days"
	NoSubject     = "No subject was noted for this setup."
	NothingShotOf = "Nothing else was shot of it yet."
	DaysHeadF     = "%s, %s." // pine cone, 2 May
	OfAllF        = "%d of %d"
	DayNext       = "the next"
	DayBefore     = "the one before"
	DayFirst      = "the first"
	DayLast       = "the last"
	DayStackF     = "%s of %d frames"
	DayGoneF      = "%s, files gone"
	DaySinceF     = "day %d"
	DayFlip       = "there and back"
	DayHold       = "flip to this one"
	DayLaidF      = "laid on %s" // 2 May
	DayAlone      = "framed differently: not laid on the others"
	DayLayingF    = "laying them on each other: %d of %d"
)

// The log's file.
const (
	LogFile         = "the log: copies, out, in"
	LogHead         = "The setup log."
	LogTodoF        = "It is kept in %s, and copied once a day."
	LogMemory       = "It is kept in memory only, and is gone when the program ends."
	LogNoCopies     = "No copy yet: the first is made on the day after the first setup."
	CopyDaily       = "daily copy"
	CopyBeforeF     = "made before restoring"
	CopyMigration   = "made before the log's form changed"
	LogRestore      = "put this copy back"
	LogExportJSON   = "out, as one file"
	LogExportCSV    = "out, as tables"
	LogImport       = "in again"
	LogMerge        = "take in another log"
	RestoreHeadF    = "Put the log back to %s?" // 2 May, 14:05
	RestoreTodo     = "All setups, templates and edits logged since then leave the log. A copy of the log as it is now is made first, so this can be undone. Photographs are not touched."
	RestoreYes      = "put it back"
	RestoreNo       = "leave it as it is"
	RestoredF       = "The log is that of %s. What it was before is among the copies."
	LogPathJSON     = "Write the whole log to one file (JSON). Type where, then Enter."
	LogPathCSV      = "Write the whole log as tables (CSV) into a folder of its own. Type where, then Enter."
	LogPathImport   = "Take in a file (.json) or a folder of tables. What is there already is recognised; nothing is doubled or removed."
	LogPathMerge    = "Take in all that another log (.db) holds. That log stays as it is; nothing is doubled or removed. Of a setup in both, the one changed later stays."
	LogPathHint     = "a path"
	LogWrittenF     = "Written to %s."
	LogMergedF      = "Came in: %s."
	LogMergedNone   = "All of it was in the log already."
	LogWorking      = "Working on the log."
	LogWorkingF     = "%d of %d."
	LogStop         = "stop"
	LogStopped      = "Stopped. The log is as it was."
	SetupOne        = "%d setup"
	SetupMany       = "%d setups"
	SessionOne      = "%d session"
	SessionMany     = "%d sessions"
	EditOne         = "%d edit"
	EditMany        = "%d edits"
	TemplateOne     = "%d template"
	TemplateMany    = "%d templates"
	UpdatedOne      = "%d setup changed later there"
	UpdatedMany     = "%d setups changed later there"
	ExportNameF     = "setup log %s" // 2026-05-21
	LogCopyOfF      = "%s, %s"       // 2 May, 14:05
	KilobytesF      = "%d kB"
	MegabytesF      = "%.1f MB"
	CopyUnknownWhyF = "made before: %s"
)
