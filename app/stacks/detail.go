package stacks

import (
	"fmt"
	"image"
	"slices"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/pictures"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// detail is an opened group: one frame whole, what no frame holds sharp, the frame at a
// spot one to one, the ribbon, and the same spot in every frame.
type detail struct {
	h   *place.Host
	p   *Place
	row present.Row

	current string  // fingerprint of the frame stepped to
	x, y    float64 // the spot, in shares of the upright picture
	looking bool    // the arrows move the spot
	traced  bool    // the sharp parts are shown
	proof   bool    // the proof stands first, in place of the frame
	drawing *place.Drawing

	middle     *image.RGBA // the picture under the map of what is never sharp
	neverDrawn []byte      // the map that was drawn on it

	asked [4]pictures.Want // whole, at the spot, never sharp, sharp parts
	spots []pictures.Want
	shots *pictures.Scope

	body       *fyne.Container
	thread     *parts.Thread
	time       *place.Label
	heading    *place.Label
	whole      *parts.FrameView
	wholeName  *place.Label
	never      *parts.FrameView
	neverName  *place.Label
	atSpot     *parts.FrameView
	atSpotName *place.Label
	ribbon     *place.Ribbon
	ribbonName *place.Label
	strip      *parts.Spots
	stripName  *place.Label
	keys       *parts.KeyRows
	zones      *parts.DropZones
}

func newDetail(h *place.Host, p *Place) *detail {
	d := &detail{
		h: h, p: p, shots: h.Pictures.Scope(), x: 0.5, y: 0.5,
		thread: parts.NewThread(), time: place.NewLabel(), heading: place.NewLabel(),
		whole: parts.NewFrameView(), wholeName: place.NewLabel(), never: parts.NewFrameView(), neverName: place.NewLabel(),
		atSpot: parts.NewFrameView(), atSpotName: place.NewLabel(),
		ribbon: place.NewRibbon(parts.RibbonOpened), ribbonName: place.NewLabel(),
		strip: parts.NewSpots(), stripName: place.NewLabel(place.Line(words.SameSpot, look.Base), place.Line(words.InEachFrame, look.Base)),
		keys: parts.NewKeyRows(), zones: parts.NewDropZones(),
	}
	d.whole.Left, d.never.Left, d.atSpot.Left = true, true, true
	d.zones.Hide()
	d.strip.OnDrag, d.strip.OnDrop = d.drag, d.drop
	d.drawing = place.NewDrawing(h, d.whole, d.drawn)
	d.ribbon.OnFrame = d.goTo
	d.whole.OnPoint = d.lookAt
	d.strip.OnTap = func(i int) {
		if i < len(d.row.Frames) {
			d.goTo(d.row.Frames[i].Fingerprint)
		}
	}
	d.body = container.New(place.Layout(d.arrange), d.thread, d.time, d.heading, d.whole, d.wholeName, d.never, d.neverName,
		d.atSpot, d.atSpotName, d.ribbon.Drawing, d.ribbonName, d.strip, d.stripName, d.keys, d.zones)
	return d
}

// start opens a group at its first frame, looking at the middle.
func (d *detail) start(r present.Row) {
	d.row = r
	d.x, d.y, d.looking, d.proof, d.traced = 0.5, 0.5, false, true, false
	d.current = r.Cover
}

// index is that of the frame stepped to, in row.Frames.
func (d *detail) index() int {
	return max(slices.IndexFunc(d.row.Frames, func(f present.RowFrame) bool { return f.Fingerprint == d.current }), 0)
}

// frame is the frame stepped to, nil when the group is empty.
func (d *detail) frame() *present.RowFrame {
	if len(d.row.Frames) == 0 {
		return nil
	}
	return &d.row.Frames[d.index()]
}

// set takes in the group as it is now.
func (d *detail) set(r present.Row) {
	d.row = r
	f := d.frame()
	if f == nil {
		return
	}
	d.current = f.Fingerprint
	d.drawing.Show(d.p.snap, d.current)
	if d.proofShown() {
		d.whole.Wanted = nil // it lies on a frame
	}
	ribbon := r.Ribbon
	ribbon.Bars = slices.Clone(ribbon.Bars)
	for i := range ribbon.Bars {
		ribbon.Bars[i].Current = ribbon.Bars[i].Fingerprint == d.current
	}
	// Right below lie the crops: the sentence says the words.
	ribbon.NearWords, ribbon.FarWords = "", ""
	ribbon.Gaps = slices.Clone(ribbon.Gaps)
	for i := range ribbon.Gaps {
		ribbon.Gaps[i].Words = ""
	}
	d.ribbon.Set(ribbon)
	times := [][]place.Span{place.Line(r.Time, look.Base)}
	if r.Until != "" {
		times = append(times, []place.Span{{Text: fmt.Sprintf(words.ToF, r.Until), Role: look.Base, Faint: true}})
	}
	d.time.Set(times...)
	d.heading.Set([]place.Span{
		{Text: r.Name, Role: look.Heading}, {Text: r.About, Role: look.Input}, {Text: r.Exposure, Role: look.Input},
		{Text: r.State, Role: look.Base, Faint: true},
	})
	d.names(f)
	d.never.Wanted = present.LieOf(d.p.snap, r.Middle).Shown(d.p.snap.Wanted[r.GroupID])
	if !slices.Equal(d.neverDrawn, r.NeverSharp) {
		d.drawNever() // judged anew
	}
	d.setStrip(ribbon)
	d.setKeys()
	d.body.Refresh()
}

func (d *detail) names(f *present.RowFrame) {
	note := f.Caption
	if f.SetAside {
		note = words.IsAside + ", " + note
	}
	d.wholeName.Set([]place.Span{{Text: f.Heading, Role: look.Name, Strong: true}, {Text: note, Role: look.Note}})
	if d.proofShown() {
		d.wholeName.Set([]place.Span{{Text: words.Proof, Role: look.Name, Strong: true}, {Text: d.row.Proof.Note(), Role: look.Note}})
	}
	d.atSpotName.Set([]place.Span{{Text: f.Heading, Role: look.Name, Strong: true}, {Text: words.AtSpot, Role: look.Note}})
	d.neverName.Set([]place.Span{{Text: words.NeverSharp, Role: look.Name, Strong: true}, {Text: d.row.NeverWords, Role: look.Note}})
	for _, l := range []*place.Label{d.wholeName, d.atSpotName, d.neverName} {
		l.Refresh()
	}
	name := words.InOrder
	if d.row.Ribbon.Measured {
		name = words.NearFar
	}
	d.ribbonName.Set(place.Line(name, look.Base), []place.Span{{Text: fmt.Sprintf(words.OfF, d.index()+1, len(d.row.Frames)), Role: look.Base, Faint: true}})
	for _, v := range []*parts.FrameView{d.whole, d.atSpot} {
		v.Empty = words.PictureComing
		if !f.Picture {
			v.Empty = words.NoPicture
		}
	}
}

func (d *detail) setStrip(r present.Ribbon) {
	d.strip.Ribbon = place.RibbonData(r)
	old := d.strip.Items
	d.strip.Items = nil
	for i := range d.row.Frames {
		item := parts.Spot{Index: i, Place: (float64(i) + 0.5) / float64(len(d.row.Frames))}
		if i < len(old) && len(old) == len(d.row.Frames) {
			item.Picture = old[i].Picture
		}
		d.strip.Items = append(d.strip.Items, item)
	}
	d.strip.Current = d.index()
	d.placeStrip()
}

// placeStrip has the hairlines end at the bars.
func (d *detail) placeStrip() {
	width := d.ribbon.Drawing.Size().Width / look.Current().Scale
	if width > 0 {
		for i, b := range d.ribbon.Shown.Bars {
			for j, f := range d.row.Frames {
				if f.Fingerprint == b.Fingerprint && j < len(d.strip.Items) {
					d.strip.Items[j].Place = d.ribbon.Place(i, width)
				}
			}
		}
	}
	d.strip.Refresh()
}

// setKeys lists the keys of the frame beside its pictures.
func (d *detail) setKeys() {
	actions := slices.DeleteFunc(d.p.frameActions(), func(a place.Action) bool { return a.Margin })
	if d.looking {
		actions = d.lookActions()
	}
	if _, on := d.drawing.On(); on {
		actions = d.drawing.Actions()
	}
	var rows []*parts.KeyWord
	for _, a := range actions {
		if a.Word != "" {
			rows = append(rows, place.KeyWord(a))
		}
	}
	d.keys.Set(rows...)
}

// Measures of an opened group in px at scale 1.
const (
	detailHead  float32 = 62 // heading and the pictures' names
	detailHigh  float32 = 238
	detailLow   float32 = 172 // the pictures' height in a small window
	keysWidth   float32 = 204
	ribbonHigh  float32 = 78
	asideHigh   float32 = 22 // more where frames are set aside, for their words
	detailFoot  float32 = 24
	lowCrop     float32 = 96 // the crops' width in a small window, at most
	pictureGap  float32 = 24
	wholeAspect float32 = 1.5
)

// detailShare is how much of a large window an opened group takes, with pictures up to detailMost high.
const (
	detailShare float32 = 0.7
	detailMost  float32 = 520
)

// detailLeast is the least height of the pictures, where a low window has the group scroll.
const detailLeast float32 = 90

// high is the height of the pictures in a window so wide: less than designed where the group would
// not be in view as a whole.
func (d *detail) high(w float32) float32 {
	g := look.GridFor(w)
	high := detailHigh
	if g.Column == 0 {
		high = detailLow
	}
	if d.p.high > 0 {
		// A large window's room goes to the pictures, as long as what lies around the group is seen.
		high = max(high, min(d.p.high*detailShare-d.besides(w), detailMost))
		high = min(high, max(d.p.high-d.air(w)-d.besides(w), detailLeast))
	}
	return high
}

// ribbonRoom is the height of the ribbon, with the words of frames set aside below it.
func (d *detail) ribbonRoom() float32 {
	if len(d.row.Ribbon.Aside) > 0 {
		return ribbonHigh + asideHigh
	}
	return ribbonHigh
}

// besides is the height of all but the pictures.
func (d *detail) besides(w float32) float32 { return d.lines(w) + d.foot(w) }

// lines is that of all but the pictures and bare ground below.
func (d *detail) lines(w float32) float32 {
	g := look.GridFor(w)
	if d.alone() {
		return detailHead
	}
	d.strip.Most = 0
	if g.Column == 0 {
		d.strip.Most = lowCrop
	}
	_, crop := d.strip.CropSize(w - g.ContentX - g.Margin)
	return detailHead + look.Space16 + d.ribbonRoom() + 26 + crop
}

// In a low window bare ground below the group, and between it and the view's edge, gives way to the pictures.
func (d *detail) foot(w float32) float32 { return d.unlessLow(w, detailFoot) }
func (d *detail) air(w float32) float32  { return d.unlessLow(w, look.Space24) }

func (d *detail) unlessLow(w, ground float32) float32 {
	if high := d.p.high; high > 0 && high-look.Space24-detailFoot-d.lines(w) < detailLow {
		return look.Space8
	}
	return ground
}

// alone: the group is one frame, and there is nothing that it could be compared with.
func (d *detail) alone() bool { return len(d.row.Frames) == 1 }

// height is that of the whole group in a window so wide.
func (d *detail) height(w float32) float32 { return d.high(w) + d.besides(w) }

func (d *detail) arrange(w, h float32, g look.Grid) {
	k := look.Current().Scale
	right := w - g.Margin
	width := right - g.ContentX
	high := d.high(w)
	place.Put(d.thread, g.ThreadX-2, 0, 4, h-8)
	d.time.Put(g.Margin, 25, g.Column)
	show(d.time, g.Column > 0)
	d.heading.Put(g.ContentX, 25, width)

	room := width
	show(d.keys, g.Column > 0)
	if g.Column > 0 {
		room -= keysWidth + pictureGap
		d.keys.Fit(high+look.Space8, true) // the ribbon's pointer stands right below
		place.Put(d.keys, right-keysWidth, detailHead, keysWidth, d.keys.MinSize().Height/k)
	}
	_, drawing := d.drawing.On()
	if drawing { // the picture that is drawn on has all the room
		high = h - detailHead - d.foot(w)
	}
	x := g.ContentX
	wide := high * wholeAspect
	if drawing {
		wide = room
	}
	put := func(v *parts.FrameView, name *place.Label, width float32) {
		name.Put(x, detailHead-8, width)
		place.Put(v, x, detailHead, width, high)
		x += width + pictureGap
	}
	put(d.whole, d.wholeName, wide)
	never := len(d.row.NeverSharp) > 0 && g.Column > 0 && !drawing
	show(d.never, never)
	show(d.neverName, never)
	if never {
		put(d.never, d.neverName, wide)
	}
	show(d.atSpot, !drawing)
	show(d.atSpotName, !drawing)
	if !drawing {
		put(d.atSpot, d.atSpotName, g.ContentX+room-x)
	}

	along := !drawing && !d.alone()
	y := detailHead + high + look.Space16
	place.Put(d.ribbon.Drawing, g.ContentX, y, width, d.ribbonRoom())
	d.ribbonName.Put(g.Margin, y+37, g.Column)
	y += d.ribbonRoom()
	_, crop := d.strip.CropSize(width)
	place.Put(d.strip, g.ContentX, y, width, crop+26)
	d.stripName.Put(g.Margin, y+20+crop/2-4, g.Column)
	show(d.ribbon.Drawing, along)
	show(d.strip, along)
	show(d.ribbonName, along && g.Column > 0)
	show(d.stripName, along && g.Column > 0)
	place.Put(d.zones, 0, 0, w, h)
	d.placeStrip()
	d.load()
}

func show(o fyne.CanvasObject, on bool) {
	if on {
		o.Show()
	} else {
		o.Hide()
	}
}

// goTo steps to a frame.
func (d *detail) goTo(fp string) {
	d.current = fp
	d.set(d.row)
	d.load()
	d.h.Say()
}

func (d *detail) step(by int) {
	i := min(max(d.index()+by, 0), len(d.row.Frames)-1)
	if i >= 0 {
		d.goTo(d.row.Frames[i].Fingerprint)
	}
}

// look lets the arrows move the spot.
func (d *detail) look() {
	d.looking = true
	d.setKeys()
	d.h.Say()
}

func (d *detail) lookEnd() {
	d.looking = false
	d.setKeys()
	d.h.Say()
}

// drawn shows that drawing the wanted area began or ended.
func (d *detail) drawn() {
	d.looking = false
	if d.p.open != 0 {
		d.set(d.row)
	}
	d.h.Say()
}

// traceOrNot shows the sharp parts of the frame, or no longer.
func (d *detail) traceOrNot() {
	d.traced = !d.traced || d.proofShown()
	d.proof = false // what is sharp is a frame's
	d.setKeys()
	d.load()
	d.h.Say()
}

// lookStep is how far an arrow moves the spot, in shares of the picture.
const lookStep = 0.05

func (d *detail) lookActions() []place.Action {
	by := func(dx, dy float64) func() {
		return func() { d.lookAt(d.x+dx*lookStep, d.y+dy*lookStep) }
	}
	return []place.Action{
		place.Does(words.MoveSpot, nil, place.KeyLeft, place.KeyRight, place.KeyUp, place.KeyDown),
		place.Does("", by(-1, 0), place.KeyLeft),
		place.Does("", by(1, 0), place.KeyRight),
		place.Does("", by(0, -1), place.KeyUp),
		place.Does("", by(0, 1), place.KeyDown),
		place.Does(words.SpotDone, d.lookEnd, place.KeyEnter),
		place.Does("", d.lookEnd, place.KeyEscape, "O"),
	}
}

// lookAt moves the spot.
func (d *detail) lookAt(x, y float64) {
	d.x, d.y = min(max(x, 0), 1), min(max(y, 0), 1)
	d.load()
}

// load asks for the pictures: what is looked at hardest last, so that it comes first.
func (d *detail) load() {
	f := d.frame()
	if f == nil || !d.body.Visible() || d.whole.Size().IsZero() {
		return
	}
	k := d.h.Pixels()
	whole := pictures.Want{Fingerprint: f.Fingerprint, W: px(d.whole.Size().Width, k), H: px(d.whole.Size().Height, k)}
	if d.proofShown() {
		whole = pictures.Want{Proof: d.row.Proof.Key, W: whole.W, H: whole.H}
	}
	crop := d.crop(f.Fingerprint, px(d.atSpot.Size().Width, k), px(d.atSpot.Size().Height, k))
	never := pictures.Want{}
	if len(d.row.NeverSharp) > 0 && d.never.Visible() {
		never = pictures.Want{Fingerprint: d.row.Middle, W: px(d.never.Size().Width, k), H: px(d.never.Size().Height, k)}
	}
	var spots []pictures.Want
	cw, ch := d.strip.CropSize(d.strip.Size().Width / look.Current().Scale)
	kk := k * look.Current().Scale
	for _, frame := range d.row.Frames {
		spots = append(spots, d.crop(frame.Fingerprint, px(cw, kk), px(ch, kk)))
	}
	d.mark(f, crop)
	trace := pictures.Want{}
	if d.traced {
		trace = whole
		trace.Sharp = true
	}
	asked := [4]pictures.Want{whole, crop, never, trace}
	if d.asked == asked && slices.Equal(spots, d.spots) {
		return
	}
	if d.asked[3] != trace {
		d.whole.Overlay = nil
		d.whole.Refresh()
	}
	if d.asked[2] != never {
		d.middle = nil // of another group or size
	}
	d.asked, d.spots = asked, spots
	d.shots.Begin()
	d.wantSpots(spots)
	d.wantNeighbours(whole, crop)
	if never.W > 0 {
		d.shots.Want(never, func(img *image.RGBA, err error) {
			if err == nil {
				d.middle = img
				d.drawNever()
			}
		})
	}
	if trace.Sharp {
		d.shots.Want(trace, func(img *image.RGBA, err error) {
			if err == nil {
				d.whole.Overlay = img
				d.whole.Refresh()
			}
		})
	}
	d.wantInto(d.whole, whole)
	d.wantInto(d.atSpot, crop)
}

// drawNever draws the map of what is never sharp on its picture, where that has come.
func (d *detail) drawNever() {
	if d.middle == nil || len(d.row.NeverSharp) == 0 {
		return
	}
	d.neverDrawn = d.row.NeverSharp
	d.never.Picture = neverSharp(d.middle, d.row)
	d.never.Refresh()
}

func px(v, k float32) int { return int(v*k + 0.5) }

func (d *detail) crop(fp string, w, h int) pictures.Want {
	return pictures.Want{Fingerprint: fp, Crop: true, X: d.x, Y: d.y, W: w, H: h}
}

func (d *detail) wantInto(v *parts.FrameView, want pictures.Want) {
	d.shots.Want(want, func(img *image.RGBA, err error) {
		if err != nil {
			v.Empty = words.NoPicture
		}
		v.Picture = img
		v.Refresh()
	})
}

// wantSpots asks for the crops, those nearest to the frame stepped to last.
func (d *detail) wantSpots(spots []pictures.Want) {
	at := d.index()
	order := make([]int, len(spots))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(a, b int) int { return abs(b-at) - abs(a-at) })
	for _, i := range order {
		d.shots.Want(spots[i], func(img *image.RGBA, err error) {
			if err == nil && i < len(d.strip.Items) {
				d.strip.Items[i].Picture = img
				d.strip.Refresh()
			}
		})
	}
}

