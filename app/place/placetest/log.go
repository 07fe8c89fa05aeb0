package placetest

import (
	"context"
	"fmt"
	"image"
	"slices"
	"strings"
	"time"

	"stillbench/session"
)

// Kept is what the invented log holds besides setups, and what was asked of it.
type Kept struct {
	// Printed are the setups whose page was asked for.
	Printed   []int64
	Shots     []session.Shot
	Framings  []session.Framing
	Verdicts  map[int64][]session.Verdict
	Typed     map[session.SetupField][]string
	Templates []session.Template
	Searches  []session.KeptSearch // those without a name are recent ones
	Copies    []session.LogCopy
	// Done are the commands to the log's file that came in: "restore /a/copy.db".
	Done []string
}

func (d *Desk) locked(fn func()) {
	d.mu.Lock()
	defer d.mu.Unlock()
	fn()
}

// PrintSetup gives the path that a page would have.
func (d *Desk) PrintSetup(_ context.Context, s session.FoundSetup) (string, error) {
	d.locked(func() { d.Kept.Printed = append(d.Kept.Printed, s.ID) })
	return fmt.Sprintf("/home/someone/Setup %d.pdf", s.ID), d.Refuse
}

// VerdictsUnder gives the verdicts.
func (d *Desk) VerdictsUnder(context.Context, []int64) (map[int64][]session.Verdict, error) {
	return d.Kept.Verdicts, d.Refuse
}

// SubjectOverDays gives the shots.
func (d *Desk) SubjectOverDays(context.Context, string) (out []session.Shot, err error) {
	d.locked(func() { out = d.Kept.Shots })
	return out, d.Refuse
}

// LaySeries gives the framings of those pictures that have one.
func (d *Desk) LaySeries(_ context.Context, list []session.PictureFile, found func(i int, f session.Framing)) error {
	for i := range min(len(list), len(d.Kept.Framings)) {
		found(i, d.Kept.Framings[i])
	}
	return d.Refuse
}

// PictureLaid draws a cover.
func (d *Desk) PictureLaid(ctx context.Context, dir, name string, _ session.Laid, maxW, maxH int) (*image.RGBA, error) {
	return d.PictureIn(ctx, dir, name, maxW, maxH)
}

// TypedBefore gives what was typed into a field and begins so.
func (d *Desk) TypedBefore(_ context.Context, f session.SetupField, typed string, _ int) (out []string, err error) {
	d.locked(func() {
		for _, t := range d.Kept.Typed[f] {
			if strings.HasPrefix(t, typed) {
				out = append(out, t)
			}
		}
	})
	return out, nil
}

// Templates gives the templates.
func (d *Desk) Templates(context.Context) (out []session.Template, err error) {
	d.locked(func() { out = slices.Clone(d.Kept.Templates) })
	return out, nil
}

// SaveTemplate keeps one.
func (d *Desk) SaveTemplate(_ context.Context, name string, s session.Setup) (t session.Template, err error) {
	d.locked(func() {
		t = session.Template{ID: int64(len(d.Kept.Templates) + 1), Name: name, Setup: s.Again()}
		d.Kept.Templates = append(d.Kept.Templates, t)
	})
	return t, d.Refuse
}

// UseTemplate gives a template's setup.
func (d *Desk) UseTemplate(_ context.Context, id int64) (s session.Setup, err error) {
	err = session.ErrNotFound
	d.locked(func() {
		for _, t := range d.Kept.Templates {
			if t.ID == id {
				s, err = t.Setup, nil
			}
		}
	})
	return s, err
}

// DeleteTemplate forgets one.
func (d *Desk) DeleteTemplate(_ context.Context, id int64) error {
	d.locked(func() {
		d.Kept.Templates = slices.DeleteFunc(d.Kept.Templates, func(t session.Template) bool { return t.ID == id })
	})
	return nil
}

func (d *Desk) searches(named bool) (out []session.KeptSearch, err error) {
	d.locked(func() {
		for _, k := range d.Kept.Searches {
			if (k.Name != "") == named {
				out = append(out, k)
			}
		}
	})
	return out, nil
}

// KeptSearches gives those with a name.
func (d *Desk) KeptSearches(context.Context) ([]session.KeptSearch, error) { return d.searches(true) }

// RecentSearches gives those without.
func (d *Desk) RecentSearches(context.Context) ([]session.KeptSearch, error) {
	return d.searches(false)
}

// KeepSearch keeps a search under a name.
func (d *Desk) KeepSearch(_ context.Context, name string, q session.SetupQuery) (k session.KeptSearch, err error) {
	d.locked(func() {
		k = session.KeptSearch{ID: int64(len(d.Kept.Searches) + 1), Name: name, Query: q}
		d.Kept.Searches = append(d.Kept.Searches, k)
	})
	return k, nil
}

// NoteSearch remembers a recent search.
func (d *Desk) NoteSearch(ctx context.Context, q session.SetupQuery) error {
	_, err := d.KeepSearch(ctx, "", q)
	return err
}

// DeleteSearch forgets one.
func (d *Desk) DeleteSearch(_ context.Context, id int64) error {
	d.locked(func() {
		d.Kept.Searches = slices.DeleteFunc(d.Kept.Searches, func(k session.KeptSearch) bool { return k.ID == id })
	})
	return nil
}

// Path is where the log would be.
func (d *Desk) Path() string { return "/home/someone/setups.db" }

// RecordBlend notes the blend.
func (d *Desk) RecordBlend(_ context.Context, _ []string, file string, _ time.Time) error {
	return d.command("blended", file)
}

// Copies gives the copies.
func (d *Desk) Copies(context.Context) ([]session.LogCopy, error) { return d.Kept.Copies, nil }

func (d *Desk) command(what, path string) error {
	d.locked(func() { d.Kept.Done = append(d.Kept.Done, what+" "+path) })
	return d.Refuse
}

// Restore notes that it was asked for.
func (d *Desk) Restore(_ context.Context, path string, _ session.Progress) error {
	return d.command("restore", path)
}

// Merge notes that it was asked for.
func (d *Desk) Merge(_ context.Context, path string, _ session.Progress) (session.Merged, error) {
	return session.Merged{Setups: 3}, d.command("merge", path)
}

// ExportTo notes that it was asked for.
func (d *Desk) ExportTo(_ context.Context, path string, _ session.Progress) error {
	return d.command("export", path)
}

// ImportFrom notes that it was asked for.
func (d *Desk) ImportFrom(_ context.Context, path string, _ session.Progress) (session.Merged, error) {
	return session.Merged{Setups: 2}, d.command("import", path)
}
