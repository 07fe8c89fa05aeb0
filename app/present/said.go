package present

import (
	"fmt"

	"stillbench/assets/words"
	"stillbench/session"
)

// Said is what the engine says, in the window's language: its forms are translated, names in it
// stay as they are, numbers with a fraction get the language's decimal sign.
func Said(t session.Text) string {
	form := words.Of(t.Form)
	if len(t.Args) == 0 {
		return form
	}
	args := make([]any, len(t.Args))
	for i, a := range t.Args {
		switch a := a.(type) {
		case session.Text:
			args[i] = Said(a)
		case float64:
			args[i] = words.Decimal(a)
		default:
			args[i] = a
		}
	}
	return fmt.Sprintf(form, args...)
}
