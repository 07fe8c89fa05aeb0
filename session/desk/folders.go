package desk

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"stillbench/session/watch"
)

// Subfolder is a folder inside another one.
type Subfolder struct {
	Name   string
	Frames int // files right in it that may be frames, by their endings
}

// mostSubfolders bounds what is listed of one folder.
const mostSubfolders = 400

// Subfolders lists the folders right inside a folder, in the order of their names, no more than 400
// of them, and how many files right in the folder itself may be frames. What begins with a dot is
// left out, and links are not followed, as when a folder is watched. It waits for the disk. One that
// may not be looked into has no frames; the error is that of dir itself.
func Subfolders(ctx context.Context, dir string) (subs []Subfolder, frames int, err error) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil, 0, err
	}
	slices.SortFunc(entries, func(a, b os.DirEntry) int { return watch.Compare(a.Name(), b.Name()) })
	for _, e := range entries {
		if ctx.Err() != nil {
			return nil, 0, ctx.Err()
		}
		if !e.IsDir() || strings.HasPrefix(e.Name(), ".") || len(subs) == mostSubfolders {
			continue
		}
		inside, _ := os.ReadDir(filepath.Join(dir, e.Name()))
		subs = append(subs, Subfolder{e.Name(), framesIn(inside)})
	}
	return subs, framesIn(entries), nil
}

func framesIn(entries []os.DirEntry) (n int) {
	for _, e := range entries {
		if e.Type().IsRegular() && !strings.HasPrefix(e.Name(), ".") && slices.Contains(Extensions, strings.ToLower(filepath.Ext(e.Name()))) {
			n++
		}
	}
	return n
}
