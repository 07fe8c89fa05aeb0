package sameness

// #include "kernels.h"
import "C"

import (
	"math"
	"unsafe"

	"stillbench/session"
)

// Fine holds the edges of a frame at four times the resolution of its View's, each weighed
// against the edges around it. Light that comes from another side turns the shading about and
// lays other shadows, which are coarse; hairs, grain and cracks stay where they are, and most
// of them run the same way (see H. F. Chen, P. N. Belhumeur, D. W. Jacobs, "In Search of
// Illumination Invariants", CVPR 2000: the direction of the gradient is what light changes
// least). It takes longer than a View: it is for frames that their Views leave in doubt.
type Fine struct{ edges field }

// NewFine measures a frame; nil without a grey picture.
func NewFine(f *session.Figures) *Fine {
	if f == nil || f.GreyW < 4*farOff || f.GreyH < 4*farOff || len(f.Grey) < f.GreyW*f.GreyH {
		return nil
	}
	s := scratch.Get().(*rooms)
	defer scratch.Put(s)
	v := &Fine{newField(f.GreyW, f.GreyH)}
	work := room(&s.pixels, 2*f.GreyW*(f.GreyH+1))
	C.fine(shorts(v.edges.dir), shorts(v.edges.mag), (*C.uchar)(unsafe.SliceData(f.Grey)), C.int(f.GreyW), C.int(f.GreyH), floats(logs[:]), floats(work))
	return v
}

// logs maps a grey value to its natural logarithm; the lowest, which are mostly noise, are
// drawn together.
var logs = func() (t [256]float32) {
	for i := range t {
		t[i] = float32(math.Log(float64(i) + 8))
	}
	return t
}()

// shake is how far, in pixels of Grey, two frames of one framing may be moved against each
// other; at farOff and more, in steps, only chance makes edges agree.
const shake, farOff, step = 2, 6, 3

// OnSpot is how many times better the fine edges of two frames agree in place than where, of all
// places a little way off, they agree best; both are held against the mean there. It is about
// 1 or less for two framings, however few and long their edges, and 2 and more for one. 0 for
// frames of different size.
func OnSpot(a, b *Fine) float64 {
	if a == nil || b == nil || a.edges.w != b.edges.w || a.edges.h != b.edges.h {
		return 0
	}
	const hopeless = 0.4 // of a look at few places, from which the search goes no further
	if rough := onSpot(&a.edges, &b.edges, shake, farOff, farOff); rough < hopeless {
		return rough
	}
	return onSpot(&a.edges, &b.edges, 1, step, farOff+step)
}

// onSpot looks in place in steps of near, and a little way off in steps of far up to most.
func onSpot(a, b *field, near, far, most int) float64 {
	const least = 0.02 // what chance makes in any case
	here, there, off, n := -1.0, -1.0, 0.0, 0
	for y := -shake; y <= shake; y += near {
		for x := -shake; x <= shake; x += near {
			here = max(here, agreeing(a, b, x, y))
		}
	}
	for y := -most; y <= most; y += far {
		for x := -most; x <= most; x += far {
			if max(x, -x, y, -y) < farOff {
				continue
			}
			v := agreeing(a, b, x, y)
			there = max(there, v)
			off += v
			n++
		}
	}
	mean := off / float64(n)
	return max(0, here-mean) / (there - mean + least)
}

// agreeing is the agreement of two fine fields when b is a shifted by dx, dy, over every second
// row.
func agreeing(a, b *field, dx, dy int) float64 {
	w, h := a.w-max(dx, -dx), a.h-max(dy, -dy)
	i, j := max(0, -dy)*a.w+max(0, -dx), max(0, dy)*b.w+max(0, dx)
	var s, m C.longlong
	C.agree(shorts(a.dir[2*i:]), shorts(a.mag[i:]), shorts(b.dir[2*j:]), shorts(b.mag[j:]), 2*C.int(a.w), C.int(w), C.int(h/2), &s, &m)
	return float64(s) / (float64(m) + 1)
}
