package store

import (
	"errors"
	"fmt"
	"math"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"stillbench/session"
)

// TestTemplates: a setup kept under a name comes back as it was, to be logged anew.
func TestTemplates(t *testing.T) {
	inEachKind(t, func(t *testing.T, s *Store) {
		clock := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
		s.Now = func() time.Time { clock = clock.Add(time.Minute); return clock }
		id := newSession(t, s, "/p")
		v := logSetup(t, s, id, session.Setup{Subject: "bark", Notes: "wet", Tags: []string{"a"}, Magnification: ptr(1.5), AfterFrame: "fp",
			Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 100, ElevationDeg: 10, DistanceCM: ptr(30.0), Modifier: "grid"}}})
		if _, err := s.SaveTemplate(t.Context(), " raking \n", v); err != nil {
			t.Fatal(err)
		}
		if _, err := s.SaveTemplate(t.Context(), "backlit", session.Setup{Subject: "leaf"}); err != nil {
			t.Fatal(err)
		}
		v.Notes = "dry"
		again, err := s.SaveTemplate(t.Context(), "raking", v)
		if err != nil {
			t.Fatal(err)
		}
		list, err := s.Templates(t.Context())
		if err != nil || len(list) != 2 || list[0].Name != "backlit" || list[1].Name != "raking" || list[1].ID != again.ID || !list[1].Used.IsZero() {
			t.Fatalf("%+v, %v", list, err)
		}
		got, err := s.UseTemplate(t.Context(), again.ID)
		if err != nil {
			t.Fatal(err)
		}
		want := v
		want.ID, want.SessionID, want.AfterFrame, want.Logged, got.Logged = 0, 0, "", time.Time{}, time.Time{}
		if !reflect.DeepEqual(got, want) {
			t.Errorf("used:\n%+v\nwant\n%+v", got, want)
		}
		if list, err = s.Templates(t.Context()); err != nil || list[1].Used.IsZero() {
			t.Errorf("not noted as used: %+v, %v", list, err)
		}
		if err := s.DeleteTemplate(t.Context(), again.ID); err != nil {
			t.Error(err)
		}
		if _, err := s.UseTemplate(t.Context(), again.ID); !errors.Is(err, session.ErrNotFound) {
			t.Errorf("a template that is gone: %v", err)
		}
		if err := s.DeleteTemplate(t.Context(), again.ID); !errors.Is(err, session.ErrNotFound) {
			t.Errorf("deleted twice: %v", err)
		}
		for name, bad := range map[string]session.Setup{
			"  ": {}, strings.Repeat("x", 300): {}, "angle": {Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 400}}},
		} {
			if _, err := s.SaveTemplate(t.Context(), name, bad); !errors.Is(err, session.ErrInvalid) {
				t.Errorf("%.10q is kept: %v", name, err)
			}
		}
	})
}

// TestSearchesAreKept: those with a name until they are deleted, the others the last twenty,
// where what was typed on counts as one.
func TestSearchesAreKept(t *testing.T) {
	s := newLog(t)
	note := func(q session.SetupQuery) {
		t.Helper()
		if err := s.NoteSearch(t.Context(), q); err != nil {
			t.Fatal(err)
		}
	}
	recent := func() (out []string) {
		t.Helper()
		list, err := s.RecentSearches(t.Context())
		if err != nil {
			t.Fatal(err)
		}
		for _, k := range list {
			out = append(out, k.Query.Words)
		}
		return out
	}
	for _, words := range []string{"", "  ", "p", "pine", "pine cone ", "seed", "pine cone"} {
		note(session.SetupQuery{Words: words, Limit: 7, Offset: 3})
	}
	if got := recent(); !slices.Equal(got, []string{"pine cone", "seed"}) {
		t.Errorf("%q", got)
	}
	left := []session.Side{session.SideLeft}
	note(session.SetupQuery{Words: "pine cone", Sides: left}) // another question
	if got := recent(); !slices.Equal(got, []string{"pine cone", "pine cone", "seed"}) {
		t.Errorf("%q", got)
	}
	whole := session.SetupQuery{
		Words: `"x" שלום`, Cells: []session.Cell{{Side: session.SideBack, Height: session.HeightLow}}, Sides: left, Heights: session.Heights,
		Kinds: session.LightKinds, Modifiers: []string{"grid"}, MainLight: true, ApertureMin: 1, ApertureMax: 2, ShutterMin: 3, ShutterMax: 4,
		MagnificationMin: 5, MagnificationMax: 6, Since: time.Date(2026, 1, 1, 0, 0, 0, 0, time.UTC), Until: time.Date(2026, 2, 1, 0, 0, 0, 0, time.UTC),
		Blended: true, Order: session.OrderOldest,
	}
	k, err := s.KeepSearch(t.Context(), "everything", whole)
	if err != nil {
		t.Fatal(err)
	}
	if list, err := s.KeptSearches(t.Context()); err != nil || len(list) != 1 || list[0].Name != "everything" || !reflect.DeepEqual(list[0].Query, whole) {
		t.Errorf("%+v, %v\nwant %+v", list, err, whole)
	}
	if again, err := s.KeepSearch(t.Context(), "everything", session.SetupQuery{}); err != nil || again.ID != k.ID {
		t.Errorf("kept under the same name: %+v, %v", again, err)
	}
	if err := s.DeleteSearch(t.Context(), k.ID); err != nil {
		t.Error(err)
	}
	if list, err := s.KeptSearches(t.Context()); err != nil || len(list) != 0 {
		t.Errorf("%+v, %v", list, err)
	}
	for i := range 30 {
		note(session.SetupQuery{Words: fmt.Sprint(i, " x")})
	}
	if got := recent(); len(got) != keptRecent || got[0] != "29 x" || got[keptRecent-1] != "10 x" {
		t.Errorf("%q", got)
	}
	if _, err := s.KeepSearch(t.Context(), "", whole); !errors.Is(err, session.ErrInvalid) {
		t.Errorf("without a name: %v", err)
	}
	if err := s.NoteSearch(t.Context(), session.SetupQuery{ApertureMax: math.NaN()}); err == nil {
		t.Error("what JSON cannot hold is remembered")
	}
}

