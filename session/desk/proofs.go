package desk

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"image"
	"slices"
	"sync"
	"time"

	"stillbench/session"
	"stillbench/session/blend"
	"stillbench/session/plane"
)

const (
	// proofLong is the long side of the proofs that are shown, in pixels.
	proofLong = 960
	// suggestLong is the size that blend.Suggest goes by.
	suggestLong = 480
	// proofQuality is that of their JPEGs.
	proofQuality = 90
	// patience is how long a proof lets verdicts go first before it takes in a frame all the
	// same: where frames come faster than they are judged, it still grows.
	patience = 700 * time.Millisecond
	// growEvery is how often a proof that is behind is shown as far as it has come.
	growEvery = time.Second
	// keptGrowing is how many stacks keep what is needed to take in another frame or touch-up.
	keptGrowing = 2
	// keptPictures is how many pictures of proofs are at hand without the log.
	keptPictures = 12
)

// proofWish is a stack that should have a proof.
type proofWish struct {
	wanted
	stack   string // fingerprint of the stack's first frame
	touches []session.Touch
	proof   string // key of the proof
}

// proofWishes are all of them; busy tells that verdicts are still to be found.
type proofWishes struct {
	list []proofWish
	busy bool
}

// madeProof is a proof that was made, or found in the log.
type madeProof struct {
	id    int64
	proof session.Proof
}

// proofer makes proofs in a goroutine of its own, the newest stack's first and after the
// verdicts. Of one that the log holds not a frame is read.
type proofer struct {
	dir string
	log Log
	in  chan proofWishes
	out chan madeProof

	mu       sync.Mutex // guards pictures
	pictures []proofPicture

	// Below belongs to the desk's goroutine.
	wish  proofWishes
	found map[int64]session.Proof
}

type proofPicture struct {
	key  string
	jpeg []byte
}

func newProofer(dir string, log Log) *proofer {
	return &proofer{dir: dir, log: log, in: make(chan proofWishes, 1), out: make(chan madeProof), found: map[int64]session.Proof{}}
}

// want says which stacks there are now, and whether verdicts are still to be found.
func (p *proofer) want(frames []session.Frame, groups []session.Group, touches map[int64][]session.Touch, busy bool) {
	at := make(map[string]int, len(frames))
	for i := range frames {
		at[frames[i].Fingerprint] = i
	}
	now := proofWishes{busy: busy}
	waiting := false
	for _, g := range groups {
		if g.Kind != session.KindStack || len(g.Frames) == 0 {
			continue
		}
		w := proofWish{wanted: wanted{id: g.ID}, stack: g.Frames[0], touches: touches[g.ID]}
		for i, fp := range g.Frames {
			if f := frames[at[fp]]; !f.SetAside {
				w.add(f, i+1)
			}
		}
		w.proof = proofKey(w.frames, "", w.touches)
		now.list = append(now.list, w)
		waiting = waiting || len(w.frames) > 0 && p.found[g.ID].Key != w.proof
	}
	was := p.wish
	p.wish = now
	if !waiting || was.busy == busy && slices.EqualFunc(was.list, now.list, func(a, b proofWish) bool { return a.id == b.id && a.proof == b.proof }) {
		return
	}
	select {
	case <-p.in: // an older wish that nobody took
	default:
	}
	p.in <- now
}

// proofKey names a proof by all that it follows from. Character "" is the one that suits.
func proofKey(frames []session.Frame, c blend.Character, touches []session.Touch) string {
	h := sha256.New()
	fmt.Fprintln(h, session.ProofVersion, c)
	for _, f := range frames {
		fmt.Fprintln(h, f.Fingerprint, shownBy(f) != f.Name)
	}
	for _, t := range touches {
		fmt.Fprintln(h, t)
	}
	return hex.EncodeToString(h.Sum(nil)[:20])
}

// accept takes in a proof; false when its stack is gone.
func (p *proofer) accept(m madeProof) bool {
	p.found[m.id] = m.proof
	return slices.ContainsFunc(p.wish.list, func(w proofWish) bool { return w.id == m.id })
}

