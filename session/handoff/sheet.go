package handoff

import (
	"bytes"
	"context"
	"fmt"
	"image"
	"image/draw"
	"image/jpeg"
	"io"
	"math"
	"slices"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"stillbench/session"
)

// Pictures decodes a frame upright into at most maxW x maxH pixels.
type Pictures func(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error)

// Proofs gives a proof by session.Proof.Key, upright, in at most maxW x maxH pixels.
type Proofs func(ctx context.Context, key string, maxW, maxH int) (*image.RGBA, error)

// Sheet is the contact sheet of a session: two stacks a page, each with its picture, where
// the light stood, what the verdict is, its frames from near to far, and the same spot in
// each of them.
type Sheet struct {
	Title  string
	Stacks []Stack
	// Paper is "A4" or "Letter"; "" means A4.
	Paper string
	// Words is as Session.Words.
	Words func(session.Text) string
	// Picture may be nil: places stay empty then.
	Picture Pictures
	// Proof may be nil: a frame stands for the stack then.
	Proof Proofs
}

// paper is a size in mm, upright.
type paper struct{ w, h float64 }

// Papers are the names of the papers there are.
var Papers = []string{"A4", "Letter"}

// ISO 216 and ANSI/ASME Y14.1.
var papers = map[string]paper{"": {210, 297}, "A4": {210, 297}, "Letter": {215.9, 279.4}}

// Measures in mm.
const (
	sheetMargin = 16.0
	sheetHead   = 22.0 // of the first page
	sheetFoot   = 14.0
	perPage     = 2
	planR       = 15.5
	cropMax     = 15.0
	cropsMost   = 24 // more are thinned out
	lane        = 4.2
	laneGap     = 0.5
)

// coverSide is the long side of the large pictures in pixels: 300 to the inch as they stand.
const coverSide = 1400

func (s Sheet) say(t session.Text) string { return Session{Words: s.Words}.say(t) }

// sheetPen draws a sheet.
type sheetPen struct {
	*fpdf.Fpdf
	s        Sheet
	paper    paper
	pictures int
}

// Write writes the sheet as a PDF. Progress is told after each stack. The error is ctx's
// when that ends.
func (s Sheet) Write(ctx context.Context, w io.Writer, progress session.Progress) error {
	size, ok := papers[s.Paper]
	if !ok {
		return session.Refuse("%q is no paper", s.Paper)
	}
	p := &sheetPen{s: s, paper: size}
	p.Fpdf = fpdf.NewCustom(&fpdf.InitType{OrientationStr: "P", UnitStr: "mm", Size: fpdf.SizeType{Wd: size.w, Ht: size.h}})
	p.AddUTF8FontFromBytes(face, "", goregular.TTF)
	p.AddUTF8FontFromBytes(face, "B", gobold.TTF)
	p.SetAutoPageBreak(false, 0)
	p.SetMargins(0, 0, 0)
	p.SetCellMargin(0)
	p.SetTitle(printable(s.Title), true)
	p.SetCreationDate(s.last())
	p.SetModificationDate(s.last())
	pages := max(1, (len(s.Stacks)+perPage-1)/perPage)
	high := (size.h - sheetMargin - sheetHead - sheetFoot) / perPage
	for page := range pages {
		p.AddPage()
		y := sheetMargin
		if page == 0 {
			p.head()
			y += sheetHead
		}
		step := (size.h - y - sheetFoot) / perPage
		for i := page * perPage; i < min((page+1)*perPage, len(s.Stacks)); i++ {
			if err := p.stack(ctx, s.Stacks[i], y, high); err != nil {
				return err
			}
			y += step
			progress.Tell(i+1, len(s.Stacks))
		}
		p.foot(page+1, pages)
	}
	if len(s.Stacks) == 0 {
		p.write(sheetMargin, sheetMargin+sheetHead+6, 11, "", 90, s.say(session.Say("There is no stack in this session.")))
	}
	return p.Output(w)
}

