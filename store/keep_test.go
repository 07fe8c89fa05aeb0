package store

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// TestSession: one folder is one session, whenever it is opened.
func TestSession(t *testing.T) {
	inEachKind(t, func(t *testing.T, s *Store) {
		a, err := s.OpenSession(t.Context(), "/pictures/a")
		if err != nil {
			t.Fatal(err)
		}
		b := newSession(t, s, "/pictures/b")
		again, err := s.OpenSession(t.Context(), "/pictures/a/")
		if err != nil {
			t.Fatal(err)
		}
		if a.ID == b || again.ID != a.ID || !again.Started.Equal(a.Started) || again.Dir != "/pictures/a" {
			t.Errorf("first %+v, other %d, again %+v", a, b, again)
		}
	})
}

// TestFrames: every field of a frame comes back as it went in, through a reopened file; the small
// pictures when they are asked for.
func TestFrames(t *testing.T) {
	path := filepath.Join(t.TempDir(), "setups.db")
	zone := time.FixedZone("", 2*3600)
	full := session.Frame{
		Name: "day 1/A0001.RAW", Pairs: []string{"day 1/A0001.JPG", "ünïcödé \"q\".JPG"}, Fingerprint: "aa",
		Size: 1 << 40, Modified: time.Date(2026, 5, 2, 10, 11, 12, 123456789, time.UTC), SetAside: true, Gone: true,
		Meta: session.Meta{
			Container: "arw", Make: "Invented", Model: "One", Lens: "100 mm", Serial: "7",
			Taken: time.Date(2026, 5, 2, 12, 11, 12, 340_000_000, zone), TakenHasOffset: true,
			FNumber: ptr(10.0), ShutterSeconds: ptr(1.0 / 6), ISO: ptr(100), ExposureBiasEV: ptr(0.0),
			FocalLengthMM: ptr(100.0), FocalLength35MM: ptr(100.0), FlashFired: ptr(false),
			FocusDistance: &session.FocusDistance{NearM: ptr(0.31), FarM: ptr(0.32), StepM: 0.01, Source: "Exif.SubjectDistance"},
			Orientation:   ptr(6), Width: ptr(8192), Height: ptr(5464), BracketShot: ptr(1),
			Preview: &session.Preview{Offset: 12, Length: 1 << 33, Width: 1620, Height: 1080},
		},
		Figures: &session.Figures{
			Version: session.FiguresVersion, SmallW: 2, SmallH: 1, Small: []byte{1, 2, 3, 4, 5, 6}, GreyW: 1, GreyH: 2, Grey: []byte{9, 8},
			Detail: []float64{0.5, math.Inf(1)}, SharpW: 1, SharpH: 1, Sharp: []float32{0.25}, NoiseSigma: 0.01, MeanEV: -3, Clipped: [3]float64{0, 0.5, 1},
		},
	}
	bare := session.Frame{Name: "b.jpg", Fingerprint: "bb"}
	s, err := Open(t.Context(), path)
	if err != nil {
		t.Fatal(err)
	}
	id := newSession(t, s, "/p")
	save(t, s, id, full, bare)
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}

	s = openLog(t, path)
	got, err := s.Frames(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if len(got) != 2 {
		t.Fatalf("%d frames", len(got))
	}
	for i, want := range []session.Frame{full, bare} {
		if got[i].ID == 0 {
			t.Error("a frame has no number")
		}
		got[i].ID = 0
		if !got[i].Meta.Taken.Equal(want.Meta.Taken) || !got[i].Modified.Equal(want.Modified) {
			t.Errorf("times %v, %v; want %v, %v", got[i].Meta.Taken, got[i].Modified, want.Meta.Taken, want.Modified)
		}
		_, gotOffset := got[i].Meta.Taken.Zone()
		if _, wantOffset := want.Meta.Taken.Zone(); gotOffset != wantOffset {
			t.Errorf("offset %d, want %d", gotOffset, wantOffset)
		}
		got[i].Meta.Taken, got[i].Modified = want.Meta.Taken, want.Modified
		whole, err := s.Figures(t.Context(), want.Fingerprint)
		if err != nil || !reflect.DeepEqual(whole, want.Figures) {
			t.Errorf("figures %+v, %v; want %+v", whole, err, want.Figures)
		}
		if want.Figures != nil {
			want.Figures = want.Figures.Slim()
		}
		if !reflect.DeepEqual(got[i], want) {
			t.Errorf("got  %+v\nwant %+v", got[i], want)
		}
	}

	// the same bytes in another session
	m, f, ok, err := s.Known(t.Context(), "aa")
	if err != nil || !ok || f == nil || m.Model != "One" || f.SmallW != 2 || f.Small != nil {
		t.Errorf("Known: %v %v %v %v", m, f, ok, err)
	}
	if _, f, ok, err = s.Known(t.Context(), "bb"); err != nil || !ok || f != nil {
		t.Errorf("Known without figures: %v %v %v", f, ok, err)
	}
	if _, _, ok, err = s.Known(t.Context(), "cc"); err != nil || ok {
		t.Errorf("Known of nothing: %v %v", ok, err)
	}

	// figures of another version are computed again, and then kept
	old := full
	oldFigures := *full.Figures
	oldFigures.Version++
	old.Fingerprint, old.Figures = "dd", &oldFigures
	save(t, s, id, old)
	if _, f, ok, err = s.Known(t.Context(), "dd"); err != nil || !ok || f != nil {
		t.Errorf("figures of another version: %v %v %v", f, ok, err)
	}
	old.Figures = full.Figures
	save(t, s, id, old)
	if _, f, _, _ = s.Known(t.Context(), "dd"); f == nil {
		t.Error("figures computed again are not kept")
	}

	// a frame saved again is the same frame
	bare.Name = "renamed.jpg"
	save(t, s, id, bare)
	if got, err = s.Frames(t.Context(), id); err != nil || len(got) != 3 || got[1].Name != "renamed.jpg" {
		t.Errorf("after a rename: %v, %v", got, err)
	}
}

