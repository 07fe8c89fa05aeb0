package main

import (
	"context"
	"crypto/sha256"
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
	"time"

	"github.com/rogpeppe/go-internal/testscript"

	"stillbench/exifread/exiftest"
	"stillbench/session"
	"stillbench/session/plane"
	"stillbench/store"
)

// TestMain lets the test binary stand in for the program, so that the scripts start it
// as a shell would: a process of its own, with flags in and an exit code out.
func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){"stillbench": main, "stillbench-with-pulse": windowWithPulse, "editor": editor})
}

// TestScripts runs testdata/scripts. Beside testscript's own commands they have:
//
//	run CODE ARGS...          the program with ARGS has to end with exit code CODE
//	shoot FILE [KEY=VALUE...] makes a frame (see shot)
//	series DIR FIRST COUNT [KEY=VALUE...]
//	                          makes COUNT frames VTX_nnnn.JPG from number FIRST on, with
//	                          the focus going from near to far; KEYs as for shoot, and
//	                          step=DURATION between two frames
//	cut FILE SIZE             keeps the first SIZE bytes of a file
//	json FILE PATH VALUE      the JSON in FILE has VALUE at PATH (groups.0.kind);
//	                          PATH.len is the length of a list
//	contract FILE NAME        the JSON in FILE keeps testdata/contract/NAME.json
//	manifest DIR FILE         writes down every visible file of DIR: hash, size, mode, times
//	until FILE REGEXP         waits until FILE has a line that matches
//	lock LOG wholly|writing   another process locks the log until the end of the script,
//	                          against everybody or against others that write
//	newer LOG                 makes a log that a later version of the program has written
//	setup LOG DIR [KEY=VALUE...]
//	                          logs a setup of the session of DIR
//
// The program has no right to pass over permissions, even where the tests run as root.
func TestScripts(t *testing.T) {
	if err := plain(exec.Command("true")).Run(); err != nil && os.Getuid() == 0 {
		t.Logf("what hangs on permissions is left out: these tests run as root, and setpriv does not work here: %v", err)
	}
	testscript.Run(t, testscript.Params{
		Dir: filepath.Join("testdata", "scripts"),
		Setup: func(e *testscript.Env) error {
			root, err := filepath.Abs(filepath.Join("..", ".."))
			if err != nil {
				return err
			}
			e.Setenv("TESTDATA", filepath.Join(root, "testdata"))
			e.Setenv("XDG_DATA_HOME", filepath.Join(e.WorkDir, ".data"))
			e.Setenv("XDG_CONFIG_HOME", filepath.Join(e.WorkDir, ".config"))
			e.Setenv("LANG", "en_US.UTF-8")
			return nil
		},
		Condition: func(cond string) (bool, error) {
			switch cond {
			case "permissions":
				return os.Getuid() != 0 || plain(exec.Command("true")).Run() == nil, nil
			case "strace": // may be there and not be allowed
				return exec.Command("strace", "-o", os.DevNull, "true").Run() == nil, nil
			case "smalldisk":
				return exec.Command("unshare", "-rm", "mount", "-t", "tmpfs", "-o", "size=64k", "none", "/mnt").Run() == nil, nil
			}
			return false, fmt.Errorf("unknown condition %q", cond)
		},
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"run": cmdRun, "shoot": cmdShoot, "series": cmdSeries, "cut": cmdCut, "json": cmdJSON, "contract": cmdContract,
			"manifest": cmdManifest, "until": cmdUntil, "lock": cmdLock, "newer": cmdNewer, "setup": cmdSetup,
		},
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
	})
}

// need ends the script when a command is used wrongly.
func need(ts *testscript.TestScript, neg, ok bool, usage string) {
	if neg || !ok {
		ts.Fatalf("usage: %s", usage)
	}
}

// plain takes from a command root's right to pass over permissions.
func plain(cmd *exec.Cmd) *exec.Cmd {
	if os.Getuid() != 0 {
		return cmd
	}
	return exec.Command("setpriv", append([]string{"--bounding-set=-dac_override,-dac_read_search", "--"}, cmd.Args...)...)
}

