package desk_test

import (
	"context"
	"os"
	"path/filepath"
	"slices"
	"testing"

	"stillbench/session/desk"
)

func TestSubfolders(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"day10/a.JPG", "day10/b.cr3", "day10/notes.txt", "day10/.c.jpg", "day9/deeper/d.jpg", ".hidden/e.jpg", "f.jpeg", "g.pdf"} {
		put(t, dir, name, []byte("x"))
	}
	if err := os.Symlink(filepath.Join(dir, "day9"), filepath.Join(dir, "link")); err != nil {
		t.Skipf("symbolic links cannot be made here: %v", err)
	}
	got, own, err := desk.Subfolders(context.Background(), dir)
	if err != nil {
		t.Fatal(err)
	}
	if want := []desk.Subfolder{{Name: "day9"}, {Name: "day10", Frames: 2}}; !slices.Equal(got, want) || own != 1 {
		t.Errorf("%v and %d of its own, want %v and 1", got, own, want)
	}
	if _, _, err := desk.Subfolders(context.Background(), filepath.Join(dir, "nowhere")); err == nil {
		t.Error("no folder gives no error")
	}
}
