package desk_test

import (
	"context"
	"errors"
	"image"
	"math"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/plane"
)

// drawn is an invented subject: round spots of light, so that where each stands in a picture
// is known without resampling one.
type drawn struct{ x, y, r, v []float64 }

func newDrawn(seed uint64) drawn {
	r := rand.New(rand.NewPCG(seed, 71))
	var d drawn
	for range 500 {
		d.x, d.y = append(d.x, 1.6*(r.Float64()-0.5)), append(d.y, 1.2*(r.Float64()-0.5))
		d.r, d.v = append(d.r, 0.004+0.016*r.Float64()), append(d.v, 0.5*(r.Float64()-0.5))
	}
	return d
}

// view draws the subject as it lies under l (places in shares of the long side), lit more
// from one side by slope, and with the spots from changed on dried away.
func (d drawn) view(w, h int, l session.Laid, slope float64, changed int) *plane.RGB {
	p := plane.New(w, h)
	long := float64(max(w, h))
	sin, cos := math.Sincos(l.Turn)
	for i := range d.x {
		if i >= changed {
			break
		}
		// In pixels from the corner.
		x := long*(l.Scale*(cos*d.x[i]-sin*d.y[i])+l.DX) + float64(w-1)/2
		y := long*(l.Scale*(sin*d.x[i]+cos*d.y[i])+l.DY) + float64(h-1)/2
		r := long * l.Scale * d.r[i]
		for py := max(0, int(y-3*r)); py <= min(h-1, int(y+3*r)); py++ {
			for px := max(0, int(x-3*r)); px <= min(w-1, int(x+3*r)); px++ {
				dx, dy := float64(px)-x, float64(py)-y
				p.Pix[py*w+px] += float32(d.v[i] * math.Exp(-(dx*dx+dy*dy)/(2*r*r)))
			}
		}
	}
	out := plane.NewRGB(w, h)
	for i, v := range p.Pix {
		v = (0.45 + v) * float32(1+slope*(float64(i%w)/float64(w)-0.5))
		b := byte(min(max(255*v, 0), 255))
		out.Pix[3*i], out.Pix[3*i+1], out.Pix[3*i+2] = b, b, b
	}
	return out
}

func putPicture(t *testing.T, dir, name string, p *plane.RGB) session.PictureFile {
	t.Helper()
	data, err := plane.EncodeJPEG(p, 92, false)
	if err != nil {
		t.Fatal(err)
	}
	put(t, dir, name, data)
	return session.PictureFile{Dir: dir, Name: name}
}

// TestSeriesOverDaysIsLaid: two framings of a subject taken in turn over three days, under
// light that changes, with parts of the subject gone from day to day; in between another
// subject, an upright picture and a file that is none. Truth: the movements that the
// pictures were drawn with.
func TestSeriesOverDaysIsLaid(t *testing.T) {
	if testing.Short() {
		t.Skip("the race detector makes pixels slow: it sees a series laid in the test below")
	}
	dir := t.TempDir()
	cone, shell := newDrawn(101), newDrawn(102)
	as := func(scale, turn, dx, dy float64) session.Laid {
		return session.Laid{Scale: scale, Turn: turn, DX: dx, DY: dy}
	}
	still := as(1, 0, 0, 0)
	near := as(1.9, 0.02, 0.2, -0.1) // the second framing: closer than is taken for the same
	put(t, dir, "NONE.JPG", []byte("no picture"))
	moves := []session.Laid{still, near, as(1.02, 0.01, 0.03, -0.02), {}, as(1.95, 0.03, 0.21, -0.1), {}, {}, as(0.97, -0.02, -0.04, 0.03)}
	list := []session.PictureFile{
		putPicture(t, dir, "A.JPG", cone.view(1200, 800, still, 0, 500)),
		putPicture(t, dir, "B.JPG", cone.view(1200, 800, near, 0, 500)),
		putPicture(t, dir, "C.JPG", cone.view(1200, 800, moves[2], 0.5, 470)),
		putPicture(t, dir, "D.JPG", shell.view(1200, 800, still, 0, 500)),
		// Of another camera: more pixels, and one row less than the same shape.
		putPicture(t, dir, "E.JPG", cone.view(1800, 1199, moves[4], -0.5, 440)),
		{Dir: dir, Name: "NONE.JPG"},
		putPicture(t, dir, "F.JPG", cone.view(800, 1200, still, 0, 440)),
		putPicture(t, dir, "G.JPG", cone.view(1200, 800, moves[7], 0.4, 420)),
	}
	wantOn := []int{0, 1, 0, 3, 1, -1, 6, 0}
	got := make([]session.Framing, 0, len(list))
	err := desk.LaySeries(t.Context(), list, func(i int, f session.Framing) {
		if i != len(got) {
			t.Errorf("picture %d comes as number %d", i, len(got))
		}
		got = append(got, f)
	})
	if err != nil || len(got) != len(list) {
		t.Fatalf("%d of %d pictures, %v", len(got), len(list), err)
	}
	for i, f := range got {
		if f.On != wantOn[i] {
			t.Errorf("%s is laid on %d, want %d", list[i].Name, f.On, wantOn[i])
			continue
		}
		if f.On < 0 || f.On == i {
			if f.Laid != (session.Laid{}) {
				t.Errorf("%s is moved by %+v", list[i].Name, f.Laid)
			}
			continue
		}
		// Places of the earliest picture, as drawn and as found in this one.
		a, b := moves[f.On], moves[i]
		for _, c := range [][2]float64{{-0.3, -0.2}, {0.3, 0.25}} {
			x, y := lie(b, liesAt(a, c))
			gx, gy := lie(f.Laid, c)
			if off := 1200 * math.Hypot(gx-x, gy-y); off > 1 { // less is no jump to be seen
				t.Errorf("%s lies %.2f of 1200 pixels off at %v", list[i].Name, off, c)
			}
		}
	}

	// Laid, a day differs from the first by the sixth of the subject that is gone and by the
	// light; as it was shot, by its whole drawing.
	first, err := desk.PictureIn(t.Context(), dir, "A.JPG", 600, 600)
	if err != nil {
		t.Fatal(err)
	}
	moved, err := desk.PictureLaid(t.Context(), dir, "G.JPG", got[7].Laid, 600, 600)
	if err != nil {
		t.Fatal(err)
	}
	shot, err := desk.PictureLaid(t.Context(), dir, "G.JPG", session.Laid{}, 600, 600)
	if err != nil {
		t.Fatal(err)
	}
	if c := correlation(first, moved); c < 0.75 {
		t.Errorf("laid on the first the picture is like it by %.2f only", c)
	}
	if c := correlation(first, shot); c > 0.5 {
		t.Errorf("as it was shot the picture is like the first by %.2f: the check says nothing", c)
	}
	// G is moved to the left and down by 0.04 and 0.03: what the first shows at the edges, it does not.
	if a := moved.RGBAAt(2, 200).A; a != 0 {
		t.Errorf("beyond the picture's edge there is something (alpha %d)", a)
	}
	if a := moved.RGBAAt(300, 200).A; a != 255 {
		t.Errorf("in the middle the picture is see-through (alpha %d)", a)
	}
}

