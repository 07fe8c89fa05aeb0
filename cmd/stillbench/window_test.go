package main

import (
	"bytes"
	"fmt"
	"image"
	"image/color"
	"image/png"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"sync"
	"syscall"
	"testing"
	"time"

	"stillbench/app/look"
	"stillbench/session"
	"stillbench/store"
)

// TestRealWindow starts the program on the demo and goes through it as somebody new to it
// would, with real pointer and key events (xdotool) on a real, if invisible, screen
// (`make smoke` brings Xvfb). What the window shows is judged loosely, from screenshots that
// stay in out/smoke; what it did is read from the setup log. Nothing is waited for by the
// clock: it is looked for again until it is there.
//
// The program is built without the tag migrated_fynedo, so that Fyne reports every call
// from a wrong goroutine on standard error.
func TestRealWindow(t *testing.T) {
	if os.Getenv("STILLBENCH_SMOKE") == "" {
		t.Skip("needs a screen of its own: make smoke")
	}
	bin := filepath.Join(t.TempDir(), "stillbench")
	build := exec.Command("go", "build", "-tags", "sqlite_fts5,no_emoji,no_animations", "-o", bin, ".")
	if out, err := build.CombinedOutput(); err != nil {
		t.Fatalf("build: %v\n%s", err, out)
	}
	dir := filepath.Join(t.TempDir(), "demo")
	s := startOn(t, bin, "demo", dir)

	// The four places, each told by the accent bar beside its name.
	s.until("Table is up", picture.showsFrame)
	for _, to := range []int{2, 3, 4, 1} {
		s.keys(fmt.Sprint(to))
		s.until(fmt.Sprintf("place %d", to), func(p picture) bool { return p.place() == to })
		s.settle()
	}
	s.changes("all keys", contents, func() { s.keys("question") })
	s.changes("back from all keys", contents, func() { s.keys("Escape") })

	log := openDemoLog(t, dir)
	s.split(log)
	s.outline(log)
	s.handOver()
	s.moveLight(log)
	s.search()

	s.keys("ctrl+q")
	s.ends("Ctrl Q")

	s = startOn(t, bin, dir)
	s.until("open again", picture.showsFrame)
	s.rests()
	s.keys("3", "f") // a field with the focus draws nothing over and over either
	s.rests()
	s.signal(syscall.SIGTERM)
	s.ends("SIGTERM")

	s.noNetwork(bin, dir)
}

// rests waits until the window's event loop turns as seldom as it does while nothing happens: twenty
// times a second, where Fyne's own would turn sixty times. Every turn the loop's thread, which is the
// program's first, waits once; drawing makes it wait more often.
func (s *smoke) rests() {
	s.t.Helper()
	waits := func() (n int) {
		data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", s.cmd.Process.Pid))
		if err != nil {
			s.fail("%v", err)
		}
		_, after, _ := strings.Cut(string(data), "\nvoluntary_ctxt_switches:")
		if _, err := fmt.Sscan(after, &n); err != nil {
			s.fail("how often the window waited: %v", err)
		}
		return n
	}
	const seconds = 3
	for end := time.Now().Add(6 * patience); ; { // what is left to be judged and blended is done before
		before := waits()
		time.Sleep(seconds * time.Second)
		n := waits() - before
		if n <= 30*seconds {
			return
		}
		if time.Now().After(end) {
			s.fail("the loop turned %d times in %d s in which nothing happened", n, seconds)
		}
	}
}

// noNetwork goes through the places once more while the system writes down every socket: there
// is the screen's and the session bus's, and none that leads off the machine.
func (s *smoke) noNetwork(bin, dir string) {
	if err := exec.Command("strace", "-o", os.DevNull, "true").Run(); err != nil {
		s.t.Logf("the window's sockets are not looked at: strace: %v", err)
		return
	}
	trace := filepath.Join(s.t.TempDir(), "trace")
	s = startOn(s.t, "strace", "-f", "-qq", "-e", "trace=socket,connect,bind", "-o", trace, bin, dir)
	s.until("open under strace", picture.showsFrame)
	for _, to := range []int{2, 3, 4} {
		s.keys(fmt.Sprint(to))
		s.until(fmt.Sprintf("place %d under strace", to), func(p picture) bool { return p.place() == to })
	}
	s.keys("ctrl+q")
	s.ends("Ctrl Q under strace")
	data, err := os.ReadFile(trace)
	if err != nil {
		s.t.Fatal(err)
	}
	if !bytes.Contains(data, []byte("AF_UNIX")) {
		s.t.Error("not even the screen's socket was seen")
	}
	if bytes.Contains(data, []byte("AF_INET")) {
		s.t.Errorf("the window asks for the network:\n%s", data)
	}
}

