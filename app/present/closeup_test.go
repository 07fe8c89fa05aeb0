package present

import (
	"image"
	"math"
	"math/rand/v2"
	"strings"
	"testing"

	"stillbench/app/place/placetest"
	"stillbench/session"
)

func TestSeenIsAboutTheSpotAndInsideThePicture(t *testing.T) {
	for _, c := range []struct {
		eye  Eye
		want image.Rectangle
	}{
		{Eye{0.5, 0.5, ZoomOne}, image.Rect(2500, 1700, 3500, 2300)},
		{Eye{0.5, 0.5, ZoomTwo}, image.Rect(2750, 1850, 3250, 2150)},
		{Eye{0, 1, ZoomOne}, image.Rect(0, 3400, 1000, 4000)},
		{Eye{0.1, 0.9, ZoomWhole}, image.Rect(0, 0, 6000, 4000)},
	} {
		if got := c.eye.Seen(6000, 4000, 1000, 600); got != c.want {
			t.Errorf("%+v sees %v, want %v", c.eye, got, c.want)
		}
	}
	if got := (Eye{0.3, 0.3, ZoomOne}).Seen(800, 4000, 1000, 600); got.Dx() != 800 || got.Dy() != 600 {
		t.Errorf("a picture narrower than the view is seen as %v", got)
	}
}

func TestMovedGoesSoManyPixelsAndNoFartherThanThePicture(t *testing.T) {
	e := Eye{0.5, 0.5, ZoomOne}.Moved(-300, 7, 6000, 4000, 1000, 600)
	if got := e.Seen(6000, 4000, 1000, 600); got != image.Rect(2200, 1707, 3200, 2307) {
		t.Errorf("moved: %v", got)
	}
	e = e.Moved(-9000, 9000, 6000, 4000, 1000, 600)
	if got := e.Seen(6000, 4000, 1000, 600); got != image.Rect(0, 3400, 1000, 4000) {
		t.Errorf("moved far: %v", got)
	}
	// From the edge it comes back at once: what went past it is not kept.
	if got := e.Moved(10, -10, 6000, 4000, 1000, 600).Seen(6000, 4000, 1000, 600); got != image.Rect(10, 3390, 1010, 3990) {
		t.Errorf("moved back: %v", got)
	}
}

// What lies under the pointer stays there when the zoom changes, where the picture's edge does
// not forbid it.
func TestZoomedKeepsWhatIsUnderThePointer(t *testing.T) {
	const w, h, vw, vh = 6000, 4000, 1001, 605
	at := func(e Eye, fx, fy float64) (x, y float64) {
		s := e.Seen(w, h, vw, vh)
		return float64(s.Min.X) + fx*float64(s.Dx()), float64(s.Min.Y) + fy*float64(s.Dy())
	}
	r := rand.New(rand.NewPCG(3, 9))
	for range 500 {
		fx, fy := 0.2+0.6*r.Float64(), 0.2+0.6*r.Float64()
		whole := Eye{r.Float64(), r.Float64(), ZoomWhole}
		one := whole.Zoomed(ZoomOne, fx, fy, w, h, vw, vh)
		two := one.Zoomed(ZoomTwo, fx, fy, w, h, vw, vh)
		x, y := at(whole, fx, fy)
		for _, e := range []Eye{one, two, two.Zoomed(ZoomOne, fx, fy, w, h, vw, vh)} {
			if ex, ey := at(e, fx, fy); math.Abs(ex-x) > 2 || math.Abs(ey-y) > 2 {
				t.Fatalf("(%.0f, %.0f) is at (%.1f, %.1f) with %+v", x, y, ex, ey, e)
			}
		}
	}
	if e := (Eye{0.3, 0.7, ZoomTwo}).Zoomed(ZoomWhole, 0.9, 0.1, w, h, vw, vh); e != (Eye{0.3, 0.7, ZoomWhole}) {
		t.Errorf("the spot is lost over the whole picture: %+v", e)
	}
}

// A block holds what is seen at both zooms, is shared by neighbouring spots, and Desk.Crop finds
// it by its middle: w pixels from int(x * full) - w/2 on, inside the picture.
func TestBlockHoldsWhatIsSeen(t *testing.T) {
	r := rand.New(rand.NewPCG(4, 9))
	for range 2000 {
		w, h, vw, vh := 200+r.IntN(9000), 200+r.IntN(6000), 100+r.IntN(4000), 100+r.IntN(2200)
		e := Eye{r.Float64(), r.Float64(), ZoomOne}
		b := e.Block(w, h, vw, vh)
		for _, e.Zoom = range []Zoom{ZoomOne, ZoomTwo} {
			if s := e.Seen(w, h, vw, vh); !s.In(b) || !b.In(image.Rect(0, 0, w, h)) {
				t.Fatalf("%d x %d, view %d x %d: %v is seen, the block is %v", w, h, vw, vh, s, b)
			}
		}
		x, y := Spot(b, w, h)
		left, top := min(max(int(x*float64(w))-b.Dx()/2, 0), w-b.Dx()), min(max(int(y*float64(h))-b.Dy()/2, 0), h-b.Dy())
		if image.Pt(left, top) != b.Min {
			t.Fatalf("%v of %d x %d is cropped from (%d, %d)", b, w, h, left, top)
		}
		if most := max(blockBytes, 4*vw*vh); 4*b.Dx()*b.Dy() > most {
			t.Fatalf("a block of %v takes more than %d bytes", b, most)
		}
	}
	blocks := map[image.Rectangle]bool{}
	for i := range 100 {
		blocks[Eye{0.5, 0.5, ZoomOne}.Moved(i, 0, 6000, 4000, 1000, 600).Block(6000, 4000, 1000, 600)] = true
	}
	if len(blocks) > 2 {
		t.Errorf("%d blocks on the way of 100 pixels", len(blocks))
	}
}