// last is when the last frame was taken; a fixed day when no frame says.
func (s Sheet) last() time.Time {
	out := time.Date(2000, 1, 1, 0, 0, 0, 0, time.UTC)
	for _, k := range s.Stacks {
		for _, f := range k.Frames {
			if f.Meta.Taken.After(out) {
				out = f.Meta.Taken
			}
		}
	}
	return out
}

func (p *sheetPen) right() float64 { return p.paper.w - sheetMargin }

// write writes a line with its base line at y, in points and a grey from 0 (black).
func (p *sheetPen) write(x, y, points float64, style string, grey int, words string) {
	p.SetFont(face, style, points)
	p.SetTextColor(grey, grey, grey)
	p.Text(x, y, printable(words))
}

// cut shortens a text to a width, in the font that is set.
func (p *sheetPen) cut(words string, width float64) string {
	words = printable(words)
	if p.GetStringWidth(words) <= width {
		return words
	}
	r := []rune(words)
	for len(r) > 0 && p.GetStringWidth(strings.TrimRight(string(r), " ")+"…") > width {
		r = r[:len(r)-1]
	}
	return strings.TrimRight(string(r), " ") + "…"
}

func (p *sheetPen) head() {
	p.SetFont(face, "B", 22)
	title := p.cut(p.s.Title, p.right()-sheetMargin)
	p.write(sheetMargin, sheetMargin+7, 22, "B", 20, title)
	shot := 0
	var days []string
	for _, k := range p.s.Stacks {
		shot += len(k.Frames)
		if t := k.Frames[0].Meta.Taken; !t.IsZero() {
			if d := t.Format(time.DateOnly); !slices.Contains(days, d) {
				days = append(days, d)
			}
		}
	}
	stacks := session.Say("%d stacks", len(p.s.Stacks))
	if len(p.s.Stacks) == 1 {
		stacks = session.Say("%d stack", 1)
	}
	words := []string{p.s.say(stacks), p.s.say(frames(shot))}
	switch len(days) {
	case 0:
	case 1:
		words = append(days, words...)
	default:
		words = append([]string{p.s.say(session.Say("%s to %s", days[0], days[len(days)-1]))}, words...)
	}
	p.write(sheetMargin, sheetMargin+13.5, 10.5, "", 110, strings.Join(words, "  ·  "))
}

func (p *sheetPen) foot(page, pages int) {
	y := p.paper.h - 9
	p.SetFont(face, "", 8)
	words := p.s.say(session.Say("%d of %d", page, pages))
	p.write(p.right()-p.GetStringWidth(words), y, 8, "", 130, words)
	p.write(sheetMargin, y, 8, "", 130, p.cut(p.s.Title, (p.right()-sheetMargin)*0.7))
}

// stack draws one stack into a block so high from y on.
func (p *sheetPen) stack(ctx context.Context, k Stack, y, high float64) error {
	if err := ctx.Err(); err != nil {
		return err
	}
	left, right := sheetMargin, p.right()
	verdict := p.s.say(session.Say("Not judged"))
	if k.Check != nil {
		verdict = p.s.say(states[k.Check.Verdict])
	}
	p.SetFont(face, "", 10.5)
	at := right - p.GetStringWidth(verdict)
	p.write(at, y+5.2, 10.5, "", 20, verdict)
	if k.Check != nil {
		p.mark(k.Check.Verdict, at-8, y+1.4)
	}
	p.SetFont(face, "B", 15)
	p.write(left, y+5.4, 15, "B", 20, p.cut(k.Title(), at-left-14))

	// The picture, the light beside it, the ribbon and the spots below.
	pictureH := high - 52
	column := 62.0
	pictureW := right - left - column - 8
	box := rect{left, y + 9.5, pictureW, pictureH}
	wide, err := p.cover(ctx, k, box)
	if err != nil {
		return err
	}
	p.beside(k, rect{right - column, box.y, column, pictureH}, left+wide+8)
	ribbonY := box.y + pictureH + 6.5
	marks := p.ribbon(k, left, ribbonY, right-left)
	if len(marks) > 0 {
		p.write(left, ribbonY-1.2, 6.5, "", 110, p.s.say(session.Say("near")))
		far := p.s.say(session.Say("far"))
		p.write(right-p.GetStringWidth(far), ribbonY-1.2, 6.5, "", 110, far)
	}
	return p.spots(ctx, k, marks, left, ribbonY+2*lane+laneGap+3.4, right-left)
}

