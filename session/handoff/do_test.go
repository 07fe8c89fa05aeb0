package handoff

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillbench/session"
)

var taken0 = time.Date(2026, 5, 16, 10, 0, 0, 0, time.UTC)

// bench is an invented session on disk: two stacks, a marker and a single, of files that
// only need bytes. The second frame has a RAW, a JPEG and a sidecar; the third is set aside.
func bench(t *testing.T) Session {
	t.Helper()
	dir := filepath.Join(t.TempDir(), "table")
	s := Session{Dir: dir, Checks: map[int64]*session.Check{}, Setups: []session.Setup{{
		ID: 9, Subject: "pine cone", Notes: "<&> \"ä\"", Tags: []string{"cone"},
		Lights: []session.Light{{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 60, DistanceCM: ptr(40.0), Modifier: "diffuser"}},
	}}}
	add := func(id int64, kind session.Kind, names ...string) {
		g := session.Group{ID: id, Kind: kind, SetupID: 9}
		for _, name := range names {
			files := strings.Split(name, "+")
			i := len(s.Frames)
			f := session.Frame{Name: files[0], Pairs: files[1:], Fingerprint: fmt.Sprint("fp", i)}
			f.Meta = session.Meta{Make: "Vellmar", Model: "TX-2", Taken: taken0.Add(time.Duration(i) * time.Second), FNumber: ptr(10.0), ShutterSeconds: ptr(1.0 / 6), ISO: ptr(100)}
			for _, n := range files {
				put(t, filepath.Join(dir, n), strings.Repeat(n+" is a frame\n", 1000+i))
			}
			g.Frames = append(g.Frames, f.Fingerprint)
			s.Frames = append(s.Frames, f)
		}
		s.Groups = append(s.Groups, g)
	}
	add(1, session.KindMarker, "A0001.JPG")
	add(2, session.KindStack, "A0002.JPG", "A0003.NEF+A0003.JPG", "A0004.JPG")
	add(3, session.KindSingle, "A0005.JPG")
	add(4, session.KindStack, "sub/A0002.JPG", "A0006.JPG", "B/A0006.JPG")
	s.Frames[3].SetAside = true
	put(t, filepath.Join(dir, "A0003.xmp"), ownXMP)
	s.Checks[2] = &session.Check{Verdict: session.VerdictCovered, Frames: []session.FrameCheck{
		{Fingerprint: "fp1", Place: ptr(0.0), Near: ptr(-0.2), Far: ptr(0.6), Aligned: true, Scale: 1},
		{Fingerprint: "fp2", Place: ptr(1.0), Near: ptr(0.5), Far: ptr(1.2), Aligned: true, Shift: [2]float64{3, -4}, Scale: 1.01, TurnDegrees: 0.5},
	}}
	return s
}

// ownXMP is a sidecar by another program, invented, with what none of ours knows.
const ownXMP = `<x:xmpmeta xmlns:x="adobe:ns:meta/"><rdf:RDF xmlns:rdf="http://www.w3.org/1999/02/22-rdf-syntax-ns#">
<rdf:Description rdf:about="" xmlns:dc="http://purl.org/dc/elements/1.1/" xmlns:xmp="http://ns.adobe.com/xap/1.0/" xmlns:own="http://example.org/own/" xmp:Rating='4' own:Dial="7">
 <dc:title><rdf:Alt><rdf:li xml:lang="x-default">mine</rdf:li></rdf:Alt></dc:title>
 <dc:subject><rdf:Bag><rdf:li>kept &amp; known</rdf:li></rdf:Bag></dc:subject>
 <own:Steps>  <!-- not touched --> 1,2 </own:Steps></rdf:Description></rdf:RDF></x:xmpmeta>
`

func put(t *testing.T, path, content string) {
	t.Helper()
	if err := errors.Join(os.MkdirAll(filepath.Dir(path), 0o777), os.WriteFile(path, []byte(content), 0o666)); err != nil {
		t.Fatal(err)
	}
	old := taken0.Add(time.Duration(len(content)) * time.Millisecond)
	if err := os.Chtimes(path, old, old); err != nil {
		t.Fatal(err)
	}
}

