// Package placetest is a session for tests of the window: made-up frames, groups and
// setups, edits that change them as the real desk does as far as the window can see,
// and pictures drawn from a frame's number. Nothing in it is from a camera.
package placetest

import (
	"context"
	"errors"
	"fmt"
	"image"
	"image/color"
	"maps"
	"slices"
	"sync"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// Began is when the invented session began.
var Began = time.Date(2026, 5, 21, 13, 58, 0, 0, time.UTC)

// Desk is the invented session. It implements place.Desk and place.Log.
type Desk struct {
	mu      sync.Mutex
	snap    *desk.Snapshot
	done    []*desk.Snapshot // before each edit
	undone  []*desk.Snapshot
	changed chan struct{}

	// Edits are those that came in.
	Edits []session.Edit
	// Refuse is the error that the next edit gives.
	Refuse error
	// Found is what a search gives.
	Found session.SetupResults
	// Asked are the searches that came in.
	Asked []session.SetupQuery
	// Kept is what the log holds besides setups.
	Kept Kept
	// Closed tells that Close was called.
	Closed bool
}

// New makes a desk that shows a snapshot.
func New(s *desk.Snapshot) *Desk {
	return &Desk{snap: s, changed: make(chan struct{}, 1)}
}

// Snapshot gives the newest state.
func (d *Desk) Snapshot() *desk.Snapshot {
	d.mu.Lock()
	defer d.mu.Unlock()
	return d.snap
}

// Changed tells of newer states.
func (d *Desk) Changed() <-chan struct{} { return d.changed }

// Put shows another snapshot.
func (d *Desk) Put(s *desk.Snapshot) {
	d.mu.Lock()
	d.snap = s
	d.mu.Unlock()
	select {
	case d.changed <- struct{}{}:
	default:
	}
}

// Edit does an edit.
func (d *Desk) Edit(_ context.Context, e session.Edit) error {
	d.mu.Lock()
	d.Edits = append(d.Edits, e)
	err := d.Refuse
	before := d.snap
	d.mu.Unlock()
	if err != nil {
		return err
	}
	after := Copy(before)
	if err := Apply(after, e); err != nil {
		return err
	}
	after.Undo, after.Redo = session.Text{Form: string(e.Kind)}, session.Text{}
	d.mu.Lock()
	d.done, d.undone = append(d.done, before), nil
	d.mu.Unlock()
	d.Put(after)
	return nil
}

// Undo takes the last edit back.
func (d *Desk) Undo(context.Context) error { return d.swap(&d.done, &d.undone) }

// Redo does it again.
func (d *Desk) Redo(context.Context) error { return d.swap(&d.undone, &d.done) }

func (d *Desk) swap(from, to *[]*desk.Snapshot) error {
	d.mu.Lock()
	n := len(*from)
	if n == 0 {
		d.mu.Unlock()
		return nil
	}
	s := Copy((*from)[n-1])
	if from == &d.done {
		s.Redo = d.snap.Undo
	}
	*from, *to = (*from)[:n-1], append(*to, d.snap)
	s.Version = d.snap.Version + 1
	d.mu.Unlock()
	d.Put(s)
	return nil
}

// RememberCamera keeps what was told of a camera.
func (d *Desk) RememberCamera(_ context.Context, c session.Camera) error {
	return d.learn(c.Validate(), func(g *session.Gear) {
		g.Cameras = slices.DeleteFunc(slices.Clone(g.Cameras), func(o session.Camera) bool { return o.Make == c.Make && o.Model == c.Model })
		if c.SensorWidthMM > 0 {
			g.Cameras = append(g.Cameras, c)
		}
	})
}

// RememberLens keeps what was told of a lens.
func (d *Desk) RememberLens(_ context.Context, l session.Lens) error {
	return d.learn(l.Validate(), func(g *session.Gear) {
		g.Lenses = slices.Clone(g.Lenses)
		i := slices.IndexFunc(g.Lenses, func(o session.Lens) bool { return o.Name == l.Name })
		if i < 0 {
			g.Lenses, i = append(g.Lenses, l), len(g.Lenses)
		}
		g.Lenses[i].PupilMagnification = l.PupilMagnification
	})
}

// RememberCircle keeps the circle of confusion.
func (d *Desk) RememberCircle(_ context.Context, c session.Circle) error {
	return d.learn(c.Validate(), func(g *session.Gear) { g.Circle = c })
}

func (d *Desk) learn(wrong error, fn func(g *session.Gear)) error {
	if wrong != nil {
		return wrong
	}
	after := Copy(d.Snapshot())
	fn(&after.Gear)
	d.Put(after)
	return nil
}

// Close ends the session.
func (d *Desk) Close() error {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.Closed = true
	return nil
}

// Find gives what the test said would be found.
func (d *Desk) Find(_ context.Context, q session.SetupQuery) (session.SetupResults, error) {
	d.mu.Lock()
	defer d.mu.Unlock()
	d.Asked = append(d.Asked, q)
	return d.Found, nil
}

// Picture draws a frame at 3:2 inside maxW x maxH.
func (d *Desk) Picture(_ context.Context, fp string, maxW, maxH int) (*image.RGBA, error) {
	w, h := 3, 2
	if f, ok := d.Snapshot().Frame(fp); ok {
		if up, known := f.Meta.Upright(); known && up {
			w, h = 2, 3
		}
	}
	k := min(float64(maxW)/float64(w), float64(maxH)/float64(h))
	return draw(fp, max(1, int(float64(w)*k)), max(1, int(float64(h)*k))), nil
}

// Figures gives those of the snapshot.
func (d *Desk) Figures(_ context.Context, fp string) (*session.Figures, error) {
	f, _ := d.Snapshot().Frame(fp)
	return f.Figures, nil
}

// Crop draws a part of a frame.
func (d *Desk) Crop(_ context.Context, fp string, _, _ float64, w, h int) (*image.RGBA, error) {
	return draw(fp, w, h), nil
}

// Proof draws a proof.
func (d *Desk) Proof(_ context.Context, key string, maxW, maxH int) (*image.RGBA, error) {
	return draw(key, min(maxW, maxH*3/2), min(maxH, maxW*2/3)), nil
}

// PictureOnProof draws a frame as large as Proof draws proofs.
func (d *Desk) PictureOnProof(ctx context.Context, f session.ProofFrame, maxW, maxH int) (*image.RGBA, error) {
	return d.Proof(ctx, f.Fingerprint, maxW, maxH)
}

// ProofIn knows no proofs.
func (d *Desk) ProofIn(context.Context, string, string, int, int) (*image.RGBA, error) {
	return nil, session.ErrNotFound
}

// Sharp marks the left half of every frame.
func (d *Desk) Sharp(context.Context, string) (*image.Alpha, error) {
	m := image.NewAlpha(image.Rect(0, 0, 300, 200))
	for i := range m.Pix {
		if i%300 < 150 {
			m.Pix[i] = 255
		}
	}
	return m, nil
}

// PictureIn draws a cover.
func (d *Desk) PictureIn(_ context.Context, _, name string, maxW, maxH int) (*image.RGBA, error) {
	return draw(name, min(maxW, maxH*3/2), min(maxH, maxW*2/3)), nil
}

// draw makes rings on grey, whose middle goes by the name.
func draw(name string, w, h int) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, w, h))
	seed := 0
	for _, r := range name {
		seed = seed*31 + int(r)
	}
	cx, cy := w/4+abs(seed)%max(w/2, 1), h/2
	for y := range h {
		for x := range w {
			dx, dy := x-cx, y-cy
			v := uint8(90 + (dx*dx+dy*dy)*40/(w*h/8+1)%60)
			img.SetRGBA(x, y, color.RGBA{v + 10, v, v - 12, 255})
		}
	}
	return img
}

