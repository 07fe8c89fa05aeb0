package parts

import (
	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// ShareBar shows a share from 0 to 1 as a filled bar, its figure beside it.
type ShareBar struct {
	widget.BaseWidget
	Share float64
	Words string // "47 %"
}

// NewShareBar makes an empty bar.
func NewShareBar() *ShareBar {
	w := &ShareBar{}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the bar.
func (s *ShareBar) CreateRenderer() fyne.WidgetRenderer { return render(s) }

// scaleWords is the room for the word right of a bar or a scale.
const scaleWords float32 = 72

func (s *ShareBar) least() (w, h float32) { return 160, 22 }

func (s *ShareBar) draw(p *pen, w, _ float32) {
	w -= scaleWords
	p.outline(0, 3, w, 15, 2, 1, look.Edge)
	if share := float32(min(max(s.Share, 0), 1)); share > 0 {
		p.fill(0, 3, max(w*share, 2), 15, 2, look.Ink2)
	}
	p.text(w+look.Space16, 17, s.Words, of(look.Card), left)
}

// StepScale shows where something lies on a scale of a few words: a disc on a line
// with ticks between the words.
type StepScale struct {
	widget.BaseWidget
	Steps []string // "flat", "soft", "clear", "hard"
	// At is where it lies, from 0 at the left end to 1 at the right.
	At    float64
	Words string // the word it comes to, beside the scale
}

// NewStepScale makes a scale of words.
func NewStepScale(steps ...string) *StepScale {
	w := &StepScale{Steps: steps}
	w.ExtendBaseWidget(w)
	return w
}

// CreateRenderer draws the scale.
func (s *StepScale) CreateRenderer() fyne.WidgetRenderer { return render(s) }

func (s *StepScale) least() (w, h float32) { return 200, 36 }

func (s *StepScale) draw(p *pen, w, _ float32) {
	w -= scaleWords
	p.fill(0, 10, w, 2, 0, look.Edge)
	n := float32(len(s.Steps))
	for i, word := range s.Steps {
		p.fill(w*float32(i)/n, 6, 2, 10, 0, look.Edge)
		p.text(w*(float32(i)+0.5)/n, 34, word, of(look.Ring), centre)
	}
	p.fill(w-2, 6, 2, 10, 0, look.Edge)
	p.disc(w*float32(min(max(s.At, 0), 1)), 11, 8, look.Ink1)
	p.text(w+look.Space16, 17, s.Words, of(look.Card), left)
}
