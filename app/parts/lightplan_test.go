package parts

import (
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/canvas"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/test"

	"stillbench/app/look"
	"stillbench/session"
)

func cm(v float64) *float64 { return &v }

// twoLights is an invented setup.
func twoLights() []session.Light {
	return []session.Light{
		{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 55, DistanceCM: cm(40), Modifier: "diffuser"},
		{Kind: session.LightCard, AzimuthDeg: 60, ElevationDeg: 15, DistanceCM: cm(30)},
	}
}

func TestAzimuthOnThePlan(t *testing.T) {
	// The design: 0 at the bottom, where the camera is, 90 right, 180 top, 270 left.
	for az, want := range map[float64][2]float32{0: {100, 110}, 90: {110, 100}, 180: {100, 90}, 270: {90, 100}} {
		x, y := planPoint(100, 100, 10, az)
		if !near(float64(x), float64(want[0]), 1e-3) || !near(float64(y), float64(want[1]), 1e-3) {
			t.Errorf("azimuth %g stands at %g, %g, not %v", az, x, y, want)
		}
	}
}

func TestAzimuthThereAndBack(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for range 1000 {
		az, d := 360*rng.Float64(), 1+140*rng.Float32()
		x, y := planPoint(168, 160, d, az)
		gotAz, gotD := planAzimuth(168, 160, x, y)
		off := math.Abs(gotAz - az)
		if math.Min(off, 360-off) > 0.05 || !near(float64(gotD), float64(d), 1e-3) {
			t.Fatalf("azimuth %g, %g px comes back as %g, %g px", az, d, gotAz, gotD)
		}
	}
}

func TestFyneAngles(t *testing.T) {
	// Fyne 2.7: 0 is the top, 90 right, 180 the bottom.
	for az, want := range map[float64]float32{180: 0, 90: 90, 0: 180, 270: -90} {
		if got := fyneAngle(az); got != want {
			t.Errorf("azimuth %g is Fyne's %g, not %g", az, got, want)
		}
	}
}

func TestHeadingPointsAtTheSubject(t *testing.T) {
	for az := 0.0; az < 360; az += 7 {
		x, y := planPoint(0, 0, 50, az)
		u := towards(az)
		sx, sy := u.off(x, y, 50, 0)
		if !near(float64(sx), 0, 1e-3) || !near(float64(sy), 0, 1e-3) {
			t.Errorf("azimuth %g: 50 px ahead lies %g, %g", az, sx, sy)
		}
		// To the right of somebody at the camera who looks at the subject is the
		// camera's right.
		if rx, ry := towards(0).off(0, 50, 0, 10); rx <= 0 || ry != 50 {
			t.Errorf("right of the camera lies %g, %g", rx, ry)
		}
	}
}

func TestDistanceOnThePlan(t *testing.T) {
	g := planIn(160, 160, planR)
	for _, c := range []struct {
		cm     *float64
		want   float32
		beyond bool
	}{
		{cm(60), 146, false}, {cm(30), 73, false}, {cm(40), 146 * 2.0 / 3, false},
		{cm(110), 146, true},        // on the rim, with its distance in words
		{nil, 146 * 2.0 / 3, false}, // not noted: half way, without a word of it
		{cm(1), 22, false},          // never on the subject
	} {
		got, beyond := g.distOf(session.Light{DistanceCM: c.cm})
		if !near(float64(got), float64(c.want), 1e-3) || beyond != c.beyond {
			t.Errorf("%v: %g px, beyond %v", c.cm, got, beyond)
		}
	}
}

func TestPlanPixels(t *testing.T) {
	s := NewLightPlan(planR)
	s.Lights = []session.Light{{Kind: session.LightLED, AzimuthDeg: 90, DistanceCM: cm(30)}, {Kind: session.LightFlash, AzimuthDeg: 180, DistanceCM: cm(30)}}
	win := window(t, s, 2*(planR+24), 2*planR+60)
	img := seen(win)
	cx, cy := float32(planR+24), float32(planR+24)
	for _, c := range []struct {
		what string
		x, y float32
		want look.Colour
	}{
		{"panel on the right", cx + 73, cy, look.Ink1},
		{"its stub, away from the subject", cx + 80, cy, look.Ink1},
		{"nothing in front of it", cx + 66, cy, look.Ground},
		{"upper end of the panel", cx + 73, cy - 11, look.Ink1},
		{"flash behind the subject", cx, cy - 73, look.Ink1},
		{"its base is towards the subject", cx + 8, cy - 70, look.Ink1},
		{"its point is away from it", cx + 8, cy - 82, look.Ground},
		{"camera at the bottom", cx, cy + planR + 10, look.Ink2},
		{"inside of the subject", cx, cy, look.Ground},
	} {
		if got := colourAt(img, c.x, c.y); got != int(c.want) {
			t.Errorf("%s: %v", c.what, img.NRGBAAt(int(c.x), int(c.y)))
		}
	}
}

