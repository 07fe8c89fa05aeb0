package present

import (
	"fmt"
	"image"
	"math"
	"slices"
	"strconv"

	"stillbench/assets/words"
	"stillbench/session"
	"stillbench/session/desk"
)

// Zoom is how large a picture is looked at.
type Zoom int

// The zooms. From ZoomOne on, the number is how many pixels of the screen show one pixel of the
// picture, across and down.
const (
	ZoomWhole Zoom = iota // the whole picture fits in
	ZoomOne
	ZoomTwo
)

// Next is the zoom that follows, and after the last one the first.
func (z Zoom) Next() Zoom { return (z + 1) % (ZoomTwo + 1) }

func (z Zoom) words() string { return [...]string{words.CloseWhole, words.CloseOne, words.CloseTwo}[z] }

func (z Zoom) short() string {
	return [...]string{words.CloseWhole, words.CloseScaleOne, words.CloseScaleTwo}[z]
}

// Eye is what is looked at: a spot, in shares (0..1) of the upright picture's width and height,
// and how large. The methods take the picture's size w x h and the view's vw x vh, in pixels of
// the picture and of the screen.
type Eye struct {
	X, Y float64
	Zoom Zoom
}

// Seen is the part of the picture that is in view: about the spot, and inside the picture.
func (e Eye) Seen(w, h, vw, vh int) image.Rectangle {
	if e.Zoom == ZoomWhole {
		return image.Rect(0, 0, w, h)
	}
	x0, x1 := seen(e.X, w, vw/int(e.Zoom))
	y0, y1 := seen(e.Y, h, vh/int(e.Zoom))
	return image.Rect(x0, y0, x1, y1)
}

func seen(at float64, full, size int) (from, to int) {
	size = min(size, full)
	from = min(max(int(at*float64(full))-size/2, 0), full-size)
	return from, from + size
}

// Moved moves the view so many pixels of the picture to the right and down, as far as the
// picture goes.
func (e Eye) Moved(dx, dy, w, h, vw, vh int) Eye {
	s := e.Seen(w, h, vw, vh)
	e.X = moved(e.X, s.Min.X, s.Dx(), dx, w)
	e.Y = moved(e.Y, s.Min.Y, s.Dy(), dy, h)
	return e
}

func moved(at float64, from, size, by, full int) float64 {
	if size >= full {
		return at // all of it is in view
	}
	return middle(min(max(from+by, 0), full-size), size, full)
}

// middle is the spot in the middle of so many pixels, in the middle of its own pixel: Seen and
// Desk.Crop find the same pixels again whatever is lost in the division.
func middle(from, size, full int) float64 {
	return (float64(from+size/2) + 0.5) / float64(full)
}

// Zoomed changes the zoom and keeps what is shown at a point of what is in view, in shares of
// it, where it is, as far as the picture goes.
func (e Eye) Zoomed(z Zoom, fx, fy float64, w, h, vw, vh int) Eye {
	s := e.Seen(w, h, vw, vh)
	out := Eye{e.X, e.Y, z}
	if z == ZoomWhole || w <= 0 || h <= 0 {
		return out // the spot is kept for the next time
	}
	n := out.Seen(w, h, vw, vh)
	out.X = moved(e.X, 0, n.Dx(), int(math.Round(float64(s.Min.X)+fx*float64(s.Dx())-fx*float64(n.Dx()))), w)
	out.Y = moved(e.Y, 0, n.Dy(), int(math.Round(float64(s.Min.Y)+fy*float64(s.Dy())-fy*float64(n.Dy()))), h)
	return out
}

// A block is larger than the view, so that the view can be moved a little without a wait; on a
// screen so large that a few blocks would fill the memory it is no larger.
const (
	blockMore  = 1.5      // times the view's sides, at most
	blockBytes = 32 << 20 // what a block may take, at four bytes a pixel, unless the view takes more
)

// Block is the part of the picture to have at hand for the spot: it holds what is seen there at
// ZoomOne and ZoomTwo. Neighbouring spots share it.
func (e Eye) Block(w, h, vw, vh int) image.Rectangle {
	e.Zoom = ZoomOne
	s := e.Seen(w, h, vw, vh)
	more := min(max(math.Sqrt(blockBytes/(4*float64(max(vw, 1))*float64(max(vh, 1)))), 1), blockMore)
	x0, x1 := block(s.Min.X, s.Dx(), w, more)
	y0, y1 := block(s.Min.Y, s.Dy(), h, more)
	return image.Rect(x0, y0, x1, y1)
}

// block finds the block round size pixels from a place on. Blocks begin half of what they are
// larger apart, so that some of it is left beside the view when the next one is asked for.
func block(from, size, full int, more float64) (int, int) {
	length := min(max(int(float64(size)*more), size), full)
	slack := length - size
	step := max(slack/2, 1)
	start := (from - slack/2 + step/2)
	start -= ((start % step) + step) % step // down to a whole number of steps, also from below 0
	start = min(max(start, 0), full-length)
	return start, start + length
}