// states are the verdicts as they stand in print.
var states = map[session.Verdict]session.Text{
	session.VerdictTooFew: session.Say("Too few frames"), session.VerdictBlurred: session.Say("A frame is blurred"), session.VerdictGap: session.Say("A gap in depth"),
	session.VerdictNearOpen: session.Say("Near end open"), session.VerdictFarOpen: session.Say("Far end open"), session.VerdictUnsteady: session.Say("Light or settings changed"),
	session.VerdictUndecided: session.Say("Not decided"), session.VerdictCovered: session.Say("Covered"),
}

type rect struct{ x, y, w, h float64 }

// proof gives the stack's proof, nil when there is none; the error is ctx's alone.
func (p *sheetPen) proof(ctx context.Context, k Stack, side int) (*image.RGBA, error) {
	if p.s.Proof == nil || k.Proof == nil {
		return nil, ctx.Err()
	}
	pic, err := p.s.Proof(ctx, k.Proof.Key, side, side)
	if err != nil || pic == nil || pic.Bounds().Empty() {
		return nil, ctx.Err() // its middle frame stands for it
	}
	return pic, nil
}

// cover shows the stack's proof, else its middle frame, and gives how wide it stands there.
func (p *sheetPen) cover(ctx context.Context, k Stack, in rect) (float64, error) {
	kept := k.Kept()
	if len(kept) == 0 {
		kept = k.Frames
	}
	pic, err := p.proof(ctx, k, coverSide)
	if pic == nil && err == nil {
		pic, err = p.decode(ctx, kept[len(kept)/2].Fingerprint, coverSide)
	}
	if err != nil {
		return 0, err
	}
	if pic == nil {
		p.SetDrawColor(200, 200, 200)
		p.SetLineWidth(0.2)
		p.Rect(in.x, in.y, in.w, in.h, "D")
		p.write(in.x+4, in.y+7, 9, "", 130, p.s.say(session.Say("Its picture cannot be shown.")))
		return in.w, nil
	}
	b := pic.Bounds()
	scale := min(in.w/float64(b.Dx()), in.h/float64(b.Dy()))
	w, h := scale*float64(b.Dx()), scale*float64(b.Dy())
	return w, p.image(pic, in.x, in.y, w, h)
}

// decode gives a picture, nil when there is none; the error is ctx's alone.
func (p *sheetPen) decode(ctx context.Context, fingerprint string, side int) (*image.RGBA, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	if p.s.Picture == nil {
		return nil, nil
	}
	pic, err := p.s.Picture(ctx, fingerprint, side, side)
	if err != nil || pic == nil || pic.Bounds().Empty() {
		return nil, ctx.Err() // an empty place says so
	}
	return pic, nil
}

func (p *sheetPen) image(pic image.Image, x, y, w, h float64) error {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, pic, &jpeg.Options{Quality: 88}); err != nil {
		return err
	}
	p.pictures++
	name := fmt.Sprint("p", p.pictures)
	o := fpdf.ImageOptions{ImageType: "JPG"}
	p.RegisterImageOptionsReader(name, o, &b)
	p.ImageOptions(name, x, y, w, h, false, o, 0, "")
	return p.Error()
}

