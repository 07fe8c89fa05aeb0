package main

import (
	"fmt"
	"image"
	"image/color"
	"math"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/session"
)

// picture makes an invented picture: rings in a warm tone on a cool ground, blurred
// by as much as asked for.
func picture(w, h int, blur float64) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			dx, dy := float64(x)/float64(w)-0.5, (float64(y)-float64(h)/2)/float64(w)
			r := math.Hypot(dx, dy)
			v := 0.5 + 0.5*math.Cos(r*120+2*math.Atan2(dy, dx))*math.Exp(-blur)
			if r > 0.3 {
				v = 0.25
			}
			img.SetRGBA(x, y, color.RGBA{uint8(60 + 140*v), uint8(60 + 110*v), uint8(70 + 70*v), 255})
		}
	}
	return img
}

func stacksPage() []placed {
	all := head(1, parts.ShapeFill, "", "Stack 3: fill in between 6 and 7.", "A gap of 0.9 mm. The other five stacks are covered.")
	y := float32(152)
	row := func(n int, time, note string, frames int, outcome string) {
		r := parts.NewGroupRow()
		d := parts.RibbonData{Bars: run(frames, 0, 0.98), Near: session.EndClosed, Far: session.EndClosed}
		r.Time, r.Name, r.Note = time, fmt.Sprintf("Stack %d", n), note
		r.Proof, r.Ribbon, r.Verdict, r.VerdictWords, r.Outcome = picture(144, 96, 0), &d, parts.ShapeFree, "covered", outcome
		r.Focused = n == 2
		all = append(all, placed{r, 0, y, 1440, 0})
		y += parts.RowHeight
	}
	seam := func(reason, more string, focused bool) {
		s := parts.NewSeam()
		s.Reason, s.More, s.Focused = reason, more, focused
		all = append(all, placed{s, 0, y, 1440, 0})
		y += parts.SeamHeight
	}
	row(1, "13:58", "pine cone, 13 frames", 13, "blended, handed off")
	seam("a hand over the lens", "", false)
	row(2, "14:09", "gear train, 21 frames", 21, "blended")
	seam("the light moved", ", then a pause of 4 min", true)
	top := y
	wanted := parts.RectOutline(parts.Area{X0: 0.1, Y0: 0.05, X1: 0.9, Y1: 0.95})
	for i, w := range []float32{357, 357, 238} {
		v := parts.NewFrameView()
		v.Picture = picture(int(w)*2, 476, 0)
		switch i {
		case 0:
			v.Spot = &parts.Area{X0: 0.3, Y0: 0.33, X1: 0.4, Y1: 0.48}
		case 1:
			v.Wanted = wanted
			v.Overlay = overlay(int(w), 238)
		case 2:
			v.Picture = picture(160, 238, 0)
		}
		all = append(all, placed{v, 176 + 381*float32(i), y + 20, w, 238})
	}
	y += 280
	d := parts.RibbonData{Bars: run(12, 0, 0.97), Near: session.EndClosed, Far: session.EndClosed}
	for i := 6; i < 12; i++ {
		d.Bars[i].From += 0.03
		d.Bars[i].To += 0.03
	}
	d.Bars[5].Current = true
	d.Gaps = []parts.RibbonGap{{From: d.Bars[5].To, To: d.Bars[6].From}}
	opened := parts.NewRibbon(parts.RibbonOpened)
	opened.Data = d
	spots := parts.NewSpots()
	spots.Ribbon, spots.Current = d, 5
	for i, b := range d.Bars {
		spots.Items = append(spots.Items, parts.Spot{Picture: picture(184, 118, math.Abs(float64(i)-5)/2), Place: (b.From + b.To) / 2, Index: i})
	}
	all = append(all, placed{opened, 176, y, 1232, 0}, placed{spots, 176, y + 78, 1232, 110})
	thread := parts.NewThread()
	all = append(all, placed{thread, look.Wide.ThreadX - 2, top, 4, y + 170 - top})
	y += 176
	seam("turned upright", " and f/10 → f/3.5", false)
	row(4, "14:31", "pebbles, 15 frames", 15, "proof only")
	return all
}

// overlay hatches a ring, as the never-sharp map does.
func overlay(w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	for y := range h {
		for x := range w {
			r := math.Hypot(float64(x-w/2), float64(y-h/2))
			if r > 70 && r < 85 && (x+y)%7 < 3 {
				img.Set(x, y, look.Accent.Now())
			}
		}
	}
	return img
}

func notesPage() []placed {
	all := head(3, parts.ShapePlan, "", "f/9, 28 frames, 0.44 mm apart.", "The least blur that 28 frames can give. About 3 minutes in all.")
	typed := parts.NewInput(look.Typed, "words", "rough surface")
	hint := parts.NewInput(look.Typed, "subject, background, notes", "")
	value := parts.NewInput(look.Input, "", "36 × 24 mm")
	heights := parts.NewChoice(parts.Option{Word: "low"}, parts.Option{Word: "middle"}, parts.Option{Word: "high", Chosen: true}, parts.Option{Word: "overhead"})
	var kinds []parts.Option
	for i, k := range session.LightKinds {
		kinds = append(kinds, parts.Option{Word: string(k), Light: k, Chosen: i < 2})
	}
	made := parts.NewChoice(kinds...)
	made.Columns = 2
	caution := parts.NewCaution("Do not look into it; let it cool before you turn it. Tape its cable to the floor. Its maker's sheet goes before this note.")
	progress := parts.NewProgress()
	progress.Done, progress.Total, progress.Words, progress.Key, progress.KeyWord = 123, 500, "Reading in: 123 of 500 frames", "Esc", "stop"
	notice := parts.NewNotice()
	notice.Words, notice.Key, notice.KeyWord = "Stack 4 was split after frame 12.", "U", "undo"
	problem := parts.NewNotice()
	problem.Words, problem.Problem = "PA240017.JPG breaks off half way: copy it again.", true
	share := parts.NewShareBar()
	share.Share, share.Words = 0.47, "47 %"
	scale := parts.NewStepScale("flat", "soft", "clear", "hard")
	scale.At, scale.Words = 0.92, "hard"
	lines := parts.NewLines([]parts.Line{{Name: "PA240017.JPG", Text: "breaks off half way: copy it again."}, {Name: "PA240018.JPG", Text: "is empty."}})
	empty := parts.NewFrameView()
	empty.Empty = "The newest frame will stand here as soon as the camera has sent it."
	draw := parts.NewFrameView()
	draw.Picture, draw.Draw, draw.Wanted = picture(600, 400, 0), true, parts.Outline{{0.2, 0.2}, {0.7, 0.3}, {0.6, 0.8}, {0.3, 0.7}}
	return append(all,
		placed{typed, 176, 164, 312, 0}, placed{hint, 176, 220, 312, 0}, placed{value, 176, 280, 210, 0},
		placed{heights, 176, 330, 0, 0}, placed{made, 176, 380, 0, 0},
		placed{caution, 32, 510, 340, 80}, placed{progress, 176, 620, 520, 0},
		placed{notice, 176, 670, 600, 0}, placed{problem, 176, 710, 600, 0},
		placed{share, 176, 760, 312, 0}, placed{scale, 176, 800, 312, 0},
		placed{lines, 800, 620, 600, 120},
		placed{empty, 560, 164, 400, 220}, placed{draw, 1000, 164, 400, 260})
}
