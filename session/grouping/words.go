package grouping

import (
	"cmp"
	"math"
	"path"
	"slices"
	"strconv"
	"strings"

	"stillbench/session"
	"stillbench/session/optics"
)

func base(name string) string { return path.Base(name) }

// seam says why a run begins, after the group shown before it.
func (t *table) seam(r, shown *run, rules *rules) *session.Seam {
	s := &session.Seam{Confidence: r.starts}
	first := t.shots[r.frames[0]]
	add := func(rule session.Rule, detail session.Text) {
		s.Reasons = append(s.Reasons, session.Reason{Rule: rule, Detail: detail})
	}
	if r.byHand {
		add(session.RuleByHand, session.Say("split by hand before %s", base(first.Name)))
		s.Confidence = 1
	}
	if r.from == nil {
		if last := t.shots[shown.frames[len(shown.frames)-1]]; last.Meta.Model != first.Meta.Model || last.Meta.Serial != first.Meta.Serial {
			add(session.RuleSettings, session.Say("another camera: %s → %s", model(last.Meta), model(first.Meta)))
		} else if len(s.Reasons) == 0 {
			add(session.RuleByHand, session.Say("set aside by hand"))
		}
		return s
	}
	if r.marker {
		switch {
		case rules.label(r.frames[0]) == isMarker:
			add(session.RuleMarker, session.Say("%s was marked by hand", base(first.Name)))
			s.Confidence = 1
		case r.newest:
			add(session.RuleMarker, session.Say("probably a hand covers the lens in %s", base(first.Name)))
		case r.dark:
			add(session.RuleMarker, session.Say("the lens is covered in %s", base(first.Name)))
		default:
			add(session.RuleMarker, session.Say("a hand covers the lens in %s", base(first.Name)))
		}
		return s
	}
	from, l := r.from, r.seam
	if from.marker {
		add(session.RuleAfterMarker, session.Say("follows %s", base(t.shots[from.frames[len(from.frames)-1]].Name)))
		for from != nil && from.marker {
			from = from.from
		}
		if from == nil {
			return s
		}
		l = t.across(from, r)
	}
	s.Reasons = append(s.Reasons, t.reasons(l, from, r)...)
	if len(s.Reasons) == 0 {
		// Many slight signs: name the pause, which is always there.
		add(session.RuleGap, pauseWords(l.gap))
	}
	return s
}

// across is the evidence between two runs that do not follow each other directly.
func (t *table) across(a, b *run) link {
	last, first := a.frames[len(a.frames)-1], b.frames[0]
	ma, mb := t.shots[last].Meta, t.shots[first].Meta
	l := link{gap: gap(ma, mb)}
	if t.turned(last, first) {
		l.turned = oddsTurned
	}
	if settingsWords(ma, mb).Form != "" {
		l.settings = 1
	}
	c := t.composition(a, b)
	if l.turned == 0 && c.known {
		l.moved, l.light = c.p < 0.5, c.p >= 0.5 && c.light
		l.like = c.like
		if l.moved || l.light {
			l.framing = 1
		}
	}
	return l
}

