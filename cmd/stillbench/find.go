package main

import (
	"fmt"
	"runtime/debug"
	"slices"
	"strconv"
	"strings"
	"time"

	"stillbench/session"
)

// foundJSON is the object of `find --json`.
type foundJSON struct {
	Setups []setupJSON `json:"setups"`
	Total  int         `json:"total"`
	Meant  *string     `json:"meant"` // the words looked up in place of mistyped ones
}

type setupJSON struct {
	ID            int64       `json:"id"`
	Subject       *string     `json:"subject"`
	Notes         *string     `json:"notes"`
	Background    *string     `json:"background"`
	Support       *string     `json:"support"`
	Lens          *string     `json:"lens"`
	Tags          []string    `json:"tags"`
	Magnification *float64    `json:"magnification"`
	Taken         *string     `json:"taken"`
	Lights        []lightJSON `json:"lights"`
	Aperture      []float64   `json:"aperture"`
	Shutter       []float64   `json:"shutterSeconds"`
	Stacks        int         `json:"stacks"`
	Frames        int         `json:"frames"`
	Blended       int         `json:"blended"`
	Score         *float64    `json:"score"`
	Dir           *string     `json:"dir"`
}

type lightJSON struct {
	Kind         string   `json:"kind"`
	AzimuthDeg   float64  `json:"azimuthDeg"`
	ElevationDeg float64  `json:"elevationDeg"`
	DistanceCM   *float64 `json:"distanceCM"`
	Modifier     *string  `json:"modifier"`
	Power        *string  `json:"power"`
	ColourK      *int     `json:"colourK"`
	Side         string   `json:"side"`
	Height       string   `json:"height"`
	Main         bool     `json:"main"`
}

// page is how many setups are fetched at a time.
const page = 1000

// asked are the flags of find as they were typed.
type asked struct {
	from, kind, height, modifier     string
	aperture, shutter, magnification string
	since, until, order              string
	main, blended                    bool
}

func runFind(e env, args []string) int {
	// It makes an index once and ends: what little becomes garbage need not be collected.
	debug.SetGCPercent(-1)
	debug.SetMemoryLimit(512 << 20)
	f := newFlags("find")
	var a asked
	f.StringVar(&a.from, "from", "", "side")
	f.StringVar(&a.kind, "kind", "", "kind of light")
	f.StringVar(&a.height, "height", "", "height")
	f.StringVar(&a.modifier, "modifier", "", "what stands before the light")
	f.BoolVar(&a.main, "main", false, "of the main light")
	f.StringVar(&a.aperture, "aperture", "", "range of f-numbers")
	f.StringVar(&a.shutter, "shutter", "", "range of exposure times")
	f.StringVar(&a.magnification, "magnification", "", "range of magnifications")
	f.StringVar(&a.since, "since", "", "first day")
	f.StringVar(&a.until, "until", "", "last day")
	f.BoolVar(&a.blended, "blended", false, "with a blended stack")
	f.StringVar(&a.order, "order", "best", "best, newest or oldest")
	limit := f.Int("limit", 0, "so many at most")
	words, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	q, err := a.query(words)
	if err == nil && *limit < 0 {
		err = fmt.Errorf("--limit %d: it is 1 or more", *limit)
	}
	if err != nil {
		return wrong(e, "find: %v", err)
	}
	s, err := openLog(e.ctx, f.log)
	if err != nil {
		return failed(e, err)
	}
	defer s.Close()
	out := foundJSON{Setups: []setupJSON{}}
	for *limit == 0 || len(out.Setups) < *limit {
		q.Limit, q.Offset = page, len(out.Setups)
		if *limit > 0 {
			q.Limit = min(page, *limit-len(out.Setups))
		}
		r, err := s.FindSetups(e.ctx, q)
		if err != nil {
			return failed(e, err)
		}
		out.Total, out.Meant = r.Total, text(r.Meant)
		for _, fs := range r.Setups {
			out.Setups = append(out.Setups, setupOf(fs, q.Words != ""))
		}
		if len(r.Setups) < q.Limit {
			break
		}
	}
	if f.json {
		if err := printJSON(e, out); err != nil {
			return failed(e, err)
		}
		return exitDone
	}
	printFound(e, out)
	return exitDone
}

