package desk

import (
	"path"
	"slices"
	"strings"
	"time"

	"stillbench/session"
	"stillbench/session/watch"
)

// Extensions are the endings, in lower case with the dot, of files that may be frames.
var Extensions = []string{
	".jpg", ".jpeg", ".tif", ".tiff", ".png", ".heic", ".heif", ".hif",
	".dng", ".cr2", ".cr3", ".nef", ".nrw", ".arw", ".sr2", ".raf", ".orf", ".rw2", ".pef",
}

// file is one file of the session's folder that has been read.
type file struct {
	path        string // relative, "/"
	size        int64
	modified    time.Time
	fingerprint string
	meta        session.Meta
	figures     *session.Figures
	problem     session.Text // why it could not be read; empty when it could
	order       uint64       // in which the watcher announced it
	live        bool         // it came after the first look at the folder
	recalled    bool         // the log knows it; the folder has not been looked at yet
}

// rank says which file of one exposure names the frame: the RAW before everything
// else, then what holds more tones before what holds fewer. Lower is better.
func (f *file) rank() int {
	switch f.meta.Container {
	case "jpeg":
		return 4
	case "png":
		return 3
	case "tiff":
		return 2
	case "heif":
		return 1
	}
	return 0
}

// exposures are the frames that a folder's files make.
type exposures struct {
	frames []session.Frame
	// copies maps a frame's name to further files with the same bytes.
	copies map[string][]string
	// alias maps the fingerprint of every other file of a frame to the frame's.
	alias map[string]string
}

// exposuresOf makes frames of files: the same bytes twice are one frame, and so are a
// RAW and a JPEG of one exposure (same folder, same name but for the ending, as DCF
// (CIPA DC-009) has it, and the same time where both know it).
func exposuresOf(files []*file) exposures {
	out := exposures{copies: map[string][]string{}, alias: map[string]string{}}
	first := map[string]*file{}
	copies := map[*file][]string{}
	same := map[string][]*file{}
	var keys []string
	for _, f := range files {
		if f.problem.Form != "" {
			continue
		}
		if g := first[f.fingerprint]; g != nil {
			copies[g] = append(copies[g], f.path)
			continue
		}
		first[f.fingerprint] = f
		k := watch.PairKey(f.path)
		if same[k] == nil {
			keys = append(keys, k)
		}
		same[k] = append(same[k], f)
	}
	for _, k := range keys {
		left := same[k]
		slices.SortStableFunc(left, func(a, b *file) int { return a.rank() - b.rank() })
		for len(left) > 0 {
			main := left[0]
			fr := session.Frame{
				Name: main.path, Fingerprint: main.fingerprint, Size: main.size, Modified: main.modified,
				Meta: main.meta, Figures: main.figures,
			}
			var rest []*file
			endings := map[string]bool{endingOf(main.path): true}
			for _, f := range left[1:] {
				if endings[endingOf(f.path)] || !sameExposure(main, f) {
					rest = append(rest, f)
					continue
				}
				endings[endingOf(f.path)] = true
				fr.Pairs = append(fr.Pairs, f.path)
				out.alias[f.fingerprint] = main.fingerprint
				if fr.Figures == nil {
					fr.Figures = f.figures
				}
				copies[main] = append(copies[main], copies[f]...)
			}
			if c := copies[main]; len(c) > 0 {
				out.copies[fr.Name] = c
			}
			out.frames = append(out.frames, fr)
			left = rest
		}
	}
	return out
}

func endingOf(name string) string { return strings.ToLower(path.Ext(name)) }

// sameExposure: two files of one name are one exposure unless the camera wrote
// different times into them (a counter that came round again).
func sameExposure(a, b *file) bool {
	ta, tb := a.meta.Taken, b.meta.Taken
	if ta.IsZero() || tb.IsZero() {
		return true
	}
	return ta.Sub(tb).Abs() < 2*time.Second
}