// TestTypedBefore: often and lately come first, and a word may begin anywhere in the text.
func TestTypedBefore(t *testing.T) {
	s := newLog(t)
	now := time.Date(2026, 7, 1, 12, 0, 0, 0, time.UTC)
	s.Now = func() time.Time { return now }
	id := newSession(t, s, "/p")
	on := func(daysAgo int, v session.Setup) {
		v.Logged = now.AddDate(0, 0, -daysAgo)
		logSetup(t, s, id, v)
	}
	led := session.Light{Kind: session.LightLED, Modifier: "Diffuser", Power: "40 W"}
	for range 4 {
		on(400, session.Setup{Subject: "Quartz crystal"}) // often, long ago: weighs under a quarter
	}
	on(1, session.Setup{Subject: "pine cone", Background: "slate", Tags: []string{"dry", "wet"}, Lights: []session.Light{led, led}})
	on(2, session.Setup{Subject: "pine cone", Support: "clay", Lens: "Invented 100 mm", Tags: []string{"wet"}})
	on(3, session.Setup{Subject: "PINE CÖNE"}) // the same, written otherwise
	on(4, session.Setup{Subject: "crystal of salt"})
	on(5, session.Setup{Subject: " "})
	for _, c := range []struct {
		field session.SetupField
		typed string
		want  []string
	}{
		{session.FieldSubject, "", []string{"pine cone", "crystal of salt", "Quartz crystal"}},
		{session.FieldSubject, "cry", []string{"crystal of salt", "Quartz crystal"}},
		{session.FieldSubject, "CRY qu", []string{"Quartz crystal"}},
		{session.FieldSubject, "cone", []string{"pine cone"}},
		{session.FieldSubject, "ne", nil},
		{session.FieldSubject, `"; --`, []string{"pine cone", "crystal of salt", "Quartz crystal"}},
		{session.FieldBackground, "s", []string{"slate"}},
		{session.FieldSupport, "", []string{"clay"}},
		{session.FieldLens, "100", []string{"Invented 100 mm"}},
		{session.FieldTag, "", []string{"wet", "dry"}},
		{session.FieldModifier, "diff", []string{"Diffuser"}},
		{session.FieldPower, "4", []string{"40 W"}},
	} {
		got, err := s.TypedBefore(t.Context(), c.field, c.typed, 0)
		if err != nil || !slices.Equal(got, c.want) {
			t.Errorf("%s %q: %q, %v; want %q", c.field, c.typed, got, err, c.want)
		}
	}
	if got, err := s.TypedBefore(t.Context(), session.FieldSubject, "", 1); err != nil || len(got) != 1 {
		t.Errorf("%q, %v", got, err)
	}
	if _, err := s.TypedBefore(t.Context(), "weather", "", 0); !errors.Is(err, session.ErrInvalid) {
		t.Errorf("%v", err)
	}
}

