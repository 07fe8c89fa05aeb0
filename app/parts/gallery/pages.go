package main

import (
	"strconv"

	"stillbench/app/parts"
	"stillbench/session"
)

var words = []string{"Table", "Stacks", "Setups", "Plan"}

func head(current int, shape parts.Shape, number, headline, todo string) []placed {
	places := parts.NewPlaces(words, nil)
	places.Current = current
	s := parts.NewSentence()
	s.Shape, s.Number, s.Headline, s.WhatToDo = shape, number, headline, todo
	return []placed{{places, 0, 0, 0, 0}, {s, 176, 28, 1232, 104}}
}

// run gives the bars of n frames that overlap a little.
func run(n int, lo, hi float64) []parts.Bar {
	var bars []parts.Bar
	step := (hi - lo) / float64(n)
	for i := range n {
		from := lo + float64(i)*step
		bars = append(bars, parts.Bar{From: from, To: from + step*1.2, Number: strconv.Itoa(i + 1)})
	}
	return bars
}

func tableRibbon() parts.RibbonData {
	bars := run(14, 0, 1.55)
	bars[4].State = parts.BarBlurred
	bars[8].Current = true
	for i := 9; i < 14; i++ {
		bars[i].State, bars[i].Number = parts.BarPlanned, ""
	}
	return parts.RibbonData{
		Bars: bars, Near: session.EndClosed, Far: session.EndOpen,
		Gaps:      []parts.RibbonGap{{From: bars[3].To, To: bars[5].From, Label: "0.4 mm held by no frame"}},
		NearLabel: "near end", FarLabel: "far end still open",
	}
}

func freeRibbon() parts.RibbonData {
	bars := run(14, 0, 1)
	bars[13].Current = true
	bars[9].State = parts.BarMoved
	bars[6].State = parts.BarLightDiffers
	bars = append(bars, parts.Bar{From: 0.3, To: 0.37, State: parts.BarSetAside, Words: "5 blurred, set aside"})
	return parts.RibbonData{Bars: bars, Near: session.EndClosed, Far: session.EndClosed, NearLabel: "near end", FarLabel: "far end"}
}

func tablePage() []placed {
	all := head(0, parts.ShapeAgain, "5", "Shoot frame 5 again.", "It is blurred. Turn back past frame 4 and shoot; then go on after 9.")
	large := parts.NewRibbon(parts.RibbonLarge)
	large.Data = tableRibbon()
	free := parts.NewRibbon(parts.RibbonLarge)
	free.Data = freeRibbon()
	opened := parts.NewRibbon(parts.RibbonOpened)
	opened.Data = freeRibbon()
	opened.Focused = true
	row := parts.NewRibbon(parts.RibbonRow)
	row.Data = tableRibbon()
	dense := parts.NewRibbon(parts.RibbonOpened)
	dense.Data = parts.RibbonData{Bars: run(90, 0, 0.99), Near: session.EndOpen, Far: session.EndUnknown, NearLabel: "near end still open"}
	dense.Data.Bars[40].Current = true
	keys := parts.NewKeyRows(
		parts.NewKeyWord("T", "sharp parts", func() {}),
		parts.NewKeyWord("W", "wanted area", nil),
		nil,
		parts.NewKeyWord("?", "all keys", nil),
		&parts.KeyWord{Keys: []string{"←", "→"}, Word: "step near, far"},
		&parts.KeyWord{Keys: []string{"Space", "↵"}, Word: "The light moved", Strong: true},
	)
	return append(all,
		placed{large, 176, 150, 1232, 0},
		placed{free, 176, 290, 1232, 0},
		placed{opened, 176, 440, 1232, 0},
		placed{row, 176, 560, 520, 0},
		placed{dense, 176, 600, 1232, 0},
		placed{keys, 32, 700, 0, 0},
	)
}

func shapesPage() []placed {
	all := head(1, parts.ShapeWheel, "", "A sentence so long that it does not fit at fifty-two and steps down", "What to do about it stays at its size, unless it is far too long for one line of it, when it wraps like this one here does.")
	all[1].object.(*parts.Sentence).Cells = []session.Cell{{Side: session.SideBackLeft, Height: session.HeightHigh}}
	for i := parts.ShapeAgain; i <= parts.ShapeWheel; i++ {
		s := parts.NewSentence()
		s.Shape, s.Number, s.Headline = i, "12", "Shape "+strconv.Itoa(int(i))
		n := float32(i - parts.ShapeAgain)
		x, y := 32+450*float32(int(n)%3), 190+120*float32(int(n)/3)
		all = append(all, placed{s, x, y, 420, 104}, placed{parts.NewSmallShape(i), x + 380, y, 0, 0})
	}
	long := parts.NewSentence()
	long.Shape, long.Headline, long.WhatToDo = parts.ShapeFree, "A sentence that is still too long for one line at thirty-eight and therefore wraps, but is never smaller than that", "And this is what to do."
	return append(all, placed{long, 176, 700, 1232, 150})
}