// busy: a stack waits for its proof.
func (p *proofer) busy() bool {
	return slices.ContainsFunc(p.wish.list, func(w proofWish) bool { return len(w.frames) > 0 && p.found[w.id].Key != w.proof })
}

// all gives the newest proof of each stack; it may lag some frames behind one that grows.
func (p *proofer) all() map[int64]session.Proof {
	m := make(map[int64]session.Proof, len(p.wish.list))
	for _, w := range p.wish.list {
		if f, ok := p.found[w.id]; ok && len(w.frames) > 0 {
			m[w.id] = f
		}
	}
	return m
}

// picture is the JPEG of a proof.
func (p *proofer) picture(ctx context.Context, key string) ([]byte, error) {
	p.mu.Lock()
	for _, k := range p.pictures {
		if k.key == key {
			p.mu.Unlock()
			return k.jpeg, nil
		}
	}
	p.mu.Unlock()
	return p.log.ProofPicture(ctx, key)
}

// keep has a picture at hand.
func (p *proofer) keep(key string, jpeg []byte) {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.pictures = append(p.pictures, proofPicture{key, jpeg})
	if len(p.pictures) > keptPictures {
		p.pictures = slices.Delete(p.pictures, 0, 1)
	}
}

// growing is a proof that frames can still join.
type growing struct {
	id        int64
	character blend.Character
	again     bool     // it was shown whole in another character
	pictures  []string // of the frames that were added, as in wanted
	left      []session.ProofLeft
	names     []string // fingerprints, in the order of Add
	proof     *blend.Proof
	small     *blend.Proof // for blend.Suggest
	turn      int
	shown     time.Time
}

func newGrowing(id int64, c blend.Character) *growing {
	return &growing{id: id, character: c, proof: blend.NewProof(c), small: blend.NewProof(blend.Surfaces)}
}

// rest gives back what only a proof at work needs.
func (g *growing) rest() {
	g.proof.Rest()
	g.small.Rest()
}

func (g *growing) begins(w proofWish) bool {
	return len(g.pictures) <= len(w.pictures) && slices.Equal(g.pictures, w.pictures[:len(g.pictures)])
}

// run makes proofs until the context ends.
func (p *proofer) run(ctx context.Context) {
	var kept []*growing // the one used last comes last
	done := map[int64]string{}
	var wish proofWishes
	for {
		if !p.take(ctx, &wish, done) {
			return
		}
		i := next(wish, done)
		if i < 0 {
			continue
		}
		w := wish.list[i]
		if found, err := p.log.RecallProof(ctx, w.proof); err == nil && found != nil {
			done[w.id] = w.proof
			if !p.send(ctx, madeProof{w.id, *found}) {
				return
			}
			continue
		}
		k := slices.IndexFunc(kept, func(g *growing) bool { return g.id == w.id && g.begins(w) })
		var g *growing
		if k >= 0 {
			g = kept[k]
		} else {
			g = newGrowing(w.id, blend.Surfaces)
		}
		kept = slices.DeleteFunc(kept, func(o *growing) bool { return o.id == w.id })
		for _, o := range kept {
			o.rest()
		}
		kept = append(kept, g)
		if len(kept) > keptGrowing {
			kept = slices.Delete(kept, 0, 1)
		}
		if n := len(g.pictures); n < len(w.frames) {
			p.add(g, w, n)
			if n+1 < len(w.frames) {
				if !g.again && time.Since(g.shown) >= growEvery && !p.show(ctx, g, w, false) {
					return
				}
				continue // look for a newer wish between two frames
			}
		}
		if suits, _ := g.suits(); suits == blend.Threads && g.character == blend.Surfaces {
			// Shown as it is, and made again as it should be.
			if !p.show(ctx, g, w, false) {
				return
			}
			again := newGrowing(w.id, blend.Threads)
			again.again = true
			kept[len(kept)-1] = again
			continue
		}
		done[w.id] = w.proof
		if !p.show(ctx, g, w, true) {
			return
		}
	}
}