func cmdRun(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) > 0, "run CODE ARGS...")
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	cmd := exec.Command("stillbench", args[1:]...)
	if p := plain(cmd); plain(exec.Command("true")).Run() == nil {
		cmd = p
	}
	got := 0
	if err := ts.Exec(cmd.Args[0], cmd.Args[1:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
	if errs := ts.ReadFile("stderr"); strings.Contains(errs, "the program made a mistake") || strings.Contains(errs, "goroutine ") {
		ts.Fatalf("the program broke")
	}
}

// noon is when the invented sessions begin.
var noon = time.Date(2026, 3, 4, 12, 0, 0, 0, time.FixedZone("", 3600))

// shot is an invented frame: a patchy texture with a depth of its own in every column,
// sharp where the focus lies, and what a camera would write into it.
type shot struct {
	of      uint64        // the composition
	focus   float64       // 0 nearest to 1 farthest
	at      time.Duration // after noon
	f       float64       // f-number
	upright bool          // the camera turned by a quarter
	camera  string        // its serial number
	exif    bool
	times   bool
}

func (s *shot) set(ts *testscript.TestScript, word string) {
	key, value, _ := strings.Cut(word, "=")
	var err error
	switch key {
	case "of":
		s.of, err = strconv.ParseUint(value, 10, 64)
	case "focus":
		s.focus, err = strconv.ParseFloat(value, 64)
	case "at":
		s.at, err = time.ParseDuration(value)
	case "f":
		s.f, err = strconv.ParseFloat(value, 64)
	case "upright":
		s.upright = true
	case "camera":
		s.camera = value
	case "noexif":
		s.exif = false
	case "notime":
		s.times = false
	default:
		ts.Fatalf("a frame knows no %q", key)
	}
	ts.Check(err)
}

func shots(ts *testscript.TestScript, words []string) shot {
	s := shot{of: 1, focus: 0.5, f: 10, camera: "300417", exif: true, times: true}
	for _, w := range words {
		s.set(ts, w)
	}
	return s
}

func cmdShoot(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) > 0, "shoot FILE [KEY=VALUE...]")
	writeShot(ts, ts.MkAbs(args[0]), shots(ts, args[1:]))
}

func cmdSeries(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) > 2, "series DIR FIRST COUNT [KEY=VALUE...]")
	first, err := strconv.Atoi(args[1])
	ts.Check(err)
	count, err := strconv.Atoi(args[2])
	ts.Check(err)
	step := 5 * time.Second
	words := slices.DeleteFunc(args[3:], func(w string) bool {
		value, ok := strings.CutPrefix(w, "step=")
		if ok {
			step, err = time.ParseDuration(value)
			ts.Check(err)
		}
		return ok
	})
	s := shots(ts, words)
	start := s.at
	for i := range count {
		s.at, s.focus = start+time.Duration(i)*step, float64(i)/float64(max(1, count-1))
		writeShot(ts, filepath.Join(ts.MkAbs(args[0]), fmt.Sprintf("VTX_%04d.JPG", first+i)), s)
	}
}

func writeShot(ts *testscript.TestScript, path string, s shot) {
	data, err := s.jpeg()
	ts.Check(err)
	ts.Check(os.MkdirAll(filepath.Dir(path), 0o777))
	ts.Check(os.WriteFile(path, data, 0o666))
	atRest(ts, path)
}

// atRest dates a file back, as one that no program is still writing.
func atRest(ts *testscript.TestScript, path string) {
	old := time.Now().Add(-time.Hour).Truncate(time.Second)
	ts.Check(os.Chtimes(path, old, old))
}

func (s shot) jpeg() ([]byte, error) {
	const w, h, side = 240, 160, 20
	r := rand.New(rand.NewPCG(s.of, 1))
	noise := rand.New(rand.NewPCG(s.of, uint64(s.at)))
	pic := plane.NewRGB(w, h)
	var patch [w / side][h / side][3]float64
	for i := range patch {
		for j := range patch[i] {
			for c := range 3 {
				patch[i][j][c] = 50 + 150*r.Float64()
			}
		}
	}
	for y := range h {
		for x := range w {
			depth := (float64(x/side) + 0.5) / (w / side)
			grain := 60 * (r.Float64() - 0.5) * math.Exp(-math.Pow((depth-s.focus)/0.15, 2))
			for c := range 3 {
				v := patch[x/side][y/side][c] + grain
				pic.Pix[(y*w+x)*3+c] = byte(max(0, min(255, v+3*noise.NormFloat64())))
			}
		}
	}
	data, err := plane.EncodeJPEG(pic, 90, false)
	if err != nil || !s.exif {
		return data, err
	}
	sec, mm, iso, bias, fired, turn := 1.0/6, 100.0, 100, 0.0, false, 1
	if s.upright {
		turn = 6
	}
	ww, hh := w, h
	f := exiftest.Fields{
		Make: "Vellmar", Model: "TX-2", Lens: "Vellmar 100 mm close-up", Serial: s.camera,
		FNumber: &s.f, ShutterSeconds: &sec, FocalLengthMM: &mm, FocalLength35MM: &mm, ISO: &iso, ExposureBiasEV: &bias,
		FlashFired: &fired, Orientation: &turn, Width: &ww, Height: &hh,
	}
	if s.times {
		f.Taken, f.HasOffset = noon.Add(s.at), true
	}
	return exiftest.InsertJPEG(data, f)
}

