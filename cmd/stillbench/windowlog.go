package main

import (
	"context"
	"errors"
	"image"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// What the window asks of the log that is in use; package store says what each does.

func (l *windowLog) Templates(ctx context.Context) ([]session.Template, error) {
	return l.now.Load().Templates(ctx)
}

func (l *windowLog) SaveTemplate(ctx context.Context, name string, s session.Setup) (session.Template, error) {
	return l.now.Load().SaveTemplate(ctx, name, s)
}

func (l *windowLog) UseTemplate(ctx context.Context, id int64) (session.Setup, error) {
	return l.now.Load().UseTemplate(ctx, id)
}

func (l *windowLog) DeleteTemplate(ctx context.Context, id int64) error {
	return l.now.Load().DeleteTemplate(ctx, id)
}

func (l *windowLog) KeptSearches(ctx context.Context) ([]session.KeptSearch, error) {
	return l.now.Load().KeptSearches(ctx)
}

func (l *windowLog) RecentSearches(ctx context.Context) ([]session.KeptSearch, error) {
	return l.now.Load().RecentSearches(ctx)
}

func (l *windowLog) KeepSearch(ctx context.Context, name string, q session.SetupQuery) (session.KeptSearch, error) {
	return l.now.Load().KeepSearch(ctx, name, q)
}

func (l *windowLog) NoteSearch(ctx context.Context, q session.SetupQuery) error {
	return l.now.Load().NoteSearch(ctx, q)
}

func (l *windowLog) DeleteSearch(ctx context.Context, id int64) error {
	return l.now.Load().DeleteSearch(ctx, id)
}

func (l *windowLog) TypedBefore(ctx context.Context, field session.SetupField, typed string, limit int) ([]string, error) {
	return l.now.Load().TypedBefore(ctx, field, typed, limit)
}

func (l *windowLog) SubjectOverDays(ctx context.Context, subject string) ([]session.Shot, error) {
	return l.now.Load().SubjectOverDays(ctx, subject)
}

func (l *windowLog) VerdictsUnder(ctx context.Context, setups []int64) (map[int64][]session.Verdict, error) {
	return l.now.Load().VerdictsUnder(ctx, setups)
}

// LaySeries lays the pictures of a subject on each other.
func (l *windowLog) LaySeries(ctx context.Context, list []session.PictureFile, found func(i int, f session.Framing)) error {
	return desk.LaySeries(ctx, list, found)
}

// PictureLaid decodes a picture and brings it onto the one that it is laid on.
func (l *windowLog) PictureLaid(ctx context.Context, dir, name string, laid session.Laid, maxW, maxH int) (*image.RGBA, error) {
	return desk.PictureLaid(ctx, dir, name, laid, maxW, maxH)
}

func (l *windowLog) ExportTo(ctx context.Context, path string, p session.Progress) error {
	return l.now.Load().ExportTo(ctx, path, p)
}

func (l *windowLog) ImportFrom(ctx context.Context, path string, p session.Progress) (session.Merged, error) {
	m, err := l.now.Load().ImportFrom(ctx, path, p)
	if err == nil {
		err = l.follow(ctx)
	}
	return m, err
}

func (l *windowLog) Merge(ctx context.Context, path string, p session.Progress) (session.Merged, error) {
	m, err := l.now.Load().Merge(ctx, path, p)
	if err == nil {
		err = l.follow(ctx)
	}
	return m, err
}

func (l *windowLog) RecordBlend(ctx context.Context, frames []string, file string, made time.Time) error {
	return l.now.Load().RecordBlend(ctx, frames, file, made)
}

func (l *windowLog) Copies(context.Context) ([]session.LogCopy, error) {
	return l.now.Load().Copies()
}

func (l *windowLog) Restore(ctx context.Context, path string, p session.Progress) error {
	if err := l.now.Load().Restore(ctx, path, p); err != nil {
		return err
	}
	return l.follow(ctx)
}

// follow has the session that is open go on with what the log holds now: edits and setups of
// it may have been brought in, or gone. What is in the log is in it, whatever ctx says by now.
func (l *windowLog) follow(ctx context.Context) error {
	d := l.live.Load()
	if d == nil {
		return nil
	}
	if err := d.Reload(context.WithoutCancel(ctx)); err != nil && !errors.Is(err, desk.ErrClosed) {
		return err
	}
	return nil
}

func (l *windowLog) Path() string { return l.now.Load().Path() }
