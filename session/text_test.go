package session

import (
	"encoding/json"
	"reflect"
	"testing"
)

// A text comes back from the log as it went in, numbers with and without a fraction told apart,
// and is the same English then.
func TestText(t *testing.T) {
	for english, text := range map[string]Text{
		"":                Say(""),
		"100 % covered.":  Say("100 % covered."),
		"Between 6 and 7": Say("Between %d and %d", 6, 7),
		"3.0 EV of 3":     Say("%.1f EV of %d", 3.0, 3),
		"A1.JPG and “B”":  Say("%s and %s", "A1.JPG", Say("“%s”", "B")),
		"Hold. Only red clips, 2 %. Go on.": Say("Hold.").And(Say("Only %s clips, %d %%.", Say("red"), 2)).
			And(Say("Go on.")),
		"Go on.": Say("").And(Say("Go on.")),
	} {
		if got := text.String(); got != english {
			t.Errorf("%q, want %q", got, english)
		}
		data, err := json.Marshal(text)
		if err != nil {
			t.Fatal(err)
		}
		var back Text
		if err := json.Unmarshal(data, &back); err != nil || !reflect.DeepEqual(back, text) {
			t.Errorf("%q: %s came back as %#v (%v)", english, data, back, err)
		}
	}
}

// What another version of the program wrote is an error, and not another sentence.
func TestTextFromElsewhere(t *testing.T) {
	for _, s := range []string{`"Free to move."`, `{"Form": "a %d", "Args": [1.5]}`, `{"Form": "a", "Args": [{"Form": 3}]}`, `{"Form": "a %s", "Args": [null]}`, `[]`} {
		var back Text
		if err := json.Unmarshal([]byte(s), &back); err == nil {
			t.Errorf("%s was read as %#v", s, back)
		}
	}
}
