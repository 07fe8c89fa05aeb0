package main

import (
	"math"

	"stillbench/app/parts"
	"stillbench/session"
)

func cm(v float64) *float64 { return &v }

func twoLights() []session.Light {
	return []session.Light{
		{Kind: session.LightLED, AzimuthDeg: 227, ElevationDeg: 55, DistanceCM: cm(40), Modifier: "diffuser"},
		{Kind: session.LightCard, AzimuthDeg: 62, ElevationDeg: 15, DistanceCM: cm(25)},
	}
}

func allLights() []session.Light {
	var out []session.Light
	for i, kind := range session.LightKinds {
		out = append(out, session.Light{Kind: kind, AzimuthDeg: math.Mod(100+60*float64(i), 360), ElevationDeg: 15 * float64(i), DistanceCM: cm(30 + 20*float64(i%3))})
	}
	out[3].Modifier = "diffuser"
	return out
}

func lightsPage() []placed {
	all := head(0, parts.ShapeTrial, "", "Three lights. Which one?", "Press A, B or C to log it. A hand over the lens starts the stack.")
	editor := parts.NewLightEditor()
	editor.Lights = twoLights()
	six := parts.NewLightEditor()
	six.Lights = allLights()
	narrow := parts.NewLightEditor()
	narrow.Narrow, narrow.Lights = true, twoLights()
	all = append(all, placed{editor, 1072, 328, 336, 0}, placed{six, 40, 140, 336, 0}, placed{narrow, 460, 540, 300, 0})
	for i, r := range []float32{22, 35, 48, 78} {
		plan := parts.NewLightPlan(r)
		plan.Lights = twoLights()
		if i == 3 {
			plan.Lights = allLights()
		}
		all = append(all, placed{plan, 420 + 110*float32(i), 160, 0, 0})
	}
	arc := parts.NewSideArc()
	arc.Lights = allLights()
	all = append(all, placed{arc, 960, 160, 0, 0})
	for i, l := range allLights() {
		all = append(all, placed{parts.NewLightMark(l), 430 + 50*float32(i), 400, 0, 0})
	}
	return all
}

func wheelPage() []placed {
	all := head(2, parts.ShapeWheel, "", "Six setups, lit from back-left, high.", "Of 214 in the log. Four of them by an LED panel, two by a window.")
	back := session.Cell{Side: session.SideBackLeft, Height: session.HeightHigh}
	all[1].object.(*parts.Sentence).Cells = []session.Cell{back}
	counts := map[session.Cell]int{}
	for i, side := range session.Sides {
		for j, height := range session.Heights[:3] {
			counts[session.Cell{Side: side, Height: height}] = (7*i + 5*j) % 19
		}
	}
	counts[session.Cell{Height: session.HeightOverhead}] = 11
	w := parts.NewWheel()
	w.Counts = counts
	w.Chosen = map[session.Cell]bool{back: true}
	n := parts.NewWheel()
	n.Counts, n.Narrow = counts, true
	n.Chosen = map[session.Cell]bool{{Height: session.HeightOverhead}: true, {Side: session.SideRight, Height: session.HeightLow}: true}
	return append(all, placed{w, 141, 222, 0, 0}, placed{n, 700, 222, 0, 0})
}