func lie(l session.Laid, p [2]float64) (x, y float64) {
	sin, cos := math.Sincos(l.Turn)
	return l.Scale*(cos*p[0]-sin*p[1]) + l.DX, l.Scale*(sin*p[0]+cos*p[1]) + l.DY
}

// liesAt is the place of the subject that stands at p.
func liesAt(l session.Laid, p [2]float64) [2]float64 {
	sin, cos := math.Sincos(l.Turn)
	x, y := (p[0]-l.DX)/l.Scale, (p[1]-l.DY)/l.Scale
	return [2]float64{cos*x + sin*y, cos*y - sin*x}
}

// correlation of the middles of two pictures.
func correlation(a, b *image.RGBA) float64 {
	var n, sa, sb, saa, sbb, sab float64
	for y := 100; y < 300; y++ {
		for x := 200; x < 400; x++ {
			u, v := float64(a.RGBAAt(x, y).G), float64(b.RGBAAt(x, y).G)
			n, sa, sb, saa, sbb, sab = n+1, sa+u, sb+v, saa+u*u, sbb+v*v, sab+u*v
		}
	}
	return (sab - sa*sb/n) / math.Sqrt((saa-sa*sa/n)*(sbb-sb*sb/n))
}

func TestLayingASeriesEndsWithItsContext(t *testing.T) {
	dir := t.TempDir()
	p := putPicture(t, dir, "A.JPG", newDrawn(3).view(300, 200, session.Laid{Scale: 1}, 0, 500))
	ctx, cancel := context.WithCancel(t.Context())
	var laid []int
	if err := desk.LaySeries(t.Context(), []session.PictureFile{p, p, p}, func(_ int, f session.Framing) { laid = append(laid, f.On) }); err != nil || !slices.Equal(laid, []int{0, 0, 0}) {
		t.Errorf("one picture three times is laid on %v, %v", laid, err)
	}
	n := 0
	err := desk.LaySeries(ctx, []session.PictureFile{p, p, p}, func(int, session.Framing) { n++; cancel() })
	if !errors.Is(err, context.Canceled) || n != 1 {
		t.Errorf("%d pictures were laid, %v", n, err)
	}
	if err := desk.LaySeries(t.Context(), nil, nil); err != nil {
		t.Errorf("nothing to lay: %v", err)
	}
	if _, err := desk.PictureLaid(t.Context(), dir, filepath.Join("no", "such.JPG"), session.Laid{Scale: 1}, 10, 10); err == nil {
		t.Error("a file that is not there was shown")
	}
}
