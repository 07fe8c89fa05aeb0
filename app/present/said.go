package present

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/optics"
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

// Kind is a kind of light in the window's language.
func Kind(k session.LightKind) string { return words.Of(string(k)) }

// Side is a side in the window's language.
func Side(s session.Side) string { return words.Of(string(s)) }

// Height is a height in the window's language.
func Height(h session.Height) string { return words.Of(string(h)) }

// kindsInEnglish is a text with the kinds of light in it as the engine knows them.
func kindsInEnglish(text string) string {
	for _, k := range session.LightKinds {
		text = strings.ReplaceAll(text, Kind(k), string(k))
	}
	return text
}

// wrong says what is wrong with a value of the plan.
func wrong(e optics.FieldError) string {
	args := make([]any, len(e.Args))
	for i, a := range e.Args {
		switch a := a.(type) {
		case string:
			args[i] = words.Of(a)
			if _, err := strconv.ParseFloat(a, 64); err == nil {
				args[i] = words.Localised(a)
			}
		case float64:
			args[i] = words.Decimal(a)
		default:
			args[i] = a
		}
	}
	return fmt.Sprintf(words.Of(e.Form), args...)
}

// LightsInEnglish gives the English for the words of the window's language in which lights are
// described, word by word, for the search: lights are kept in English. It is nil in English.
var LightsInEnglish = lightsInEnglish()

func lightsInEnglish() map[string]string {
	var out map[string]string
	learn := func(english string) {
		cut := func(s string) []string {
			return strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return r == ' ' || r == '-' })
		}
		from, to := cut(words.Of(english)), cut(english)
		for _, same := range slices.Clone(from) { // "LED-Panel": what both have stands for itself
			if i, j := slices.Index(from, same), slices.Index(to, same); i >= 0 && j >= 0 {
				from, to = slices.Delete(from, i, i+1), slices.Delete(to, j, j+1)
			}
		}
		for i := range min(len(from), len(to)) {
			if out == nil {
				out = map[string]string{}
			}
			out[from[len(from)-1-i]] = to[len(to)-1-i] // "von oben" is "overhead" by its last word
		}
	}
	for _, k := range session.LightKinds {
		learn(string(k))
	}
	for _, s := range session.Sides {
		learn(string(s))
	}
	for _, h := range session.Heights {
		learn(string(h))
	}
	return out
}
