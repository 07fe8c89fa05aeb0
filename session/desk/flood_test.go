package desk_test

import (
	"fmt"
	"path/filepath"
	"testing"
	"time"

	"stillbench/exifread/exiftest"
	"stillbench/session/desk"
	"stillbench/session/plane"
	"stillbench/store"
)

// A folder that holds many frames already is shown while it is read in, not only once all of it has
// been: otherwise the window says for half a minute that no frame has come.
func TestReadingInIsShown(t *testing.T) {
	const w, h, n = 2400, 1600, 16 // long enough in being read that there is time to be shown
	pic := plane.NewRGB(w, h)
	for i := range pic.Pix {
		pic.Pix[i] = byte(i * i >> 7)
	}
	plain, err := plane.EncodeJPEG(pic, 90, false)
	if err != nil {
		t.Fatal(err)
	}
	dir := t.TempDir()
	for i := range n {
		f, ww, hh := 10.0, w, h
		data, err := exiftest.InsertJPEG(plain, exiftest.Fields{Make: "Vellmar", Model: "TX-2", Taken: noon.Add(time.Duration(i) * 5 * time.Second), FNumber: &f, Width: &ww, Height: &hh})
		if err != nil {
			t.Fatal(err)
		}
		put(t, dir, fmt.Sprintf("A%04d.JPG", i), data)
	}
	log, err := store.Open(t.Context(), filepath.Join(t.TempDir(), "log.db"))
	if err != nil {
		t.Fatal(err)
	}
	defer log.Close()
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: log, Workers: 1})
	if err != nil {
		t.Fatal(err)
	}
	defer d.Close()
	between := 0
	for range d.Changed() {
		s := d.Snapshot()
		if s.Read > 0 && s.Read < s.Found {
			between++
		}
		if s.Read == n && s.Found == n {
			break
		}
	}
	if between == 0 {
		t.Errorf("nothing was shown before all %d frames had been read", n)
	}
}