// split opens the first stack, goes two frames on, splits it there, and undoes that; then it drags
// a frame aside, and undoes that.
func (s *smoke) split(log demoLogFile) {
	s.keys("2")
	s.until("Stacks", func(p picture) bool { return p.place() == 2 })
	s.changes("to the first stack", contents, func() { s.keys("Home", "Next") })
	s.changes("opened", contents, func() { s.keys("Return") })
	s.changes("two frames on", contents, func() { s.keys("Right", "Right") })
	edits := len(log.edits())
	s.changes("split", contents, func() { s.keys("slash") })
	s.logs("the split", func() bool {
		e := log.edits()
		return len(e) == edits+1 && e[edits].Kind == session.EditSplit && !e[edits].Undone
	})
	s.changes("split undone", contents, func() { s.keys("u") })
	s.logs("that the split is undone", func() bool { return log.edits()[edits].Undone })

	// The third crop of the strip, let go on the middle one of the zones that show.
	s.changes("zones to let a frame go on", contents, func() {
		s.do("mousemove", "428", "745", "mousedown", "1")
		for y := 720; y >= 460; y -= 20 {
			s.do("mousemove", "600", fmt.Sprint(y))
		}
	})
	s.do("mouseup", "1")
	s.logs("the frame dragged aside", func() bool {
		e := log.edits()
		return len(e) > 0 && e[len(e)-1].Kind == session.EditSetAside && !e[len(e)-1].Undone
	})
	s.settle()
	s.keys("u")
	s.logs("that it is undone", func() bool { e := log.edits(); return e[len(e)-1].Undone })
}

// outline draws the wanted area of the first stack corner by corner, with the keys alone, and undoes that. Then
// it looks at a frame closely, sets it aside there, and undoes that as well.
func (s *smoke) outline(log demoLogFile) {
	last := func() session.Edit { e := log.edits(); return e[len(e)-1] }
	s.changes("drawing the wanted area", contents, func() { s.keys("w") })
	s.changes("an outline by keys", contents, func() {
		s.keys("space", "space", "Right", "Right", "Right", "space", "Down", "Down", "Down", "space")
	})
	s.keys("Return")
	s.logs("the wanted area", func() bool { return last().Kind == session.EditWanted && !last().Undone })
	if n := len(last().Area); n != 3 {
		s.t.Errorf("the outline has %d corners, want 3", n)
	}
	s.keys("u")
	s.logs("that it is undone", func() bool { return last().Undone })
	s.changes("looking closely", contents, func() { s.keys("z") })
	s.keys("x")
	s.logs("the frame set aside", func() bool { return last().Kind == session.EditSetAside && !last().Undone })
	s.keys("u")
	s.logs("that it is undone", func() bool { return last().Undone })
	s.changes("back from looking closely", contents, func() { s.keys("Escape") })
}

// handOver opens the sheet of handing on and clicks on one of its choices.
func (s *smoke) handOver() {
	s.changes("handing on", contents, func() { s.keys("h") })
	s.changes("another way, clicked", contents, func() { s.do("mousemove", "760", "222", "click", "1") })
	s.do("mousemove", "720", "880")
	s.changes("back from handing on", contents, func() { s.keys("Escape") })
}

