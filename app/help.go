package app

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// Measures of the help in px at scale 1.
const (
	helpRow    float32 = 76
	helpHigh   float32 = 96 // where the window is narrow and words take three lines
	helpRibbon float32 = 320
	helpGap    float32 = 40
	helpShape  float32 = 30 // from the shape to its name
)

// showHelp explains the verdicts, each by the drawing of a small stack.
func (w *App) showHelp() {
	list := container.NewWithoutLayout()
	var rows []helpLine
	for _, h := range present.VerdictsHelp() {
		r := helpLine{shape: parts.NewSmallShape(parts.ShapeOf(h.Verdict)), ribbon: parts.NewRibbon(parts.RibbonRow), text: parts.NewLines([]parts.Line{{Name: h.Name, Text: h.Text}})}
		r.ribbon.Data = place.RibbonData(h.Ribbon)
		rows = append(rows, r)
		list.Objects = append(list.Objects, r.shape, r.ribbon, r.text)
	}
	list.Layout = helpLayout(rows)
	scroll := container.NewVScroll(list)
	w.cover = &sheet{
		said: present.HelpSentence(), body: scroll, scrolls: []*container.Scroll{scroll},
		actions: []place.Action{place.InMargin(place.Does(words.Back, w.uncover, place.KeyEscape, place.KeyHelp))},
	}
	w.say()
}

// helpLine is a verdict's shape, the drawing and the words.
type helpLine struct {
	shape  *parts.SmallShape
	ribbon *parts.Ribbon
	text   *parts.Lines
}

type helpLayout []helpLine

// MinSize is part of fyne.Layout: as high as all lines.
func (l helpLayout) MinSize([]fyne.CanvasObject) fyne.Size {
	return fyne.NewSize(0, helpHigh*float32(len(l))*look.Current().Scale)
}

// Layout is part of fyne.Layout.
func (l helpLayout) Layout(_ []fyne.CanvasObject, size fyne.Size) {
	k := look.Current().Scale
	w := size.Width / k
	g := look.GridFor(w)
	ribbon := min(helpRibbon, (w-g.ContentX-g.Margin)*0.3)
	y, row := float32(0), helpRow
	if g.Column == 0 {
		row = helpHigh
	}
	for _, r := range l {
		place.Put(r.ribbon, g.ContentX, y+4, ribbon, r.ribbon.MinSize().Height/k)
		x := g.ContentX + ribbon + helpGap
		place.Put(r.shape, x, y+2, 19, 19)
		x += helpShape
		place.Put(r.text, x, y, w-x-g.Margin, row-8)
		y += row
	}
}
