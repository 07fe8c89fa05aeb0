package sameness

// #include "kernels.h"
import "C"

import "math"

// Likeness is what two frames have in common.
type Likeness struct {
	// Structure, from -1 to 1, tells how far the edges that both frames show run the
	// same way at the same places: near 1 for the same framing whatever the light and
	// the focus, near 0 for another framing.
	Structure float64
	// Shared, 0 to 1, is how much edge there is in both frames at the same places: the
	// ground that Structure stands on. Two pictures of good structure share 0.05 and
	// more, a picture out of focus shares next to nothing with any.
	Shared float64
	// Field is the mean difference, in stops, between the two fields of brightness and
	// colour after the frame's exposure is taken out; what a different focus explains
	// is forgiven.
	Field float64
	// EV is how much brighter b is than a, in stops, beyond the difference expected.
	EV float64
	// ShiftX and ShiftY: a detail at p in a is at p + shift in b, in units of the
	// picture's long side; to within a 64th. Zero where no better shift was found.
	ShiftX, ShiftY float64
}

// sameAtOnce is the structure at which no shift is looked for, and hopeless that of the best
// shift at half size from which the search goes no further.
const sameAtOnce, hopeless = 0.6, 0.15

// Comparable reports whether the two views have the same shape.
func Comparable(a, b *View) bool {
	return a != nil && b != nil && a.W == b.W && a.H == b.H && a.edges.w == b.edges.w && a.edges.h == b.edges.h
}

// Compare compares two frames of the same shape (see Comparable; others panic). ev is
// how much brighter b should be than a by its settings, in stops. Shifts up to a
// twelfth of the long side are allowed for, with the small turns and the breathing of
// the lens that such shifts can make good.
func Compare(a, b *View, ev float64) Likeness {
	mustCompare(a, b)
	dx, dy, s := register(a, b)
	l := Likeness{Structure: s.alike, Shared: s.shared}
	cx, cy := 0, 0
	if long := max(a.edges.w, a.edges.h); long > 0 {
		l.ShiftX, l.ShiftY = float64(dx)/float64(long), float64(dy)/float64(long)
		cx = int(math.Round(l.ShiftX * gridSide))
		cy = int(math.Round(l.ShiftY * gridSide))
	}
	lum := a.exposed(ev)
	l.EV = offset(lum, a, b, cx, cy)
	var sum, weight float32
	differs := make([]float32, a.W)
	for y := max(0, -cy); y < min(a.H, a.H-cy); y++ {
		x0 := max(0, -cx)
		i, j := y*a.W+x0, (y+cy)*b.W+x0+cx
		row := differs[:a.W-max(cx, -cx)]
		difference(row, lum, a, b, i, j, float32(l.EV))
		for x, d := range row {
			w := max(a.lit[i+x], b.lit[j+x])
			sum += w * min(3, d)
			weight += w
		}
	}
	// A picture with next to nothing lit says next to nothing.
	l.Field = float64(sum) / (float64(weight) + 4)
	return l
}

// exposed gives the log luminances of v as they would be at another exposure, ev stops
// brighter: black stays black, and white is white.
func (v *View) exposed(ev float64) []float32 {
	if math.Abs(ev) < 0.05 {
		return v.lum
	}
	gain := float32(math.Exp2(ev))
	out := make([]float32, len(v.lum))
	for i, l := range v.lum {
		y := (exp2(l) - blackLevel) * gain
		out[i] = log2(min(1, max(0, y)) + blackLevel)
	}
	return out
}

// Differences gives, by cell of a's grid, how far b differs from a at that place, in
// stops, once b is ev stops brighter by its settings. What another focus explains is
// forgiven, and so is what clipping and a camera's tone curve make of another exposure.
// dst is used when it is long enough.
func Differences(dst []float32, a, b *View, ev float64) []float32 {
	mustCompare(a, b)
	if len(dst) != a.W*a.H {
		dst = make([]float32, a.W*a.H)
	}
	lum, slack := a.exposed(ev), slack(ev)
	difference(dst, lum, a, b, 0, 0, 0)
	for i, d := range dst {
		if ev < 0 && a.lum[i] > white && b.lum[i] > lum[i] {
			d = 0 // a is clipped there: it may have been so bright
		}
		dst[i] = max(0, d-slack)
	}
	return dst
}

// Tells gives, by cell of a's grid, 0 where b, which is ev stops brighter by its settings, cannot
// tell what a should show, since a is white there and b's part of the table, exposed as a was, would
// be white too, as far as tones are true; 1 elsewhere.
func Tells(a, b *View, ev float64) []float32 {
	mustCompare(a, b)
	out := make([]float32, a.W*a.H)
	lum, slack := a.exposed(ev), slack(ev)
	for i := range out {
		if !(ev < 0 && a.lum[i] > white && b.lum[i] > lum[i]-slack) {
			out[i] = 1
		}
	}
	return out
}

