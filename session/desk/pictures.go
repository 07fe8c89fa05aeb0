package desk

import (
	"context"
	"errors"
	"image"
	"os"
	"path/filepath"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/focus"
	"stillbench/session/plane"
)

// Picture decodes a frame of this session upright, at the size that fits into maxW x
// maxH pixels (never enlarged), as a fresh RGBA that starts at 0,0. It works in the
// caller's goroutine and takes tens to hundreds of milliseconds, less where a preview of
// the frame is kept: never call it from the window's own.
func (d *Desk) Picture(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error) {
	f, err := d.source(ctx, fingerprint)
	if err != nil {
		return nil, err
	}
	pic, err := d.previews.upright(f, d.abs(f.Name), max(maxW, maxH))
	if err != nil {
		return nil, err
	}
	return fitted(pic, maxW, maxH), nil
}

// Crop decodes the part of a frame around (x, y), which are 0..1 of the upright
// picture's width and height, at one picture pixel a pixel, w x h pixels large (less
// where the picture is smaller).
func (d *Desk) Crop(ctx context.Context, fingerprint string, x, y float64, w, h int) (*image.RGBA, error) {
	f, err := d.source(ctx, fingerprint)
	if err != nil {
		return nil, err
	}
	return crop(d.abs(f.Name), f.Meta, x, y, w, h)
}

// Sharp decodes a frame and marks where it is sharp, upright, 255 where it is: the mask
// covers the whole picture, in fewer pixels. What is sharp goes by the circle of confusion
// that was chosen; what has no detail is not marked.
func (d *Desk) Sharp(ctx context.Context, fingerprint string) (*image.Alpha, error) {
	f, err := d.source(ctx, fingerprint)
	if err != nil {
		return nil, err
	}
	h, err := os.Open(d.abs(f.Name))
	if err != nil {
		return nil, err
	}
	defer h.Close()
	st, err := h.Stat()
	if err != nil {
		return nil, err
	}
	pic, err := decode(h, st.Size(), f.Meta, checkSide)
	if err != nil {
		return nil, err
	}
	return focus.Trace(pic.Oriented(orientation(f.Meta)), circleFor(d.Snapshot().Gear, f.Meta)), nil
}

// PictureIn decodes a frame of any folder, as Desk.Picture does: for the covers of
// setups found in the log.
func PictureIn(ctx context.Context, dir, name string, maxW, maxH int) (*image.RGBA, error) {
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	path := filepath.Join(dir, filepath.FromSlash(name))
	m, err := metaOfFile(path)
	if err != nil {
		return nil, err
	}
	return picture(path, m, maxW, maxH)
}

// source finds the frame whose pixels to show.
func (d *Desk) source(ctx context.Context, fingerprint string) (session.Frame, error) {
	if err := ctx.Err(); err != nil {
		return session.Frame{}, err
	}
	f, ok := d.Snapshot().Frame(fingerprint)
	if !ok {
		return f, session.Missing("that frame is not in this session any more")
	}
	if by := shownBy(f); by != f.Name {
		m, err := metaOfFile(d.abs(by))
		if err != nil {
			return f, err
		}
		f.Name, f.Meta = by, m
	}
	return f, nil
}

// window is the w x h pixel rectangle around (x, y) in 0..1, moved inside the picture.
func window(x, y float64, w, h, fullW, fullH int) image.Rectangle {
	w, h = min(w, fullW), min(h, fullH)
	left := min(max(int(x*float64(fullW))-w/2, 0), fullW-w)
	top := min(max(int(y*float64(fullH))-h/2, 0), fullH-h)
	return image.Rect(left, top, left+w, top+h)
}

// asStored turns a rectangle of the upright picture into that of the picture as stored, which is
// w x h pixels large, by EXIF's orientation (see plane.RGB.Oriented).
func asStored(r image.Rectangle, orientation, w, h int) image.Rectangle {
	switch orientation {
	case 2:
		return image.Rect(w-r.Min.X, r.Min.Y, w-r.Max.X, r.Max.Y)
	case 3:
		return image.Rect(w-r.Min.X, h-r.Min.Y, w-r.Max.X, h-r.Max.Y)
	case 4:
		return image.Rect(r.Min.X, h-r.Min.Y, r.Max.X, h-r.Max.Y)
	case 5:
		return image.Rect(r.Min.Y, r.Min.X, r.Max.Y, r.Max.X)
	case 6:
		return image.Rect(r.Min.Y, h-r.Min.X, r.Max.Y, h-r.Max.X)
	case 7:
		return image.Rect(w-r.Min.Y, h-r.Min.X, w-r.Max.Y, h-r.Max.X)
	case 8:
		return image.Rect(w-r.Min.Y, r.Min.X, w-r.Max.Y, r.Max.X)
	}
	return r
}

// crop decodes a window of a file's picture, upright, at one pixel a pixel.
func crop(path string, m session.Meta, x, y float64, w, h int) (*image.RGBA, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	data, err := largest(f, st.Size(), m)
	if err != nil {
		return nil, err
	}
	turned := orientation(m)
	pic, err := plane.DecodePart(data, func(fullW, fullH int) image.Rectangle {
		uprightW, uprightH := fullW, fullH
		if turned >= 5 {
			uprightW, uprightH = fullH, fullW
		}
		return asStored(window(x, y, w, h, uprightW, uprightH), turned, fullW, fullH)
	})
	var partial *plane.PartialError
	if err != nil && !(errors.As(err, &partial) && pic != nil) {
		return nil, err
	}
	return rgba(pic.Oriented(turned)), nil
}

// metaOfFile reads what the camera wrote into one file.
func metaOfFile(path string) (session.Meta, error) {
	f, err := os.Open(path)
	if err != nil {
		return session.Meta{}, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return session.Meta{}, err
	}
	md, err := exifread.Read(f, st.Size())
	if err != nil && !errors.Is(err, exifread.ErrNoMetadata) {
		return session.Meta{}, err
	}
	if md == nil {
		return session.Meta{}, nil
	}
	return metaOf(md), nil
}