// beside draws the light plan at the top of a column, and the words on settings and lights
// below it; where the picture leaves room from x = free on, they stand there instead.
func (p *sheetPen) beside(k Stack, in rect, free float64) {
	if k.Setup != nil && len(k.Setup.Lights) > 0 {
		drawLightPlan(p.Fpdf, k.Setup.Lights, k.Setup.Background != "", in.x+in.w/2, in.y+planR+4, planR)
		if in.x-free > 40 {
			in.w = in.x + in.w/2 - planR - 10 - free
			in.x = free
		} else {
			in.y, in.h = in.y+2*planR+10, in.h-2*planR-10
			in.w, in.x = in.x+in.w-free, free
		}
	}
	y, bottom := in.y, in.y+in.h
	line := func(points float64, style string, grey int, words string) {
		p.SetFont(face, style, points)
		for i, part := range p.wrap(words, in.w) {
			if i == 2 || y+points*0.36 > bottom+0.5 {
				return
			}
			y += points * 0.36
			p.write(in.x, y, points, style, grey, p.cut(part, in.w))
			y += points * 0.12
		}
	}
	line(10, "B", 20, k.Settings())
	line(8.5, "", 60, k.files())
	line(8.5, "", 60, k.counts())
	if k.Setup == nil {
		return
	}
	for i, l := range k.Setup.Lights {
		line(8, "", 90, fmt.Sprintf("%d  %s", i+1, k.light(l)))
	}
}

// units keep to their numbers.
var units = strings.NewReplacer(" cm", "\u00A0cm", " %", "\u00A0%", " W", "\u00A0W", " mm", "\u00A0mm", "  ", "\u00A0\u00A0")

// wrap breaks a text into lines of a width, in the font that is set.
func (p *sheetPen) wrap(words string, width float64) []string {
	var out []string
	now := ""
	for w := range strings.SplitSeq(units.Replace(printable(words)), " ") {
		next := strings.TrimSpace(now + " " + w)
		if now != "" && p.GetStringWidth(next) > width {
			out = append(out, now)
			next = w
		}
		now = next
	}
	if now != "" {
		out = append(out, now)
	}
	return out
}

// files names the first and the last frame.
func (k Stack) files() string {
	first, last := k.Frames[0].Name, k.Frames[len(k.Frames)-1].Name
	if first == last {
		return first
	}
	// In one folder its name is said once.
	if i := strings.LastIndex(first, "/"); i >= 0 && strings.HasPrefix(last, first[:i+1]) {
		last = last[i+1:]
	}
	return k.say(session.Say("%s to %s", first, last))
}

// counts says how many frames there are, and when they were taken.
func (k Stack) counts() string {
	words := k.say(frames(len(k.Frames)))
	if aside := len(k.Frames) - len(k.Kept()); aside > 0 {
		words += ", " + k.say(session.Say("%d set aside", aside))
	}
	a, b := k.Frames[0].Meta.Taken, k.Frames[len(k.Frames)-1].Meta.Taken
	if !a.IsZero() && !b.IsZero() {
		at := a.Format("15:04")
		if until := b.Format("15:04"); until != at {
			at = k.say(session.Say("%s to %s", at, until))
		}
		words += " · " + at
	}
	return words
}

