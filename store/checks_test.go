package store

import (
	"fmt"
	"path/filepath"
	"reflect"
	"testing"
	"time"

	"stillbench/session"
)

// TestChecksComeBack: a verdict comes back as it went in, places of exactly 0 among it, and
// of one stack the newest few are kept.
func TestChecksComeBack(t *testing.T) {
	s := newLog(t)
	zero, one, depth := 0.0, 1.0, 0.4
	c := &session.Check{
		Verdict: session.VerdictGap, Sure: true, Headline: session.Say("Fill in."), NearEnd: session.EndClosed, FarEnd: session.EndOpen,
		Frames: []session.FrameCheck{
			{Fingerprint: "a", Place: &zero, Near: &zero, Far: &zero, Scale: 1, Aligned: true},
			{Fingerprint: "b", Place: &one, Blurred: true, BlurPixels: 3.25, Shift: [2]float64{1, -2}},
		},
		Gaps: []session.Gap{{After: "a", Before: "b", From: 0.2, To: 0.7, DepthMM: &depth}},
		MapW: 2, MapH: 2, NeverSharp: []byte{0, 1, 1, 0}, NeverSharpShare: 0.5,
	}
	if err := s.SaveCheck(t.Context(), "a", "key", c); err != nil {
		t.Fatal(err)
	}
	if got, err := s.Check(t.Context(), "key"); err != nil || !reflect.DeepEqual(got, c) {
		t.Errorf("came back as %+v, %v", got, err)
	}
	if got, err := s.Check(t.Context(), "no such key"); got != nil || err != nil {
		t.Errorf("a key that is not there: %v, %v", got, err)
	}
	other := &session.Check{Verdict: session.VerdictCovered}
	for i := range keptChecks {
		if err := s.SaveCheck(t.Context(), "a", fmt.Sprint("later ", i), other); err != nil {
			t.Fatal(err)
		}
	}
	if got, _ := s.Check(t.Context(), "key"); got != nil {
		t.Error("the oldest verdict of the stack is still there")
	}
	if got, _ := s.Check(t.Context(), "later 0"); got == nil || got.Verdict != session.VerdictCovered {
		t.Errorf("a newer one: %v", got)
	}
}

// TestMigrateOldFigures: a figures file from before verdicts were kept takes them in.
func TestMigrateOldFigures(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	old := figuresKind
	old.migrations = old.migrations[:1]
	d, err := openDatabase(t.Context(), figuresPath(path), old, time.Second)
	if err != nil {
		t.Fatal(err)
	}
	if _, err := d.write.Exec(`INSERT INTO figures (fingerprint, version, figures) VALUES ('a', 1, x'00')`); err != nil {
		t.Fatal(err)
	}
	if err := d.close(); err != nil {
		t.Fatal(err)
	}
	s := openLog(t, path)
	if err := s.SaveCheck(t.Context(), "a", "key", &session.Check{Verdict: session.VerdictCovered}); err != nil {
		t.Fatal(err)
	}
	if n := count(t, s.figures.write, `SELECT count(*) FROM figures`); n != 1 {
		t.Errorf("%d of 1 figures are left", n)
	}
}