// query makes a query of the command line's words and flags.
func (a asked) query(words []string) (session.SetupQuery, error) {
	q := session.SetupQuery{Words: strings.Join(words, " "), MainLight: a.main, Blended: a.blended}
	if a.from != "" {
		side := session.Side(strings.ToLower(a.from))
		if !slices.Contains(session.Sides, side) {
			return q, fmt.Errorf("--from %s: it is one of %s", a.from, list(session.Sides))
		}
		q.Sides = []session.Side{side}
	}
	if a.height != "" {
		h := session.Height(strings.ToLower(a.height))
		if !slices.Contains(session.Heights, h) {
			return q, fmt.Errorf("--height %s: it is one of %s", a.height, list(session.Heights))
		}
		q.Heights = []session.Height{h}
	}
	if a.kind != "" {
		i := slices.IndexFunc(session.LightKinds, func(k session.LightKind) bool {
			return strings.EqualFold(string(k), a.kind) || strings.EqualFold(strings.Fields(string(k))[0], a.kind)
		})
		if i < 0 {
			return q, fmt.Errorf("--kind %s: it is one of %s", a.kind, list(session.LightKinds))
		}
		q.Kinds = []session.LightKind{session.LightKinds[i]}
	}
	if a.modifier != "" {
		q.Modifiers = []string{a.modifier}
	}
	switch a.order {
	case "best":
	case string(session.OrderNewest), string(session.OrderOldest):
		q.Order = session.SetupOrder(a.order)
	default:
		return q, fmt.Errorf("--order %s: it is one of best, newest, oldest", a.order)
	}
	var err error
	if q.ApertureMin, q.ApertureMax, err = span("--aperture", a.aperture, "two f-numbers with .. between them, e.g. 8..11"); err != nil {
		return q, err
	}
	if q.ShutterMin, q.ShutterMax, err = span("--shutter", a.shutter, "two times in seconds with .. between them, e.g. 1/60..1/4"); err != nil {
		return q, err
	}
	// Cameras round the times they write: 1/60 s may stand there as 0.017.
	q.ShutterMin, q.ShutterMax = q.ShutterMin/shutterRounding, q.ShutterMax*shutterRounding
	if q.MagnificationMin, q.MagnificationMax, err = span("--magnification", a.magnification, "two numbers with .. between them, e.g. 1..2"); err != nil {
		return q, err
	}
	return q, a.days(&q)
}

// shutterRounding is how far, as a factor, a written exposure time may be from the one asked
// for: less than a tenth of a stop, where settings are a third apart.
const shutterRounding = 1.05

// days fills in the dates.
func (a asked) days(q *session.SetupQuery) (err error) {
	if q.Since, err = day("--since", a.since); err != nil {
		return err
	}
	if q.Until, err = day("--until", a.until); err != nil {
		return err
	}
	if !q.Until.IsZero() {
		q.Until = q.Until.AddDate(0, 0, 1) // the day itself counts
		if !q.Since.IsZero() && !q.Since.Before(q.Until) {
			return fmt.Errorf("--since %s comes after --until %s", a.since, a.until)
		}
	}
	return nil
}

// span reads "8..11", "8..", "..11" or "8"; a number may be a fraction and begin with f/.
func span(name, s, example string) (lo, hi float64, err error) {
	if s == "" {
		return 0, 0, nil
	}
	a, b, between := strings.Cut(s, "..")
	if !between {
		b = a
	}
	read := func(t string) float64 {
		t = strings.TrimPrefix(strings.TrimSpace(t), "f/")
		if t == "" {
			return 0
		}
		over, under, fraction := strings.Cut(t, "/")
		v, perr := strconv.ParseFloat(over, 64)
		if fraction && perr == nil {
			var d float64
			d, perr = strconv.ParseFloat(under, 64)
			v /= d
		}
		if perr != nil || !(v > 0 && v < 100000) {
			err = fmt.Errorf("%s %s: %s", name, s, example)
		}
		return v
	}
	lo, hi = read(a), read(b)
	if err == nil && hi > 0 && lo > hi {
		err = fmt.Errorf("%s %s: the smaller number comes first", name, s)
	}
	return lo, hi, err
}

