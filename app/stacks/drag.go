package stacks

import (
	"slices"

	"stillbench/app/look"
	"stillbench/app/parts"
	"stillbench/app/place"
	"stillbench/app/present"
	"stillbench/assets/words"
)

// zoneKeys are the keys that do what letting a frame go on each zone does: from the top, as the
// session lies from the top.
var zoneKeys = [3]place.Key{"<", "X", ">"}

// drag follows a frame that is dragged out of the strip, and shows where it can be let go. x and y
// are the pointer's in the strip.
func (d *detail) drag(i int, x, y float32) {
	if i >= len(d.row.Frames) || d.looking {
		return
	}
	if _, on := d.drawing.On(); on {
		return
	}
	f := d.row.Frames[i]
	if !d.zones.Visible() {
		d.goTo(f.Fingerprint)
		d.setZones(f)
		d.zones.Show()
	}
	k := look.Current().Scale
	d.zones.Held = d.strip.Items[i].Picture
	d.zones.HeldW, d.zones.HeldH = d.strip.CropSize(d.strip.Size().Width / k)
	at := d.strip.Position()
	d.zones.AtX, d.zones.AtY = at.X/k+x, at.Y/k+y
	d.zones.Refresh()
}

// drop lets the frame go.
func (d *detail) drop() {
	if !d.zones.Visible() {
		return
	}
	to := d.zones.Under()
	d.zones.Hide()
	if to >= 0 {
		place.Press(d.p.frameActions(), zoneKeys[to])
	}
}

// setZones lays the zones over the heading and the pictures: the strip and the ribbon stay bare, so
// that a frame let go where it came from stays there.
func (d *detail) setZones(f present.RowFrame) {
	w, _, g := place.Grid(d.body)
	high := d.ribbon.Drawing.Position().Y / look.Current().Scale / float32(len(zoneKeys))
	aside := words.SetAside
	if f.SetAside {
		aside = words.PutBack
	}
	actions := d.p.frameActions()
	d.zones.Zones = nil
	for i, text := range []string{d.into(words.MoveBack, -1), aside, d.into(words.MoveOn, 1)} {
		d.zones.Zones = append(d.zones.Zones, parts.DropZone{
			X: g.ContentX, Y: float32(i) * high, W: w - g.ContentX - g.Margin, H: high,
			Words: text, Off: !place.Can(actions, zoneKeys[i]),
		})
	}
}

// into says where a frame goes, with the name of the group that lies there.
func (d *detail) into(text string, by int) string {
	rows := d.p.view.Rows
	i := slices.IndexFunc(rows, func(r present.Row) bool { return r.GroupID == d.row.GroupID }) + by
	if i < 0 || i >= len(rows) || rows[i].Name == "" {
		return text
	}
	return text + " · " + rows[i].Name
}
