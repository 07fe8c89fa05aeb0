package desk

import (
	"context"
	"image"
	"math"
	"path/filepath"
	"slices"

	"golang.org/x/image/draw"
	"golang.org/x/image/math/f64"

	"stillbench/session"
	"stillbench/session/align"
	"stillbench/session/plane"
)

const (
	// laySide is the long side that pictures of a series are compared at. Shown larger they
	// lie by the same share.
	laySide = 1024
	// mostFramings is how many framings, the ones used last, a picture is held against.
	mostFramings = 6
	// sameShape is how far the proportions of two pictures may differ and be taken for one.
	sameShape = 0.004
)

// framing is a run of pictures that lie on each other.
type framing struct {
	members     []int // places in the series
	first, last *align.Frame
	links       []align.Link // between members
}

// LaySeries finds which pictures of a series, given in time order, are framed alike and how
// each of them lies on the earliest of its framing. Each is held against the newest and the
// earliest of each framing so far: against the newest because a subject that changes over
// days is most like itself the day before, against the earliest so that small errors do not
// add up. What align refuses is a framing of its own. found is called for every picture, in
// order, as it becomes known. It ends early only with the context.
func LaySeries(ctx context.Context, list []session.PictureFile, found func(i int, f session.Framing)) error {
	var framings []*framing // the one used last comes first
	for i, p := range list {
		if err := ctx.Err(); err != nil {
			return err
		}
		luma, err := layable(p)
		if err != nil {
			found(i, session.Framing{On: -1})
			continue
		}
		frame, at := (*align.Frame)(nil), -1
		for k, f := range framings {
			shaped, ok := shapedLike(luma, f.first)
			if !ok {
				continue
			}
			if frame == nil || frame.W != shaped.W || frame.H != shaped.H {
				frame = align.Prepare(shaped)
			}
			if f.take(i, frame) {
				at = k
				break
			}
		}
		if at < 0 {
			w, h := fit(luma.W, luma.H, laySide, laySide)
			frame = align.Prepare(plane.Reduce(nil, luma, w, h))
			f := &framing{members: []int{i}, first: frame, last: frame}
			framings = slices.Insert(framings, 0, f)
			framings = framings[:min(len(framings), mostFramings)]
			found(i, session.Framing{On: i})
			continue
		}
		f := framings[at]
		framings = slices.Insert(slices.Delete(framings, at, at+1), 0, f)
		moves, _ := align.Solve(len(f.members), 0, f.links)
		move, long := moves[len(moves)-1], float64(max(frame.W, frame.H))
		found(i, session.Framing{On: f.members[0], Laid: session.Laid{
			Scale: move.Scale, Turn: move.Turn, DX: move.DX / long, DY: move.DY / long,
		}})
	}
	return ctx.Err()
}

// take adds a picture that lies on the newest or the earliest of the framing.
func (f *framing) take(i int, frame *align.Frame) bool {
	n := len(f.members)
	var guess *plane.Similarity
	if pair, ok := lies(f.last, frame, nil); ok {
		moves, _ := align.Solve(n, 0, f.links)
		move := moves[n-1].Then(pair.Move)
		guess = &move
		f.links = append(f.links, align.Link{From: n - 1, To: n, Pair: pair})
	}
	if f.last != f.first {
		if pair, ok := lies(f.first, frame, guess); ok {
			f.links = append(f.links, align.Link{From: 0, To: n, Pair: pair})
		} else if guess == nil {
			return false
		}
	} else if guess == nil {
		return false
	}
	f.members, f.last = append(f.members, i), frame
	return true
}

// What two pictures must show to be called one framing, beyond what align asks of frames
// that one stack holds: pictures of other days may have nothing in common, and a subject
// has places that look like others of it. By chance invented subjects came to 0.45 (seeds
// 1 to 8), and there and back missed by one pixel or more; with the light turned round and
// three fifths of the subject gone they kept 0.90 and missed by 0.3.
const (
	leastAlike = 0.5
	mostAstray = 0.7 // pixels at a corner, there and back
)

// lies lays frame on reference, and reference on frame, and believes it where both agree.
func lies(reference, frame *align.Frame, guess *plane.Similarity) (align.Pair, bool) {
	there, err := align.Measure(reference, frame, guess)
	if err != nil || there.Correlation < leastAlike {
		return there, false
	}
	back, err := align.Measure(frame, reference, nil)
	if err != nil {
		return there, false
	}
	round := there.Move.Then(back.Move)
	w, h := float64(frame.W)/2, float64(frame.H)/2
	for _, c := range [][2]float64{{-w, -h}, {w, -h}, {-w, h}, {w, h}} {
		if x, y := round.Apply(c[0], c[1]); math.Hypot(x-c[0], y-c[1]) > mostAstray {
			return there, false
		}
	}
	return there, true
}

// layable reads a picture upright, at the size it is compared at or above.
func layable(p session.PictureFile) (*plane.Plane, error) {
	path := filepath.Join(p.Dir, filepath.FromSlash(p.Name))
	m, err := metaOfFile(path)
	if err != nil {
		return nil, err
	}
	pic, err := upright(path, m, laySide)
	if err != nil {
		return nil, err
	}
	return pic.Luma(), nil
}

// shapedLike gives a picture in the size of a frame, where its proportions are the same but
// for a pixel or two. It is not enlarged.
func shapedLike(p *plane.Plane, like *align.Frame) (*plane.Plane, bool) {
	switch {
	case p.W == like.W && p.H == like.H:
		return p, true
	case p.W < like.W || p.H < like.H,
		math.Abs(math.Log(float64(p.W)*float64(like.H)/(float64(p.H)*float64(like.W)))) > sameShape:
		return nil, false
	}
	return plane.Reduce(nil, p, like.W, like.H), true
}

// PictureLaid decodes a frame of any folder, as PictureIn does, and brings it onto the
// picture that it is laid on. What that one shows beyond this one's edge is see-through.
func PictureLaid(ctx context.Context, dir, name string, laid session.Laid, maxW, maxH int) (*image.RGBA, error) {
	pic, err := PictureIn(ctx, dir, name, maxW, maxH)
	if err != nil || laid.Scale <= 0 {
		return pic, err
	}
	w, h := pic.Rect.Dx(), pic.Rect.Dy()
	long := float64(max(w, h))
	// Where a place of this picture comes to stand on the other.
	s := plane.Similarity{Scale: laid.Scale, Turn: laid.Turn, DX: laid.DX * long, DY: laid.DY * long}.Inverse()
	sin, cos := math.Sincos(s.Turn)
	a, b := s.Scale*cos, s.Scale*sin
	cx, cy := float64(w)/2, float64(h)/2 // edges count here, not the centres of pixels
	out := image.NewRGBA(pic.Rect)
	draw.CatmullRom.Transform(out, f64.Aff3{a, -b, cx + s.DX - a*cx + b*cy, b, a, cy + s.DY - b*cx - a*cy}, pic, pic.Rect, draw.Src, nil)
	return out, nil
}
