package main

import (
	"fmt"
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
	Stacks        int         `json:"stacks"`
	Frames        int         `json:"frames"`
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
}

// page is how many setups are fetched at a time.
const page = 1000

func runFind(e env, args []string) int {
	f := newFlags("find")
	from := f.String("from", "", "side")
	kind := f.String("kind", "", "kind of light")
	height := f.String("height", "", "height")
	aperture := f.String("aperture", "", "range of f-numbers")
	since := f.String("since", "", "first day")
	until := f.String("until", "", "last day")
	words, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	q, err := query(words, *from, *kind, *height, *aperture, *since, *until)
	if err != nil {
		return wrong(e, "find: %v", err)
	}
	s, err := openLog(e.ctx, f.log)
	if err != nil {
		return failed(e, err)
	}
	defer s.Close()
	out := foundJSON{Setups: []setupJSON{}}
	for {
		q.Limit, q.Offset = page, len(out.Setups)
		r, err := s.FindSetups(e.ctx, q)
		if err != nil {
			return failed(e, err)
		}
		out.Total = r.Total
		for _, fs := range r.Setups {
			out.Setups = append(out.Setups, setupOf(fs, q.Words != ""))
		}
		if len(r.Setups) < page {
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
func query(words []string, from, kind, height, aperture, since, until string) (session.SetupQuery, error) {
	q := session.SetupQuery{Words: strings.Join(words, " ")}
	if from != "" {
		side := session.Side(strings.ToLower(from))
		if !slices.Contains(session.Sides, side) {
			return q, fmt.Errorf("--from %s: it is one of %s", from, list(session.Sides))
		}
		q.Sides = []session.Side{side}
	}
	if height != "" {
		h := session.Height(strings.ToLower(height))
		if !slices.Contains(session.Heights, h) {
			return q, fmt.Errorf("--height %s: it is one of %s", height, list(session.Heights))
		}
		q.Heights = []session.Height{h}
	}
	if kind != "" {
		i := slices.IndexFunc(session.LightKinds, func(k session.LightKind) bool {
			return strings.EqualFold(string(k), kind) || strings.EqualFold(strings.Fields(string(k))[0], kind)
		})
		if i < 0 {
			return q, fmt.Errorf("--kind %s: it is one of %s", kind, list(session.LightKinds))
		}
		q.Kinds = []session.LightKind{session.LightKinds[i]}
	}
	var err error
	if aperture != "" {
		if q.ApertureMin, q.ApertureMax, err = apertures(aperture); err != nil {
			return q, err
		}
	}
	if q.Since, err = day("--since", since); err != nil {
		return q, err
	}
	if q.Until, err = day("--until", until); err != nil {
		return q, err
	}
	if !q.Until.IsZero() {
		q.Until = q.Until.AddDate(0, 0, 1) // the day itself counts
		if !q.Since.IsZero() && !q.Since.Before(q.Until) {
			return q, fmt.Errorf("--since %s comes after --until %s", since, until)
		}
	}
	return q, nil
}

// apertures reads "8..11", "8..", "..11" or "8".
func apertures(s string) (lo, hi float64, err error) {
	a, b, span := strings.Cut(s, "..")
	if !span {
		b = a
	}
	read := func(t string) float64 {
		t = strings.TrimPrefix(strings.TrimSpace(t), "f/")
		if t == "" {
			return 0
		}
		v, perr := strconv.ParseFloat(t, 64)
		if perr != nil || !(v > 0 && v < 1000) {
			err = fmt.Errorf("--aperture %s: two f-numbers with .. between them, e.g. 8..11", s)
		}
		return v
	}
	lo, hi = read(a), read(b)
	if err == nil && hi > 0 && lo > hi {
		err = fmt.Errorf("--aperture %s: the smaller number comes first", s)
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
		Lens: text(f.Lens), Tags: f.Tags, Magnification: f.Magnification, Aperture: f.FNumber, Stacks: f.Stacks, Frames: f.Frames,
		Lights: []lightJSON{}, Dir: text(f.Dir),
	}
	if out.Tags == nil {
		out.Tags = []string{}
	}
	if out.Aperture == nil {
		out.Aperture = []float64{}
	}
	if !f.Taken.IsZero() {
		t := f.Taken.Format(time.RFC3339)
		out.Taken = &t
	}
	if scored {
		out.Score = &f.Score
	}
	for _, l := range f.Lights {
		out.Lights = append(out.Lights, lightJSON{
			Kind: string(l.Kind), AzimuthDeg: l.AzimuthDeg, ElevationDeg: l.ElevationDeg, DistanceCM: l.DistanceCM,
			Modifier: text(l.Modifier), Power: text(l.Power), ColourK: l.ColourK, Side: string(l.Side()), Height: string(l.Height()),
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
	}
	fmt.Fprintf(e.stdout, "%d found\n", out.Total)
}
