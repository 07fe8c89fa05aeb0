package words

// Writing a setup down.
var (
	WriteDown     = say("write a setup down")
	FormHead      = say("What stands on the table?")
	FormTodo      = say("It begins as the last one. ↓ and ↑ go from field to field, → takes what is offered, Enter twice logs it.")
	FormTodoKeysF = say("Enter logs it from the next frame on; E corrects setup %d.") // its number
	FormTodoKeys  = say("Enter logs it.")
	FormDone      = say("stop typing")
	FormFields    = say("from field to field")
	FormLog       = say("log it")
	FormCorrectF  = say("correct setup %d")
	FormEdit      = say("back to the fields")
	FormAddLight  = say("another light")
	FormDropLight = say("take the last light away")
	FormLeave     = say("leave it")
	FormWrongF    = say("%s cannot be %q.") // a field, what was typed
	FieldTags     = say("tags")
	FieldTagsHint = say("words to find it by, with commas")
	FieldKind     = say("kind")
	FieldSide     = say("round °")
	FieldHeight   = say("up °")
	FieldAway     = say("away cm")
	FieldPower    = say("power")
	FieldColour   = say("kelvin")
	FieldLightF   = say("light %d")
	UnitDeg       = say("°")
)
