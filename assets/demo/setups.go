package demo

import (
	"time"

	"stillbench/session"
)

// notes are what the photographer wrote down about each composition.
var notes = map[*composition]session.Setup{
	acorns: {Subject: "acorns in their cups", Background: "oak board", Support: "putty under the cups",
		Notes: "Highlights on the nuts: keep the diffuser close.", Tags: []string{"demo", "wood", "glossy"}},
	shell: {Subject: "coiled shell on sand", Background: "washed sand in a tray", Support: "half sunk",
		Notes: "The ribs need light from low behind; from the right they go flat.", Tags: []string{"demo", "shell", "texture"}},
	cone: {Subject: "pine cone, upper half", Background: "roof slate", Support: "pin through the stalk",
		Notes: "Window only. The cone opens as it warms: no lamp near it.", Tags: []string{"demo", "cone"}},
	stood: {Subject: "pine cone, whole, upright", Background: "roof slate", Support: "pin through the stalk",
		Notes: "Camera turned upright, nothing else touched.", Tags: []string{"demo", "cone", "upright"}},
	train: {Subject: "wheel train of a clock", Background: "its own plate", Support: "movement holder, levelled",
		Notes: "Cotton gloves. Card at the front left lifts the steel.", Tags: []string{"demo", "metal", "clock"}},
	bridge: {Subject: "bridge with jewel", Background: "its own plate", Support: "movement holder, levelled",
		Notes: "One frame, wide open, for the title.", Tags: []string{"demo", "metal", "clock"}},
}

// Setups are the setups that were logged during the session, in time order: all invented, like
// its frames. AfterFrame holds the file's name of the frame that the setup follows ("" for the
// first); whoever logs a setup puts that frame's fingerprint there. ID and SessionID are 0.
func Setups() []session.Setup {
	var out []session.Setup
	last, before := -1, ""
	for _, e := range exposures() {
		a := acts[e.act]
		if last < 0 || !sameView(acts[last], a) {
			s := notes[a.of]
			s.AfterFrame, s.Logged, s.Lens = before, e.taken.Add(-25*time.Second), lens
			m := 36 / a.of.view.FieldMM
			s.Magnification = &m
			s.Lights = append([]session.Light(nil), a.light.lights...)
			s.Tags = append([]string(nil), s.Tags...)
			out = append(out, s)
		}
		last, before = e.act, e.name
	}
	return out
}

