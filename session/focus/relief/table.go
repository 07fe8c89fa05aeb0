package relief

import (
	"math"
	"math/rand/v2"
	"slices"

	"stillbench/session/plane"
)

// The textures of set-ups on a table, besides the others.
const (
	Stripes Kind = "stripes" // of one width, in one direction: woven cloth, a comb
	Cells   Kind = "cells"   // patches with edges, each of one tone: leather, gravel
)

// TableFaults are what a set-up on a table can have; MakeTable goes through them seed by seed.
var TableFaults = []string{"", "gap", "near-open", "far-open", "", "coarse"}

// TableFlaws are what a frame of such a set-up can have; MakeFlawedTable goes through them seed by seed.
var TableFlaws = []string{"smeared", "shaken", "light", "smeared", "again", "white"}

// MakeTable makes the stack of another set-up than Make's: rounded things of one texture on a table of
// another, which is seen in perspective and ends before a background; something far out of focus may stand in
// front. Half of them are dark: their mean light is a fortieth to a two-hundredth of white, and the sensor is set to
// ISO 800 to 3200. As many seeds in a row as there are TableFaults hold every one of them.
func MakeTable(seed uint64) *Stack { return table(seed, TableFaults) }

// MakeFlawedTable is MakeTable with TableFlaws in place of faults.
func MakeFlawedTable(seed uint64) *Stack { return table(seed, TableFlaws) }

func table(seed uint64, faults []string) *Stack {
	r := rand.New(rand.NewPCG(seed, 0x7ab1e))
	s := &Stack{Seed: seed, Shape: "table", Fault: faults[int(seed)%len(faults)]}
	kinds := []Kind{Fine, Coarse, Smooth, Hairs, Stripes, Cells, Fine, Cells}
	things, ground := kinds[r.IntN(len(kinds))], kinds[r.IntN(len(kinds))]
	s.Kind = things + " on " + ground
	s.ISO = 100 * math.Exp2(float64(r.IntN(6)))
	if s.Dark = r.IntN(2) == 0; s.Dark {
		s.ISO = 800 * math.Exp2(float64(r.IntN(3)))
		s.Shape = "dark table"
	}
	n := 6 + r.IntN(14)
	s.Step = 2 * (0.4 + 0.8*r.Float64())
	if s.Fault == "coarse" {
		n, s.Step = 5+r.IntN(4), 2*(1.65+1.1*r.Float64())
	}
	place := make([]float64, n)
	for i := 1; i < n; i++ {
		place[i] = place[i-1] + s.Step*(0.92+0.16*r.Float64())
	}
	if s.Fault == "gap" {
		wide := 3.6 + 3*r.Float64()
		for i, k := n-1, 1+r.IntN(n-1); i >= k; i-- {
			place[i] += wide - s.Step
		}
	}
	lo, hi := place[0]-0.5+r.Float64()*0.9, place[n-1]+0.5-r.Float64()*0.9
	switch s.Fault {
	case "near-open":
		lo = place[0] - 3 - 4*r.Float64()
	case "far-open":
		hi = place[n-1] + 3 + 4*r.Float64()
	}
	for i := range place {
		place[i] -= lo
	}
	order := make([]int, n)
	for i := range order {
		order[i] = i
	}
	if r.IntN(4) == 0 {
		for i := range order {
			order[i] = n - 1 - i
		}
	}
	s.Wobble = []float64{0, 0.5, 2}[r.IntN(3)]
	breathing := []float64{0.0006, 0.0015}[r.IntN(2)]
	subj := onTable(r, things, ground, hi-lo)
	mean := 0.0
	for _, v := range subj.blurred.discs[0].Pix {
		mean += float64(v) / float64(len(subj.blurred.discs[0].Pix))
	}
	ev := 0.0
	if s.Dark {
		ev = math.Log2(0.025*math.Pow(0.2, r.Float64())) - math.Log2(mean)
	}
	s.Truth.Blurred, s.Truth.Moved = -1, -1
	flaw := rand.New(rand.NewPCG(seed, 0xf1a3))
	spoilt := flaw.IntN(n)
	if s.Fault == "again" { // blurred, and shot once more at the same place
		order = slices.Insert(order, spoilt+1, order[spoilt])
	}
	change := s.spoil(flaw, subj, place, order, spoilt)
	for i, k := range order {
		shot := Shot{
			Place: place[k] * circle, Noise: ISO(s.ISO), Camera: true, Seed: seed*1000 + uint64(i),
			Move: plane.Similarity{Scale: 1 - breathing*(place[k]-place[n/2]), DX: s.Wobble * r.NormFloat64(), DY: s.Wobble * r.NormFloat64()},
		}
		if change != nil {
			change(i, &shot)
		}
		shot.EV += ev
		s.Truth.Places = append(s.Truth.Places, place[k])
		s.Truth.Moves = append(s.Truth.Moves, shot.Move)
		s.Pictures = append(s.Pictures, through(subj.Shoot(shot)))
	}
	s.judge(subj, place, order)
	return s
}