// slack is by how many stops tones may be untrue after ev stops more or less of exposure.
func slack(ev float64) float32 { return float32(0.2 * math.Abs(ev)) }

// white is log2 of the luminance from which on a cell may be clipped.
const white = -0.25

// Lit weighs cell i from 0 (black) to 1.
func (v *View) Lit(i int) float64 { return float64(v.lit[i]) }

// difference gives how far the cells of b from j on differ from those of a from i on, whose
// log luminances are lum, when b is ev brighter all over, in stops: as many as dst has. The
// blur of the one that is sharper is matched to the other's.
func difference(dst, lum []float32, a, b *View, i, j int, ev float32) {
	if len(dst) == 0 {
		return
	}
	C.differ(floats(dst), floats(lum[i:]), floats(a.colour[i:]), floats(b.lum[j:]), floats(b.colour[j:]),
		C.int(len(dst)), C.int(a.W*a.H), C.float(ev))
}

// offset is how much brighter b is than a, whose log luminances are lum: the median over
// cells, weighted by how much light there is, by a histogram over -6 to 6 stops.
func offset(lum []float32, a, b *View, cx, cy int) float64 {
	const bins, reach = 240, 6.0
	var hist [bins]float32
	var total float32
	lum, other := lum[a.W*a.H:], b.lum[b.W*b.H:] // at the first blur
	for y := max(0, -cy); y < min(a.H, a.H-cy); y++ {
		for x := max(0, -cx); x < min(a.W, a.W-cx); x++ {
			i, j := y*a.W+x, (y+cy)*b.W+x+cx
			w := max(a.lit[i], b.lit[j])
			k := int((other[j] - lum[i] + reach) * (bins / (2 * reach)))
			hist[min(max(k, 0), bins-1)] += w
			total += w
		}
	}
	if total == 0 {
		return 0
	}
	var sum float32
	for k, w := range hist {
		if sum+w >= total/2 {
			return (float64(k)+float64((total/2-sum)/w))*(2*reach/bins) - reach
		}
		sum += w
	}
	return 0
}

// agreed is how two fields of edges lie on each other.
type agreed struct{ alike, shared float64 }

// register finds the shift, in pixels of the edge field, at which the edges of b lie
// best on those of a.
func register(a, b *View) (dx, dy int, best agreed) {
	best = agreement(&a.edges, &b.edges, 0, 0)
	if best.alike >= sameAtOnce || a.edges.w == 0 {
		return 0, 0, best
	}
	hx, hy, rough := 0, 0, agreement(&a.half, &b.half, 0, 0)
	for y := -2; y <= 2; y++ {
		for x := -2; x <= 2; x++ {
			if s := agreement(&a.half, &b.half, x, y); s.alike > rough.alike {
				hx, hy, rough = x, y, s
			}
		}
	}
	if rough.alike < hopeless {
		return 0, 0, best
	}
	for y := 2*hy - 1; y <= 2*hy+1; y++ {
		for x := 2*hx - 1; x <= 2*hx+1; x++ {
			if s := agreement(&a.edges, &b.edges, x, y); s.alike > best.alike {
				dx, dy, best = x, y, s
			}
		}
	}
	return dx, dy, best
}

// little is the common edge that is needed before an agreement counts in full, as a
// share of the field's pixels.
const little = 0.01

// agreement of two fields of edges when b is a shifted by dx, dy: alike is 1 when all
// edges that both show run the same way, less where they share few.
func agreement(a, b *field, dx, dy int) agreed {
	w, h := a.w-max(dx, -dx), a.h-max(dy, -dy)
	if w <= 0 || h <= 0 {
		return agreed{}
	}
	i, j := max(0, -dy)*a.w+max(0, -dx), max(0, dy)*b.w+max(0, dx)
	var s, m C.longlong
	C.agree(shorts(a.dir[2*i:]), shorts(a.mag[i:]), shorts(b.dir[2*j:]), shorts(b.mag[j:]), C.int(a.w), C.int(w), C.int(h), &s, &m)
	same, both := float64(s)/(one*one), float64(m)/(one*one)
	area := float64(a.w*a.h) + 1e-9
	return agreed{same / (both + little*area), both / area}
}

// Agreement gives the Structure and the Shared of two frames without any shift, counted
// only where mask (by cell of the grid, 0..1; nil: everywhere) says.
func Agreement(a, b *View, mask []float32) (structure, shared float64) {
	mustCompare(a, b)
	f, g := &a.edges, &b.edges
	if mask == nil {
		all := agreement(f, g, 0, 0)
		return all.alike, all.shared
	}
	var same, both, area float32
	for y := range f.h {
		row := mask[y*a.H/f.h*a.W:]
		for x, c := range a.column {
			m := row[c]
			alike, shared := f.product(g, y*f.w+x)
			same += m * alike
			both += m * shared
			area += m
		}
	}
	area += 1e-6
	return float64(same / (both + little*area)), float64(both / area)
}

