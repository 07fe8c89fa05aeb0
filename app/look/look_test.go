package look

import (
	"image/color"
	"math"
	"testing"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/test"
	"fyne.io/fyne/v2/theme"

	"stillbench/assets"
)

// luminance is the relative luminance of W3C, Web Content Accessibility Guidelines
// 2.2, section "relative luminance".
func luminance(c color.NRGBA) float64 {
	lin := func(v uint8) float64 {
		s := float64(v) / 255
		if s <= 0.04045 {
			return s / 12.92
		}
		return math.Pow((s+0.055)/1.055, 2.4)
	}
	return 0.2126*lin(c.R) + 0.7152*lin(c.G) + 0.0722*lin(c.B)
}

// contrast is the contrast ratio of the same guidelines, section "contrast ratio".
func contrast(a, b color.NRGBA) float64 {
	la, lb := luminance(a), luminance(b)
	return (math.Max(la, lb) + 0.05) / (math.Min(la, lb) + 0.05)
}

func TestContrastFormulaOnItsBounds(t *testing.T) {
	// The guidelines give the range as 1 to 21.
	white, black := color.NRGBA{255, 255, 255, 255}, color.NRGBA{0, 0, 0, 255}
	if got := contrast(white, black); math.Abs(got-21) > 1e-9 {
		t.Errorf("white on black: %g, not 21", got)
	}
	if got := contrast(white, white); got != 1 {
		t.Errorf("white on white: %g, not 1", got)
	}
}

func TestColoursCanBeRead(t *testing.T) {
	// WCAG 2.2: text has at least 4.5 : 1 (success criterion 1.4.3), what is needed to
	// understand a drawing at least 3 : 1 (1.4.11). Guides and fields are decoration
	// there and need none.
	need := map[Colour]float64{Ink1: 4.5, Ink2: 4.5, Ink3: 4.5, Bar: 4.5, Accent: 4.5, Edge: 3}
	for c, want := range need {
		for _, dim := range []bool{false, true} {
			got := contrast(c.In(dim), Ground.In(dim))
			if math.Round(got*10)/10 < want {
				t.Errorf("%v, dim %v: %.2f : 1 on ground, at least %g needed", c, dim, got, want)
			}
		}
	}
}

func TestContrastIsTheDesigns(t *testing.T) {
	// The figures are the design's, to its one decimal; ink 1 in dim is darker than its first, since nothing
	// may be brighter there than a picture.
	for _, c := range []struct {
		colour      Colour
		normal, dim float64
	}{
		{Field, 1.2, 1.1}, {Line, 1.6, 1.3}, {Edge, 3.1, 3.0}, {Ink1, 13.9, 7.0},
		{Ink2, 8.9, 5.7}, {Ink3, 5.3, 4.9}, {Bar, 7.1, 4.6}, {Accent, 11.0, 6.8},
	} {
		for _, dim := range []bool{false, true} {
			want := c.normal
			if dim {
				want = c.dim
			}
			if got := contrast(c.colour.In(dim), Ground.In(dim)); math.Abs(got-want) > 0.06 {
				t.Errorf("%v, dim %v: %.2f : 1, the design says %g", c.colour, dim, got, want)
			}
		}
	}
}

func TestGreysAreNeutral(t *testing.T) {
	for _, c := range Colours {
		for _, dim := range []bool{false, true} {
			v := c.In(dim)
			if v.A != 255 {
				t.Errorf("%v is see-through", c)
			}
			neutral := v.R == v.G && v.G == v.B
			if neutral == (c == Accent) {
				t.Errorf("%v, dim %v: %v", c, dim, v)
			}
		}
	}
}

func TestDimIsDarkerThroughout(t *testing.T) {
	for _, c := range Colours {
		if luminance(c.In(true)) >= luminance(c.In(false)) {
			t.Errorf("%v is not darker in a dark room", c)
		}
	}
}

// In a dark room nothing is brighter than what is white in a picture, and the verdict keeps the contrast of
// WCAG 2.2, success criterion 1.4.6 (7 : 1).
func TestNothingIsBrighterThanAPictureInDim(t *testing.T) {
	v := uint8(math.Round(255 * (1 - float64(Veil.A)/255)))
	white := color.NRGBA{v, v, v, 255}
	for _, c := range Colours {
		if luminance(c.In(true)) > luminance(white) {
			t.Errorf("%v, %v, is brighter than the white of a picture, %v", c, c.In(true), white)
		}
	}
	if got := contrast(Ink1.In(true), Ground.In(true)); got < 7 {
		t.Errorf("the verdict stands out by %.2f : 1", got)
	}
}

// restore puts the look back after a test has changed it.
func restore(t *testing.T) {
	before := Current()
	t.Cleanup(func() { Set(before) })
}