func TestEveryKindHasItsOwnMark(t *testing.T) {
	marks := map[string]session.LightKind{}
	for _, kind := range session.LightKinds {
		m := NewLightMark(session.Light{Kind: kind})
		m.Pale = true // so that colour cannot tell them apart
		win := window(t, m, 34, 38)
		pix := string(seen(win).Pix)
		if other, ok := marks[pix]; ok {
			t.Errorf("%s and %s look the same", kind, other)
		}
		marks[pix] = kind
		m.Light.Modifier = "diffuser"
		m.Refresh()
		if string(seen(win).Pix) == pix {
			t.Errorf("%s: a diffuser does not show", kind)
		}
	}
}

func TestElevationOnTheArc(t *testing.T) {
	// 0 is level with the subject, to the right; 90 straight above it.
	for e, want := range map[float64][2]float32{0: {156, 100}, 90: {100, 44}} {
		x, y := sidePoint(100, 100, 56, e)
		if !near(float64(x), float64(want[0]), 1e-3) || !near(float64(y), float64(want[1]), 1e-3) {
			t.Errorf("elevation %g: %g, %g, not %v", e, x, y, want)
		}
	}
	if _, y := sidePoint(100, 100, 56, -10); y <= 100 {
		t.Error("a light below the subject is not drawn below it")
	}
}

func TestWordsOfALight(t *testing.T) {
	// By the table of words: eighths of 45 degrees, low below 20, middle to 50, high to 75.
	l := twoLights()[0]
	if got := LightTitle(l); got != "LED panel, diffuser" {
		t.Error(got)
	}
	if got := LightWhere(l); got != "back-left · high · 40 cm" {
		t.Error(got)
	}
	l.DistanceCM = cm(110)
	if got := LightWhere(l); got != "back-left · high · 1.1 m" {
		t.Error(got)
	}
	l.DistanceCM = nil
	if got := LightWhere(l); got != "back-left · high" {
		t.Error(got)
	}
}

// editor shows an editor with two lights, as wide as on the Table.
func editor(t *testing.T) (*LightEditor, fyne.Window) {
	s := NewLightEditor()
	s.Lights = twoLights()
	return s, window(t, s, 336, 520)
}

// press presses at a point of the editor and drags to another.
func press(s *LightEditor, x0, y0, x1, y1 float32) {
	s.MouseDown(&desktop.MouseEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x0, y0)}})
	s.Dragged(&fyne.DragEvent{PointEvent: fyne.PointEvent{Position: fyne.NewPos(x1, y1)}})
	s.MouseUp(&desktop.MouseEvent{})
	s.DragEnd()
}

func TestDraggingOnThePlanSetsSideAndDistance(t *testing.T) {
	s, _ := editor(t)
	var steps, ends int
	s.OnChange = func([]session.Light) { steps++ }
	s.OnDone = func(l []session.Light) { ends++ }
	before := s.Lights
	g := s.geometry()
	x0, y0 := g.spot(s.Lights[1])
	press(s, x0+3, y0-3, g.cx+g.r/2, g.cy) // to the right, half way to the rim: 30 cm
	l := s.Lights[1]
	if l.AzimuthDeg != 90 || *l.DistanceCM != 30 || l.ElevationDeg != 15 {
		t.Errorf("azimuth %g, %g cm, elevation %g", l.AzimuthDeg, *l.DistanceCM, l.ElevationDeg)
	}
	if steps != 1 || ends != 1 || s.Selected != 1 {
		t.Errorf("%d steps, %d ends, light %d selected", steps, ends, s.Selected)
	}
	if before[1].AzimuthDeg != 60 {
		t.Error("the lights handed in were changed")
	}
}

func TestDraggingOnTheArcSetsElevation(t *testing.T) {
	s, _ := editor(t)
	cx, cy := s.corner()
	x0, y0 := sidePoint(cx, cy, sideR, 55)
	x1, y1 := sidePoint(cx, cy, sideR+20, 80)
	press(s, x0, y0, x1, y1)
	l := s.Lights[0]
	if l.ElevationDeg != 80 || l.AzimuthDeg != 225 || *l.DistanceCM != 40 {
		t.Errorf("elevation %g, azimuth %g, %g cm", l.ElevationDeg, l.AzimuthDeg, *l.DistanceCM)
	}
}

