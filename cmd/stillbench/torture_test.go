package main

import (
	"bufio"
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/json"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"maps"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"testing"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/store"
)

// torture asks for the long form (make torture).
var torture = flag.Bool("torture", false, "kill the program 250 times in all, and drop 2000 damaged files")

// times is how often the program is killed in one test.
func times() int {
	if *torture {
		return 50
	}
	return 3
}

// chance is a fixed row of random numbers in the short form, and another every time in the
// long one, which says where it began.
func chance(t *testing.T) *rand.Rand {
	seed := uint64(1)
	if *torture {
		seed = uint64(time.Now().UnixNano())
		t.Logf("seed %d", seed)
	}
	return rand.New(rand.NewPCG(seed, 10))
}

// two stacks of 6 frames, as a camera would leave them.
func twoStacks(t *testing.T, dir string) {
	t.Helper()
	old := time.Now().Add(-time.Hour).Truncate(time.Second)
	for i := range 12 {
		s := shot{of: uint64(1 + i/6), focus: float64(i%6) / 5, at: time.Duration(i/6)*10*time.Minute + time.Duration(i)*5*time.Second, f: 10, camera: "300417", exif: true, times: true}
		data, err := s.jpeg()
		if err != nil {
			t.Fatal(err)
		}
		name := filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", i+1))
		if err := errors.Join(os.MkdirAll(dir, 0o777), os.WriteFile(name, data, 0o666), os.Chtimes(name, old, old)); err != nil {
			t.Fatal(err)
		}
	}
}

// ended runs the program to its end and gives what it printed and how long it took.
func ended(t *testing.T, args ...string) (string, time.Duration) {
	t.Helper()
	begun := time.Now()
	var errs bytes.Buffer
	cmd := exec.Command("stillbench", args...)
	cmd.Stderr = &errs
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("stillbench %s: %v\n%s%s", strings.Join(args, " "), err, out, errs.Bytes())
	}
	return string(out), time.Since(begun)
}

// killed starts the program and kills it, as a power cut would, after at most long.
func killed(t *testing.T, r *rand.Rand, long time.Duration, args ...string) {
	t.Helper()
	cmd := exec.Command("stillbench", args...)
	if err := cmd.Start(); err != nil {
		t.Fatal(err)
	}
	time.Sleep(time.Duration(r.Int64N(int64(long))))
	cmd.Process.Signal(syscall.SIGKILL)
	cmd.Wait() // killed, or at its end before
}

// intact opens a log as the next start would, and has SQLite look through it.
func intact(t *testing.T, path string) {
	t.Helper()
	s, err := store.Open(context.Background(), path)
	if err != nil {
		t.Fatalf("the log does not open any more: %v", err)
	}
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	for _, name := range []string{path, strings.TrimSuffix(path, ".db") + "-figures.db"} {
		db, err := sql.Open("sqlite3", "file:"+name)
		if err != nil {
			t.Fatal(err)
		}
		var said string
		if err := db.QueryRow(`PRAGMA integrity_check`).Scan(&said); err != nil || said != "ok" {
			t.Errorf("%s: integrity_check: %q, %v", name, said, err)
		}
		if err := db.QueryRow(`PRAGMA foreign_key_check`).Scan(&said); !errors.Is(err, sql.ErrNoRows) {
			t.Errorf("%s: rows hang on nothing: %v", name, err)
		}
		db.Close()
	}
}

// hashes of all files of a folder, by name.
func hashes(t *testing.T, dir string) map[string][32]byte {
	t.Helper()
	out := map[string][32]byte{}
	err := filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		data, err := os.ReadFile(path)
		if err == nil {
			name, _ := filepath.Rel(dir, path)
			out[name] = sha256.Sum256(data)
		}
		return err
	})
	if err != nil && !errors.Is(err, fs.ErrNotExist) {
		t.Fatal(err)
	}
	return out
}

// TestKilledReadIn: however often reading in is cut short, the log opens, and in the end
// the groups are those of a session that nothing befell.
func TestKilledReadIn(t *testing.T) {
	r, dir, logs := chance(t), t.TempDir(), t.TempDir()
	twoStacks(t, dir)
	want, took := ended(t, "group", "--json", "--log", filepath.Join(logs, "quiet.db"), dir)
	log := filepath.Join(logs, "killed.db")
	for i := range times() {
		killed(t, r, took, "watch", "--json", "--log", log, dir)
		intact(t, log)
		if i%10 == 9 { // and from nothing again
			for name := range hashes(t, logs) {
				if strings.HasPrefix(name, "killed") {
					os.Remove(filepath.Join(logs, name))
				}
			}
		}
	}
	if got, _ := ended(t, "group", "--json", "--log", log, dir); got != want {
		t.Errorf("after all that:\n%s\nwant\n%s", got, want)
	}
}

