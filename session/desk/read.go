package desk

import (
	"crypto/sha256"
	"encoding/binary"
	"encoding/hex"
	"errors"
	"image"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"stillbench/exifread"
	"stillbench/session"
	"stillbench/session/figures"
	"stillbench/session/plane"
	"stillbench/session/watch"
)

const (
	// figuresSide is the least long side of the decode that figures are measured on.
	figuresSide = 1024
	// fingerprintHead and fingerprintTail bound what is read for a fingerprint.
	fingerprintHead = 512 << 10
	fingerprintTail = 64 << 10
	// maxPicture bounds the bytes read for one picture, against absurd claims.
	maxPicture = 512 << 20
)

// fingerprint identifies the bytes of a file by SHA-256 over its size, its head and
// its tail: a camera's header, preview and first pixels differ between any two
// exposures. Two files with the same fingerprint are compared whole before they are
// called the same (sameBytes).
func fingerprint(r io.ReaderAt, size int64) (string, error) {
	h := sha256.New()
	var n [8]byte
	binary.BigEndian.PutUint64(n[:], uint64(size))
	h.Write(n[:])
	if _, err := io.Copy(h, io.NewSectionReader(r, 0, min(size, fingerprintHead))); err != nil {
		return "", err
	}
	if tail := min(size-fingerprintHead, fingerprintTail); tail > 0 {
		if _, err := io.Copy(h, io.NewSectionReader(r, size-tail, tail)); err != nil {
			return "", err
		}
	}
	return hex.EncodeToString(h.Sum(nil)[:20]), nil
}

// Fingerprint gives that by which the log knows the bytes of a file.
func Fingerprint(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return "", err
	}
	return fingerprint(f, st.Size())
}

// wholeHash is SHA-256 over all bytes of a file.
func wholeHash(path string) (string, error) {
	f, err := os.Open(path)
	if err != nil {
		return "", err
	}
	defer f.Close()
	h := sha256.New()
	if _, err := io.Copy(h, f); err != nil {
		return "", err
	}
	return hex.EncodeToString(h.Sum(nil)), nil
}

// read takes in one file: its fingerprint, what the camera wrote, and what the pixels
// say. known looks a fingerprint up in the log first. What cannot be read ends in
// f.problem as a sentence; read never fails otherwise.
func read(dir string, f *file, known func(fp string) (session.Meta, *session.Figures, bool)) {
	h, err := os.Open(filepath.Join(dir, filepath.FromSlash(f.path)))
	if err != nil {
		f.problem = openProblem(f.path, err)
		return
	}
	defer h.Close()
	if f.fingerprint, err = fingerprint(h, f.size); err != nil {
		f.problem = openProblem(f.path, err)
		return
	}
	m, fig, ok := known(f.fingerprint)
	if ok && fig != nil {
		f.meta, f.figures = m, fig
		return
	}
	md, err := exifread.Read(h, f.size)
	if err != nil && !errors.Is(err, exifread.ErrNoMetadata) {
		f.problem = session.Say("%s cannot be read: %s. It is left out; look at it on the camera.", f.path, whyOf(err))
		return
	}
	if md != nil {
		f.meta = metaOf(md)
	}
	pic, perr := decode(h, f.size, f.meta, figuresSide)
	switch {
	case perr == nil:
		f.figures = figures.Measure(pic)
		if f.meta.Width == nil {
			w, h := pic.FullW, pic.FullH
			f.meta.Width, f.meta.Height = &w, &h
		}
	case err != nil || f.meta.Container == "jpeg" || f.meta.Container == "png" || f.meta.Container == "tiff":
		// Neither metadata nor picture, or a picture file whose picture is broken.
		f.problem = session.Say("%s holds no picture that can be read: %s. It is left out.", f.path, whyOf(perr))
	}
}

// whyOf words what the reader or the decoder says of a file, which import nothing of ours.
func whyOf(err error) session.Text {
	switch e := err.(type) {
	case *exifread.FormatError:
		return session.Say("broken at byte %d: %s", int(e.Offset), saidBy(e.What))
	case *exifread.UnsupportedError:
		return saidBy(e.What)
	case *plane.SizeError:
		return session.Say("a picture of %d x %d pixels is not decoded", e.W, e.H)
	case *plane.PartialError:
		return session.Say("decoded only in part: %s", numbered(e.Reason))
	case *plane.BrokenError:
		if e.JPEG {
			return session.Say("the JPEG is broken: %s", numbered(e.Reason))
		}
		return session.Say("the picture is broken: %s", numbered(e.Reason))
	}
	return session.TextOf(err)
}

// saidBy is what the reader says as a text.
func saidBy(w exifread.What) session.Text {
	t := session.Text{Form: w.Form}
	for _, a := range w.Args {
		if more, ok := a.(exifread.What); ok {
			a = saidBy(more)
		}
		t.Args = append(t.Args, a)
	}
	return t
}

var number = regexp.MustCompile(`0x[0-9A-Fa-f]+|[0-9]+`)

// numbered is a decoder's own words as a text: the numbers in them go into a form, which can be said
// in another language.
func numbered(reason string) session.Text {
	var args []any
	for _, n := range number.FindAllString(reason, -1) {
		args = append(args, n)
	}
	if args == nil {
		return session.Text{Form: reason}
	}
	return session.Text{Form: number.ReplaceAllLiteralString(strings.ReplaceAll(reason, "%", "%%"), "%s"), Args: args}
}