// TestFramesOddMeta: what a broken camera writes does not keep a frame out of the log.
func TestFramesOddMeta(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	save(t, s, id, session.Frame{Name: "a", Fingerprint: "a", Meta: session.Meta{
		FNumber: ptr(math.Inf(1)), ShutterSeconds: ptr(math.NaN()), Taken: time.Date(20000, 1, 1, 0, 0, 0, 0, time.UTC),
		FocusDistance: &session.FocusDistance{NearM: ptr(math.Inf(1)), StepM: math.NaN()},
	}})
	got, err := s.Frames(t.Context(), id)
	if err != nil {
		t.Fatal(err)
	}
	if m := got[0].Meta; m.FNumber != nil || m.ShutterSeconds != nil || !m.Taken.IsZero() || m.FocusDistance.NearM != nil {
		t.Errorf("%+v", m)
	}
	if err := s.SaveFrames(t.Context(), id, []session.Frame{{Name: "no fingerprint"}}); !errors.Is(err, session.ErrInvalid) {
		t.Errorf("a frame without fingerprint: %v", err)
	}
}

// TestGroups: groups come back as they were saved, whatever they were before.
func TestGroups(t *testing.T) {
	inEachKind(t, func(t *testing.T, s *Store) {
		id := newSession(t, s, "/p")
		other := newSession(t, s, "/q")
		day := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
		for i := range 12 {
			save(t, s, id, frame(i, 8, day))
			save(t, s, other, frame(i, 8, day))
		}
		setup := logSetup(t, s, id, session.Setup{Subject: "pine cone"})
		otherGroups := []session.Group{{ID: 1, Kind: session.KindTest, Frames: []string{"fp0000"}}}
		if err := s.SaveGroups(t.Context(), other, otherGroups); err != nil {
			t.Fatal(err)
		}
		r := rand.New(rand.NewPCG(1, 2))
		kinds := []session.Kind{session.KindMarker, session.KindStack, session.KindSingle, session.KindTest}
		for round := range 40 {
			var want []session.Group
			ids := r.Perm(12)
			for n := 0; n < 12; {
				take := min(12-n, 1+r.IntN(5))
				g := session.Group{ID: int64(1 + ids[n]), Kind: kinds[r.IntN(4)], Confidence: r.Float64(), SetupID: setup.ID * int64(r.IntN(2))}
				for i := range take {
					g.Frames = append(g.Frames, fmt.Sprintf("fp%04d", n+i))
				}
				if n > 0 {
					g.Seam = &session.Seam{Confidence: r.Float64()}
					for i := range r.IntN(3) {
						g.Seam.Reasons = append(g.Seam.Reasons, session.Reason{Rule: session.RuleGap, Detail: session.Say(fmt.Sprint(i, " min pause"))})
					}
					g.Name, g.Question = "ridges", session.Say("One stack or two?")
				}
				want = append(want, g)
				n += take
			}
			if err := s.SaveGroups(t.Context(), id, want); err != nil {
				t.Fatalf("round %d: %v", round, err)
			}
			got, err := s.Groups(t.Context(), id)
			if err != nil || !reflect.DeepEqual(got, want) {
				t.Fatalf("round %d, %v:\ngot  %+v\nwant %+v", round, err, got, want)
			}
			stacks, frames := 0, 0
			for _, g := range want {
				if g.SetupID != 0 && g.Kind != session.KindMarker {
					frames += len(g.Frames)
					if g.Kind == session.KindStack {
						stacks++
					}
				}
			}
			if f := find(t, s, session.SetupQuery{}).Setups[0]; f.Stacks != stacks || f.Frames != frames {
				t.Fatalf("round %d: %d stacks of %d frames, want %d of %d", round, f.Stacks, f.Frames, stacks, frames)
			}
		}
		if got, err := s.Groups(t.Context(), other); err != nil || !reflect.DeepEqual(got, otherGroups) {
			t.Errorf("another session's groups changed: %+v, %v", got, err)
		}
		before, _ := s.Groups(t.Context(), id)
		for _, bad := range [][]session.Group{
			{{ID: 1, Kind: session.KindStack, Frames: []string{"not there"}}},
			{{ID: 1, Kind: session.KindStack, Frames: []string{"fp0000"}, SetupID: 999}},
			{{ID: 1, Kind: "heap", Frames: []string{"fp0000"}}},
			{{ID: 1, Kind: session.KindStack, Frames: []string{"fp0000", "fp0000"}}},
		} {
			if err := s.SaveGroups(t.Context(), id, bad); err == nil {
				t.Errorf("%+v was taken", bad)
			}
		}
		if got, _ := s.Groups(t.Context(), id); !reflect.DeepEqual(got, before) {
			t.Error("groups that were refused left something behind")
		}
	})
}