func cmdCut(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 2, "cut FILE SIZE")
	size, err := strconv.ParseInt(args[1], 10, 64)
	ts.Check(err)
	path := ts.MkAbs(args[0])
	ts.Check(os.Truncate(path, size))
	atRest(ts, path)
}

// cmdManifest leaves out what begins with a dot: the demo's log lies beside its frames.
func cmdManifest(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 2, "manifest DIR FILE")
	dir := ts.MkAbs(args[0])
	var out strings.Builder
	ts.Check(filepath.WalkDir(dir, func(path string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		if strings.HasPrefix(e.Name(), ".") && e.IsDir() {
			return fs.SkipDir
		}
		if e.IsDir() || strings.HasPrefix(e.Name(), ".") {
			return nil
		}
		info, err := e.Info()
		if err != nil {
			return err
		}
		name, err := filepath.Rel(dir, path)
		if err != nil {
			return err
		}
		data, err := os.ReadFile(path)
		if err != nil {
			return err
		}
		fmt.Fprintf(&out, "%s %x %d %v %s\n", name, sha256.Sum256(data), info.Size(), info.Mode(), info.ModTime().Format(time.RFC3339Nano))
		return nil
	}))
	ts.Check(os.WriteFile(ts.MkAbs(args[1]), []byte(out.String()), 0o666))
}

func cmdUntil(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 2, "until FILE REGEXP")
	re, err := regexp.Compile("(?m)" + args[1])
	ts.Check(err)
	for end := time.Now().Add(time.Minute); ; time.Sleep(20 * time.Millisecond) {
		data, _ := os.ReadFile(ts.MkAbs(args[0]))
		if re.Match(data) {
			return
		}
		if time.Now().After(end) {
			ts.Fatalf("%s never had a line like %s:\n%s", args[0], args[1], data)
		}
	}
}

func openLogFile(ts *testscript.TestScript, path string) *store.Store {
	s, err := store.Open(context.Background(), path)
	ts.Check(err)
	return s
}

// openSQL opens a log beside the store, on one connection.
func openSQL(ts *testscript.TestScript, path, settings string) *sql.DB {
	db, err := sql.Open("sqlite3", "file:"+path+settings)
	ts.Check(err)
	db.SetMaxOpenConns(1)
	return db
}

func cmdLock(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 2, "lock LOG wholly|writing")
	path := ts.MkAbs(args[0])
	ts.Check(openLogFile(ts, path).Close())
	settings := ""
	if args[1] == "wholly" {
		settings = "?_locking_mode=EXCLUSIVE"
	}
	db := openSQL(ts, path, settings)
	ts.Defer(func() { db.Close() })
	_, err := db.Exec("BEGIN EXCLUSIVE; CREATE TABLE held (x)")
	ts.Check(err)
}

func cmdNewer(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) == 1, "newer LOG")
	path := ts.MkAbs(args[0])
	ts.Check(openLogFile(ts, path).Close())
	db := openSQL(ts, path, "")
	defer db.Close()
	_, err := db.Exec("INSERT INTO migrations (number, name, applied) VALUES (9999, '9999_of_tomorrow.sql', '2030-01-01')")
	ts.Check(err)
}

func cmdSetup(ts *testscript.TestScript, neg bool, args []string) {
	need(ts, neg, len(args) >= 2, "setup LOG DIR [KEY=VALUE...]")
	ctx := context.Background()
	s := openLogFile(ts, ts.MkAbs(args[0]))
	defer s.Close()
	own, err := s.OpenSession(ctx, ts.MkAbs(args[1]))
	ts.Check(err)
	setup := session.Setup{SessionID: own.ID, Logged: noon.Add(-time.Minute)}
	number := func(v string) float64 {
		n, err := strconv.ParseFloat(v, 64)
		ts.Check(err)
		return n
	}
	for _, w := range args[2:] {
		key, value, _ := strings.Cut(w, "=")
		switch key {
		case "subject":
			setup.Subject = value
		case "notes":
			setup.Notes = value
		case "light": // KIND/AZIMUTH/ELEVATION[/DISTANCE[/MODIFIER]]
			part := strings.Split(value, "/")
			l := session.Light{Kind: session.LightKind(part[0]), AzimuthDeg: number(part[1]), ElevationDeg: number(part[2])}
			if len(part) > 3 {
				cm := number(part[3])
				l.DistanceCM = &cm
			}
			if len(part) > 4 {
				l.Modifier = part[4]
			}
			setup.Lights = append(setup.Lights, l)
		default:
			ts.Fatalf("a setup knows no %q", key)
		}
	}
	ts.Check(logSetup(ctx, s, setup))
}
