package exifread

import (
	"errors"
	"io"
)

const (
	// windowSize is how much of a file is fetched at a time. Directories and their
	// values lie close together: a few windows hold all that is wanted.
	windowSize = 8 << 10
	// windowAlign lets a window begin a little before the byte asked for, since
	// values often precede the directory that points at them.
	windowAlign = 512
	windowCount = 6
	// budget bounds the bytes fetched and held in one call.
	budget = 8 << 20
)

// source reads bounded pieces of a file and remembers the last few windows.
type source struct {
	r       io.ReaderAt
	size    int64
	left    int
	windows [windowCount]window
	next    int
	// failed is the first error of r itself, such as a disk that went away.
	failed error
}

type window struct {
	off  int64
	data []byte
}

func newSource(r io.ReaderAt, size int64) *source {
	return &source{r: r, size: size, left: budget}
}

// bytes returns the n bytes at off. The caller must not change them. It returns
// a *FormatError if they do not lie within the file or the budget is spent.
func (s *source) bytes(off int64, n int) ([]byte, error) {
	if off < 0 || n < 0 || off > s.size || int64(n) > s.size-off {
		return nil, brokenAt(off, "%d bytes are announced at byte %d of a file of %d", n, off, s.size)
	}
	if n > windowSize-windowAlign {
		return s.fetch(off, n)
	}
	for i := range s.windows {
		w := &s.windows[i]
		if off >= w.off && off+int64(n) <= w.off+int64(len(w.data)) {
			return w.data[off-w.off:][:n:n], nil
		}
	}
	from := off &^ (windowAlign - 1)
	length := min(int64(windowSize), s.size-from)
	data, err := s.fetch(from, int(length))
	if err != nil {
		return nil, err
	}
	s.windows[s.next] = window{from, data}
	s.next = (s.next + 1) % windowCount
	return data[off-from:][:n:n], nil
}

// peek is bytes for a short look at a place around which nothing else is wanted:
// it fetches no more than it must.
func (s *source) peek(off int64, dst []byte) error {
	if off < 0 || off > s.size || int64(len(dst)) > s.size-off {
		return brokenAt(off, "the file ends at byte %d", s.size)
	}
	for i := range s.windows {
		w := &s.windows[i]
		if off >= w.off && off+int64(len(dst)) <= w.off+int64(len(w.data)) {
			copy(dst, w.data[off-w.off:])
			return nil
		}
	}
	return s.readAt(dst, off)
}

// fetch allocates and reads n bytes that lie within the file.
func (s *source) fetch(off int64, n int) ([]byte, error) {
	if err := s.charge(off, n); err != nil {
		return nil, err
	}
	data := make([]byte, n)
	if err := s.readAt(data, off); err != nil {
		return nil, err
	}
	return data, nil
}

// charge takes n bytes that are about to be allocated from the budget.
func (s *source) charge(off int64, n int) error {
	if n > s.left {
		return brokenAt(off, "the file holds more metadata than is reasonable")
	}
	s.left -= n
	return nil
}

// gather joins stretches of the file, together no longer than limit.
func (s *source) gather(parts []extent, limit int64) ([]byte, error) {
	var total int64
	for _, p := range parts {
		if p.off < 0 || p.length < 0 || p.off > s.size || p.length > s.size-p.off {
			return nil, brokenAt(p.off, "%d bytes are announced at byte %d of a file of %d", p.length, p.off, s.size)
		}
		if total += p.length; total > limit {
			return nil, brokenAt(p.off, "the file holds more metadata than is reasonable")
		}
	}
	if err := s.charge(0, int(total)); err != nil {
		return nil, err
	}
	out := make([]byte, total)
	rest := out
	for _, p := range parts {
		if err := s.readAt(rest[:p.length], p.off); err != nil {
			return nil, err
		}
		rest = rest[p.length:]
	}
	return out, nil
}

func (s *source) readAt(dst []byte, off int64) error {
	n, err := s.r.ReadAt(dst, off)
	if n == len(dst) {
		return nil
	}
	if err == nil || errors.Is(err, io.EOF) {
		return brokenAt(off+int64(n), "the file has become shorter while it was read")
	}
	if s.failed == nil {
		s.failed = err
	}
	return err
}
