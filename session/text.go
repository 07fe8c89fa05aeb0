package session

import (
	"encoding/json"
	"fmt"
	"strconv"
)

// Text is what the engine says: English, as the terminal, the log and its exports have it, with
// what goes into it kept apart, so that the window can say it in another language.
type Text struct {
	// Form is English, a format for fmt.Sprintf where there are Args; "" says nothing.
	Form string
	// Args are strings (names, kept as they are), whole numbers, float64s, and Texts.
	Args []any
}

// Say makes a text. The form is written out where it is said: the translations are made from
// the calls.
func Say(form string, args ...any) Text { return Text{form, args} }

// And goes on with another sentence.
func (t Text) And(more Text) Text {
	if t.Form == "" {
		return more
	}
	return Text{"%s %s", []any{t, more}}
}

// String is the text in English.
func (t Text) String() string {
	if len(t.Args) == 0 {
		return t.Form
	}
	return fmt.Sprintf(t.Form, t.Args...)
}

// fraction is how a float64 of Args is told from an int in JSON.
type fraction struct {
	Fraction *float64
}

// MarshalJSON keeps form and arguments apart. What reads a text as one sentence takes String.
func (t Text) MarshalJSON() ([]byte, error) {
	args := make([]any, len(t.Args))
	for i, a := range t.Args {
		if f, ok := a.(float64); ok {
			a = fraction{&f}
		}
		args[i] = a
	}
	type plain Text
	return json.Marshal(plain{t.Form, args})
}

// UnmarshalJSON is the way back from MarshalJSON; it takes nothing else.
func (t *Text) UnmarshalJSON(data []byte) error {
	var in struct {
		Form string
		Args []json.RawMessage
	}
	if err := json.Unmarshal(data, &in); err != nil {
		return err
	}
	*t = Text{Form: in.Form}
	for _, raw := range in.Args {
		var f fraction
		switch {
		case raw[0] == '"':
			var s string
			if err := json.Unmarshal(raw, &s); err != nil {
				return err
			}
			t.Args = append(t.Args, s)
		case raw[0] != '{':
			n, err := strconv.Atoi(string(raw))
			if err != nil {
				return err
			}
			t.Args = append(t.Args, n)
		case json.Unmarshal(raw, &f) == nil && f.Fraction != nil:
			t.Args = append(t.Args, *f.Fraction)
		default:
			var of Text
			if err := json.Unmarshal(raw, &of); err != nil {
				return err
			}
			t.Args = append(t.Args, of)
		}
	}
	return nil
}