// moveLight drags a light by a quarter round the subject and logs it, as the Table says.
func (s *smoke) moveLight(log demoLogFile) {
	s.keys("1")
	s.until("Table", func(p picture) bool { return p.place() == 1 })
	before := log.setups()
	s.keys("l")
	// The light held, the first one, is in the accent; so is the point on the arc of heights
	// farther down.
	held := func(p picture) (image.Point, bool) {
		top, ok := p.topAccent(image.Rect(1080, 120, windowW, 700))
		at, n := p.accent(image.Rect(top.X-40, top.Y, top.X+40, top.Y+40))
		return at, ok && n > 60
	}
	var from image.Point
	s.until("a light to move", func(p picture) bool {
		at, ok := held(p)
		from = at
		return ok
	})
	s.settle()
	from, _ = held(s.last)
	// From the middle of the plan it stands in its direction, 0 degrees down to the camera
	// and 90 to the right, with 60 cm at the rim.
	old := before[len(before)-1].Lights
	r := 146 * min(1, *old[0].DistanceCM/60)
	sin, cos := math.Sincos(old[0].AzimuthDeg * math.Pi / 180)
	v := image.Pt(int(math.Round(r*sin)), int(math.Round(r*cos)))
	to := from.Sub(v).Add(image.Pt(-v.Y, v.X)) // a quarter clockwise, as seen
	s.do("mousemove", fmt.Sprint(from.X), fmt.Sprint(from.Y), "mousedown", "1")
	for i := 1; i <= 8; i++ {
		s.do("mousemove", fmt.Sprint(from.X+(to.X-from.X)*i/8), fmt.Sprint(from.Y+(to.Y-from.Y)*i/8))
	}
	s.do("mouseup", "1")
	s.until("the light dragged", func(p picture) bool {
		at, n := p.accent(image.Rect(to.X-40, to.Y-40, to.X+40, to.Y+40))
		return n > 60 && math.Hypot(float64(at.X-to.X), float64(at.Y-to.Y)) < 12
	})
	s.keys("Return")
	s.logs("the setup", func() bool { return len(log.setups()) == len(before)+1 })
	now := log.setups()[len(before)].Lights
	moved := 0
	for i := range min(len(old), len(now)) {
		// Azimuth grows from the camera (below) by the right to the back (above): against
		// the clock as drawn.
		switch turn := session.NormalAzimuth(old[i].AzimuthDeg - now[i].AzimuthDeg); {
		case turn == 0:
		case math.Abs(turn-90) < 15:
			moved++
		default:
			s.t.Errorf("light %d went from %.0f to %.0f degrees when dragged by a quarter", i+1, old[i].AzimuthDeg, now[i].AzimuthDeg)
		}
	}
	if moved != 1 || len(old) != len(now) {
		s.t.Errorf("%d lights moved, want 1: before %v, after %v", moved, old, now)
	}
	s.keys("u")
	s.logs("that the setup is undone", func() bool { return len(log.setups()) == len(before) })
}

// search types a word, clears it, and presses a cell of the wheel.
func (s *smoke) search() {
	s.keys("3")
	s.until("Setups", func(p picture) bool { return p.place() == 3 })
	s.settle()
	cards := image.Rect(620, 200, 1440, 820)
	s.keys("f")
	s.changes("cards found by a word", cards, func() { s.do("type", "--delay", "30", "cone") })
	s.keys("Escape")
	s.changes("cleared", cards, func() { s.keys("c") })
	wheel := image.Rect(180, 220, 480, 520) // its middle is at 330,372
	s.changes("setups lit from the back", cards, func() { s.do("mousemove", "330", "264", "click", "1") })
	if _, n := s.last.accent(wheel); n < 400 {
		s.fail("the cell of the wheel is not marked as chosen")
	}
}

// smoke is the program on a screen.
type smoke struct {
	t     testing.TB
	cmd   *exec.Cmd
	errs  *lockedBuffer
	ended chan error
	last  picture
	out   string
}

func startOn(t testing.TB, bin string, args ...string) *smoke {
	t.Helper()
	return start(t, exec.Command(bin, args...))
}

// start starts a command that opens the window.
func start(t testing.TB, cmd *exec.Cmd) *smoke {
	t.Helper()
	out, err := filepath.Abs(filepath.Join("..", "..", "out", "smoke"))
	if err == nil {
		err = os.MkdirAll(out, 0o777)
	}
	if err != nil {
		t.Fatal(err)
	}
	home := t.TempDir()
	s := &smoke{t: t, cmd: cmd, errs: &lockedBuffer{}, ended: make(chan error, 1), out: out}
	s.cmd.Env = append(os.Environ(), "LANG=en_US.UTF-8", "HOME="+home,
		"XDG_DATA_HOME="+filepath.Join(home, "data"), "XDG_CONFIG_HOME="+filepath.Join(home, "config"))
	s.cmd.Stderr = s.errs
	if err := s.cmd.Start(); err != nil {
		t.Fatal(err)
	}
	go func() { s.ended <- s.cmd.Wait() }()
	t.Cleanup(func() { s.cmd.Process.Kill() })
	// Without a window manager keys go to the window under the pointer.
	s.do("mousemove", "720", "880")
	return s
}

// lockedBuffer takes what the program says while the test reads it.
type lockedBuffer struct {
	mu  sync.Mutex
	buf bytes.Buffer
}

func (b *lockedBuffer) Write(p []byte) (int, error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.Write(p)
}

func (b *lockedBuffer) String() string {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.buf.String()
}