func TestPictureSizeIsUprightAndThatOfWhatIsShown(t *testing.T) {
	w, h, turn := 6000, 4000, 6
	m := session.Meta{Width: &w, Height: &h, Orientation: &turn}
	if gw, gh := PictureSize(m); gw != 4000 || gh != 6000 {
		t.Errorf("%d x %d", gw, gh)
	}
	m.Preview = &session.Preview{Width: 1620, Height: 1080}
	if gw, gh := PictureSize(m); gw != 1080 || gh != 1620 {
		t.Errorf("with a preview: %d x %d", gw, gh)
	}
}

// OnProof is the inverse of the way from the proof to a frame that touch-ups go.
func TestOnProofIsTheWayBack(t *testing.T) {
	b := placetest.NewSession().Marker().Stack(3).Proof()
	id := b.S.Groups[1].ID
	p := b.S.Proofs[id]
	p.Turn = 6
	p.Frames[2].Scale, p.Frames[2].Turn, p.Frames[2].DX, p.Frames[2].DY = 1.04, 0.01, 9, -5
	b.S.Proofs[id] = p
	c, ok := CloseupOf(&b.S, id)
	row := StacksOf(&b.S).Rows[1]
	touching, ok2 := TouchingOf(&b.S, row)
	if !ok || !ok2 {
		t.Fatal("no closeup or no touch-up")
	}
	for _, q := range [][2]float64{{0.5, 0.5}, {0.1, 0.8}, {0.93, 0.2}} {
		x, y := touching.In(row.Frames[2], q[0], q[1])
		if gx, gy := c.OnProof(c.Frames[2], x, y); math.Abs(gx-q[0]) > 1e-9 || math.Abs(gy-q[1]) > 1e-9 {
			t.Errorf("%v comes back as (%v, %v)", q, gx, gy)
		}
	}
}

// A frame that lies exactly on the proof: the map is the ratio of their sizes.
func TestProofUnderIsTheRatioOfSizes(t *testing.T) {
	b := placetest.NewSession().Marker().Stack(3).Proof() // 6000 x 4000 on 960 x 640
	c, _ := CloseupOf(&b.S, b.S.Groups[1].ID)
	a := c.ProofUnder(c.Frames[0], image.Rect(2500, 1250, 3500, 1850), 500, 300)
	for i, want := range [6]float64{0.32, 0, 400, 0, 0.32, 200} {
		if math.Abs(a[i]-want) > 1e-9 {
			t.Fatalf("%v", a)
		}
	}
}

func TestCloseupSaysWhatIsShown(t *testing.T) {
	b := placetest.NewSession().Marker().Stack(3).Proof()
	c, _ := CloseupOf(&b.S, b.S.Groups[1].ID)
	for _, k := range []struct {
		s    Sight
		want []string
	}{
		{Sight{Zoom: ZoomOne}, []string{"Frame 1, one to one.", "W A S F"}},
		{Sight{Zoom: ZoomOne, Coming: true}, []string{"Reading the picture."}},
		{Sight{Zoom: ZoomTwo, Clipped: &Clipping{Bright: 0.012}}, []string{"two to one", "Too bright, in view: 1.2 % (rising strokes)."}},
		{Sight{Zoom: ZoomTwo, Clipped: &Clipping{Bright: 0.012, Dark: 0.2}}, []string{"Too bright: 1.2 % (rising strokes). Too dark: 20 % (falling)."}},
		{Sight{Zoom: ZoomTwo, Clipped: &Clipping{}}, []string{"Nothing is clipped in view."}},
		{Sight{Clipped: &Clipping{}}, []string{"whole", "at this size"}}, // averaging hides specks
		{Sight{Zoom: ZoomOne, Proof: true, Enlarged: 6.25}, []string{"The proof, one to one.", "At preview size, enlarged 6.2 times"}},
		{Sight{Zoom: ZoomOne, Held: "Frame 3"}, []string{"Frame 3, frame 1, in turn.", "half a second"}},
		{Sight{Zoom: ZoomOne, Held: "Frame 1", Same: true}, []string{"Frame 1, one to one.", "Frame 1 is held."}},
	} {
		k.s.Frame = c.Frames[0]
		said := c.Sentence(k.s)
		number := "1" // stands in the shape; the proof has none
		if k.s.Proof {
			number = ""
		}
		if said.Mark != MarkFrame || said.Number != number {
			t.Errorf("%+v: mark %d, number %q", k.s, said.Mark, said.Number)
		}
		for _, want := range k.want {
			if !strings.Contains(said.Headline+" / "+said.WhatToDo, want) {
				t.Errorf("%+v: %q / %q, want %q in it", k.s, said.Headline, said.WhatToDo, want)
			}
		}
	}
	lines := strings.Join(c.Lines(Sight{Frame: c.Frames[1], Zoom: ZoomOne}), "|")
	if lines != "Stack 1|2 of 3|f/10|1/6 s|ISO 100|1:1" {
		t.Errorf("lines %q", lines)
	}
}
