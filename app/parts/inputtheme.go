package parts

import (
	"image/color"

	"fyne.io/fyne/v2"
	"fyne.io/fyne/v2/container"
	"fyne.io/fyne/v2/theme"
	"fyne.io/fyne/v2/widget"

	"stillbench/app/look"
)

// inputTheme is the look inside an input: its own size of type, no box, no padding.
type inputTheme struct {
	look.Theme
	role look.Role
}

func (t inputTheme) Size(name fyne.ThemeSizeName) float32 {
	switch name {
	case theme.SizeNameText:
		return look.TextPx(t.role.Px())
	case theme.SizeNameInnerPadding, theme.SizeNameInputBorder, theme.SizeNameLineSpacing,
		theme.SizeNameScrollBar, theme.SizeNameScrollBarSmall: // no bar through the words
		return 0
	}
	return t.Theme.Size(name)
}

func (t inputTheme) Color(name fyne.ThemeColorName, v fyne.ThemeVariant) color.Color {
	switch name {
	case theme.ColorNameInputBorder, theme.ColorNameInputBackground:
		return color.Transparent
	}
	return t.Theme.Color(name, v)
}

// themed has a list of each role that is shown nowhere and has the role's inputTheme. It belongs to the UI
// goroutine.
var themed = map[look.Role]*widget.List{}

// giveInputTheme gives an object and all in it the inputTheme of a role.
//
// For every container.ThemeOverride, and again whenever one is refreshed or shown after a minute out of sight,
// Fyne reads the fonts anew, some two megabytes, which it never lets go of. What a list makes as an
// item takes over the theme that the list has, so that all inputs of a role share one.
func giveInputTheme(o fyne.CanvasObject, role look.Role) {
	list := themed[role]
	if list == nil {
		list = widget.NewList(func() int { return 0 }, nil, func(widget.ListItemID, fyne.CanvasObject) {})
		container.NewThemeOverride(list, inputTheme{role: role})
		themed[role] = list
	}
	list.CreateItem = func() fyne.CanvasObject { return o }
	list.Refresh() // makes an item, to see how large it is
	list.CreateItem = nil
}