// TestSetup: every field of a setup comes back, through Setups and through the edit.
func TestSetup(t *testing.T) {
	inEachKind(t, func(t *testing.T, s *Store) {
		id := newSession(t, s, "/p")
		logged := time.Date(2026, 5, 2, 10, 0, 0, 0, time.FixedZone("", -5*3600))
		in := session.Setup{
			AfterFrame: "fp0001", Logged: logged, Subject: "pine cone", Background: "slate", Support: "clay", Lens: "100 mm",
			Notes: "line one\r\nline two\x00 'quotes\" שלום 🌰 e\u0301 -- ; DROP TABLE setups", Tags: []string{"wet", "", "a,b"}, Magnification: ptr(1.25),
			Lights: []session.Light{
				{Kind: session.LightLED, AzimuthDeg: 217.5, ElevationDeg: 60, DistanceCM: ptr(40.0), Modifier: "diffuser", Power: "40 W", ColourK: ptr(5600)},
				{Kind: session.LightFlag, ElevationDeg: -90},
			},
		}
		out := logSetup(t, s, id, in)
		if out.ID == 0 || out.SessionID != id {
			t.Errorf("numbers %d, %d", out.ID, out.SessionID)
		}
		check := func(what string, got session.Setup) {
			t.Helper()
			if !got.Logged.Equal(logged) {
				t.Errorf("%s: logged %v", what, got.Logged)
			}
			want := in
			want.ID, want.SessionID, want.Logged, got.Logged = out.ID, id, time.Time{}, time.Time{}
			if !reflect.DeepEqual(got, want) {
				t.Errorf("%s:\ngot  %+v\nwant %+v", what, got, want)
			}
		}
		check("edit", out)
		list, err := s.Setups(t.Context(), id)
		if err != nil || len(list) != 1 {
			t.Fatalf("%v, %v", list, err)
		}
		check("Setups", list[0])
		check("FindSetups", find(t, s, session.SetupQuery{}).Setups[0].Setup)
		edits, err := s.Edits(t.Context(), id)
		if err != nil || len(edits) != 1 {
			t.Fatalf("%v, %v", edits, err)
		}
		check("Edits", *edits[0].Setup)

		for _, bad := range []session.Edit{
			{Kind: session.EditSetup},
			{Kind: session.EditSetup, Setup: &session.Setup{Lights: []session.Light{lightAt(session.LightLED, 360, 0)}}},
			{Kind: session.EditSetup, Setup: &session.Setup{Magnification: ptr(math.NaN())}},
			{Kind: session.EditSetup, Setup: &session.Setup{Notes: strings.Repeat("x", session.MaxNotes+1)}},
		} {
			if _, err := s.AddEdit(t.Context(), id, bad); !errors.Is(err, session.ErrInvalid) {
				t.Errorf("%+v: %v", bad.Setup, err)
			}
		}
		if _, err := s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditSetup, Setup: &session.Setup{ID: 99}}); !errors.Is(err, session.ErrNotFound) {
			t.Errorf("a setup that is not there: %v", err)
		}
		if err := s.SetUndone(t.Context(), id, 99, true); !errors.Is(err, session.ErrNotFound) {
			t.Errorf("an edit that is not there: %v", err)
		}
		if n := count(t, s.log.write, `SELECT count(*) FROM edits`); n != 1 {
			t.Errorf("refused edits are kept: %d", n)
		}
	})
}