func day(name, s string) (time.Time, error) {
	if s == "" {
		return time.Time{}, nil
	}
	t, err := time.ParseInLocation("2006-01-02", s, time.Local)
	if err != nil {
		return t, fmt.Errorf("%s %s: a date is written like 2026-05-02", name, s)
	}
	return t, nil
}

func list[T ~string](of []T) string {
	s := make([]string, len(of))
	for i, v := range of {
		s[i] = string(v)
	}
	return strings.Join(s, ", ")
}

func setupOf(f session.FoundSetup, scored bool) setupJSON {
	out := setupJSON{
		ID: f.ID, Subject: text(f.Subject), Notes: text(f.Notes), Background: text(f.Background), Support: text(f.Support),
		Lens: text(f.Lens), Tags: f.Tags, Magnification: f.Magnification, Aperture: f.FNumber, Shutter: f.ShutterSeconds, Stacks: f.Stacks, Frames: f.Frames, Blended: f.Blended,
		Lights: []lightJSON{}, Dir: text(f.Dir),
	}
	if out.Tags == nil {
		out.Tags = []string{}
	}
	if out.Aperture == nil {
		out.Aperture = []float64{}
	}
	if out.Shutter == nil {
		out.Shutter = []float64{}
	}
	if !f.Taken.IsZero() {
		t := f.Taken.Format(time.RFC3339)
		out.Taken = &t
	}
	if scored {
		out.Score = &f.Score
	}
	main := f.MainLight()
	for i, l := range f.Lights {
		out.Lights = append(out.Lights, lightJSON{
			Kind: string(l.Kind), AzimuthDeg: l.AzimuthDeg, ElevationDeg: l.ElevationDeg, DistanceCM: l.DistanceCM,
			Modifier: text(l.Modifier), Power: text(l.Power), ColourK: l.ColourK, Side: string(l.Side()), Height: string(l.Height()), Main: i == main,
		})
	}
	return out
}

func printFound(e env, out foundJSON) {
	for _, s := range out.Setups {
		subject := "(no subject)"
		if s.Subject != nil {
			subject = *s.Subject
		}
		fmt.Fprintf(e.stdout, "setup %d  %s", s.ID, subject)
		if s.Taken != nil {
			fmt.Fprintf(e.stdout, "  %s", (*s.Taken)[:10])
		}
		fmt.Fprintln(e.stdout)
		for _, l := range s.Lights {
			fmt.Fprintf(e.stdout, "  %s, %s, %s", l.Kind, l.Side, l.Height)
			if l.DistanceCM != nil {
				fmt.Fprintf(e.stdout, ", %.0f cm", *l.DistanceCM)
			}
			fmt.Fprintln(e.stdout)
		}
		if s.Stacks > 0 {
			fmt.Fprintf(e.stdout, "  %s\n", stacksOf(s))
		}
	}
	fmt.Fprintf(e.stdout, "%d found", out.Total)
	if out.Meant != nil {
		fmt.Fprintf(e.stdout, " for %s", *out.Meant)
	}
	fmt.Fprintln(e.stdout)
}

// stacksOf says what was shot under a setup, and what came of it: "3 stacks, 1 blended".
func stacksOf(s setupJSON) string {
	out := "1 stack"
	if s.Stacks > 1 {
		out = fmt.Sprintf("%d stacks", s.Stacks)
	}
	switch {
	case s.Blended == 0:
		return out
	case s.Stacks == 1:
		return out + ", blended"
	}
	return fmt.Sprintf("%s, %d blended", out, s.Blended)
}