// spots shows the same spot in each frame, from near to far, each under its bar's number.
// marks are where the bars' middles lie, by fingerprint; it may be empty.
func (p *sheetPen) spots(ctx context.Context, k Stack, marks map[string]float64, left, y, width float64) error {
	frames := k.Kept()
	if p.s.Picture == nil || len(frames) < 2 {
		return nil
	}
	number := map[string]int{}
	for i, f := range frames {
		number[f.Fingerprint] = i + 1
	}
	slices.SortStableFunc(frames, func(a, b session.Frame) int {
		x, y := marks[a.Fingerprint], marks[b.Fingerprint]
		switch {
		case x < y:
			return -1
		case x > y:
			return 1
		}
		return 0
	})
	for len(frames) > cropsMost {
		var half []session.Frame
		for i := 0; i < len(frames); i += 2 {
			half = append(half, frames[i])
		}
		frames = half
	}
	const apart = 1.2
	side := min(cropMax, (width-apart*float64(len(frames)-1))/float64(len(frames)))
	step := side + apart
	if n := float64(len(frames) - 1); n > 0 {
		step = min((width-side)/n, side*2) // over the width, as the ribbon is
	}
	sx, sy := spot(frames)
	const drop = 4.0 // of the hairlines
	for i, f := range frames {
		pic, err := p.decode(ctx, f.Fingerprint, 1600)
		if err != nil {
			return err
		}
		x := left + step*float64(i)
		if m, ok := marks[f.Fingerprint]; ok {
			p.SetDrawColor(190, 190, 190)
			p.SetLineWidth(0.12)
			p.Line(m, y, x+side/2, y+drop)
		}
		if pic != nil {
			if err := p.image(square(pic, sx, sy), x, y+drop+0.4, side, side); err != nil {
				return err
			}
		} else {
			p.SetDrawColor(200, 200, 200)
			p.Rect(x, y+drop+0.4, side, side, "D")
		}
		words := fmt.Sprint(number[f.Fingerprint])
		p.SetFont(face, "", 6.5)
		p.write(x+side/2-p.GetStringWidth(words)/2, y+drop+side+3.2, 6.5, "", 110, words)
	}
	return nil
}

// spot chooses where the frames differ most in sharpness: a place, in 0..1 of the upright
// picture, that is sharp in one and soft in another. The middle where nothing is known.
func spot(frames []session.Frame) (x, y float64) {
	f := frames[0].Figures
	if f == nil || f.SharpW < 3 || f.SharpH < 3 {
		return 0.5, 0.5
	}
	best, at := 0.0, -1
	for ty := 1; ty < f.SharpH-1; ty++ {
		for tx := 1; tx < f.SharpW-1; tx++ {
			lo, hi := math.Inf(1), 0.0
			for _, o := range frames {
				g := o.Figures
				if g == nil || g.SharpW != f.SharpW || g.SharpH != f.SharpH || len(g.Sharp) != g.SharpW*g.SharpH {
					return 0.5, 0.5
				}
				v := float64(g.Sharp[ty*g.SharpW+tx])
				lo, hi = min(lo, v), max(hi, v)
			}
			if hi-lo > best {
				best, at = hi-lo, ty*f.SharpW+tx
			}
		}
	}
	if at < 0 {
		return 0.5, 0.5
	}
	u := (float64(at%f.SharpW) + 0.5) / float64(f.SharpW)
	v := (float64(at/f.SharpW) + 0.5) / float64(f.SharpH)
	o := 1
	if frames[0].Meta.Orientation != nil {
		o = *frames[0].Meta.Orientation
	}
	return upright(u, v, o)
}

// upright takes a place in a picture as stored to its place once the orientation is applied
// (CIPA DC-008, tag 0x0112).
func upright(u, v float64, orientation int) (x, y float64) {
	switch orientation {
	case 2:
		return 1 - u, v
	case 3:
		return 1 - u, 1 - v
	case 4:
		return u, 1 - v
	case 5:
		return v, u
	case 6:
		return 1 - v, u
	case 7:
		return 1 - v, 1 - u
	case 8:
		return v, 1 - u
	}
	return u, v
}

// square copies a square around (x, y), an eighth of the picture's long side wide.
func square(pic *image.RGBA, x, y float64) image.Image {
	b := pic.Bounds()
	side := max(1, min(max(b.Dx(), b.Dy())/8, b.Dx(), b.Dy()))
	left := min(max(int(x*float64(b.Dx()))-side/2, 0), b.Dx()-side)
	top := min(max(int(y*float64(b.Dy()))-side/2, 0), b.Dy()-side)
	out := image.NewRGBA(image.Rect(0, 0, side, side))
	draw.Draw(out, out.Bounds(), pic, b.Min.Add(image.Pt(left, top)), draw.Src)
	return out
}
