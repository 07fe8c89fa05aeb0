package desk

import (
	"context"
	"errors"

	"stillbench/session"
)

// Reload takes in what the log holds now, after it was put back from a copy or another log
// was merged into it: edits and setups are those of the log, and the frames in the folder
// are grouped anew by them.
func (d *Desk) Reload(ctx context.Context) error {
	return d.do(ctx, func() error { return d.reopen(ctx) })
}

// reopen opens the session in the log again. It belongs to the desk's goroutine. Until all
// is read that the log holds now, nothing may be written to it: numbers of what was there
// before mean something else now.
func (d *Desk) reopen(ctx context.Context) error {
	d.adrift = true
	s, err := d.log.OpenSession(ctx, d.o.Dir)
	if err != nil {
		return err
	}
	d.session = s
	d.saved = map[string]savedFrame{}
	if err := d.remember(ctx); err != nil {
		return err
	}
	d.adrift = false
	return nil
}

// afterRestore reopens the session when an error says that the log was put back from a copy,
// and gives what is left of the error: none, where the reopening was all that was needed.
func (d *Desk) afterRestore(ctx context.Context, err error) error {
	if !errors.Is(err, session.ErrRestored) {
		return err
	}
	if err := d.reopen(ctx); err != nil {
		return err
	}
	d.regroup()
	return d.save(ctx)
}