// Present is how much of the edges of b, where mask says, a shows too, whichever way
// they run there: 1 as many and as clear ones, 0 none.
func Present(a, b *View, mask []float32) float64 {
	mustCompare(a, b)
	var both, all float32
	f, g := &a.edges, &b.edges
	for y := range f.h {
		row := mask[y*a.H/f.h*a.W:]
		for x, c := range a.column {
			i, m := y*f.w+x, row[c]
			both += m * float32(int32(f.mag[i])*int32(g.mag[i]))
			all += m * float32(int32(g.mag[i])*int32(g.mag[i]))
		}
	}
	return float64(both / (all + 1))
}

// Lost compares the Form of v with that of o, a frame of the same shape (others panic): emptied is
// the part, 0..1, of o's structure that v lacks, where tells (by cell, 0..1) says, and filled the
// share of v that has much where o has little.
func (v *View) Lost(o *View, tells []float32) (emptied, filled float64) {
	mustCompare(v, o)
	var had, lost, got float64
	for i, c := range v.Form {
		w := float64(tells[i] * min(1, o.Form[i]/4))
		had += w
		lost += w * float64(min(1, max(0, 1.5-2*c/(o.Form[i]+0.5))))
		got += float64(min(1, max(0, (c-o.Form[i])/3)))
	}
	// A picture that has hardly any structure has none to lose.
	return lost / (had + 5), got / float64(len(v.Form))
}

// Brighter is by how many stops v is brighter than o in the mean, where mask (by cell, 0..1) says.
func (v *View) Brighter(o *View, mask []float32) float64 {
	mustCompare(v, o)
	var sum, all float64
	for i, m := range mask {
		sum += float64(m * (v.lum[i] - o.lum[i]))
		all += float64(m)
	}
	return sum / (all + 1e-6)
}

// Local gives, by cell of the grid, the agreement of the edges of two frames around
// that place (three by three cells), from 0 (none, or against each other) to 1. dst is
// used when it is long enough.
func Local(dst []float32, a, b *View) []float32 {
	mustCompare(a, b)
	if len(dst) != a.W*a.H {
		dst = make([]float32, a.W*a.H)
	}
	same, both := make([]float32, a.W*a.H), make([]float32, a.W*a.H)
	f, g := &a.edges, &b.edges
	for y := range f.h {
		row := y * a.H / f.h * a.W
		for x, c := range a.column {
			alike, shared := f.product(g, y*f.w+x)
			same[row+int(c)] += alike
			both[row+int(c)] += shared
		}
	}
	// A tenth of a clear edge in both counts half.
	const faint = 0.1
	for y := range a.H {
		for x := range a.W {
			var s, m float32 = 0, faint
			for yy := max(0, y-1); yy <= min(a.H-1, y+1); yy++ {
				for xx := max(0, x-1); xx <= min(a.W-1, x+1); xx++ {
					s += same[yy*a.W+xx]
					m += both[yy*a.W+xx]
				}
			}
			dst[y*a.W+x] = max(0, s/m)
		}
	}
	return dst
}

// product is that of two fields' directions at pixel i, and of their lengths.
func (f *field) product(g *field, i int) (alike, shared float32) {
	p, q := f.dir[2*i:][:2], g.dir[2*i:][:2]
	s := int32(p[0])*int32(q[0]) + int32(p[1])*int32(q[1])
	return float32(s) / (one * one), float32(int32(f.mag[i])*int32(g.mag[i])) / (one * one)
}

func mustCompare(a, b *View) {
	if !Comparable(a, b) {
		panic("sameness: views of different shape")
	}
}

// Focus compares what is in focus in two frames of one framing: 1 when the same parts
// are equally crisp, 0 or less when the parts that are crisp in one are not in the
// other. ok is false when neither frame shows anything crisp.
func Focus(a, b *View) (likeness float64, ok bool) {
	n := float64(len(a.Crisp))
	if len(a.Crisp) != len(b.Crisp) || n == 0 {
		return 0, false
	}
	var sa, sb, saa, sbb, sab float64
	for i := range a.Crisp {
		x, y := float64(a.Crisp[i]), float64(b.Crisp[i])
		sa += x
		sb += y
		saa += x * x
		sbb += y * y
		sab += x * y
	}
	va, vb := saa/n-sa/n*sa/n, sbb/n-sb/n*sb/n
	if va < 0.05 || vb < 0.05 {
		return 0, false
	}
	return (sab/n - sa/n*sb/n) / math.Sqrt(va*vb), true
}

// Refocused is how much the detail of two frames differs, place by place: the mean
// difference in doublings. Noise alone makes a few tenths.
func Refocused(a, b *View) float64 {
	if len(a.Crisp) != len(b.Crisp) || len(a.Crisp) == 0 {
		return 0
	}
	var sum float64
	for i := range a.Crisp {
		sum += math.Abs(float64(a.Crisp[i] - b.Crisp[i]))
	}
	return sum / float64(len(a.Crisp))
}
