package app

import (
	"slices"
	"testing"

	"stillbench/app/place/placetest"
	"stillbench/app/sound"
	"stillbench/session"
)

// TestTonesSayWhatIsNew: off until asked for; then a tone for each verdict that asks for something
// or sets free, once; none while the far end is still open, as it is in every stack that grows, and
// none of a session that was left like that.
func TestTonesSayWhatIsNew(t *testing.T) {
	w := opened(t, placetest.NewSession().Marker().Stack(4))
	judge := func(verdict session.Verdict, headline string) {
		w.desk.Put(&placetest.NewSession().Marker().Stack(4).Check(verdict, headline, "").S)
		w.settle()
		w.settle() // takes in what the tone left
	}
	judge(session.VerdictGap, "Gap after 2.")
	if len(w.played) > 0 {
		t.Fatalf("heard %v with the sound off", w.played)
	}
	w.soundOrNot()
	w.settle()
	w.settle()
	w.says("Sound is on")
	w.played = nil
	for _, v := range []struct {
		verdict  session.Verdict
		headline string
		want     []sound.Tone
	}{
		{session.VerdictFarOpen, "Go on.", nil},
		{session.VerdictBlurred, "Frame 3 is blurred.", []sound.Tone{sound.ShootAgain}},
		{session.VerdictBlurred, "Frame 3 is blurred.", nil},
		{session.VerdictGap, "Gap after 2.", []sound.Tone{sound.ShootAgain}},
		{session.VerdictCovered, "Free to move.", []sound.Tone{sound.FreeToMove}},
		{session.VerdictUndecided, "It cannot be told.", nil},
	} {
		w.played = nil
		judge(v.verdict, v.headline)
		if !slices.Equal(w.played, v.want) {
			t.Errorf("%s: heard %v, want %v", v.headline, w.played, v.want)
		}
	}
	w.soundOrNot()
	w.played = nil
	judge(session.VerdictGap, "Gap after 3.")
	if len(w.played) > 0 {
		t.Error("heard with the sound off again")
	}
}