// reasons puts evidence for a seam into words, strongest first.
func (t *table) reasons(l link, from, to *run) []session.Reason {
	a, b := t.shots[from.frames[len(from.frames)-1]].Meta, t.shots[to.frames[0]].Meta
	type weighed struct {
		session.Reason
		odds float64
	}
	var list []weighed
	add := func(odds float64, rule session.Rule, detail session.Text) {
		if odds > 0.5 && detail.Form != "" {
			list = append(list, weighed{session.Reason{Rule: rule, Detail: detail}, odds})
		}
	}
	if up, ok := b.Upright(); ok && up {
		add(l.turned, session.RuleTurned, session.Say("turned upright"))
	} else {
		add(l.turned, session.RuleTurned, session.Say("turned level"))
	}
	add(l.settings, session.RuleSettings, settingsWords(a, b))
	add(l.series, session.RuleSettings, session.Say("the camera begins a focus series"))
	if c := t.composition(from, to); l.framing > 0 && c.known {
		l.moved, l.light, l.like = c.p < 0.5, c.p >= 0.5, c.like
	}
	switch {
	case l.turned > 0: // the framing has changed with it
	case l.moved:
		add(l.framing, session.RuleCameraMoved, session.Say("another framing"))
	case l.light:
		add(l.framing, session.RuleLightMoved, lightWords(l.like.Field, l.like.EV))
	}
	if l.again {
		add(l.pause, session.RuleGap, session.Say("%s, and the focus begins anew", pauseWords(l.gap)))
	} else {
		add(l.pause, session.RuleGap, pauseWords(l.gap))
	}
	slices.SortStableFunc(list, func(a, b weighed) int { return cmp.Compare(b.odds, a.odds) })
	out := make([]session.Reason, len(list))
	for i, w := range list {
		out[i] = w.Reason
	}
	return out
}

func lightWords(field, ev float64) session.Text {
	switch {
	case field > 0.3 || math.Abs(ev) < 0.5:
		return session.Say("the light moved")
	case ev > 0:
		return session.Say("the light is %.1f EV brighter", ev)
	}
	return session.Say("the light is %.1f EV darker", -ev)
}

// model names a camera.
func model(m session.Meta) any {
	if m.Model == "" {
		return session.Say("not named")
	}
	return m.Model
}

// settingsWords names what changed, empty when nothing did.
func settingsWords(a, b session.Meta) session.Text {
	var out session.Text
	add := func(t session.Text) {
		if out.Form != "" {
			t = session.Say("%s, %s", out, t)
		}
		out = t
	}
	if changed(a.FNumber, b.FNumber, 0.04) {
		add(session.Say("f/%s → f/%s", number3(*a.FNumber), number3(*b.FNumber)))
	}
	if changed(a.FocalLengthMM, b.FocalLengthMM, 0.02) {
		add(session.Say("%v mm → %v mm", three(*a.FocalLengthMM), three(*b.FocalLengthMM)))
	}
	if changed(a.ShutterSeconds, b.ShutterSeconds, 0.15) {
		add(session.Say("%s → %s", shutterText(*a.ShutterSeconds), shutterText(*b.ShutterSeconds)))
	}
	if a.ISO != nil && b.ISO != nil && *a.ISO != *b.ISO {
		add(session.Say("ISO %d → ISO %d", *a.ISO, *b.ISO))
	}
	return out
}

// number3 writes up to three significant digits, without idle zeros.
func number3(v float64) string {
	if v >= 100 {
		return strconv.FormatFloat(math.Round(v), 'f', 0, 64)
	}
	return strconv.FormatFloat(v, 'g', 3, 64)
}

// three rounds to three significant digits.
func three(v float64) float64 {
	v, _ = strconv.ParseFloat(number3(v), 64) // of our own making
	return v
}

// shutterText is an exposure time as optics writes it, its seconds kept as a number.
func shutterText(seconds float64) any {
	text := optics.ShutterWords(seconds)
	if n, err := strconv.ParseFloat(strings.TrimSuffix(text, " s"), 64); err == nil {
		return session.Say("%v s", n)
	}
	return text
}

// pauseWords writes a pause as a person would say it.
func pauseWords(seconds float64) session.Text {
	whole := func(v float64) int { return int(math.RoundToEven(v)) }
	switch {
	case math.IsNaN(seconds):
		return session.Say("a pause of unknown length")
	case seconds < 90:
		return session.Say("%d s pause", whole(seconds))
	case seconds < 90*60:
		return session.Say("%d min pause", whole(seconds/60))
	case seconds < 36*3600:
		h := int(seconds / 3600)
		return session.Say("%d h %d min pause", h, int(seconds/60)-60*h)
	}
	return session.Say("%d days pause", whole(seconds/86400))
}