func TestDraggedElevationStaysInTheDrawing(t *testing.T) {
	for az, want := range map[float64]float64{90: 0, 135: 45, 180: 90, 200: 90, 224: 90, 70: -20, 30: -60, 300: -90, 0: -90} {
		if got := draggedElevation(az); got != want {
			t.Errorf("%g degrees: elevation %g, not %g", az, got, want)
		}
	}
}

func TestAFarLightKeepsItsDistanceOnTheRim(t *testing.T) {
	if got := draggedDistance(cm(110), 63); *got != 110 {
		t.Errorf("%g cm", *got)
	}
	if got := draggedDistance(cm(110), 44.6); *got != 45 {
		t.Errorf("%g cm", *got)
	}
	if got := draggedDistance(cm(40), 80); *got != 60 {
		t.Errorf("%g cm", *got)
	}
	if got := draggedDistance(nil, 1); *got != leastDistance {
		t.Errorf("%g cm", *got)
	}
}

func TestPressBesideTheLightsMovesNothing(t *testing.T) {
	s, _ := editor(t)
	s.OnChange = func([]session.Light) { t.Error("something moved") }
	s.OnDone = s.OnChange
	press(s, 4, 4, 100, 100)
}

func TestKeysMoveTheSelectedLight(t *testing.T) {
	s, win := editor(t)
	done := 0
	s.OnDone = func([]session.Light) { done++ }
	win.Canvas().Focus(s)
	for _, c := range []struct {
		key          fyne.KeyName
		az, cm, elev float64
	}{
		{fyne.KeyRight, 230, 40, 55}, {fyne.KeyLeft, 225, 40, 55}, {fyne.KeyUp, 225, 45, 55}, {fyne.KeyDown, 225, 40, 55},
		{fyne.KeyPageUp, 225, 40, 60}, {fyne.KeyPageDown, 225, 40, 55},
	} {
		s.TypedKey(key(c.key))
		l := s.Lights[0]
		if l.AzimuthDeg != c.az || *l.DistanceCM != c.cm || l.ElevationDeg != c.elev {
			t.Errorf("%s: azimuth %g, %g cm, elevation %g", c.key, l.AzimuthDeg, *l.DistanceCM, l.ElevationDeg)
		}
	}
	if done != 0 {
		t.Error("done before Enter")
	}
	s.TypedKey(key(fyne.KeyReturn))
	if done != 1 {
		t.Errorf("Enter: done %d times", done)
	}
	win.Canvas().Unfocus()
	if done != 1 {
		t.Error("leaving without a further move reported one")
	}
}

func TestLeavingKeepsAMoveByKeys(t *testing.T) {
	s, win := editor(t)
	done := 0
	s.OnDone = func([]session.Light) { done++ }
	win.Canvas().Focus(s)
	s.TypedKey(key(fyne.KeyRight))
	win.Canvas().Unfocus()
	if done != 1 {
		t.Errorf("done %d times", done)
	}
}

func TestKeysStopAtTheBounds(t *testing.T) {
	l := session.Light{AzimuthDeg: 358, ElevationDeg: 89, DistanceCM: cm(6)}
	l, _ = steppedLight(l, fyne.KeyRight)
	l, _ = steppedLight(l, fyne.KeyPageUp)
	l, _ = steppedLight(l, fyne.KeyDown)
	if l.AzimuthDeg != 3 || l.ElevationDeg != 90 || *l.DistanceCM != leastDistance {
		t.Errorf("azimuth %g, elevation %g, %g cm", l.AzimuthDeg, l.ElevationDeg, *l.DistanceCM)
	}
	for range 100 {
		l, _ = steppedLight(l, fyne.KeyPageDown)
	}
	l.Kind = session.LightLED
	if err := l.Validate(); err != nil {
		t.Error(err)
	}
}

func TestTabGoesThroughTheLightsAndOn(t *testing.T) {
	s, win := editor(t)
	win.Canvas().Focus(s)
	if !s.AcceptsTab() {
		t.Fatal("Tab goes past the lights")
	}
	s.TypedKey(key(fyne.KeyTab))
	if s.Selected != 1 {
		t.Errorf("light %d selected", s.Selected)
	}
	s.Lights = nil
	if s.AcceptsTab() {
		t.Error("without lights, Tab stays")
	}
}