// TestSubjectOverDays: everything shot of a subject, in whatever session, in time order, with
// the setup it was shot under and what it was blended into.
func TestSubjectOverDays(t *testing.T) {
	s := newLog(t)
	day := func(d int) time.Time { return time.Date(2026, 5, d, 10, 0, 0, 0, time.UTC) }
	shoot := func(dir string, d int, subject string, kinds ...session.Kind) int64 {
		id := newSession(t, s, dir)
		v := logSetup(t, s, id, session.Setup{Subject: subject, Logged: day(d)})
		var groups []session.Group
		for i, k := range kinds {
			g := session.Group{ID: int64(i + 1), Kind: k, SetupID: v.ID}
			for j := range 3 {
				f := frame(100*d+10*i+j, 8, day(d).Add(time.Duration(10*i+j)*time.Minute))
				f.SetAside = j == 0 && k == session.KindStack
				save(t, s, id, f)
				g.Frames = append(g.Frames, f.Fingerprint)
			}
			groups = append(groups, g)
		}
		if err := s.SaveGroups(t.Context(), id, groups); err != nil {
			t.Fatal(err)
		}
		return id
	}
	shoot("/c", 9, "seed pod", session.KindSingle)
	shoot("/a", 2, "Pine  cone", session.KindTest, session.KindMarker, session.KindStack)
	shoot("/b", 5, "pine-CÖNE, scales open", session.KindStack)
	if err := s.RecordBlend(t.Context(), []string{"fp0221", "fp0222"}, "/blends/one.tif", day(3)); err != nil {
		t.Fatal(err)
	}
	shots, err := s.SubjectOverDays(t.Context(), "pine cone!, wet")
	if err != nil || len(shots) != 3 {
		t.Fatalf("%+v, %v", shots, err)
	}
	for i, want := range []struct {
		dir    string
		kind   session.Kind
		frames []string
		cover  string
		blends int
	}{
		{"/a", session.KindTest, []string{"A0200.JPG", "A0201.JPG", "A0202.JPG"}, "A0202.JPG", 0},
		{"/a", session.KindStack, []string{"A0221.JPG", "A0222.JPG"}, "A0222.JPG", 1},
		{"/b", session.KindStack, []string{"A0501.JPG", "A0502.JPG"}, "A0502.JPG", 0},
	} {
		got := shots[i]
		if got.Dir != want.dir || got.Kind != want.kind || !slices.Equal(got.Frames, want.frames) || got.Cover != want.cover || len(got.Blends) != want.blends ||
			got.Setup.ID == 0 || i > 0 && got.Taken.Before(shots[i-1].Taken) {
			t.Errorf("shot %d: %+v, want %+v", i, got, want)
		}
	}
	for _, none := range []string{"", " - ", "pine", "cone pine"} {
		if shots, err := s.SubjectOverDays(t.Context(), none); err != nil || len(shots) != 0 {
			t.Errorf("%q: %+v, %v", none, shots, err)
		}
	}
}

// TestBlends: a blend follows its stack's first frame, however the groups are numbered later.
func TestBlends(t *testing.T) {
	s := newLog(t)
	id := newSession(t, s, "/p")
	day := time.Date(2026, 5, 2, 10, 0, 0, 0, time.UTC)
	v := logSetup(t, s, id, session.Setup{Subject: "cone"})
	for i := range 6 {
		save(t, s, id, frame(i, 8, day))
	}
	group := func(id int64, setup int64, frames ...string) session.Group {
		return session.Group{ID: id, Kind: session.KindStack, SetupID: setup, Frames: frames}
	}
	set := func(groups ...session.Group) {
		t.Helper()
		if err := s.SaveGroups(t.Context(), id, groups); err != nil {
			t.Fatal(err)
		}
	}
	blended := func(want int) {
		t.Helper()
		r := find(t, s, session.SetupQuery{Blended: true})
		if n := len(r.Setups); n != min(want, 1) || n == 1 && r.Setups[0].Blended != want {
			t.Errorf("%+v, want %d blended", r.Setups, want)
		}
		derived(t, s)
	}
	set(group(1, v.ID, "fp0000", "fp0001", "fp0002"), group(2, v.ID, "fp0003", "fp0004", "fp0005"))
	blended(0)
	for _, file := range []string{"/b/one.tif", "/b/one.tif", "/b/two.tif"} {
		if err := s.RecordBlend(t.Context(), []string{"fp0004", "fp0005"}, file, day); err != nil {
			t.Fatal(err)
		}
	}
	blended(1)
	set(group(1, v.ID, "fp0000", "fp0001"), group(7, v.ID, "fp0002"), group(9, v.ID, "fp0003", "fp0004", "fp0005"))
	blended(1)
	got, err := s.Blends(t.Context(), id)
	if err != nil || len(got) != 1 || len(got[9]) != 2 || got[9][0].File != "/b/one.tif" || !got[9][0].Made.Equal(day) {
		t.Errorf("%+v, %v", got, err)
	}
	set(group(1, v.ID, "fp0000", "fp0001"), group(7, v.ID, "fp0002"), group(9, 0, "fp0003", "fp0004", "fp0005"))
	blended(0)
	// What is not of one stack, or not known at all, is of none.
	for _, frames := range [][]string{{"fp0001", "fp0003"}, {"fp0003", "unknown"}, {"fp0002", "fp0003", "fp0003"}, nil} {
		if err := s.RecordBlend(t.Context(), frames, "/b/three.tif", day); err != nil {
			t.Error(err)
		}
	}
	if again, err := s.Blends(t.Context(), id); err != nil || !reflect.DeepEqual(again, got) {
		t.Errorf("%+v, %v", again, err)
	}
}
