package store

import (
	"fmt"
	"path/filepath"
	"sync"
	"testing"

	"stillbench/session"
)

// TestLogOpenTwice: a log that two windows have open takes what both log, from two sessions or
// in one, and each finds by words and by light what the other has just logged. The one that
// stays goes on when the other is closed.
func TestLogOpenTwice(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	one := openLog(t, path)
	two, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	find(t, one, session.SetupQuery{Words: "cone"}) // both keep what they search by from now on
	find(t, two, session.SetupQuery{Words: "cone"})
	const each = 25
	var wg sync.WaitGroup
	for i, s := range []*Store{one, two} {
		own := newSession(t, s, fmt.Sprintf("/pictures/%d", i))
		shared := newSession(t, s, "/pictures/shared")
		wg.Go(func() {
			for n := range each {
				for _, id := range []int64{own, shared} {
					v := session.Setup{Subject: "pine cone", Notes: fmt.Sprintf("window%d note%d", i, n), Lights: []session.Light{lightAt(session.LightLED, 135, 60)}}
					if _, err := s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditSetup, Setup: &v}); err != nil {
						t.Error(err)
					}
				}
			}
		})
	}
	wg.Wait()
	light := session.Cell{Side: session.SideBackRight, Height: session.HeightHigh}
	for i, s := range []*Store{one, two} {
		r := find(t, s, session.SetupQuery{Words: "cone", Cells: []session.Cell{light}})
		if r.Total != 4*each || r.Wheel[light] != 4*each {
			t.Errorf("window %d finds %d, counts %d, of %d", i, r.Total, r.Wheel[light], 4*each)
		}
		if r := find(t, s, session.SetupQuery{Words: fmt.Sprintf("window%d note7", 1-i)}); r.Total != 2 {
			t.Errorf("window %d finds %d that the other logged", i, r.Total)
		}
	}
	if err := two.Close(); err != nil {
		t.Fatal(err)
	}
	logSetup(t, one, newSession(t, one, "/pictures/0"), session.Setup{Subject: "afterwards"})
	if r := find(t, one, session.SetupQuery{Words: "afterwards"}); r.Total != 1 {
		t.Error("what was logged when the other was closed is not found")
	}
}