// onTable lays out a table that reaches over the given depth in circles, with things on it.
func onTable(r *rand.Rand, things, ground Kind, depth float64) *Subject {
	type thing struct{ x, y, rx, ry, at, high float64 }
	horizon := 0.1 + 0.3*r.Float64() // of the height: where the table ends
	vanish := horizon - 0.2 - 0.6*r.Float64()
	// On a plane that is seen in perspective the distance goes with one over the height below where it vanishes. From
	// afar the image distance goes with one over the distance, close up and over a small depth with the distance.
	table := func(y float64) float64 { return depth * (1 - y) / (1 - horizon) }
	if r.IntN(2) == 0 {
		table = func(y float64) float64 {
			a, b, v := 1/(1-vanish), 1/(horizon-vanish), 1/(y-vanish)
			return depth * (v - a) / (b - a)
		}
	}
	var all []thing
	for range 2 + r.IntN(4) {
		t := thing{x: r.Float64(), y: horizon + (1-horizon)*r.Float64(), rx: 0.06 + 0.14*r.Float64(), ry: 0.08 + 0.2*r.Float64()}
		t.at = table(min(t.y+t.ry*0.8, 1)) // where it stands
		t.high = min(t.at, depth*(0.1+0.3*r.Float64()))
		all = append(all, t)
	}
	behind := depth + 18 + 40*r.Float64()
	var front *thing
	if r.IntN(4) == 0 {
		front = &thing{x: math.Round(r.Float64()), y: 1, rx: 0.15 + 0.15*r.Float64(), ry: 0.2 + 0.3*r.Float64(), at: -18 - 20*r.Float64()}
	}
	within := func(t *thing, x, y float64) float64 { return sq((x-t.x)/t.rx) + sq((y-t.y)/t.ry) }
	at := func(x, y float64) (z float64, of bool) {
		if front != nil && within(front, x, y) < 1 {
			return front.at, true
		}
		z = behind
		if y > horizon {
			z = min(max(table(y), 0), depth)
		}
		for i := range all {
			if d := within(&all[i], x, y); d < 1 {
				if f := all[i].at - all[i].high*math.Sqrt(1-d); f < z {
					z, of = f, true
				}
			}
		}
		return z, of
	}
	s := laidOut(things, stackW, stackH, func(x, y float64) float64 {
		z, _ := at(x, y)
		return circle * z
	})
	w, h := s.places.W, s.places.H
	a, b := material(things, w, h, r), material(ground, w, h, r)
	for y := range h {
		for x := range w {
			if _, of := at((float64(x-s.margin)+0.5)/stackW, (float64(y-s.margin)+0.5)/stackH); of {
				b.Pix[y*w+x] = a.Pix[y*w+x]
			}
		}
	}
	s.blurred.see(b)
	return s
}

// material is a texture of any kind.
func material(kind Kind, w, h int, r *rand.Rand) *plane.Plane {
	switch kind {
	case Stripes:
		out := texture(Smooth, w, h, r)
		period, contrast := 5+12*r.Float64(), 0.2+0.5*r.Float64()
		sin, cos := math.Sincos(math.Pi * r.Float64())
		for y := range h {
			for x := range w {
				wave := math.Sin(2 * math.Pi * (float64(x)*cos + float64(y)*sin) / period)
				out.Pix[y*w+x] *= float32(math.Exp(contrast * math.Tanh(2*wave)))
			}
		}
		return out
	case Cells:
		return cells(w, h, 6+14*r.Float64(), r)
	}
	return texture(kind, w, h, r)
}

// cells is a plane in patches: the points nearest to each of many, one to a square of the given side (S. Worley, "A
// cellular texture basis function", SIGGRAPH 1996), with a faint grain.
func cells(w, h int, side float64, r *rand.Rand) *plane.Plane {
	type seed struct{ x, y, tone float64 }
	nx, ny := int(float64(w)/side)+3, int(float64(h)/side)+3
	seeds := make([]seed, nx*ny)
	for j := range ny {
		for i := range nx {
			seeds[j*nx+i] = seed{(float64(i-1) + r.Float64()) * side, (float64(j-1) + r.Float64()) * side, 0.35 * r.NormFloat64()}
		}
	}
	out := plane.New(w, h)
	for y := range h {
		for x := range w {
			ci, cj := int(float64(x)/side)+1, int(float64(y)/side)+1
			best, tone := math.Inf(1), 0.0
			for j := max(cj-1, 0); j <= min(cj+1, ny-1); j++ {
				for i := max(ci-1, 0); i <= min(ci+1, nx-1); i++ {
					if p := &seeds[j*nx+i]; sq(p.x-float64(x))+sq(p.y-float64(y)) < best {
						best, tone = sq(p.x-float64(x))+sq(p.y-float64(y)), p.tone
					}
				}
			}
			out.Pix[y*w+x] = float32(0.16 * math.Exp(tone+0.03*r.NormFloat64()))
		}
	}
	return out
}