// TestKilledBlend: under its name there is a whole blend, or nothing.
func TestKilledBlend(t *testing.T) {
	r, dir, out := chance(t), t.TempDir(), t.TempDir()
	twoStacks(t, dir)
	before := hashes(t, dir)
	args := func(name string) []string {
		a := []string{"blend", "--log", filepath.Join(out, "log.db"), "-o", filepath.Join(out, name+".tif"), "--depth", filepath.Join(out, name+"-depth.png")}
		for i := range 6 {
			a = append(a, filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", i+1)))
		}
		return a
	}
	_, took := ended(t, args("quiet")...)
	want := hashes(t, out)
	seen := map[string]int{}
	for range times() {
		killed(t, r, took, args("killed")...)
		for name, got := range hashes(t, out) {
			if rest, ok := strings.CutPrefix(name, "killed"); ok {
				seen[rest]++
				if got != want["quiet"+rest] {
					t.Errorf("%s is there, and is not whole", name)
				}
				os.Remove(filepath.Join(out, name))
			}
		}
		intact(t, filepath.Join(out, "log.db"))
	}
	t.Logf("whole at the kill: %v", seen)
	if !maps.Equal(hashes(t, dir), before) {
		t.Error("a frame was changed")
	}
}

// TestKilledHandoff: no photograph is lost whatever is handed on and when that dies, no
// file under its final name is half of one, and a second run ends what the first began.
func TestKilledHandoff(t *testing.T) {
	r := chance(t)
	for _, how := range []string{"copy", "move"} {
		frames, took := map[string][32]byte{}, time.Duration(0)
		for i := range times() + 1 {
			top := t.TempDir()
			dir, out := filepath.Join(top, "s"), filepath.Join(top, "out")
			twoStacks(t, dir)
			args := []string{"handoff", "--log", filepath.Join(top, "log.db"), "--as", how, "--sidecars", "--tables", dir, "-o", out}
			if i == 0 { // how long it takes when nothing befalls it
				frames = hashes(t, dir)
				_, took = ended(t, args...)
				continue
			}
			killed(t, r, took, args...)
			known, there := map[[32]byte]bool{}, map[[32]byte]bool{}
			for _, h := range frames {
				known[h] = true
			}
			if now := hashes(t, dir); how == "copy" && !maps.Equal(now, frames) {
				t.Errorf("%s: the session changed", how)
			} else {
				for _, h := range now {
					there[h] = true
				}
			}
			handed := hashes(t, out)
			for name, h := range handed {
				there[h] = true
				hidden := slices.ContainsFunc(strings.Split(name, string(filepath.Separator)), func(p string) bool { return strings.HasPrefix(p, ".") })
				if !hidden && strings.HasSuffix(name, ".JPG") && !known[h] {
					t.Errorf("%s: %s is half a frame", how, name)
				}
			}
			for name, h := range frames {
				if !there[h] {
					t.Errorf("%s: %s is lost", how, name)
				}
			}
			intact(t, filepath.Join(top, "log.db"))
			ended(t, args...)
			for name, h := range frames {
				if !slices.Contains(slices.Collect(maps.Values(hashes(t, out))), h) {
					t.Errorf("%s: the second run did not hand on %s", how, name)
				}
			}
			if how == "move" {
				ended(t, "handoff", "--undo", "-o", out)
				if !maps.Equal(hashes(t, dir), frames) {
					t.Errorf("moved and moved back, the session is another")
				}
			}
		}
	}
}

// editor opens a session and edits it without end, saying of each edit that it is done.
func editor() {
	ctx := context.Background()
	fail := func(err error) {
		if err != nil {
			fmt.Println("error", err)
			os.Exit(1)
		}
	}
	s, err := store.Open(ctx, os.Args[1])
	fail(err)
	d, err := desk.Open(ctx, desk.Options{Dir: os.Args[2], Log: s})
	fail(err)
	fail(d.Settled(ctx))
	for i := 1; ; i++ {
		snap := d.Snapshot()
		frame := snap.Groups[i%len(snap.Groups)].Frames[0]
		fail(d.Edit(ctx, session.Edit{Kind: session.EditName, Frame: frame, Text: fmt.Sprint(os.Args[3], " ", i), Words: "name"}))
		fmt.Println("done", frame, os.Args[3], i)
	}
}

// TestKilledEdits: what was said to be done is in the log after a kill.
func TestKilledEdits(t *testing.T) {
	r, dir, log := chance(t), t.TempDir(), filepath.Join(t.TempDir(), "log.db")
	twoStacks(t, dir)
	ended(t, "group", "--log", log, dir)
	edits := 0
	for round := range times() {
		cmd := exec.Command("editor", log, dir, fmt.Sprint(round))
		pipe, err := cmd.StdoutPipe()
		if err == nil {
			err = cmd.Start()
		}
		if err != nil {
			t.Fatal(err)
		}
		done := map[string]int{} // by frame: its last number
		ends := 1 + r.IntN(40)
		for n, lines := 0, bufio.NewScanner(pipe); lines.Scan(); {
			var frame string
			var of, number int
			if _, err := fmt.Sscanf(lines.Text(), "done %s %d %d", &frame, &of, &number); err != nil || of != round {
				t.Fatal(lines.Text())
			}
			done[frame] = number
			edits++
			if n++; n == ends {
				time.Sleep(time.Duration(r.IntN(2000)) * time.Microsecond)
				cmd.Process.Signal(syscall.SIGKILL)
			}
		}
		cmd.Wait() // killed
		intact(t, log)
		out, _ := ended(t, "group", "--json", "--log", log, dir)
		var now sessionJSON
		if err := json.Unmarshal([]byte(out), &now); err != nil {
			t.Fatal(err)
		}
		names := map[int]bool{} // numbers of this round
		for _, g := range now.Groups {
			var of, number int
			if g.Name != nil {
				if _, err := fmt.Sscan(*g.Name, &of, &number); err == nil && of == round {
					names[number] = true
				}
			}
		}
		for _, n := range done {
			// The next of the same group may be in the log and its answer cut off.
			if !names[n] && !names[n+len(now.Groups)] {
				t.Errorf("edit %d was said to be done, and the log has %v", n, names)
			}
		}
	}
	t.Logf("%d edits", edits)
}