// Spot is the middle of a block as Desk.Crop takes it.
func Spot(b image.Rectangle, w, h int) (x, y float64) {
	return middle(b.Min.X, b.Dx(), w), middle(b.Min.Y, b.Dy(), h)
}

// PartRound is the part of a frame's picture that Desk.Crop gives round a spot, in shares.
func PartRound(m session.Meta, x, y float64, w, h int) (x0, y0, x1, y1 float64) {
	fullW, fullH := PictureSize(m)
	if fullW <= 0 || fullH <= 0 {
		return 0, 0, 1, 1
	}
	l, r := seen(x, fullW, w)
	t, b := seen(y, fullH, h)
	return float64(l) / float64(fullW), float64(t) / float64(fullH), float64(r) / float64(fullW), float64(b) / float64(fullH)
}

// PictureSize is the upright size, in pixels, of the picture that shows a frame, which can be
// smaller than the sensor's; 0, 0 when it is not known.
func PictureSize(m session.Meta) (w, h int) {
	switch {
	case m.Preview != nil && m.Preview.Width > 0 && m.Preview.Height > 0:
		w, h = m.Preview.Width, m.Preview.Height
	case m.Width != nil && m.Height != nil:
		w, h = *m.Width, *m.Height
	}
	if o := m.Orientation; o != nil && *o >= 5 && *o <= 8 {
		w, h = h, w
	}
	return w, h
}

// Closeup is a group as it is looked at closely.
type Closeup struct {
	Group  int64
	Name   string // "Stack 3"
	Frames []CloseFrame
	Proof  Proof

	lies session.Proof
}

// CloseFrame is one frame of it.
type CloseFrame struct {
	Fingerprint string
	Number      int      // in the order shot, from 1
	Heading     string   // "Frame 7"
	Exposure    []string // aperture, shutter, ISO as far as known
	SetAside    bool
	Picture     bool
	W, H        int // upright size of its picture in pixels, 0 when not known
}

// CloseupOf makes it, with the frames in the order of the group's row; false when there is no
// such group.
func CloseupOf(s *desk.Snapshot, group int64) (Closeup, bool) {
	b := open(s)
	i := slices.IndexFunc(s.Groups, func(g session.Group) bool { return g.ID == group })
	if i < 0 || len(s.Groups[i].Frames) == 0 {
		return Closeup{}, false
	}
	g := s.Groups[i]
	c := Closeup{Group: group, Proof: b.proof(group), lies: s.Proofs[group]}
	c.Name, _ = b.rowName(i)
	for _, f := range b.rowFrames(g, b.ribbon(g, s.Checks[group], "")) {
		m := b.frames[f.Fingerprint].Meta
		w, h := PictureSize(m)
		c.Frames = append(c.Frames, CloseFrame{
			Fingerprint: f.Fingerprint, Number: f.Number, Heading: f.Heading, Exposure: Exposure(m), SetAside: f.SetAside, Picture: f.Picture, W: w, H: h,
		})
	}
	return c, len(c.Frames) > 0
}

// Index is that of a frame, 0 when it is not there.
func (c Closeup) Index(fingerprint string) int {
	return max(slices.IndexFunc(c.Frames, func(f CloseFrame) bool { return f.Fingerprint == fingerprint }), 0)
}

func (c Closeup) lie(fingerprint string) (session.ProofFrame, bool) {
	return Touching{Proof: c.lies}.lie(fingerprint)
}

// OnProof gives where a point of a frame lies on the proof; both in shares, upright. A frame
// that is not in the proof counts as lying exactly on it.
func (c Closeup) OnProof(f CloseFrame, x, y float64) (float64, float64) {
	l, ok := c.lie(f.Fingerprint)
	if !ok || l.Scale <= 0 {
		return x, y
	}
	w, h := float64(c.lies.W), float64(c.lies.H)
	u, v := Stored(c.lies.Turn, x, y)
	// The inverse of what is said at session.ProofFrame.
	sin, cos := math.Sincos(l.Turn)
	px, py := ((u-0.5)*w-l.DX)/l.Scale, ((v-0.5)*h-l.DY)/l.Scale
	return Upright(c.lies.Turn, (cos*px+sin*py)/w+0.5, (cos*py-sin*px)/h+0.5)
}

