package app

import (
	"context"
	"image"
	"os"
	"path/filepath"
	"testing"
	"time"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session/desk"
	"stillbench/session/plane"
)

// bigDesk is an invented session whose frames are all one file of 45 megapixels.
type bigDesk struct {
	*placetest.Desk
	dir  string
	data []byte
}

const bigW, bigH = 8256, 5504

func newBigDesk(b *testing.B, d *placetest.Desk) bigDesk {
	pic := plane.NewRGB(bigW, bigH)
	seed := uint32(1)
	for i := range pic.Pix {
		// Grain of a sensor makes a file as large as a camera's.
		seed = seed*1664525 + 1013904223
		pic.Pix[i] = uint8(90 + i/3%bigW/80 + int(seed>>24)%25)
	}
	data, err := plane.EncodeJPEG(pic, 90, true)
	if err != nil {
		b.Fatal(err)
	}
	dir := b.TempDir()
	if err := os.WriteFile(filepath.Join(dir, "frame.jpg"), data, 0o666); err != nil {
		b.Fatal(err)
	}
	return bigDesk{d, dir, data}
}

func (d bigDesk) Picture(ctx context.Context, _ string, maxW, maxH int) (*image.RGBA, error) {
	return desk.PictureIn(ctx, d.dir, "frame.jpg", maxW, maxH)
}

func (d bigDesk) Crop(_ context.Context, _ string, x, y float64, w, h int) (*image.RGBA, error) {
	left, top := min(max(int(x*bigW)-w/2, 0), bigW-w), min(max(int(y*bigH)-h/2, 0), bigH-h)
	pic, err := plane.DecodePart(d.data, func(int, int) image.Rectangle { return image.Rect(left, top, left+w, top+h) })
	if err != nil {
		return nil, err
	}
	out := image.NewRGBA(image.Rect(0, 0, w, h))
	for i, j := 0, 0; i < len(pic.Pix); i, j = i+3, j+4 {
		out.Pix[j], out.Pix[j+1], out.Pix[j+2], out.Pix[j+3] = pic.Pix[i], pic.Pix[i+1], pic.Pix[i+2], 255
	}
	return out, nil
}

// BenchmarkLeafing looks closely at a stack of 60 frames of 45 megapixels and steps through it,
// six frames a second and then back as a key does that is held down, whole and one to one. A frame
// counts as waited for when its picture was not there a tenth of a second after the step.
func BenchmarkLeafing(b *testing.B) {
	const frames, seen = 60, 100 * time.Millisecond
	for range b.N {
		for _, look := range []struct {
			name string
			keys []place.Key
		}{{"whole", nil}, {"one-to-one", []place.Key{"Z"}}} {
			w := opened(b, placetest.NewSession().Marker().Stack(frames).Proof())
			var d place.Desk = newBigDesk(b, w.desk)
			w.source.Store(&d)
			w.keys("2", place.KeyEnter)
			w.now = w.now.Add(time.Second)
			w.keys("Z")
			w.pictured()
			for _, k := range look.keys {
				w.now = w.now.Add(time.Second)
				w.keys(k)
				w.pictured()
			}
			for _, way := range []struct {
				name  string
				key   place.Key
				every time.Duration
			}{{"leafing", "B", time.Second / 6}, {"held", "V", time.Second / 30}} {
				waited, longest := 0, time.Duration(0)
				for range frames - 1 {
					stepped := time.Now()
					w.press(way.key)
					there := time.Duration(0)
					for time.Since(stepped) < way.every {
						w.deliveries()
						if there == 0 && w.here() {
							there = time.Since(stepped)
						}
						time.Sleep(time.Millisecond)
					}
					if there == 0 {
						there = time.Since(stepped)
						waited++
					} else if there > seen {
						waited++
					}
					longest = max(longest, there)
				}
				begun := time.Now()
				w.pictured()
				longest = max(longest, time.Since(begun))
				b.ReportMetric(float64(waited), "frames-waited-for-"+look.name+"-"+way.name)
				b.ReportMetric(longest.Seconds()*1000, "ms-longest-wait-"+look.name+"-"+way.name)
			}
		}
	}
}

// deliveries takes in what has come.
func (w *bench) deliveries() {
	w.mu.Lock()
	todo := w.todo
	w.todo = nil
	w.mu.Unlock()
	for _, fn := range todo {
		fn()
	}
}

// here tells whether the picture of the frame stepped to is the one in view.
func (w *bench) here() bool {
	c := w.closeup
	return c.have[c.wantOf(face{frame: c.frame}, c.now())] != nil
}