func TestThemeHasNoColourOfItsOwn(t *testing.T) {
	restore(t)
	for _, dim := range []bool{false, true} {
		Set(State{Dim: dim})
		for _, name := range []fyne.ThemeColorName{
			theme.ColorNameBackground, theme.ColorNameButton, theme.ColorNameDisabledButton, theme.ColorNameDisabled,
			theme.ColorNameError, theme.ColorNameFocus, theme.ColorNameForeground, theme.ColorNameForegroundOnError,
			theme.ColorNameForegroundOnPrimary, theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning,
			theme.ColorNameHeaderBackground, theme.ColorNameHover, theme.ColorNameHyperlink, theme.ColorNameInputBackground,
			theme.ColorNameInputBorder, theme.ColorNameMenuBackground, theme.ColorNameOverlayBackground,
			theme.ColorNamePlaceHolder, theme.ColorNamePressed, theme.ColorNamePrimary, theme.ColorNameScrollBar,
			theme.ColorNameScrollBarBackground, theme.ColorNameSelection, theme.ColorNameSeparator, theme.ColorNameShadow,
			theme.ColorNameSuccess, theme.ColorNameWarning,
		} {
			got := Theme{}.Color(name, theme.VariantLight)
			if got != (Theme{}).Color(name, theme.VariantDark) {
				t.Errorf("%s changes with the system's variant", name)
			}
			known := got == color.Transparent
			for _, c := range Colours {
				known = known || got == color.Color(c.In(dim))
			}
			if !known {
				t.Errorf("%s, dim %v: %v is not in the design", name, dim, got)
			}
		}
	}
}

func TestFiguresAreOneWidth(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(Theme{})
	for _, bold := range []bool{false, true} {
		style := fyne.TextStyle{Bold: bold}
		zero := fyne.MeasureText("0", 100, style).Width
		for _, digit := range "123456789" {
			if got := fyne.MeasureText(string(digit), 100, style).Width; got != zero {
				t.Errorf("bold %v: %c is %g wide, 0 is %g", bold, digit, got, zero)
			}
		}
		// 0.65 em by the font's own metrics table.
		if math.Abs(float64(zero)-65) > 1 {
			t.Errorf("bold %v: figures are %g px wide at 100 px, not 65", bold, zero)
		}
	}
}

func TestLineIsWholePixels(t *testing.T) {
	test.NewTempApp(t).Settings().SetTheme(Theme{})
	for role := Verdict; role <= Ring; role++ {
		px := role.Px()
		size, base := fyne.CurrentApp().Driver().RenderedTextSize("Ägypten", px, fyne.TextStyle{Bold: role.Bold()}, nil)
		if math.Abs(float64(base-px)) > 0.02 {
			t.Errorf("%g px: base line at %g", px, base)
		}
		if math.Abs(float64(size.Height-1.5*px)) > 0.02 {
			t.Errorf("%g px: line %g high", px, size.Height)
		}
	}
}

func TestLineLeavesAllElseOfTheFont(t *testing.T) {
	for name, font := range map[string][]byte{"regular": assets.FontRegular, "bold": assets.FontBold} {
		out := withLine(font)
		if len(out) != len(font) {
			t.Fatalf("%s: length changed", name)
		}
		changed := 0
		for i := range font {
			if out[i] != font[i] {
				changed++
			}
		}
		if changed == 0 || changed > 6 {
			t.Errorf("%s: %d bytes differ; ascender, descender and line gap are 6", name, changed)
		}
	}
}

func TestLineOfNoFont(t *testing.T) {
	for _, in := range [][]byte{nil, []byte("OTTO"), make([]byte, 12), append([]byte("OTTO\x00\x09\x00\x00\x00\x00\x00\x00"), "head"...), assets.FontRegular[:200]} {
		if got := withLine(in); string(got) != string(in) {
			t.Errorf("%d bytes that are no font were changed", len(in))
		}
	}
}

func TestScaleIsBounded(t *testing.T) {
	restore(t)
	for in, want := range map[float32]float32{0: 1, 0.1: 0.5, 1: 1, 1.75: 1.75, 9: 4} {
		Set(State{Scale: in})
		if got := Current().Scale; got != want {
			t.Errorf("scale %g is drawn at %g, not %g", in, got, want)
		}
	}
}

func TestScaleFor(t *testing.T) {
	for _, c := range []struct{ width, text, want float32 }{
		{1440, 1, 1}, {1440, 1.25, 1.25}, {1440, 0, 1},
		{3840, 1, 1.75}, // a 4K screen that the system does not enlarge
		{3840, 2, 2},    // the system's own is never made smaller
		{1920, 1, 1},    // 4K at 2x: the system enlarges already
	} {
		if got := ScaleFor(c.width, c.text); got != c.want {
			t.Errorf("ScaleFor(%g, %g) = %g, not %g", c.width, c.text, got, c.want)
		}
	}
}

func TestGridFor(t *testing.T) {
	if g := GridFor(1440); g != Wide || g.ContentX != 176 || g.Margin+g.Column != 152 {
		t.Errorf("1440 px: %+v", g)
	}
	if g := GridFor(1024); g.Column != 0 || g.Margin != 24 || g.SentenceH != 96 {
		t.Errorf("1024 px: %+v", g)
	}
}

func TestTypeScalesToWholePixels(t *testing.T) {
	restore(t)
	for _, scale := range []float32{1, 1.1, 1.25, 1.5, 1.75, 2} {
		Set(State{Scale: scale})
		for role := Verdict; role <= Ring; role++ {
			got := TextPx(role.Px())
			if got != float32(math.Trunc(float64(got))) || math.Abs(float64(got-role.Px()*scale)) > 0.5 {
				t.Errorf("%g px at scale %g: %g", role.Px(), scale, got)
			}
		}
	}
}

func TestVerdictIsNeverSmallerThan38(t *testing.T) {
	for i, px := range VerdictSteps {
		if px < 38 || i > 0 && px >= VerdictSteps[i-1] {
			t.Errorf("steps %v", VerdictSteps)
		}
	}
	if VerdictSteps[0] != Verdict.Px() {
		t.Error("the first step is not the verdict's size")
	}
}