// suits is the character that suits the frames so far, and why.
func (g *growing) suits() (blend.Character, session.Text) { return blend.Suggest(g.small.Depth()) }

// next is the newest stack that has not the proof it should have, -1 when all have.
func next(wish proofWishes, done map[int64]string) int {
	for i := len(wish.list) - 1; i >= 0; i-- {
		if w := wish.list[i]; len(w.frames) > 0 && done[w.id] != w.proof {
			return i
		}
	}
	return -1
}

// take takes in the newest wish, and waits for one when there is nothing to do, and for the
// verdicts; false when the context has ended.
func (p *proofer) take(ctx context.Context, wish *proofWishes, done map[int64]string) bool {
	if next(*wish, done) < 0 {
		select {
		case *wish = <-p.in:
		case <-ctx.Done():
			return false
		}
	}
	enough := time.NewTimer(patience)
	defer enough.Stop()
	for {
		select {
		case *wish = <-p.in:
			continue
		default:
		}
		if !wish.busy {
			return ctx.Err() == nil
		}
		select {
		case *wish = <-p.in:
		case <-enough.C:
			return true
		case <-ctx.Done():
			return false
		}
	}
}

func (p *proofer) send(ctx context.Context, m madeProof) bool {
	select {
	case p.out <- m:
		return true
	case <-ctx.Done():
		return false
	}
}

// add decodes frame i of a stack and blends it in.
func (p *proofer) add(g *growing, w proofWish, i int) {
	f := w.frames[i]
	g.pictures = append(g.pictures, w.pictures[i])
	pic, err := p.decode(f)
	if err == nil {
		err = g.proof.Add(pic)
		g.names = append(g.names, f.Fingerprint)
		_ = g.small.Add(reduced(pic, suggestLong)) // one that does not fit was told of just now
	}
	if err != nil {
		g.left = append(g.left, session.ProofLeft{Fingerprint: f.Fingerprint, Why: err.Error()})
		return
	}
	g.turn = orientation(f.Meta)
}

// decode decodes a frame as large as proofs are.
func (p *proofer) decode(f session.Frame) (*plane.RGB, error) {
	pic, err := decodeFrame(p.dir, f, proofLong)
	if err != nil {
		return nil, err
	}
	return reduced(pic, proofLong), nil
}

// reduced makes a picture's long side at most long pixels.
func reduced(p *plane.RGB, long int) *plane.RGB {
	k := float64(long) / float64(max(p.W, p.H))
	if k >= 1 {
		return p
	}
	return plane.ReduceRGB(nil, p, max(1, int(float64(p.W)*k+0.5)), max(1, int(float64(p.H)*k+0.5)))
}

// show hands a proof over as far as it has come; one that is whole goes into the log.
func (p *proofer) show(ctx context.Context, g *growing, w proofWish, whole bool) bool {
	g.shown = time.Now()
	if g.proof.Frames() == 0 && !whole {
		return true
	}
	if g.proof.Frames() == 0 {
		return p.send(ctx, madeProof{w.id, session.Proof{Key: w.proof, LeftOut: g.left}})
	}
	suits, why := g.suits()
	about := session.Proof{
		Key: w.proof, LeftOut: slices.Clone(g.left), Character: string(g.character), Suits: string(suits), Why: why, Turn: g.turn,
	}
	if !whole {
		about.Key = fmt.Sprintf("%s+%d", w.proof, len(g.pictures))
	}
	picture := g.proof.Picture()
	about.W, about.H = picture.W, picture.H
	lies := map[string]blend.Lie{}
	for i, fp := range g.names {
		if l, ok := g.proof.Lie(i); ok {
			lies[fp] = l
			about.Frames = append(about.Frames, session.ProofFrame{
				Fingerprint: fp, Scale: l.Move.Scale, Turn: l.Move.Turn, DX: l.Move.DX, DY: l.Move.DY, Gain: l.Gain,
			})
		}
	}
	about.Middle = middleOf(about.Frames, w.frames)
	middle := lies[about.Frames[about.Middle].Fingerprint]
	if whole {
		g.again = false
		for _, t := range w.touches {
			if l, ok := lies[t.From]; ok && p.touch(picture, w.frames, l, middle, t) == nil {
				about.Touches++
			}
		}
	}
	data, err := plane.EncodeJPEG(picture.Oriented(g.turn), proofQuality, false)
	if err != nil {
		return p.send(ctx, madeProof{w.id, session.Proof{Key: w.proof, LeftOut: g.left}})
	}
	p.keep(about.Key, data)
	// Kept even while the session closes. One that lacks a frame that could not be read is not:
	// the card may only have been pulled out for a moment.
	if whole && len(g.names) == len(w.frames) {
		_ = p.log.SaveProof(context.WithoutCancel(ctx), w.stack, about, data)
	}
	return p.send(ctx, madeProof{w.id, about})
}

