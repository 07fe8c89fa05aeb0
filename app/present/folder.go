package present

import (
	"path/filepath"
	"strings"

	"stillbench/session/desk"
)

// FolderTyped takes a path apart that is being typed: the folder whose inside is looked at, and the
// beginning of the name that is typed in it.
func FolderTyped(path string) (dir, begun string) {
	if path == "" {
		return "", ""
	}
	if strings.HasSuffix(path, string(filepath.Separator)) {
		return filepath.Clean(path), ""
	}
	return filepath.Dir(path), filepath.Base(path)
}

// FolderPath is a folder inside another, as it stands in the field: what is typed next is inside it.
func FolderPath(dir, name string) string {
	return strings.TrimSuffix(filepath.Join(dir, name), string(filepath.Separator)) + string(filepath.Separator)
}

// FoldersBegun are the folders whose names begin as was typed, in whatever case.
func FoldersBegun(subs []desk.Subfolder, begun string) []desk.Subfolder {
	var out []desk.Subfolder
	for _, s := range subs {
		if len(s.Name) >= len(begun) && strings.EqualFold(s.Name[:len(begun)], begun) {
			out = append(out, s)
		}
	}
	return out
}

// FolderNote is how many frames a folder holds; "" for none.
func FolderNote(frames int) string {
	if frames == 0 {
		return ""
	}
	return Frames(frames)
}