func openProblem(name string, err error) session.Text {
	switch {
	case errors.Is(err, fs.ErrPermission):
		return session.Say("%s may not be read: permission denied. Change its permissions and it is taken in.", name)
	case errors.Is(err, fs.ErrNotExist):
		return session.Say("%s vanished while it was being read.", name)
	}
	var pe *fs.PathError
	if errors.As(err, &pe) {
		err = pe.Err
	}
	return session.Say("%s cannot be read: %s. It is tried again when it changes.", name, whyOf(err))
}

// decode decodes the largest picture of an open file, as stored (before orientation),
// with a long side of at least minLongSide where the file has that much.
func decode(r io.ReaderAt, size int64, m session.Meta, minLongSide int) (*plane.RGB, error) {
	data, err := largest(r, size, m)
	if err != nil {
		return nil, err
	}
	return plane.Decode(data, minLongSide)
}

// largest reads the bytes of the largest picture of an open file.
func largest(r io.ReaderAt, size int64, m session.Meta) ([]byte, error) {
	off, n := int64(0), size
	if p := m.Preview; p != nil && p.Length > 0 {
		off, n = p.Offset, p.Length
	} else if !isPicture(m.Container) {
		return nil, session.Fail("there is no picture in it that can be shown")
	}
	if off < 0 || n <= 0 || off > size || n > size-off {
		return nil, session.Fail("the picture lies outside the file")
	}
	if n > maxPicture {
		return nil, session.Fail("the picture takes %d MB, more than the %d MB that are read", n>>20, maxPicture>>20)
	}
	data := make([]byte, n)
	if _, err := r.ReadAt(data, off); err != nil && !(errors.Is(err, io.EOF) && off+n == size) {
		return nil, err
	}
	return data, nil
}

// isPicture: the file as a whole can be decoded, not only a preview inside it. "" stands
// for a file of which nothing is known yet.
func isPicture(container string) bool {
	switch container {
	case "", "jpeg", "png", "tiff", "heif":
		return true
	}
	return false
}

// metaOf carries over what the camera wrote.
func metaOf(md *exifread.Metadata) session.Meta {
	m := session.Meta{
		Container: md.Container, Make: md.Make, Model: md.Model, Lens: md.Lens, Serial: md.Serial,
		Taken: md.Taken, TakenHasOffset: md.TakenHasOffset,
		FNumber: md.FNumber, ShutterSeconds: md.ShutterSeconds, ISO: md.ISO, ExposureBiasEV: md.ExposureBiasEV,
		FocalLengthMM: md.FocalLengthMM, FocalLength35MM: md.FocalLength35MM, FlashFired: md.FlashFired,
		Orientation: md.Orientation, Width: md.Width, Height: md.Height, BracketShot: md.BracketShot,
	}
	if d := md.FocusDistance; d != nil {
		m.FocusDistance = &session.FocusDistance{NearM: d.NearM, FarM: d.FarM, Infinity: d.Infinity, StepM: d.StepM, Source: d.Source}
	}
	if s, ok := md.SensorSize(nil); ok {
		m.Sensor = &session.Sensor{WidthMM: s.WidthMM, HeightMM: s.HeightMM, Source: s.Source}
	}
	if p := md.Preview; p != nil {
		m.Preview = &session.Preview{Offset: p.Offset, Length: p.Length, Width: p.Width, Height: p.Height}
	}
	return m
}

// sameBytes compares two files whole.
func sameBytes(a, b string) bool {
	ha, err := wholeHash(a)
	if err != nil {
		return false
	}
	hb, err := wholeHash(b)
	return err == nil && ha == hb
}

// whole tells the watcher whether a file ends as its format should.
func whole(path string) (bool, watch.Why, error) {
	f, err := os.Open(path)
	if err != nil {
		return false, watch.Why{}, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return false, watch.Why{}, err
	}
	ok, missing := exifread.Whole(f, st.Size())
	return ok, watch.Why(missing), nil
}

// picture decodes a file upright into at most maxW x maxH pixels.
func picture(path string, m session.Meta, maxW, maxH int) (*image.RGBA, error) {
	pic, err := upright(path, m, max(maxW, maxH))
	if err != nil {
		return nil, err
	}
	return fitted(pic, maxW, maxH), nil
}

func fitted(pic *plane.RGB, maxW, maxH int) *image.RGBA {
	w, h := fit(pic.W, pic.H, maxW, maxH)
	return rgba(plane.ReduceRGB(nil, pic, w, h))
}

// upright decodes a file, as much of it as there is, with a long side of at least minLongSide
// where it has that much.
func upright(path string, m session.Meta, minLongSide int) (*plane.RGB, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	st, err := f.Stat()
	if err != nil {
		return nil, err
	}
	pic, err := decode(f, st.Size(), m, minLongSide)
	var partial *plane.PartialError
	if err != nil && !(errors.As(err, &partial) && pic != nil) {
		return nil, err
	}
	return pic.Oriented(orientation(m)), nil
}

func orientation(m session.Meta) int {
	// A HEIF that is decoded whole comes upright.
	if m.Orientation == nil || m.Container == "heif" && m.Preview == nil {
		return 1
	}
	return *m.Orientation
}

// fit gives the largest size of the same shape within maxW x maxH, never enlarged.
func fit(w, h, maxW, maxH int) (int, int) {
	s := min(1, float64(maxW)/float64(w), float64(maxH)/float64(h))
	return max(1, int(float64(w)*s+0.5)), max(1, int(float64(h)*s+0.5))
}

func rgba(p *plane.RGB) *image.RGBA {
	img := image.NewRGBA(image.Rect(0, 0, p.W, p.H))
	for i, j := 0, 0; i < len(p.Pix); i, j = i+3, j+4 {
		img.Pix[j], img.Pix[j+1], img.Pix[j+2], img.Pix[j+3] = p.Pix[i], p.Pix[i+1], p.Pix[i+2], 255
	}
	return img
}