// TestUndoEverything: after any row of edits, undoing them one by one passes through every
// earlier state and ends at the first; doing them again comes back to the last.
func TestUndoEverything(t *testing.T) {
	type state struct {
		Setups []session.Setup
		Found  session.SetupResults
	}
	for seed := range uint64(8) {
		t.Run(fmt.Sprint("seed ", seed), func(t *testing.T) {
			s := newLog(t)
			id := newSession(t, s, "/p")
			r := rand.New(rand.NewPCG(seed, 99))
			look := func() state {
				setups, err := s.Setups(t.Context(), id)
				if err != nil {
					t.Fatal(err)
				}
				return state{setups, find(t, s, session.SetupQuery{Words: "cone"})}
			}
			states := []state{look()}
			var edits []session.Edit
			for len(edits) < 25 {
				e := session.Edit{Kind: session.EditSplit, Frame: "fp", Words: "split"}
				setups := states[len(states)-1].Setups
				switch n := r.IntN(4); {
				case n == 0:
					e = session.Edit{Kind: session.EditSetup, Setup: &session.Setup{Subject: "cone " + fmt.Sprint(r.IntN(9)), Tags: []string{"new"}}}
				case n < 3 && len(setups) > 0:
					v := setups[r.IntN(len(setups))]
					v.Notes = fmt.Sprint("note ", r.IntN(1000))
					v.Lights = append(append([]session.Light{}, v.Lights...), lightAt(session.LightLED, r.Float64()*359, 30))
					e = session.Edit{Kind: session.EditSetup, Setup: &v}
				}
				kept, err := s.AddEdit(t.Context(), id, e)
				if err != nil {
					t.Fatal(err)
				}
				edits = append(edits, kept)
				states = append(states, look())
			}
			for i := len(edits) - 1; i >= 0; i-- {
				if err := s.SetUndone(t.Context(), id, edits[i].ID, true); err != nil {
					t.Fatal(err)
				}
				if got := look(); !reflect.DeepEqual(got, states[i]) {
					t.Fatalf("undoing edit %d:\ngot  %+v\nwant %+v", i, got, states[i])
				}
			}
			for i := range edits {
				if err := s.SetUndone(t.Context(), id, edits[i].ID, false); err != nil {
					t.Fatal(err)
				}
				if got := look(); !reflect.DeepEqual(got, states[i+1]) {
					t.Fatalf("doing edit %d again:\ngot  %+v\nwant %+v", i, got, states[i+1])
				}
			}
			// a new edit drops what could have been done again, and its hidden setups
			for i := len(edits) - 1; i >= 0; i-- {
				if err := s.SetUndone(t.Context(), id, edits[i].ID, true); err != nil {
					t.Fatal(err)
				}
			}
			if _, err := s.AddEdit(t.Context(), id, session.Edit{Kind: session.EditMark, Frame: "fp"}); err != nil {
				t.Fatal(err)
			}
			left, err := s.Edits(t.Context(), id)
			if err != nil || len(left) != 1 || count(t, s.log.write, `SELECT count(*) FROM setups`) != 0 {
				t.Errorf("%d edits, %v, are left", len(left), err)
			}
		})
	}
}

// TestDrawnIsKept: a wanted area and a touch-up come back as they went in, also after an undo.
// The numbers are invented.
func TestDrawnIsKept(t *testing.T) {
	s := openLog(t, filepath.Join(t.TempDir(), "setups.db"))
	id := newSession(t, s, "/p")
	area := session.Area{{0.1, 0.2}, {0.9, 0.2}, {1.0 / 3, 1}}
	for _, e := range []session.Edit{
		{Kind: session.EditWanted, Frame: "a", Area: area},
		{Kind: session.EditWanted, Frame: "a"},
		{Kind: session.EditTouch, Frame: "a", Touch: &session.Touch{Area: area, From: "b", Soft: 0.01}},
	} {
		kept, err := s.AddEdit(t.Context(), id, e)
		if err != nil {
			t.Fatal(err)
		}
		if err := s.SetUndone(t.Context(), id, kept.ID, true); err != nil {
			t.Fatal(err)
		}
		if err := s.SetUndone(t.Context(), id, kept.ID, false); err != nil {
			t.Fatal(err)
		}
		all, err := s.Edits(t.Context(), id)
		if err != nil {
			t.Fatal(err)
		}
		if got := all[len(all)-1]; !reflect.DeepEqual(got.Area, e.Area) || !reflect.DeepEqual(got.Touch, e.Touch) {
			t.Errorf("%+v came back as %+v", e, got)
		}
	}
}
