package desk

import (
	"slices"
	"sync"

	"stillbench/session"
	"stillbench/session/plane"
)

const (
	// previewSide is the long side of a preview, in pixels: as large as most windows show a frame
	// whole. One that was wanted larger is kept as large.
	previewSide = 2048
	// previewBytes bounds what all previews take: those of some hundred frames.
	previewBytes = 64 << 20
	// previewQuality leaves nothing to be seen of the packing.
	previewQuality = 92
)

// previews keeps whole frames packed as JPEG at about the size of a window, those used last: to
// decode the file of a 45-megapixel camera takes ten times as long, too long to leaf through a stack.
// Several goroutines may use it.
type previews struct {
	mu    sync.Mutex
	list  []preview // the one used last comes last
	bytes int
}

type preview struct {
	fingerprint string
	data        []byte // a JPEG of the frame, upright
	long        int    // pixels along its long side
}

// upright gives a frame upright, with a long side of at least long pixels where the file at path has
// that many.
func (p *previews) upright(f session.Frame, path string, long int) (*plane.RGB, error) {
	if data := p.find(f.Fingerprint, long); data != nil {
		return plane.DecodeJPEG(data, long)
	}
	pic, err := upright(path, f.Meta, max(long, checkSide))
	if err != nil {
		return nil, err
	}
	p.keep(f.Fingerprint, pic, 1, long)
	return pic, nil
}

// find gives the JPEG of a frame whose long side has so many pixels; nil when none is kept.
func (p *previews) find(fingerprint string, long int) []byte {
	p.mu.Lock()
	defer p.mu.Unlock()
	i := p.index(fingerprint)
	if i < 0 || p.list[i].long < long {
		return nil
	}
	v := p.list[i]
	p.list = append(slices.Delete(p.list, i, i+1), v)
	return v.data
}

// keep packs a frame, decoded for a long side of so many pixels and to be turned upright by EXIF's
// orientation, unless one as large is kept. A file that has no more pixels than that is as quick to read.
func (p *previews) keep(fingerprint string, pic *plane.RGB, orientation, long int) {
	if max(pic.FullW, pic.FullH) <= max(long, previewSide) {
		return
	}
	small := reduced(pic, max(long, previewSide))
	v := preview{fingerprint: fingerprint, long: max(small.W, small.H)}
	if p.find(fingerprint, v.long) != nil {
		return
	}
	var err error
	if v.data, err = plane.EncodeJPEG(small.Oriented(orientation), previewQuality, true); err != nil {
		return // too large for a JPEG: it is read anew
	}
	p.mu.Lock()
	defer p.mu.Unlock()
	p.drop(p.index(fingerprint))
	p.list = append(p.list, v)
	for p.bytes += len(v.data); p.bytes > previewBytes && len(p.list) > 1; {
		p.drop(0)
	}
}

func (p *previews) index(fingerprint string) int {
	return slices.IndexFunc(p.list, func(v preview) bool { return v.fingerprint == fingerprint })
}

// drop lets go of preview i; -1 is none.
func (p *previews) drop(i int) {
	if i >= 0 {
		p.bytes -= len(p.list[i].data)
		p.list = slices.Delete(p.list, i, i+1)
	}
}
