package place

import (
	"image/color"

	"fyne.io/fyne/v2/canvas"

	"stillbench/app/look"
)

// NewRing makes the ring that shows where the keys go: 2 px of accent.
func NewRing() *canvas.Rectangle {
	r := canvas.NewRectangle(color.Transparent)
	r.StrokeColor, r.StrokeWidth, r.CornerRadius = look.Accent.Now(), 2*look.Current().Scale, 3*look.Current().Scale
	return r
}

// LineWidth is the width of a label's line in px at scale 1.
func LineWidth(line []Span) float32 {
	w := -gap
	for _, s := range line {
		w += gap + textWidth(s.Text, s.Role)
	}
	return max(w, 0)
}
