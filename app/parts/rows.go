package parts

import (
	"image"
	"strings"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/driver/desktop"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
	"stillbench/assets/words"
)

// GroupRow is one group of the session in a row 52 px high that spans the window:
// time, thread, proof, name, ribbon, verdict, what came of it.
type GroupRow struct {
	widget.BaseWidget

	Time       string // "13:58"
	Name, Note string // "Stack 1", "pine cone, 13 frames"
	Proof      *image.RGBA
	// Ribbon is nil for groups that have none.
	Ribbon       *RibbonData
	Verdict      Shape
	VerdictWords string // "covered"
	Outcome      string // "blended, handed off"
	Focused      bool

	OnTap func()

	ribbon *Ribbon // draws Ribbon; not shown itself
	hover  bool
}

// NewGroupRow makes an empty row.
func NewGroupRow() *GroupRow {
	w := &GroupRow{ribbon: &Ribbon{Height: RibbonRow}}
	w.ExtendBaseWidget(w)
	return w
}

var _ desktop.Hoverable = (*GroupRow)(nil)

// CreateRenderer draws the row.
func (s *GroupRow) CreateRenderer() fyne.WidgetRenderer { return render(s) }

// RowHeight is the height of a GroupRow, SeamHeight that of a Seam, in px at scale 1.
const (
	RowHeight  float32 = 52
	SeamHeight float32 = 40
)

func (s *GroupRow) least() (w, h float32) { return 640, RowHeight }

// rowLayout is where the columns of a row stand in a window so wide.
type rowLayout struct {
	grid                        look.Grid
	name, ribbon, ribbonW       float32
	verdict, verdictText, right float32
}

func rowIn(w float32) rowLayout {
	g := look.GridFor(w)
	l := rowLayout{grid: g, right: w - g.Margin}
	l.name = g.ContentX + 92
	l.ribbonW = 520
	l.verdict = l.right - 290
	if g.Column == 0 {
		l.verdict = l.right - 230
		l.ribbonW = max(120, min(320, l.verdict-40-l.name-220))
	} else if w < 1440 {
		l.ribbonW = max(160, 520-(1440-w))
	} else { // of a wider window most goes to the ribbon, which stays near the names so
		l.ribbonW += (w - 1440) * 3 / 4
	}
	l.ribbon = l.verdict - 38 - l.ribbonW
	l.verdictText = l.verdict + 20
	return l
}

// NameIn is where the name stands in a row so wide, and the room that it has.
func NameIn(w float32) (x, room float32) {
	l := rowIn(w)
	return l.name, l.ribbon - 24 - l.name
}

func (s *GroupRow) draw(p *pen, w, _ float32) {
	l := rowIn(w)
	p.fill(l.grid.ThreadX-1, 0, 2, RowHeight, 0, look.Edge)
	p.disc(l.grid.ThreadX, RowHeight/2, 4, look.Ink2)
	note := s.Note
	if l.grid.Column > 0 {
		p.text(l.grid.Margin, 30, s.Time, of(look.Base), left)
	} else if s.Time != "" {
		note = s.Time + "  " + note
	}
	x := l.grid.ContentX
	if s.Proof != nil {
		// As large as 72 x 48 allows, whichever way up.
		pw, ph := fit(s.Proof.Rect.Dx(), s.Proof.Rect.Dy(), 72, 48)
		p.picture(x+(72-pw)/2, 2+(48-ph)/2, pw, ph, s.Proof)
		p.veil(x+(72-pw)/2, 2+(48-ph)/2, pw, ph)
	} else {
		p.fill(x, 2, 72, 48, 0, look.Field)
	}
	if s.Focused {
		p.focus(x, 2, 72, 48, ringOutClose)
	}
	_, room := NameIn(w)
	name := of(look.Card)
	text := of(look.Base)
	if s.hover && s.OnTap != nil {
		text = text.in(look.Ink1)
	}
	p.text(l.name, 23, shorten(s.Name, name, room), name, left)
	if i := strings.LastIndex(note, ", "); i > 0 && textWidth(note, text) > room {
		// The subject gives way, how many frames there are does not.
		note = shorten(note[:i], text, room-textWidth(note[i:], text)) + note[i:]
	}
	p.text(l.name, 44, shorten(note, text, room), text, left)
	if s.Ribbon != nil {
		s.ribbon.Data = *s.Ribbon
		p.shifted(l.ribbon, 13, func() { s.ribbon.draw(p, l.ribbonW, 0) })
	}
	room = l.right - l.verdictText
	if s.Verdict != ShapeNone {
		p.shape(l.verdict-9, 16, 18, s.Verdict, look.Ink2, "", nil)
	}
	st, outcome := of(look.Base), of(look.Base).in(look.Ink3)
	words := shorten(s.VerdictWords, st, room)
	beside := room - textWidth(words, st) - 16
	switch {
	case s.Outcome == "":
		p.text(l.verdictText, 30, words, st, left)
	case s.VerdictWords == "" || textWidth(s.Outcome, outcome) <= beside:
		p.text(l.verdictText, 30, words, st, left)
		p.text(l.right, 30, shorten(s.Outcome, outcome, room), outcome, right)
	default: // below, where it has the room of both
		p.text(l.verdictText, 23, words, st, left)
		p.text(l.verdictText, 44, shorten(s.Outcome, outcome, room), outcome, left)
	}
}