// look gives the files below a folder, each with its bytes and time; ours are left out.
func look(t *testing.T, dir string) map[string]string {
	t.Helper()
	out := map[string]string{}
	err := filepath.WalkDir(dir, func(p string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() || e.Name() == ManifestName {
			return err
		}
		data, err := os.ReadFile(p)
		if err != nil {
			return err
		}
		st, err := os.Stat(p)
		rel, _ := filepath.Rel(dir, p)
		out[filepath.ToSlash(rel)] = st.ModTime().UTC().String() + string(data)
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return out
}

func namesOf(m map[string]string) []string { return slices.Sorted(maps.Keys(m)) }

func handOn(t *testing.T, s Session, out string, o Options) Result {
	t.Helper()
	r, err := try(t, s, out, o)
	if err != nil {
		t.Fatalf("%v (%s)", err, r.Sentence)
	}
	return r
}

func try(t *testing.T, s Session, out string, o Options) (Result, error) {
	t.Helper()
	p, err := NewPlan(context.Background(), s, out, o)
	if err != nil {
		t.Fatal(err)
	}
	return Do(context.Background(), p, nil)
}

var wantFolders = []string{
	"2026-05-16 01 pine cone f10/A0002.JPG", "2026-05-16 01 pine cone f10/A0003.JPG", "2026-05-16 01 pine cone f10/A0003.NEF",
	"2026-05-16 01 pine cone f10/A0003.xmp", "2026-05-16 01 pine cone f10/set aside/A0004.JPG",
	"2026-05-16 02 pine cone f10/A0002.JPG", "2026-05-16 02 pine cone f10/A0006 (2).JPG", "2026-05-16 02 pine cone f10/A0006.JPG",
}

// TestWays: however files come there, each has its bytes and its time, RAW, JPEG and sidecar
// stand together, two frames of one name stay apart, and the session is as it was (but for a
// move, which Undo puts back). The whole is free of leftovers.
func TestWays(t *testing.T) {
	for _, as := range Hows {
		t.Run(string(as), func(t *testing.T) {
			s, out := bench(t), filepath.Join(t.TempDir(), "deep", "out")
			before := look(t, s.Dir)
			r, err := try(t, s, out, Options{As: as})
			if as == RefLink && err != nil {
				if len(look(t, out)) != 0 || !strings.Contains(r.Sentence.String(), "shares no blocks") {
					t.Errorf("after a failure: %q", r.Sentence)
				}
				r, err = try(t, s, out, Options{As: as, CopyInstead: true})
			}
			if err != nil || len(r.Problems) > 0 || r.Files != 8 {
				t.Fatalf("%+v, %v", r, err)
			}
			got := look(t, out)
			if !slices.Equal(namesOf(got), wantFolders) {
				t.Errorf("%q", namesOf(got))
			}
			for to, from := range map[string]string{wantFolders[2]: "A0003.NEF", wantFolders[5]: "sub/A0002.JPG", wantFolders[6]: "B/A0006.JPG", wantFolders[4]: "A0004.JPG"} {
				if got[to] != before[from] {
					t.Errorf("%s is not %s", to, from)
				}
			}
			if as == Move {
				if left := namesOf(look(t, s.Dir)); !slices.Equal(left, []string{"A0001.JPG", "A0005.JPG"}) {
					t.Errorf("still there: %q", left)
				}
				if r, err := Undo(context.Background(), out, nil); err != nil || r.Files != 8 || len(r.Problems) > 0 {
					t.Errorf("undo: %+v, %v", r, err)
				}
				if len(look(t, out)) != 0 {
					t.Errorf("after the undo: %q", namesOf(look(t, out)))
				}
			}
			if !maps.Equal(look(t, s.Dir), before) {
				t.Error("the session is not as it was")
			}
			if as != Move { // again: nothing to do
				if r := handOn(t, s, out, Options{As: as}); r.Files != 0 || len(r.Stacks) != 2 || !maps.Equal(look(t, out), got) {
					t.Errorf("a second time: %+v", r)
				}
			}
			m, err := ReadManifest(out)
			if err != nil || len(m.Stacks) != 2 {
				t.Fatal(err)
			}
			for _, f := range m.Stacks[0].Files {
				if (f.SHA256 != nil) != (f.As == Copy) {
					t.Errorf("%s by %s has the hash %v", f.To, f.As, f.SHA256)
				}
			}
		})
	}
}

// TestGrows: frames that came later join their stack's folder; a folder of somebody else's by
// the same name stays untouched.
func TestGrows(t *testing.T) {
	s, out := bench(t), t.TempDir()
	put(t, filepath.Join(out, "2026-05-16 01 PINE cone f10", "theirs.txt"), "x")
	put(t, filepath.Join(out, "contact sheet.pdf"), "theirs")
	later := s.Frames[2]
	s.Frames[2].Name, s.Frames[2].Pairs = "A0003.JPG", nil
	handOn(t, s, out, Options{Sidecars: true})
	s.Frames[2] = later // the RAW of a JPEG
	r := handOn(t, s, out, Options{Sidecars: true, Sheet: true})
	if r.Files != 1 || r.Sheet != "contact sheet (2).pdf" {
		t.Errorf("%+v", r)
	}
	got := look(t, out)
	for _, want := range []string{"2026-05-16 01 PINE cone f10/theirs.txt", "2026-05-16 01 pine cone f10 (2)/A0003.NEF", "2026-05-16 01 pine cone f10 (2)/A0003.JPG", "2026-05-16 01 pine cone f10 (2)/A0003.xmp"} {
		if _, ok := got[want]; !ok {
			t.Errorf("%s is missing in %q", want, namesOf(got))
		}
	}
}

// TestRefused: what would read in or hide the session, or is no folder.
func TestRefused(t *testing.T) {
	s := bench(t)
	put(t, filepath.Join(t.TempDir(), "file"), "x")
	link := filepath.Join(t.TempDir(), "link")
	if err := os.Symlink(s.Dir, link); err != nil {
		t.Fatal(err)
	}
	for _, out := range []string{s.Dir, filepath.Dir(s.Dir), filepath.Join(s.Dir, "sub"), link, filepath.Join(s.Dir, "A0001.JPG")} {
		if _, err := NewPlan(context.Background(), s, out, Options{}); !errors.Is(err, session.ErrInvalid) {
			t.Errorf("%s: %v", out, err)
		}
	}
	if _, err := NewPlan(context.Background(), s, filepath.Join(s.Dir, "out"), Options{}); err != nil {
		t.Error(err)
	}
	foreign := t.TempDir()
	for _, content := range []string{"{}", "x", `{"format":"stillbench handoff 1","stacks":[{"folder":"../../etc"}]}`} {
		put(t, filepath.Join(foreign, ManifestName), content)
		if _, err := NewPlan(context.Background(), s, foreign, Options{}); !errors.Is(err, ErrForeign) {
			t.Errorf("%s: %v", content, err)
		}
	}
}

// TestVanished: a frame that is gone or changed between plan and deed costs its stack, which
// stays where it was, and no other; the sentence says so.
func TestVanished(t *testing.T) {
	for _, as := range []How{Copy, Move, HardLink} {
		s, out := bench(t), t.TempDir()
		p, err := NewPlan(context.Background(), s, out, Options{As: as, Sidecars: true})
		if err != nil {
			t.Fatal(err)
		}
		os.Remove(filepath.Join(s.Dir, "A0004.JPG"))
		before := look(t, s.Dir)
		r, err := Do(context.Background(), p, nil)
		if err != nil || len(r.Stacks) != 1 || len(r.Problems) != 1 || !strings.Contains(r.Problems[0].Sentence.String(), "A0004.JPG is gone") {
			t.Fatalf("%+v, %v", r, err)
		}
		after := look(t, s.Dir)
		for _, name := range []string{"A0002.JPG", "A0003.NEF", "A0003.JPG", "A0003.xmp"} {
			if after[name] != before[name] {
				t.Errorf("%s: %s is not as it was", as, name)
			}
		}
		for name := range look(t, out) {
			if !strings.HasPrefix(name, "2026-05-16 02 ") {
				t.Errorf("%s: %s is left", as, name)
			}
		}
		s.Frames[3].Gone = true // and once the session knows, the rest of the stack goes on
		if r := handOn(t, s, out, Options{As: as, Sidecars: true}); len(r.Stacks) < 1 || len(r.Problems) > 0 || r.Files < 3 {
			t.Errorf("%s: the second time: %+v", as, r)
		}
	}
}

// TestStopped: stopped at any moment, the stack at work is back where it was, and the next run
// makes the rest.
func TestStopped(t *testing.T) {
	for _, as := range []How{Copy, Move} {
		for after := range 9 {
			s, out := bench(t), t.TempDir()
			whole := look(t, s.Dir)
			p, err := NewPlan(context.Background(), s, out, Options{As: as})
			if err != nil {
				t.Fatal(err)
			}
			ctx, cancel := context.WithCancel(context.Background())
			n := 0
			r, err := Do(ctx, p, func(int, int) {
				if n++; n > after {
					cancel()
				}
			})
			cancel()
			files := look(t, out)
			if err == nil {
				continue // stopped too late
			}
			if !errors.Is(err, context.Canceled) || !strings.HasPrefix(r.Sentence.String(), "It was stopped. ") {
				t.Errorf("%v: %s", err, r.Sentence)
			}
			for name := range files {
				if !slices.ContainsFunc(r.Stacks, func(k Folder) bool { return strings.HasPrefix(name, k.Folder+"/") }) {
					t.Errorf("%s: %s is left", as, name)
				}
			}
			if as == Move {
				Undo(context.Background(), out, nil)
				if !maps.Equal(look(t, s.Dir), whole) {
					t.Errorf("move stopped after %d: the session is not as it was", after)
				}
				continue
			}
			handOn(t, s, out, Options{As: as})
			if got := namesOf(look(t, out)); !slices.Equal(got, wantFolders) {
				t.Errorf("gone on after %d: %q", after, got)
			}
		}
	}
}

// TestTwoRuns: while one is at work another one says so and changes nothing.
func TestTwoRuns(t *testing.T) {
	s, out := bench(t), t.TempDir()
	p, err := NewPlan(context.Background(), s, out, Options{})
	if err != nil {
		t.Fatal(err)
	}
	unlock, err := lock(out)
	if err != nil {
		t.Fatal(err)
	}
	if r, err := Do(context.Background(), p, nil); err == nil || !strings.Contains(r.Sentence.String(), "another handoff is at work") {
		t.Errorf("%v: %s", err, r.Sentence)
	}
	unlock()
	if r, err := Do(context.Background(), p, nil); err != nil || r.Files != 8 {
		t.Errorf("%+v, %v", r, err)
	}
	// The plan is of another state now.
	if _, err := Do(context.Background(), p, nil); err == nil {
		t.Error("an old plan was done over a newer state")
	}
}

// TestReadOnly: a folder that cannot be written into is named, and nothing is there.
func TestReadOnly(t *testing.T) {
	if os.Getuid() == 0 {
		t.Skip("permissions do not bind root; the scripts try this without its rights")
	}
	s, out := bench(t), t.TempDir()
	os.Chmod(out, 0o555)
	defer os.Chmod(out, 0o755)
	if r, err := try(t, s, out, Options{}); err == nil || !strings.HasPrefix(r.Sentence.String(), "Nothing was changed: ") {
		t.Errorf("%v: %s", err, r.Sentence)
	}
}

// TestFullDisk: on a disk that fills up in the middle, stacks are there whole or not at all,
// and what was not expected to fit is not begun.
func TestFullDisk(t *testing.T) {
	disk := t.TempDir()
	unmount, err := mountSmall(disk, "size=1200k")
	if err != nil {
		t.Skipf("no small disk can be mounted here: %v", err)
	}
	defer unmount()
	s := bench(t)
	for i := range s.Frames {
		s.Frames[i].Pairs = nil
		put(t, filepath.Join(s.Dir, s.Frames[i].Name), strings.Repeat("x", 250<<10))
	}
	out := filepath.Join(disk, "out")
	if r, err := try(t, s, out, Options{}); err == nil || !strings.Contains(r.Sentence.String(), "are needed and") || len(look(t, disk)) > 0 {
		t.Errorf("%v: %s", err, r.Sentence)
	}
	// Another program takes the room after the plan was made.
	p, err := NewPlan(context.Background(), s, out, Options{})
	if err != nil {
		t.Fatal(err)
	}
	p.Bytes = 0
	r, err := Do(context.Background(), p, nil)
	if !errors.Is(err, syscall.ENOSPC) || !strings.HasPrefix(r.Sentence.String(), "The disk is full. 1 folder is in ") || len(r.Stacks) != 1 {
		t.Errorf("%v: %s", err, r.Sentence)
	}
	for name := range look(t, disk) {
		if !strings.Contains(name, " 01 ") {
			t.Errorf("%s is left", name)
		}
	}
}

// TestKilled: killed at any moment, a run is ended by the next, and a move can be undone:
// no file is lost, doubled or cut.
func TestKilled(t *testing.T) {
	if os.Getenv("HANDOFF_CHILD") != "" {
		child(t)
		return
	}
	for i := range 12 {
		as := []How{Copy, Move, Copy, Move}[i%4]
		s, out := bench(t), t.TempDir()
		before := look(t, s.Dir)
		die(t, s, out, as, i)
		if as == Move && i%2 == 1 && i > 5 {
			if r, err := Undo(context.Background(), out, nil); err == nil && len(r.Problems) > 0 {
				t.Errorf("%d: %+v", i, r)
			}
			if !maps.Equal(look(t, s.Dir), before) {
				t.Errorf("%d: an undone move left the session otherwise", i)
			}
			continue
		}
		left := s
		left.Frames = slices.Clone(s.Frames)
		for j := range left.Frames { // the session reads in what is still there
			if _, err := os.Stat(filepath.Join(s.Dir, left.Frames[j].Name)); err != nil {
				left.Frames[j].Gone = true
			}
		}
		r := handOn(t, left, out, Options{As: as, Sidecars: true})
		got := look(t, out)
		want := 8
		n := 0
		for name, content := range got {
			if strings.HasSuffix(name, ".JPG") || strings.HasSuffix(name, ".NEF") {
				n++
				if !slices.Contains(slices.Collect(maps.Values(before)), content) {
					t.Errorf("%d: %s is none of the session's files", i, name)
				}
			}
			if strings.Contains(name, "part") || strings.Contains(name, "lock") {
				t.Errorf("%d: %s is left", i, name)
			}
		}
		if n != want-1 { // and one sidecar
			t.Errorf("%d, %s: %d frames' files, %s: %q", i, as, n, r.Sentence, namesOf(got))
		}
		if as == Move {
			if r, err := Undo(context.Background(), out, nil); err != nil || len(r.Problems) > 0 {
				t.Errorf("%d: %+v, %v", i, r, err)
			}
			if !maps.Equal(look(t, s.Dir), before) {
				t.Errorf("%d: an undone move left the session otherwise", i)
			}
		}
	}
}

// die hands a session on in another process, which is killed at a step.
func die(t *testing.T, s Session, out string, as How, step int) {
	t.Helper()
	state, err := json.Marshal(s)
	if err != nil {
		t.Fatal(err)
	}
	cmd := exec.Command(os.Args[0], "-test.run=^TestKilled$")
	cmd.Env = append(os.Environ(), "HANDOFF_CHILD="+string(state), "HANDOFF_OUT="+out, "HANDOFF_AS="+string(as), fmt.Sprint("HANDOFF_DIES=", step))
	if err := cmd.Run(); err == nil {
		t.Fatal("the child lived on")
	}
}

// TestKilledAndRegrouped: with the frames gone that a killed run has moved, the session is
// grouped otherwise. What was begun is ended as it was begun all the same: every file goes
// where the first run was taking it.
func TestKilledAndRegrouped(t *testing.T) {
	s, want := bench(t), t.TempDir()
	handOn(t, s, want, Options{As: Copy, Sidecars: true})
	for step := range 7 {
		s, out := bench(t), t.TempDir()
		before := look(t, s.Dir)
		die(t, s, out, Move, step)
		left := s
		left.Frames, left.Groups = nil, []session.Group{{ID: 2, Kind: session.KindStack, SetupID: 9}}
		for _, f := range s.Frames { // one stack of all that is there
			if _, err := os.Stat(filepath.Join(s.Dir, f.Name)); err == nil {
				left.Frames = append(left.Frames, f)
				left.Groups[0].Frames = append(left.Groups[0].Frames, f.Fingerprint)
			}
		}
		r := handOn(t, left, out, Options{As: Move, Sidecars: true})
		if len(r.Problems) > 0 {
			t.Errorf("%d: %v", step, r.Problems)
		}
		got := look(t, out)
		for name := range look(t, want) {
			if strings.HasSuffix(name, ".xmp") { // says what the session knows now
				continue
			}
			if _, ok := got[name]; !ok {
				t.Errorf("%d: %s is not where it was being moved: %q", step, name, namesOf(got))
			}
		}
		if r, err := Undo(context.Background(), out, nil); err != nil || len(r.Problems) > 0 {
			t.Errorf("%d: %+v, %v", step, r, err)
		}
		if !maps.Equal(look(t, s.Dir), before) {
			t.Errorf("%d: an undone move left the session otherwise", step)
		}
	}
}

// TestKilledBeforeAnyMove: a move that moved nothing yet binds nobody to move.
func TestKilledBeforeAnyMove(t *testing.T) {
	s, out := bench(t), t.TempDir()
	p, err := NewPlan(context.Background(), s, out, Options{As: Move})
	if err != nil {
		t.Fatal(err)
	}
	p.manifest.merge(p.Stacks) // all that a run does before its first file
	if err := p.manifest.write(out, taken0); err != nil {
		t.Fatal(err)
	}
	before := look(t, s.Dir)
	if r := handOn(t, s, out, Options{As: Copy}); len(r.Stacks) != 2 || !maps.Equal(look(t, s.Dir), before) {
		t.Errorf("%+v", r)
	}
}

// child hands on, and dies hard at a step.
func child(t *testing.T) {
	var s Session
	if err := json.Unmarshal([]byte(os.Getenv("HANDOFF_CHILD")), &s); err != nil {
		t.Fatal(err)
	}
	var dies int
	fmt.Sscan(os.Getenv("HANDOFF_DIES"), &dies)
	p, err := NewPlan(context.Background(), s, os.Getenv("HANDOFF_OUT"), Options{As: How(os.Getenv("HANDOFF_AS")), Sidecars: true})
	if err != nil {
		t.Fatal(err)
	}
	n := 0
	Do(context.Background(), p, func(int, int) {
		if n++; n > dies%8 {
			if self, err := os.FindProcess(os.Getpid()); err == nil {
				self.Kill()
			}
			select {}
		}
	})
	os.Exit(0)
}

// TestTables: the CSV is RFC 4180, the recipe tells how frames lie on each other, the list is
// what a command line takes.
func TestTables(t *testing.T) {
	s, out := bench(t), t.TempDir()
	s.Groups[1].Name = "a, \"b\"\nc"
	s.Proofs = map[int64]session.Proof{2: {Key: "k", Suits: "threads"}}
	s.Touches = map[int64][]session.Touch{2: {{From: "fp2", Area: session.Area{{0, 0}, {1, 0}, {1, 1}}, Soft: 0.01}, {From: "gone"}}}
	r := handOn(t, s, out, Options{Tables: true, Others: true, Sheet: true, Paper: "Letter"})
	if len(r.Tables) != 6 || r.Sheet == "" {
		t.Fatalf("%+v", r)
	}
	data, err := os.ReadFile(filepath.Join(out, "tables", "session.csv"))
	if err != nil {
		t.Fatal(err)
	}
	rows, err := csv.NewReader(bytes.NewReader(data)).ReadAll()
	if err != nil || len(rows) != 9 || !bytes.Contains(data, []byte("lights\r\n")) {
		t.Fatalf("%d rows, %v", len(rows), err)
	}
	if rows[2][4] != "a, \"b\"\nc" || rows[3][1] != "A0003.JPG" || rows[4][6] != "true" || rows[1][2] != "marker" || rows[1][5] != "markers" {
		t.Errorf("%q", rows)
	}
	var rec recipe
	data, err = os.ReadFile(filepath.Join(out, "tables", "2026-05-16 01 a, _b_ c f10 recipe.json"))
	if err != nil || json.Unmarshal(data, &rec) != nil {
		t.Fatal(err)
	}
	if len(rec.Frames) != 2 || *rec.Reference != rec.Frames[1].File || *rec.Frames[1].ShiftPixels != [2]float64{3, -4} || *rec.Frames[1].Scale != 1.01 || rec.Frames[0].SHA256 == nil {
		t.Errorf("%+v", rec)
	}
	if *rec.Character != "threads" || !slices.Contains(rec.Command, "threads") {
		t.Errorf("the recipe's character: %+v", rec)
	}
	if u := rec.TouchUps; len(u) != 2 || *u[0].File != rec.Frames[1].File || u[0].Soft != 0.01 || len(u[0].Area) != 3 || u[1].File != nil {
		t.Errorf("the recipe's touch-ups: %+v", u)
	}
	data, _ = os.ReadFile(filepath.Join(out, "tables", "2026-05-16 01 a, _b_ c f10 files.txt"))
	lines := strings.Split(strings.TrimSpace(string(data)), "\n")
	if len(lines) != 2 {
		t.Errorf("%q", lines)
	}
	for _, l := range lines {
		if _, err := os.Stat(l); err != nil {
			t.Error(err)
		}
	}
}

// TestEditedManifest: a manifest that was tampered with moves nothing to where it never was, and a
// link put into the folder leads no move elsewhere.
func TestEditedManifest(t *testing.T) {
	s, out := bench(t), filepath.Join(t.TempDir(), "out")
	handOn(t, s, out, Options{As: Move})
	before := look(t, out)
	path := filepath.Join(out, ManifestName)
	whole, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	elsewhere := t.TempDir()
	for what, change := range map[string][2]string{
		"a file from elsewhere": {filepath.Join(s.Dir, "A0002.JPG"), filepath.Join(elsewhere, "A0002.JPG")},
		"a file that climbs":    {`"to": "2026-05-16 01 pine cone f10/A0002.JPG"`, `"to": "../A0002.JPG"`},
		"a kind with a path":    {`"kind": "stack"`, `"kind": "x/../../../` + filepath.Base(elsewhere) + `"`},
	} {
		edited := strings.Replace(string(whole), change[0], change[1], 1)
		if edited == string(whole) {
			t.Fatalf("%s: nothing to edit", what)
		}
		if err := os.WriteFile(path, []byte(edited), 0o666); err != nil {
			t.Fatal(err)
		}
		if r, err := Undo(context.Background(), out, nil); !errors.Is(err, ErrForeign) || r.Files != 0 {
			t.Errorf("%s: %+v, %v", what, r, err)
		}
		if !maps.Equal(look(t, out), before) || len(look(t, elsewhere)) != 0 {
			t.Errorf("%s: files were moved", what)
		}
	}
	if err := os.WriteFile(path, whole, 0o666); err != nil {
		t.Fatal(err)
	}
	folder := filepath.Join(out, "2026-05-16 01 pine cone f10")
	moved := filepath.Join(elsewhere, "moved")
	if err := errors.Join(os.Rename(folder, moved), os.Symlink(moved, folder)); err != nil {
		t.Fatal(err)
	}
	linked := look(t, moved)
	r, err := Undo(context.Background(), out, nil)
	if err != nil || r.Files != 3 || len(r.Problems) != 5 || !maps.Equal(look(t, moved), linked) {
		t.Errorf("through a link: %d files, %d problems, %v", r.Files, len(r.Problems), err)
	}
}
