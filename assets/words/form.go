package words

// Writing a setup down.
const (
	WriteDown     = "write a setup down"
	FormHead      = "What stands on the table?"
	FormTodo      = "It begins as the last one. ↓ and ↑ go from field to field, → takes what is offered, Enter twice logs it."
	FormTodoKeysF = "Enter logs it from the next frame on; E corrects setup %d." // its number
	FormTodoKeys  = "Enter logs it."
	FormLog       = "log it"
	FormCorrectF  = "correct setup %d"
	FormEdit      = "back to the fields"
	FormAddLight  = "another light"
	FormDropLight = "take the last light away"
	FormLeave     = "leave it"
	FormWrongF    = "%s cannot be %q." // a field, what was typed
	FieldTags     = "tags"
	FieldTagsHint = "words to find it by, with commas"
	FieldKind     = "kind"
	FieldSide     = "round °"
	FieldHeight   = "up °"
	FieldAway     = "away cm"
	FieldPower    = "power"
	FieldColour   = "kelvin"
	FieldLightF   = "light %d"
	UnitDeg       = "°"
)
