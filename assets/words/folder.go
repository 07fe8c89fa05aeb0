package words

// Of the sheet on which a folder is chosen.
var (
	FolderAdvice = say("Type where the folder is, or click through to it. Tab takes what is suggested, Enter follows the folder.")
	FolderHint   = say("the folder’s path")
	FolderFollow = say("follow this folder")
	FolderType   = say("type the path")
	FolderUp     = say("one folder up")
	FolderNone   = say("no folders")
	FolderBefore = say("followed before")
	FolderAway   = say("There is no such folder.")
)
