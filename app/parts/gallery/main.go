// Command gallery shows every part in a window, with invented data, for looking at:
//
//	go run ./app/parts/gallery [-dim] [-scale 1.75] [-page table]
//
// It is no part of the program.
package main

import (
	"flag"
	"log"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/app"
	"fyne.io/fyne/v2/container"

	"stillbench/app/look"
)

// pages are what can be looked at, by name.
var pages = map[string]func() []placed{
	"table":  tablePage,
	"again":  shapesPage,
	"lights": lightsPage,
	"wheel":  wheelPage,
	"stacks": stacksPage,
	"notes":  notesPage,
	"narrow": narrowPage,
}

func main() {
	log.SetFlags(0)
	dim := flag.Bool("dim", false, "as in a dark room")
	scale := flag.Float64("scale", 1, "size of everything")
	page := flag.String("page", "table", "which page")
	flag.Parse()
	build := pages[*page]
	if build == nil {
		log.Fatalf("no page %q", *page)
	}
	a := app.NewWithID("stillbench.gallery")
	look.Apply(a, look.State{Dim: *dim, Scale: float32(*scale)})
	w := a.NewWindow("gallery")
	w.SetPadded(false)
	all := container.NewWithoutLayout()
	for _, p := range build() {
		s := look.Current().Scale
		p.object.Move(fyne.NewPos(p.x*s, p.y*s))
		size := fyne.NewSize(p.w*s, p.h*s)
		p.object.Resize(size.Max(p.object.MinSize()))
		all.Add(p.object)
	}
	w.SetContent(all)
	w.Resize(fyne.NewSize(1440*look.Current().Scale, 900*look.Current().Scale))
	w.ShowAndRun()
}

// placed is a part and where it stands, in px at scale 1. A size of 0 is its least.
type placed struct {
	object     fyne.CanvasObject
	x, y, w, h float32
}