// Tapped opens the group.
func (s *GroupRow) Tapped(*fyne.PointEvent) {
	if s.OnTap != nil {
		s.OnTap()
	}
}

// MouseIn brightens the row's words.
func (s *GroupRow) MouseIn(*desktop.MouseEvent) { s.hover = true; s.Refresh() }

// MouseMoved is part of desktop.Hoverable.
func (s *GroupRow) MouseMoved(*desktop.MouseEvent) {}

// MouseOut is part of desktop.Hoverable.
func (s *GroupRow) MouseOut() { s.hover = false; s.Refresh() }

// Seam is the place between two rows, and why the program cut there: stitches across
// the content, the strongest reason in bold. It spans the window.
type Seam struct {
	widget.BaseWidget

	Reason string // the strongest: "the light moved", or "by hand"
	// More is the rest of the sentence, with what joins it to the reason:
	// ", then a pause of 4 min".
	More string
	// Focused draws Key and its word at the right end: "J", "join".
	Focused       bool
	Key, KeyWords string

	// OnTap is called when the seam is clicked, OnJoin when its key's cap is.
	OnTap, OnJoin func()
}

// NewSeam makes a seam without a reason, that is joined with J.
func NewSeam() *Seam {
	w := &Seam{Key: "J", KeyWords: words.Join}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the seam.
func (s *Seam) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Seam) least() (w, h float32) { return 640, SeamHeight }

// The stitches.
const (
	stitchPitch float32 = 16
	stitchWide  float32 = 9
	stitchHigh  float32 = 8
	reasonAt    float32 = 64 // from the content's edge to the reason
)

// stitches gives the x of each stitch between from and to, on a pitch that starts at
// origin; no stitch begins in the stretch from skip0 to skip1.
func stitches(origin, to, skip0, skip1 float32) []float32 {
	var out []float32
	for x := origin; x+stitchWide <= to; x += stitchPitch {
		if x+stitchWide > skip0 && x < skip1 {
			continue
		}
		out = append(out, x)
	}
	return out
}

func (s *Seam) hintWidth() float32 { return capWidth(s.Key) + 9 + textWidth(s.KeyWords, of(look.Base)) }

func (s *Seam) draw(p *pen, w, _ float32) {
	g := look.GridFor(w)
	x, end := g.ContentX, w-g.Margin
	if s.Focused {
		hint := end - s.hintWidth()
		cw := p.cap(hint, SeamHeight/2-11, s.Key)
		p.text(hint+cw+9, 25, s.KeyWords, of(look.Base).in(look.Ink1), left)
		end = hint - 48
	}
	reason := s.Reason
	bold, rest := of(look.Name), of(look.Base)
	at := x + reasonAt
	room := end - at - 3*stitchPitch
	reason = shorten(reason, bold, room)
	bw := textWidth(reason, bold)
	more := ""
	if s.More != "" && room-bw > 40 {
		more = shorten(s.More, rest, room-bw)
	}
	after := at + bw + textWidth(more, rest)
	p.text(at, 25, reason, bold, left)
	p.text(at+bw, 25, more, rest, left)
	skip0, skip1 := at-stitchPitch, after+stitchPitch
	if s.Reason == "" {
		skip0, skip1 = 0, 0
	}
	top := (SeamHeight - stitchHigh) / 2
	for _, sx := range stitches(x, end, skip0, skip1) {
		p.line(sx, top+stitchHigh, sx+stitchWide, top, 2, look.Edge)
	}
	if s.Focused {
		p.focus(at-3, 8, after-at+6, 24, ringOutClose)
	}
}

// Tapped joins when it hits the hint, and selects the seam otherwise.
func (s *Seam) Tapped(e *fyne.PointEvent) {
	x, _ := at(e.Position)
	w := s.Size().Width / look.Current().Scale
	f := s.OnTap
	if s.Focused && x >= w-look.GridFor(w).Margin-s.hintWidth() {
		f = s.OnJoin
	}
	if f != nil {
		f()
	}
}

// Thread is the thread along an opened stack: 4 px of ink 1, as high as it is made.
type Thread struct{ widget.BaseWidget }

// NewThread makes the thread of an opened stack. Its middle belongs at the grid's
// ThreadX.
func NewThread() *Thread {
	w := &Thread{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the thread.
func (s *Thread) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *Thread) least() (w, h float32)     { return 4, 8 }
func (s *Thread) draw(p *pen, w, h float32) { p.fill(w/2-2, 0, 4, h, 0, look.Ink1) }
