package app

import (
	"context"
	"fmt"
	"image"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"stillbench/app/place"
	"stillbench/app/place/placetest"
	"stillbench/session/desk"
	"stillbench/session/plane"
	"stillbench/store"
)

// bigDesk is an invented session; its pictures are those of a real one of frames of 45 megapixels.
type bigDesk struct {
	*placetest.Desk
	files *desk.Desk
	of    map[string]string // fingerprint of the file for that of a frame
}

const bigW, bigH = 8256, 5504

// newBigDesk writes a file for every frame. They are alike but for a comment (ITU-T T.81, B.2.4.5), which
// makes them different frames.
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
	frames := d.Snapshot().Frames
	for i := range frames {
		comment := fmt.Appendf([]byte{0xff, 0xfe, 0, 2 + 8}, "%08d", i)
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("%04d.jpg", i)), slices.Concat(data[:2], comment, data[2:]), 0o666); err != nil {
			b.Fatal(err)
		}
	}
	log, err := store.Open(b.Context(), filepath.Join(b.TempDir(), "log.db"))
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { log.Close() })
	big := bigDesk{d, nil, map[string]string{}}
	if big.files, err = desk.Open(b.Context(), desk.Options{Dir: dir, Log: log, Previews: true}); err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { big.files.Close() })
	if err := big.files.Settled(b.Context()); err != nil {
		b.Fatal(err)
	}
	read := big.files.Snapshot().Frames
	if len(read) != len(frames) {
		b.Fatalf("%d of %d files were read in", len(read), len(frames))
	}
	for i, f := range read {
		big.of[frames[i].Fingerprint] = f.Fingerprint
	}
	return big
}

func (d bigDesk) Picture(ctx context.Context, frame string, maxW, maxH int) (*image.RGBA, error) {
	return d.files.Picture(ctx, d.of[frame], maxW, maxH)
}

func (d bigDesk) Crop(ctx context.Context, frame string, x, y float64, w, h int) (*image.RGBA, error) {
	return d.files.Crop(ctx, d.of[frame], x, y, w, h)
}

// BenchmarkLeafing looks closely at a stack of 60 frames of 45 megapixels and steps through it,
// six frames a second and then back as a key does that is held down: one to one; whole, when the session
// was only just opened; and whole, when the frames were looked at or judged before. A frame
// counts as waited for when its picture was not there a tenth of a second after the step.
func BenchmarkLeafing(b *testing.B) {
	const frames, seen = 60, 100 * time.Millisecond
	for range b.N {
		for _, look := range []struct {
			name   string
			keys   []place.Key
			judged bool
		}{{"one-to-one", []place.Key{"Z"}, false}, {"whole-just-opened", nil, false}, {"whole", nil, true}} {
			w := opened(b, placetest.NewSession().Marker().Stack(frames).Proof())
			big := newBigDesk(b, w.desk)
			if look.judged {
				for _, fp := range big.of {
					if _, err := big.files.Picture(b.Context(), fp, 900, 600); err != nil {
						b.Fatal(err)
					}
				}
			}
			var d place.Desk = big
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