// ProofUnder is the affine map from n x m pixels that show a part of a frame (in pixels of its
// picture) to the pixels of the proof that lie there: (x, y) to (a[0] x + a[1] y + a[2],
// a[3] x + a[4] y + a[5]).
func (c Closeup) ProofUnder(f CloseFrame, part image.Rectangle, n, m int) (a [6]float64) {
	at := func(x, y float64) (float64, float64) {
		x, y = float64(part.Min.X)+x*float64(part.Dx())/float64(n), float64(part.Min.Y)+y*float64(part.Dy())/float64(m)
		x, y = c.OnProof(f, x/float64(max(f.W, 1)), y/float64(max(f.H, 1)))
		return x * float64(c.Proof.W), y * float64(c.Proof.H)
	}
	x0, y0 := at(0, 0)
	x1, y1 := at(float64(n), 0)
	x2, y2 := at(0, float64(m))
	return [6]float64{
		(x1 - x0) / float64(n), (x2 - x0) / float64(m), x0,
		(y1 - y0) / float64(n), (y2 - y0) / float64(m), y0,
	}
}

// Clipping is how much of a picture in view is at the top (255) or the bottom (0) of the scale in
// one channel or more, as shares of its pixels.
type Clipping struct{ Bright, Dark float64 }

func (c Clipping) words() string {
	switch {
	case c.Bright > 0 && c.Dark > 0:
		return fmt.Sprintf(words.ClipF, Percent(c.Bright), Percent(c.Dark))
	case c.Bright > 0:
		return fmt.Sprintf(words.ClipBrightF, Percent(c.Bright))
	case c.Dark > 0:
		return fmt.Sprintf(words.ClipDarkF, Percent(c.Dark))
	}
	return words.ClipNothing
}

// Sight is what is looked at in a closeup.
type Sight struct {
	Frame CloseFrame
	Zoom  Zoom
	Proof bool // the proof is shown in place of the frame
	// Held is the heading of what the frame is compared with in turn, "" for nothing; Same: it
	// is still the frame itself.
	Held string
	Same bool
	// Clipped says what is clipped, where that is asked for and known.
	Clipped *Clipping
	// Enlarged is how many pixels of the screen show one of the proof.
	Enlarged float64
	// Coming: its picture is being read.
	Coming bool
}

// Sentence says what is shown and what can be done.
func (c Closeup) Sentence(s Sight) Sentence {
	out := Sentence{Mark: MarkFrame, Number: strconv.Itoa(s.Frame.Number), Headline: fmt.Sprintf(words.CloseHeadF, s.Frame.Heading, s.Zoom.words())}
	if s.Proof {
		out.Number = ""
		out.Headline = fmt.Sprintf(words.CloseHeadF, words.CloseProof, s.Zoom.words())
	}
	if s.Held != "" && !s.Same {
		out.Headline = fmt.Sprintf(words.CloseTurnsF, s.Held, words.Lower(s.Frame.Heading))
	}
	switch {
	case !s.Frame.Picture:
		out.WhatToDo = Capital(words.NoPicture) + "."
	case s.Coming:
		out.WhatToDo = Capital(words.PictureComing) + "."
	case s.Held != "" && s.Same:
		out.WhatToDo = fmt.Sprintf(words.CloseHeldF, s.Held)
	case s.Held != "":
		out.WhatToDo = words.CloseTurning
	case s.Clipped != nil:
		out.WhatToDo = s.Clipped.words()
		if *s.Clipped == (Clipping{}) && s.Zoom == ZoomWhole && !s.Proof {
			out.WhatToDo = words.ClipWhole
		}
	case s.Proof:
		out.WhatToDo = c.proofWords(s)
	case s.Zoom == ZoomWhole:
		out.WhatToDo = words.CloseStepWhole
	default:
		out.WhatToDo = words.CloseStep
	}
	return out
}

func (c Closeup) proofWords(s Sight) string {
	if _, ok := c.lie(s.Frame.Fingerprint); !ok {
		return words.CloseNotIn
	}
	if s.Enlarged > 1 {
		return fmt.Sprintf(words.CloseProofMoreF, words.Localised(strconv.FormatFloat(s.Enlarged, 'f', 1, 64)))
	}
	return words.CloseProofSize
}

// Lines are what stands beside the picture: what it is of, its exposure, its scale.
func (c Closeup) Lines(s Sight) []string {
	out := []string{c.Name}
	if s.Proof {
		return append(out, c.Proof.Of, s.Zoom.short(), words.AtPreviewSize)
	}
	out = append(append(out, fmt.Sprintf(words.OfF, c.Index(s.Frame.Fingerprint)+1, len(c.Frames))), s.Frame.Exposure...)
	out = append(out, s.Zoom.short())
	if s.Frame.SetAside {
		out = append(out, words.IsAside)
	}
	return out
}

// ZoomWord is what the key of the zoom does next.
func ZoomWord(z Zoom) string {
	return [...]string{words.CloseZoomOne, words.CloseZoomTwo, words.CloseZoomWhole}[z]
}