// wantNeighbours has the frames to step to next at hand: the nearest ones before the crops, all
// others once nothing else waits.
func (d *detail) wantNeighbours(whole, crop pictures.Want) {
	for by := 1; by < len(d.row.Frames); by++ {
		for _, i := range []int{d.index() - by, d.index() + by} {
			if i < 0 || i >= len(d.row.Frames) {
				continue
			}
			for _, w := range []pictures.Want{whole, crop} {
				if w.Proof != "" {
					continue
				}
				w.Fingerprint = d.row.Frames[i].Fingerprint
				if by == 1 {
					d.shots.Want(w, func(*image.RGBA, error) {})
				} else {
					d.shots.Ahead(w)
				}
			}
		}
	}
}

// mark draws on the whole frame what the view at the spot shows.
func (d *detail) mark(f *present.RowFrame, crop pictures.Want) {
	if _, drawing := d.drawing.On(); drawing || f.W == 0 || f.H == 0 {
		d.whole.Spot = nil
		d.whole.Refresh()
		return
	}
	w, h := min(float64(crop.W)/float64(f.W), 1), min(float64(crop.H)/float64(f.H), 1)
	x, y := min(max(d.x-w/2, 0), 1-w), min(max(d.y-h/2, 0), 1-h)
	d.whole.Spot = &parts.Area{X0: x, Y0: y, X1: x + w, Y1: y + h}
	d.whole.Refresh()
}

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}
