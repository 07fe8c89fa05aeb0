package align

import (
	"math"

	"stillbench/session/plane"
)

// In noise two frames correlate little even where they lie on each other, and how little depends on how much noise there is. But frames
// that show different things correlate as little everywhere: so a weak correlation is believed where it stands out from those with the
// frame laid a little aside, by many of their standard deviations (the peak-to-sidelobe ratio of D. S. Bolme, J. R. Beveridge, B. A. Draper
// and Y. M. Lui, "Visual object tracking using adaptive correlation filters", CVPR 2010, who find 20 to 60 where they follow a thing, and 7
// where it is lost).
const (
	minStandsOut = 10
	asideMost    = 15000 // places compared
)

// aside are how far the frame is laid aside, in pixels: farther than detail of the band is wide.
var aside = [...]float64{5 * coarseSigma, 8 * coarseSigma}

// standsOut is by how many standard deviations the correlation at a movement of a level is above those aside.
func standsOut(ref, frame *level, move plane.Similarity) float64 {
	pts, _, _ := points(ref)
	var few []point
	for i := 0; i < len(pts); i += len(pts)/asideMost + 1 {
		few = append(few, pts[i])
	}
	const directions = 8
	var all []float64
	for k, r := range aside {
		for d := range directions {
			sin, cos := math.Sincos(2 * math.Pi * (float64(d) + float64(k)/2) / directions)
			m := move
			m.DX, m.DY = m.DX+r*cos, m.DY+r*sin
			all = append(all, correlationAt(few, frame, m))
		}
	}
	mean, square := 0.0, 0.0
	for _, c := range all {
		mean, square = mean+c/float64(len(all)), square+c*c/float64(len(all))
	}
	return (correlationAt(few, frame, move) - mean) / math.Sqrt(max(square-mean*mean, 1e-12))
}

// correlationAt is the weighted correlation of a frame with places of a reference under a movement.
func correlationAt(pts []point, frame *level, move plane.Similarity) float64 {
	var sw, st, si, stt, sii, sti float64
	w, h := frame.flat.W, frame.flat.H
	for i := range pts {
		p := &pts[i]
		u, v := move.Apply(float64(p.x), float64(p.y))
		value, _, _, ok := cubic(frame.flat, u+float64(w-1)/2, v+float64(h-1)/2)
		if !ok {
			continue
		}
		wt := float64(min(frame.weight.Pix[int(v+float64(h)/2)*w+int(u+float64(w)/2)], p.w))
		sw += wt
		st += wt * float64(p.v)
		si += wt * float64(value)
		stt += wt * float64(p.v*p.v)
		sii += wt * float64(value*value)
		sti += wt * float64(p.v*value)
	}
	return (sti - st*si/sw) / math.Sqrt(max((stt-st*st/sw)*(sii-si*si/sw), 1e-30))
}
