package desk

import (
	"context"
	"errors"
	"fmt"
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
// caller's goroutine and takes tens to hundreds of milliseconds: never call it from
// the window's own.
func (d *Desk) Picture(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error) {
	f, err := d.source(ctx, fingerprint)
	if err != nil {
		return nil, err
	}
	return picture(d.abs(f.Name), f.Meta, maxW, maxH)
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
		return f, fmt.Errorf("%w: that frame is not in this session any more", session.ErrNotFound)
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

// cut copies a rectangle out of a picture.
func cut(p *plane.RGB, r image.Rectangle) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, r.Dx(), r.Dy()))
	for y := range r.Dy() {
		src := p.Pix[((r.Min.Y+y)*p.W+r.Min.X)*3:]
		dst := img.Pix[y*img.Stride:]
		for x := range r.Dx() {
			dst[4*x], dst[4*x+1], dst[4*x+2], dst[4*x+3] = src[3*x], src[3*x+1], src[3*x+2], 255
		}
	}
	return img
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
	pic, err := decode(f, st.Size(), m, 0)
	var partial *plane.PartialError
	if err != nil && !(errors.As(err, &partial) && pic != nil) {
		return nil, err
	}
	pic = pic.Oriented(orientation(m))
	return cut(pic, window(x, y, w, h, pic.W, pic.H)), nil
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
