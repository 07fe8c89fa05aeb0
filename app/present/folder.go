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

// FolderAnew is a path that was typed behind another one and stands for itself: an absolute one, or
// one from the home folder. ok is false where the text is one path.
func FolderAnew(text, home string) (path string, ok bool) {
	const sep = string(filepath.Separator)
	if i := strings.LastIndex(text, sep+sep); i > 0 {
		return text[i+1:], true
	}
	if at := strings.LastIndex(text, sep); at > 2 && filepath.VolumeName(text[at-2:at]) != "" {
		return text[at-2:], true // D:\ on Windows
	}
	if before, inside, ok := strings.Cut(text, "~"+sep); ok && home != "" && (before == "" || strings.HasSuffix(before, sep)) {
		return FolderPath(home, "") + inside, true
	}
	return text, false
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
