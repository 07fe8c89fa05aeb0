package desk

import (
	"context"

	"stillbench/session"
)

// slim lets go of what the log keeps and grouping has looked at: a session of thousands of
// frames would fill the memory with their small pictures.
func (d *Desk) slim() {
	kept := func(fingerprint string, f *session.Figures) bool {
		return f.Whole() && d.saved[fingerprint].figures
	}
	for _, f := range d.files {
		if kept(f.fingerprint, f.figures) {
			f.figures = f.figures.Slim()
		}
	}
	for i := range d.shown.frames {
		if f := &d.shown.frames[i]; kept(f.Fingerprint, f.Figures) {
			f.Figures = f.Figures.Slim()
		}
	}
	for name, f := range d.known {
		if kept(f.Fingerprint, f.Figures) {
			f.Figures = f.Figures.Slim()
			d.known[name] = f
		}
	}
}

// whole tells where to find what slim let go of: it gives the figures of a fingerprint whole, nil when
// the log cannot give them. A frame whose RAW came after its JPEG may have the figures of that; alias
// is that of exposures, and may not change.
func (d *Desk) whole(alias map[string]string) func(fingerprint string) *session.Figures {
	return func(fingerprint string) *session.Figures {
		if f, err := d.log.Figures(context.Background(), fingerprint); err == nil && f != nil {
			return f
		}
		for other, of := range alias {
			if of != fingerprint {
				continue
			}
			if f, err := d.log.Figures(context.Background(), other); err == nil && f != nil {
				return f
			}
		}
		return nil
	}
}

// Figures gives what the pixels of a frame of this session say, its small pictures among it; nil when
// nothing is known of them. It may read the log: never call it from the window's own goroutine.
func (d *Desk) Figures(ctx context.Context, fingerprint string) (*session.Figures, error) {
	if f, ok := d.Snapshot().Frame(fingerprint); ok && f.Figures.Whole() {
		return f.Figures, nil // the log may not have them yet
	}
	return d.log.Figures(ctx, fingerprint)
}
