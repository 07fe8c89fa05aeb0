package place

import (
	"slices"

	"stillbench/app/parts"
	"stillbench/assets/words"
)

// Press does what a key does among actions, and reports whether it did anything.
func Press(actions []Action, k Key) bool {
	if a, ok := find(actions, k); ok {
		a.Do()
		return true
	}
	return false
}

// Can tells whether a key does anything among actions.
func Can(actions []Action, k Key) bool {
	_, ok := find(actions, k)
	return ok
}

func find(actions []Action, k Key) (Action, bool) {
	for _, a := range actions {
		if !a.Off && a.Do != nil && (slices.Contains(a.Keys, k) || slices.Contains(a.Also, k)) {
			return a, true
		}
	}
	return Action{}, false
}

// Does makes an action that is listed on "?" only.
func Does(word string, do func(), keys ...Key) Action { return Action{Keys: keys, Word: word, Do: do} }

// InMargin lists an action in the margin as well.
func InMargin(a Action) Action {
	a.Margin = true
	return a
}

// Or gives an action second keys for the left hand.
func Or(a Action, also ...Key) Action {
	a.Also = also
	return a
}

// KeyWord is an action as it is drawn.
func KeyWord(a Action) *parts.KeyWord {
	w := parts.NewKeyWord("", a.Word, a.Do)
	w.Keys = make([]string, len(a.Keys))
	for i, key := range a.Keys {
		w.Keys[i] = words.Of(string(key)) // "Space", "Ctrl O"
	}
	w.Strong, w.Off = a.Strong, a.Off
	return w
}