func TestOtherKeysAreHandedOn(t *testing.T) {
	s, _ := editor(t)
	var keys []fyne.KeyName
	var runes []rune
	s.OnKey = func(e *fyne.KeyEvent) { keys = append(keys, e.Name) }
	s.OnRune = func(r rune) { runes = append(runes, r) }
	s.TypedKey(key(fyne.KeyF1))
	s.TypedKey(key(fyne.KeyEscape)) // nothing was moved
	s.TypedRune('l')
	if len(keys) != 2 || len(runes) != 1 {
		t.Errorf("keys %v, letters %v", keys, runes)
	}
}

func TestHeldLightHasItsRing(t *testing.T) {
	s, win := editor(t)
	if n := accentPixels(win); n != 0 {
		t.Errorf("%d pixels of accent at rest", n)
	}
	test.FocusNext(win.Canvas())
	if accentPixels(win) == 0 {
		t.Error("the focus cannot be seen")
	}
	if !hasText(s, "back-left · high · 40 cm") {
		t.Error("no words beside the light")
	}
}

// accentPixels counts the pixels of pure accent.
func accentPixels(win fyne.Window) int {
	img := seen(win)
	n := 0
	for y := range img.Rect.Dy() {
		for x := range img.Rect.Dx() {
			if colourAt(img, float32(x), float32(y)) == int(look.Accent) {
				n++
			}
		}
	}
	return n
}

func TestWordsOfAHeldLightKeepClearOfTheNames(t *testing.T) {
	test.NewTempApp(t)
	look.Set(look.State{Scale: 1})
	for _, narrow := range []bool{false, true} {
		e := NewLightEditor()
		e.Narrow = narrow
		e.Resize(fyne.NewSize(336, 520))
		const capital, tail = 12, 4 // over and under a base line, rounded up
		for az := 0.0; az < 360; az += 5 {
			for _, d := range []float64{10, 25, 40, 50, 60, 110} {
				_, base := e.wordsBox(e.geometry(), session.Light{Kind: session.LightLED, AzimuthDeg: az, ElevationDeg: 30, DistanceCM: cm(d)})
				if base+tail > e.listTop()-capital {
					t.Errorf("narrow %t, %g degrees, %g cm: the words stand at %g, the first name at %g", narrow, az, d, base, e.listTop())
				}
			}
		}
	}
}

func TestNothingIsWrittenUnderTheWordsOfAHeldLight(t *testing.T) {
	test.NewTempApp(t)
	look.Set(look.State{Scale: 1})
	e := NewLightEditor()
	e.Resize(fyne.NewSize(336, 520))
	g := e.geometry()
	for az := 0.0; az < 360; az += 5 {
		for _, d := range []float64{10, 25, 40, 60, 110} {
			l := session.Light{Kind: session.LightLED, AzimuthDeg: az, ElevationDeg: 30, DistanceCM: cm(d)}
			words, base := e.wordsBox(g, l)
			x, y := g.numberAt(l, true)
			if words.meets(box{x - 6, y - 7, x + 6, y + 7}) {
				t.Errorf("%g degrees, %g cm: the words lie on the light's number", az, d)
			}
			if x, y := g.spot(l); words.meets(box{x - 14, y - 14, x + 14, y + 14}) {
				t.Errorf("%g degrees, %g cm: the words lie on the light", az, d)
			}
			if words.x0 < 0 || words.x1 > 336 || base < 14 {
				t.Errorf("%g degrees, %g cm: words at %v", az, d, words)
			}
			// The camera: its body outside the rim, its lens inside.
			if words.meets(box{g.cx - 17, g.cy + g.r, g.cx + 17, g.cy + g.r + 19}) || words.meets(box{g.cx - 8, g.cy + g.r - 10, g.cx + 8, g.cy + g.r}) {
				t.Errorf("%g degrees, %g cm: the words lie on the camera", az, d)
			}
			diagonal := g.ringDiagonal(planned{lights: []session.Light{l}, words: words})
			if off := math.Abs(session.NormalAzimuth(az-diagonal+180) - 180); off <= 22 {
				t.Errorf("%g degrees: the rings' distances stand at %g", az, diagonal)
			}
		}
	}
}

func TestArcMakesRoomForLightsBelow(t *testing.T) {
	if got := arcBelow(twoLights()); got != 0 {
		t.Errorf("%g px below for lights above the table", got)
	}
	// Straight below, the disc and its number stand 72 px under the subject.
	below := arcBelow([]session.Light{{ElevationDeg: -90}})
	if _, y := sidePoint(0, 0, sideR+16, -90); below < y || below > y+12 {
		t.Errorf("room for %g px, the number stands at %g", below, y)
	}
}