// do gives commands to xdotool.
func (s *smoke) do(args ...string) {
	s.t.Helper()
	if out, err := exec.Command("xdotool", args...).CombinedOutput(); err != nil {
		s.fail("xdotool %s: %v %s", strings.Join(args, " "), err, out)
	}
}

func (s *smoke) keys(keys ...string) {
	s.t.Helper()
	s.do(append([]string{"key", "--delay", "30"}, keys...)...)
}

func (s *smoke) signal(sig os.Signal) { s.cmd.Process.Signal(sig) }

func (s *smoke) alive() bool {
	select {
	case err := <-s.ended:
		s.ended <- err
		s.fail("the program has ended: %v", err)
	default:
	}
	return true
}

// ends waits until the program has ended, and judges what it left behind.
func (s *smoke) ends(by string) {
	s.t.Helper()
	select {
	case err := <-s.ended:
		if err != nil {
			s.t.Errorf("ended by %s: %v", by, err)
		}
	case <-time.After(patience):
		s.fail("not ended by %s", by)
	}
	for _, bad := range []string{"Error in Fyne call thread", "panic", "goroutine ", "made a mistake"} {
		if strings.Contains(s.errs.String(), bad) {
			s.t.Errorf("on standard error:\n%s", s.errs)
			return
		}
	}
	if said := s.errs.String(); said != "" {
		s.t.Logf("on standard error:\n%s", said)
	}
}

func (s *smoke) fail(format string, args ...any) {
	s.t.Helper()
	s.keep("failed")
	s.t.Fatalf(format+"\non standard error:\n%s", append(args, s.errs)...)
}

// patience bounds every waiting; it is reached only where something is broken.
const patience = 30 * time.Second

// until looks at the screen until it is as it should be, and keeps the picture.
func (s *smoke) until(what string, ok func(picture) bool) {
	s.t.Helper()
	for end := time.Now().Add(patience); ; {
		s.look()
		if ok(s.last) {
			s.keep(what)
			return
		}
		if time.Now().After(end) {
			s.fail("never on the screen: %s", what)
		}
	}
}

// contents is all of the window but the row of places.
var contents = image.Rect(170, 0, 1440, 900)

// changes does something and waits until an area of the screen has changed by it.
func (s *smoke) changes(what string, area image.Rectangle, do func()) {
	s.t.Helper()
	s.settle()
	before := s.last
	do()
	s.until(what, func(p picture) bool { return p.differs(before, area) > 0.0005 })
	s.settle()
	s.keep(what)
}

// settle looks until two looks in a row are the same.
func (s *smoke) settle() {
	s.t.Helper()
	for end := time.Now().Add(patience); ; {
		before := s.last
		s.look()
		if before.RGBA != nil && s.last.differs(before, s.last.Rect) == 0 {
			break
		}
		if time.Now().After(end) {
			s.fail("the screen never comes to rest")
		}
	}
	if bad := s.last.looksRight(); bad != "" {
		s.fail("%s", bad)
	}
}

// look takes a picture of the whole screen.
func (s *smoke) look() {
	s.t.Helper()
	s.alive()
	data, err := exec.Command("import", "-window", "root", "-depth", "8", "rgba:-").Output()
	if err != nil || len(data) != 4*screenW*screenH {
		s.fail("import: %v, %d bytes; the screen has to have %dx%d pixels", err, len(data), screenW, screenH)
	}
	s.last = picture{&image.RGBA{Pix: data, Stride: 4 * screenW, Rect: image.Rect(0, 0, screenW, screenH)}}
}

// The screen, and the window in it at its first start.
const (
	screenW, screenH = 1600, 1000
	windowW, windowH = 1440, 900
)

// keep writes the last picture to a file; the newest of a name counts.
func (s *smoke) keep(what string) {
	if s.last.RGBA == nil {
		return
	}
	path := filepath.Join(s.out, strings.ReplaceAll(what, " ", "-")+".png")
	f, err := os.Create(path)
	if err == nil {
		err = (&png.Encoder{CompressionLevel: png.BestSpeed}).Encode(f, s.last)
	}
	if err == nil {
		err = f.Close()
	}
	if err != nil {
		s.t.Logf("a picture is not kept: %v", err)
	}
}

// logs waits until the log holds something.
func (s *smoke) logs(what string, ok func() bool) {
	s.t.Helper()
	for end := time.Now().Add(patience); !ok(); time.Sleep(50 * time.Millisecond) {
		if time.Now().After(end) {
			s.fail("never in the log: %s", what)
		}
	}
}

// demoLogFile is the demo's log, read beside the program.
type demoLogFile struct {
	t  *testing.T
	s  *store.Store
	id int64
}