func abs(v int) int {
	if v < 0 {
		return -v
	}
	return v
}

// Copy makes a snapshot that can be changed.
func Copy(s *desk.Snapshot) *desk.Snapshot {
	c := *s
	c.Version++
	c.Frames = slices.Clone(s.Frames)
	c.Groups = slices.Clone(s.Groups)
	c.Setups = slices.Clone(s.Setups)
	c.Wanted = maps.Clone(s.Wanted)
	c.Proofs, c.Touches = maps.Clone(s.Proofs), maps.Clone(s.Touches)
	return &c
}

// Apply changes a snapshot as an edit asks.
func Apply(s *desk.Snapshot, e session.Edit) error {
	if e.Kind == session.EditSetup {
		applySetup(s, *e.Setup)
		return nil
	}
	g := s.GroupOf(e.Frame)
	if g < 0 {
		return errors.New("that frame is not in this session any more")
	}
	group := &s.Groups[g]
	at := slices.Index(group.Frames, e.Frame)
	switch e.Kind {
	case session.EditSetAside, session.EditPutBack:
		for i := range s.Frames {
			if s.Frames[i].Fingerprint == e.Frame {
				s.Frames[i].SetAside = e.Kind == session.EditSetAside
			}
		}
	case session.EditSplit:
		next := session.Group{
			ID: nextID(s), Kind: group.Kind, Frames: slices.Clone(group.Frames[at:]), SetupID: group.SetupID,
			Seam: &session.Seam{Reasons: []session.Reason{{Rule: session.RuleByHand}}, Confidence: 1},
		}
		group.Frames = slices.Clone(group.Frames[:at])
		s.Groups = slices.Insert(s.Groups, g+1, next)
	case session.EditJoin:
		before := &s.Groups[g-1]
		before.Frames = append(slices.Clone(before.Frames), group.Frames...)
		s.Groups = slices.Delete(s.Groups, g, g+1)
	case session.EditMark:
		group.Kind = session.KindMarker
	case session.EditUnmark:
		group.Kind = session.KindSingle
	case session.EditKindOf:
		group.Kind, group.Question = e.Group, session.Text{}
	case session.EditWanted:
		if s.Wanted == nil {
			s.Wanted = map[int64]session.Area{}
		}
		s.Wanted[group.ID] = e.Area
		if len(e.Area) == 0 {
			delete(s.Wanted, group.ID)
		}
	case session.EditTouch:
		if s.Touches == nil {
			s.Touches = map[int64][]session.Touch{}
		}
		s.Touches[group.ID] = append(slices.Clone(s.Touches[group.ID]), *e.Touch)
		p := s.Proofs[group.ID]
		p.Touches = len(s.Touches[group.ID])
		p.Key = fmt.Sprintf("proof of %d, touched %d", group.ID, p.Touches)
		s.Proofs[group.ID] = p
	case session.EditUseSetup:
		group.SetupID = e.Setup.ID
	case session.EditName:
		group.Name = e.Text
	default:
		return fmt.Errorf("the invented session does not know %q", e.Kind)
	}
	return nil
}

func applySetup(s *desk.Snapshot, u session.Setup) {
	for i := range s.Setups {
		if s.Setups[i].ID == u.ID {
			s.Setups[i] = u
			return
		}
	}
	u.ID = int64(len(s.Setups) + 1)
	s.Setups = append(s.Setups, u)
}

func nextID(s *desk.Snapshot) int64 {
	id := int64(0)
	for _, g := range s.Groups {
		id = max(id, g.ID)
	}
	return id + 1
}
