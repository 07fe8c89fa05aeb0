package handoff

import (
	"bytes"
	"image"
	"image/jpeg"
	"io"
	"strings"
	"unicode"
	"unicode/utf8"

	"codeberg.org/go-pdf/fpdf"
	"golang.org/x/image/font/gofont/gobold"
	"golang.org/x/image/font/gofont/goregular"

	"stillbench/session"
)

// face is the typeface of what is printed: it has Latin, Greek and Cyrillic letters, and comes as
// TrueType, which a PDF can carry a part of.
const face = "Go"

// Step is one thing to do: what, and how exactly.
type Step struct{ What, How string }

// SetupPage is what is printed of a setup, to build it again.
type SetupPage struct {
	Title, Note string
	Steps       []Step
	Lights      []session.Light
	// Background says that something stands behind the table.
	Background bool
	// Picture is what it looked like; nil where there is none.
	Picture image.Image
	// Caution is the line about lamps.
	Caution string
}

// The page, in mm: A4 upright, which Letter (216 x 279) holds all of but the lowest 18.
const (
	pageW, pageH = 210.0, 297.0
	margin       = 16.0
	lowest       = 275.0
)

// How many letters a title and a note may have above the plan; a longer title is cut there, a
// longer note comes after the steps, so that the plan is always on the first page.
const (
	longTitle = 120
	longNote  = 600
)

// Write writes the page as a PDF. Steps that do not fit go on on further pages.
func (p SetupPage) Write(w io.Writer) error {
	d := fpdf.New("P", "mm", "A4", "")
	d.AddUTF8FontFromBytes(face, "", goregular.TTF)
	d.AddUTF8FontFromBytes(face, "B", gobold.TTF)
	d.SetMargins(margin, margin, margin)
	d.SetAutoPageBreak(true, pageH-lowest)
	p.Title, p.Note = printable(p.Title), printable(p.Note)
	d.SetTitle(p.Title, true)
	if r := []rune(p.Title); len(r) > longTitle {
		p.Title = string(r[:longTitle]) + "…" // the first step has all of it
	}
	above, below := p.Note, ""
	if utf8.RuneCountInString(p.Note) > longNote {
		above, below = "", p.Note
	}
	d.AddPage()
	d.SetFont(face, "B", 22)
	d.SetTextColor(20, 20, 20)
	d.MultiCell(pageW-2*margin, 10, p.Title, "", "L", false)
	note := func(text string) {
		if text != "" {
			d.SetFont(face, "", 10)
			d.SetTextColor(110, 110, 110)
			d.MultiCell(pageW-2*margin, 5, text, "", "L", false)
		}
	}
	note(above)
	top := d.GetY() + 10
	r := 34.0
	drawLightPlan(d, p.Lights, p.Background, margin+r+6, top+r+6, r)
	beside := 2*margin + 2*r + 12
	pictureH := 2*r + 12
	if len(p.Lights) > 0 {
		const arc = 17.0
		pictureH -= 1.5*arc + 6
		drawHeights(d, p.Lights, pageW-margin-1.4*arc, top+2*r+14, arc)
	}
	if p.Picture != nil {
		if err := place(d, p.Picture, beside, top, pageW-margin-beside, pictureH); err != nil {
			return err
		}
	}
	d.SetY(top + 2*r + 26)
	for i, s := range p.Steps {
		if d.GetY() > lowest-18 {
			d.AddPage()
		}
		y := d.GetY()
		d.SetFont(face, "B", 13)
		d.SetTextColor(140, 140, 140)
		d.Text(margin, y+5, string(rune('a'+i%26)))
		d.SetXY(margin+9, y)
		d.SetTextColor(20, 20, 20)
		d.MultiCell(pageW-2*margin-9, 6.5, printable(s.What), "", "L", false)
		d.SetX(margin + 9)
		d.SetFont(face, "", 11)
		d.SetTextColor(70, 70, 70)
		d.MultiCell(pageW-2*margin-9, 5.5, printable(s.How), "", "L", false)
		d.SetY(d.GetY() + 3.5)
	}
	note(below)
	if p.Caution != "" {
		d.SetFont(face, "", 8.5)
		d.SetTextColor(110, 110, 110)
		d.MultiCell(pageW-2*margin, 4.5, p.Caution, "", "L", false)
	}
	return d.Output(w)
}

// printable stands a box for what a PDF's text cannot hold: letters beyond Unicode's first
// plane, and what is no text.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r > 0xFFFF || r == utf8.RuneError || unicode.IsControl(r) && r != '\n' {
			return '\u25A1'
		}
		return r
	}, s)
}

// place puts a picture into a rectangle, as large as fits, against its upper right corner.
func place(d *fpdf.Fpdf, picture image.Image, x, y, w, h float64) error {
	var b bytes.Buffer
	if err := jpeg.Encode(&b, picture, &jpeg.Options{Quality: 90}); err != nil {
		return err
	}
	size := picture.Bounds()
	k := min(w/float64(size.Dx()), h/float64(size.Dy()))
	pw, ph := k*float64(size.Dx()), k*float64(size.Dy())
	options := fpdf.ImageOptions{ImageType: "JPG"}
	d.RegisterImageOptionsReader("picture", options, &b)
	d.ImageOptions("picture", x+w-pw, y, pw, ph, false, options, 0, "")
	return d.Error()
}