func TestLightThroughTheSubject(t *testing.T) {
	for _, c := range []struct {
		az, el float64
		want   bool
	}{{180, 0, true}, {160, 15, true}, {180, 45, false}, {180, -15, true}, {180, -60, false}, {225, 0, false}, {0, 0, false}} {
		if got := through(session.Light{AzimuthDeg: c.az, ElevationDeg: c.el}); got != c.want {
			t.Errorf("azimuth %g, elevation %g: %v", c.az, c.el, got)
		}
	}
}

// TestNumbersOnTheSideArcDoNotTouch: five lights that stand nearly as high have their numbers
// apart by more than a number is high.
func TestNumbersOnTheSideArcDoNotTouch(t *testing.T) {
	var lights []session.Light
	for _, up := range []float64{45, 45, 30, 21, 45} {
		lights = append(lights, session.Light{ElevationDeg: up})
	}
	at := session.NumberElevations(lights, numbersApart)
	for i := range at {
		for j := range i {
			x0, y0 := sidePoint(0, 0, sideR+16, at[i])
			x1, y1 := sidePoint(0, 0, sideR+16, at[j])
			if d := dist(x0, y0, x1, y1); d < 14 { // a number of 15 px is 11 high and 10 wide
				t.Errorf("numbers %d and %d are %g px apart", j+1, i+1, d)
			}
		}
	}
}

// The room is what the Table leaves at 1440 x 900, above its keys.
func TestManyLightsHaveRoomForTheirNames(t *testing.T) {
	test.NewTempApp(t)
	look.Set(look.State{Scale: 1})
	const room = 630
	for n := range 11 {
		e := NewLightEditor()
		e.Resize(fyne.NewSize(336, room))
		for i := range n {
			e.Lights = append(e.Lights, session.Light{Kind: session.LightLED, AzimuthDeg: 36 * float64(i), ElevationDeg: 30, DistanceCM: cm(40)})
		}
		if foot := e.listFoot(); foot > room {
			t.Errorf("%d lights: their names end at %.0f", n, foot)
		}
	}
}

// However long a modifier's name is, a light's words end where the drawing does; where it stands is said
// in full.
func TestLightsWordsEndWithTheDrawing(t *testing.T) {
	cm := 50.0
	l := session.Light{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 60, DistanceCM: &cm, Modifier: "two layers of tracing paper on a frame"}
	for _, narrow := range []bool{true, false} {
		for n := 1; n <= 4; n++ {
			s := NewLightEditor()
			s.Narrow = narrow
			for range n {
				s.Lights = append(s.Lights, l)
			}
			s.Resize(fyne.NewSize(336, s.MinSize().Height))
			whole := false
			for _, o := range test.WidgetRenderer(s).Objects() {
				c, ok := o.(*canvas.Text)
				if !ok {
					continue
				}
				if end := c.Position().X + c.MinSize().Width; end > 336+1 {
					t.Errorf("narrow %v, %d lights: %q ends at %.0f", narrow, n, c.Text, end)
				}
				whole = whole || strings.Contains(c.Text, "50 cm")
			}
			if !whole && (narrow || n <= twoLines) {
				t.Errorf("narrow %v, %d lights: nowhere stands how far away they are", narrow, n)
			}
		}
	}
}

// The distance of a light beyond the rim is written clear of the light's own mark and number, wherever
// round the subject it stands, on plans of every size that has numbers.
func TestAFarLightsDistanceIsClearOfItsMark(t *testing.T) {
	for _, r := range []float32{planR, 96, 72} {
		g := planIn(0, 0, r)
		for az := 0.0; az < 360; az += 7.5 {
			l := session.Light{Kind: session.LightWindow, AzimuthDeg: az, DistanceCM: cm(120)}
			x, base, side := g.farAt(l)
			st := of(look.Ring)
			w := textWidth(Distance(120), st)
			if side == right {
				x -= w
			}
			words := box{x, base - st.px*capHeight, x + w, base}
			// The mark reaches 18 to either side across its heading and 4 along it.
			mx, my := g.spot(l)
			sin, cos := math.Sincos(az * math.Pi / 180)
			for _, across := range []float64{-18, -9, 0, 9, 18} {
				px, py := mx+float32(across*cos)*g.k, my-float32(across*sin)*g.k
				if words.meets(box{px - 3*g.k, py - 3*g.k, px + 3*g.k, py + 3*g.k}) {
					t.Errorf("r %g, %g degrees: the words lie on the mark", r, az)
				}
			}
			nx, ny := g.numberAt(l, false)
			if words.meets(box{nx - 4, ny - 6, nx + 4, ny + 6}) {
				t.Errorf("r %g, %g degrees: the words lie on the number", r, az)
			}
		}
	}
}