// Past are setups of earlier sessions that never were, newest first, so that a search of the
// demo's log has something to find. Each is tagged "demo" and says in its notes that it is
// invented; Cover is the name of one of the demo's own frames. Dir names no real folder.
func Past() []session.FoundSetup {
	led := func(az, el, cm float64, modifier, power string) session.Light {
		return session.Light{Kind: session.LightLED, AzimuthDeg: az, ElevationDeg: el, DistanceCM: &cm, Modifier: modifier, Power: power}
	}
	of := func(kind session.LightKind, az, el, cm float64, modifier, power string) session.Light {
		return session.Light{Kind: kind, AzimuthDeg: az, ElevationDeg: el, DistanceCM: &cm, Modifier: modifier, Power: power}
	}
	type past struct {
		day            string
		subject, back  string
		note           string
		tags           []string
		magnification  float64
		lights         []session.Light
		fNumber        []float64
		stacks, frames int
		cover          *composition
	}
	list := []past{
		{"2026-05-02", "acorns, first try", "oak board", "Panel behind and below the board: only the rims of the cups come out.", []string{"wood", "glossy"}, 0.8,
			[]session.Light{led(178, -12, 30, "", "40 %"), of(session.LightCard, 20, 25, 20, "white", "")}, []float64{8, 11}, 2, 31, acorns},
		{"2026-04-18", "bridge with jewel, brushed steel", "its own plate", "The brushing reads only with the lamp right overhead.", []string{"metal", "clock"}, 1.2,
			[]session.Light{of(session.LightLamp, 190, 80, 45, "tracing paper", "12 W")}, []float64{7.1}, 3, 58, bridge},
		{"2026-04-18", "wheel train, steel wheels", "its own plate", "Flag on the left against the glare on the rims.", []string{"metal", "clock"}, 1.6,
			[]session.Light{of(session.LightLamp, 140, 62, 40, "tracing paper", "12 W"), of(session.LightFlag, 265, 15, 15, "black", "")}, []float64{5.6, 7.1}, 2, 44, train},
		{"2026-03-29", "pine cone, scales open", "roof slate", "Window and card; overcast all day, steady.", []string{"cone"}, 0.6,
			[]session.Light{of(session.LightWindow, 280, 40, 140, "", ""), of(session.LightCard, 95, 20, 25, "white", "")}, []float64{11}, 4, 52, cone},
		{"2026-03-11", "coiled shell among pebbles", "washed sand in a tray", "Cross light; the wet pebbles need a flag at the front.", []string{"shell", "stone"}, 0.5,
			[]session.Light{led(140, 24, 50, "diffuser", "70 %"), led(320, 35, 60, "diffuser", "20 %")}, []float64{10, 14}, 3, 39, shell},
		{"2026-02-21", "coiled shell, inner whorls", "washed sand in a tray", "Raking from the left, grid on: first one where the sutures read.", []string{"shell", "texture"}, 1.0,
			[]session.Light{led(262, 12, 35, "grid", "90 %")}, []float64{9}, 2, 47, shell},
		{"2026-02-07", "acorns, even light", "oak board", "Flash at 1/32, two cards; even, a little dull.", []string{"wood", "glossy"}, 0.7,
			[]session.Light{of(session.LightFlash, 40, 55, 50, "diffuser", "1/32"), of(session.LightCard, 220, 20, 20, "white", ""), of(session.LightCard, 120, 20, 20, "white", "")}, []float64{11}, 1, 14, acorns},
		{"2026-01-24", "wheel train, brass from behind", "its own plate", "Backlight low: every tooth stands out, the plate shines. Keep.", []string{"metal", "texture"}, 0.9,
			[]session.Light{led(183, 16, 40, "", "50 %")}, []float64{8, 10}, 3, 41, train},
		{"2025-12-13", "pine cone, upright, rim light", "roof slate", "Two flashes from behind, left and right; rims on both sides.", []string{"cone"}, 0.7,
			[]session.Light{of(session.LightFlash, 140, 30, 45, "grid", "1/16"), of(session.LightFlash, 222, 30, 45, "grid", "1/16")}, []float64{13}, 2, 26, stood},
		{"2025-11-30", "pine cone, true colours", "roof slate", "Window alone, front left; flat but true in colour.", []string{"cone", "texture"}, 0.45,
			[]session.Light{of(session.LightWindow, 318, 35, 100, "net curtain", "")}, []float64{11, 16}, 2, 28, cone},
	}
	var out []session.FoundSetup
	for _, p := range list {
		taken, err := time.Parse(time.DateOnly, p.day)
		if err != nil {
			panic("demo: " + err.Error())
		}
		taken = taken.Add(15 * time.Hour)
		m := p.magnification
		out = append(out, session.FoundSetup{
			Setup: session.Setup{Logged: taken, Subject: p.subject, Background: p.back, Lens: lens,
				Notes: p.note + " (Demo data, invented: the picture stands in for it.)", Tags: append([]string{"demo"}, p.tags...), Magnification: &m, Lights: p.lights},
			Dir: "demo/" + p.day, Taken: taken, FNumber: p.fNumber, Stacks: p.stacks, Frames: p.frames, Cover: coverOf(p.cover),
		})
	}
	return out
}

// coverOf is a frame that shows a composition well: one from the middle of its stack, or the
// only one.
func coverOf(c *composition) string {
	var names []string
	for _, e := range exposures() {
		if a := acts[e.act]; a.of == c && (a.kind == session.KindStack || a.kind == session.KindSingle && a.n == 1) {
			names = append(names, e.name)
		}
	}
	return names[len(names)/2]
}