func openDemoLog(t *testing.T, dir string) demoLogFile {
	t.Helper()
	s, err := store.Open(t.Context(), filepath.Join(dir, demoLog))
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { s.Close() })
	own, err := s.OpenSession(t.Context(), dir)
	if err != nil {
		t.Fatal(err)
	}
	return demoLogFile{t, s, own.ID}
}

func (l demoLogFile) edits() []session.Edit {
	e, err := l.s.Edits(l.t.Context(), l.id)
	if err != nil {
		l.t.Fatal(err)
	}
	return e
}

func (l demoLogFile) setups() []session.Setup {
	s, err := l.s.Setups(l.t.Context(), l.id)
	if err != nil {
		l.t.Fatal(err)
	}
	return s
}

// picture is what the screen shows.
type picture struct{ *image.RGBA }

// accent gives the middle of what is in the accent colour within an area, and how many
// pixels that are.
func (p picture) accent(area image.Rectangle) (image.Point, int) {
	want := look.Accent.In(false)
	near := func(a, b uint8) bool { return max(a, b)-min(a, b) <= 24 }
	var sum image.Point
	n := 0
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			if c := p.RGBAAt(x, y); near(c.R, want.R) && near(c.G, want.G) && near(c.B, want.B) {
				sum = sum.Add(image.Pt(x, y))
				n++
			}
		}
	}
	if n == 0 {
		return image.Point{}, 0
	}
	return sum.Div(n), n
}

// topAccent gives the uppermost point in the accent colour within an area.
func (p picture) topAccent(area image.Rectangle) (image.Point, bool) {
	for y := area.Min.Y; y < area.Max.Y; y++ {
		if at, n := p.accent(image.Rect(area.Min.X, y, area.Max.X, y+1)); n > 0 {
			return at, true
		}
	}
	return image.Point{}, false
}

// place tells which place's name has the accent bar beside it, 0 for none. The names'
// base lines are 23 apart, the first at 47.
func (p picture) place() int {
	at, n := p.accent(image.Rect(0, 0, 24, 140))
	if n < 100 {
		return 0
	}
	return int(math.Round(float64(at.Y-41)/23)) + 1
}

// showsFrame: the Table is there, with a photograph in its middle.
func (p picture) showsFrame() bool {
	return p.place() == 1 && p.ground(image.Rect(300, 300, 900, 600)) < 0.2
}

// ground gives the share of an area that is the window's ground.
func (p picture) ground(area image.Rectangle) float64 {
	want, n := look.Ground.In(false), 0
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			if p.RGBAAt(x, y) == (color.RGBA{want.R, want.G, want.B, 255}) {
				n++
			}
		}
	}
	return float64(n) / float64(area.Dx()*area.Dy())
}

// looksRight says what is wrong with the window as a whole; "" when nothing is. The
// limits are loose: the ground of the design is 1A1A1A and fills much of every place, and
// nothing of the program's own is brighter than E6E6E6.
func (p picture) looksRight() string {
	var sum float64
	white := 0
	for y := range windowH {
		for x := range windowW {
			c := p.RGBAAt(x, y)
			sum += (float64(c.R) + float64(c.G) + float64(c.B)) / 3
			if min(c.R, c.G, c.B) >= 250 {
				white++
			}
		}
	}
	const all = windowW * windowH
	switch ground, mean := p.ground(image.Rect(0, 0, windowW, windowH)), sum/all; {
	case ground < 0.2:
		return fmt.Sprintf("only %.0f %% of the window is ground", 100*ground)
	case ground > 0.995:
		return "the window is empty"
	case mean > 100:
		return fmt.Sprintf("the window is too bright for a dark room: %.0f of 255", mean)
	case float64(white) > 0.01*all:
		return fmt.Sprintf("%.1f %% of the window is white", 100*float64(white)/all)
	}
	return ""
}

// differs gives the share of an area's pixels that are not as in another picture.
func (p picture) differs(q picture, area image.Rectangle) float64 {
	n := 0
	for y := area.Min.Y; y < area.Max.Y; y++ {
		for x := area.Min.X; x < area.Max.X; x++ {
			a, b := p.RGBAAt(x, y), q.RGBAAt(x, y)
			if max(a.R, b.R)-min(a.R, b.R) > 8 || max(a.G, b.G)-min(a.G, b.G) > 8 || max(a.B, b.B)-min(a.B, b.B) > 8 {
				n++
			}
		}
	}
	return float64(n) / float64(area.Dx()*area.Dy())
}
