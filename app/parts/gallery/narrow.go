package main

import (
	"stillbench/app/parts"
	"stillbench/session"
)

// narrowPage is for a window of 1024 x 640.
func narrowPage() []placed {
	s := parts.NewSentence()
	s.Narrow, s.Shape, s.Number = true, parts.ShapeAgain, "5"
	s.Headline, s.WhatToDo = "Shoot frame 5 again.", "It is blurred. Turn back past frame 4 and shoot; then go on after 9."
	ribbon := parts.NewRibbon(parts.RibbonOpened)
	ribbon.Data = tableRibbon()
	editor := parts.NewLightEditor()
	editor.Narrow, editor.Lights = true, twoLights()
	all := []placed{{s, 24, 24, 976, 96}, {ribbon, 24, 128, 976, 0}, {editor, 640, 450, 360, 0}}
	y := float32(260)
	for i, words := range []string{"covered", "fill in between 6 and 7"} {
		r := parts.NewGroupRow()
		d := parts.RibbonData{Bars: run(13+8*i, 0, 0.98), Near: session.EndClosed, Far: session.EndClosed}
		r.Time, r.Name, r.Note, r.Ribbon = "13:58", "Stack 3", "shell on sand, 13 frames", &d
		r.Proof, r.Verdict, r.VerdictWords, r.Outcome = picture(144, 96, 0), parts.ShapeFree+parts.Shape(i), words, "blended"
		seam := parts.NewSeam()
		seam.Reason, seam.More, seam.Focused = "the light moved", ", then a pause of 4 min", i == 1
		all = append(all, placed{r, 0, y, 1024, 0}, placed{seam, 0, y + parts.RowHeight, 1024, 0})
		y += parts.RowHeight + parts.SeamHeight
	}
	return all
}