// middleOf is the index of the stack's middle frame among those in a proof, or of the one next
// to it.
func middleOf(in []session.ProofFrame, frames []session.Frame) int {
	n := len(frames) / 2
	for d := range len(frames) {
		for _, k := range []int{n - d, n + d} {
			if k < 0 || k >= len(frames) {
				continue
			}
			if i := slices.IndexFunc(in, func(f session.ProofFrame) bool { return f.Fingerprint == frames[k].Fingerprint }); i >= 0 {
				return i
			}
		}
	}
	return 0
}

// touch puts a touch-up, whose area lies on the middle frame, into a proof.
func (p *proofer) touch(out *plane.RGB, frames []session.Frame, l, middle blend.Lie, t session.Touch) error {
	i := slices.IndexFunc(frames, func(f session.Frame) bool { return f.Fingerprint == t.From })
	pic, err := p.decode(frames[i])
	if err != nil {
		return err
	}
	if pic.W != out.W || pic.H != out.H {
		return blend.ErrSize
	}
	t.Area = middle.ToProof(t.Area, out.W, out.H)
	l.Touch(out, pic, t)
	return nil
}

// Proof decodes the picture of a proof of this session, by its key, as it fits into maxW x
// maxH pixels (never enlarged), upright. It works in the caller's goroutine.
func (d *Desk) Proof(ctx context.Context, key string, maxW, maxH int) (*image.RGBA, error) {
	if d.proofs == nil {
		return nil, session.ErrNotFound
	}
	data, err := d.proofs.picture(ctx, key)
	if err != nil {
		return nil, err
	}
	return DecodeProof(data, maxW, maxH)
}

// DecodeProof decodes the picture of a proof as the log keeps it, as it fits into maxW x maxH
// pixels (never enlarged).
func DecodeProof(data []byte, maxW, maxH int) (*image.RGBA, error) {
	if maxW <= 0 || maxH <= 0 {
		return nil, errors.New("no room for a picture")
	}
	pic, err := plane.DecodeJPEG(data, max(maxW, maxH))
	if err != nil {
		return nil, err
	}
	k := min(float64(maxW)/float64(pic.W), float64(maxH)/float64(pic.H))
	if k < 1 {
		pic = plane.ReduceRGB(nil, pic, max(1, int(float64(pic.W)*k+0.5)), max(1, int(float64(pic.H)*k+0.5)))
	}
	return rgba(pic), nil
}

// touchesOf gives the standing touch-ups of every stack, oldest first, as far as the frame
// that each takes its picture from is in the stack.
func touchesOf(frames []session.Frame, groups []session.Group, standing []session.Edit, alias func(string) string) map[int64][]session.Touch {
	aside := map[string]bool{}
	for _, f := range frames {
		if f.SetAside {
			aside[f.Fingerprint] = true
		}
	}
	out := map[int64][]session.Touch{}
	for _, e := range standing {
		if e.Kind != session.EditTouch || e.Touch == nil {
			continue
		}
		for _, g := range groups {
			t := *e.Touch
			t.From = alias(t.From)
			if g.Kind == session.KindStack && slices.Contains(g.Frames, e.Frame) && slices.Contains(g.Frames, t.From) && !aside[t.From] {
				out[g.ID] = append(out[g.ID], t)
			}
		}
	}
	return out
}
