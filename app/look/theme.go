package look

import (
	"image/color"
	"math"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/theme"
)

// Theme is the look as a Fyne theme, for the few of Fyne's own widgets that the
// program shows (text inputs, scroll bars, dialogs). It has one look for every
// variant of the system's; only Current().Dim changes it.
type Theme struct{}

var _ fyne.Theme = Theme{}

// Color gives the design's colour for what Fyne calls by name. No name gives a
// colour that is not in the design, except by being a see-through version of one.
func (Theme) Color(name fyne.ThemeColorName, variant fyne.ThemeVariant) color.Color {
	switch name {
	case theme.ColorNameBackground, theme.ColorNameForegroundOnPrimary, theme.ColorNameForegroundOnError,
		theme.ColorNameForegroundOnSuccess, theme.ColorNameForegroundOnWarning:
		return Ground.Now()
	case theme.ColorNameButton, theme.ColorNameMenuBackground, theme.ColorNameOverlayBackground,
		theme.ColorNameHeaderBackground, theme.ColorNameDisabledButton:
		return Field.Now()
	case theme.ColorNameForeground:
		return Ink1.Now()
	case theme.ColorNamePlaceHolder, theme.ColorNameDisabled:
		return Ink3.Now()
	case theme.ColorNamePrimary, theme.ColorNameFocus, theme.ColorNameError, theme.ColorNameWarning,
		theme.ColorNameSuccess, theme.ColorNameHyperlink:
		return Accent.Now()
	case theme.ColorNameInputBorder, theme.ColorNameScrollBar:
		return Edge.Now()
	case theme.ColorNameSeparator:
		return Line.Now()
	case theme.ColorNameSelection, theme.ColorNamePressed:
		return Edge.Now()
	case theme.ColorNameHover:
		return Field.Now()
	case theme.ColorNameInputBackground, theme.ColorNameScrollBarBackground, theme.ColorNameShadow:
		return color.Transparent
	}
	return theme.DefaultTheme().Color(name, theme.VariantDark)
}

// Font gives B612 Regular or Bold. There are no italics; the monospaced face is the
// regular one, whose digits are all of one width.
func (Theme) Font(style fyne.TextStyle) fyne.Resource {
	switch {
	case style.Symbol:
		return theme.DefaultTheme().Font(style)
	case style.Bold:
		return bold
	}
	return regular
}

// Icon gives Fyne's own icons; the program's drawings need none of them.
func (Theme) Icon(name fyne.ThemeIconName) fyne.Resource { return theme.DefaultTheme().Icon(name) }

// Size gives the design's sizes times the scale.
func (Theme) Size(name fyne.ThemeSizeName) float32 {
	s := size(name)
	switch name {
	case theme.SizeNameText, theme.SizeNameCaptionText, theme.SizeNameHeadingText, theme.SizeNameSubHeadingText:
		return TextPx(s)
	}
	return s * Current().Scale
}

// TextPx gives a size of type at the current scale, a whole number of Fyne's units:
// type between them is painted blurred.
func TextPx(px float32) float32 {
	return float32(math.Round(float64(px * Current().Scale)))
}

func size(name fyne.ThemeSizeName) float32 {
	switch name {
	case theme.SizeNameText:
		return Base.Px()
	case theme.SizeNameCaptionText:
		return Note.Px()
	case theme.SizeNameHeadingText:
		return Heading.Px()
	case theme.SizeNameSubHeadingText:
		return Card.Px()
	case theme.SizeNamePadding:
		return Space4
	case theme.SizeNameInnerPadding:
		return Space8
	case theme.SizeNameLineSpacing:
		return Space4
	case theme.SizeNameInlineIcon:
		return 20
	case theme.SizeNameScrollBar:
		return Space8
	case theme.SizeNameScrollBarSmall:
		return Space4
	case theme.SizeNameSeparatorThickness, theme.SizeNameInputBorder:
		return 1
	case theme.SizeNameInputRadius, theme.SizeNameSelectionRadius, theme.SizeNameScrollBarRadius:
		return 2
	}
	return theme.DefaultTheme().Size(name)
}
