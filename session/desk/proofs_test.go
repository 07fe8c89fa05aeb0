package desk_test

import (
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
	"time"

	"stillbench/assets/demo"
	"stillbench/exifread/exiftest"
	"stillbench/session"
	"stillbench/session/desk"
	"stillbench/session/plane"
)

// demoStack gives the first frames of the demo's first stack, made small, as a camera would
// have written them five seconds apart.
func demoStack(t testing.TB, n int) (files [][]byte) {
	t.Helper()
	for _, g := range demo.Truth() {
		if g.Kind != session.KindStack {
			continue
		}
		for i, name := range g.Frames[:n] {
			data, err := demo.Frame(name)
			if err != nil {
				t.Fatal(err)
			}
			pic, err := plane.Decode(data, 432)
			if err != nil {
				t.Fatal(err)
			}
			w, h := 432, 288
			if data, err = plane.EncodeJPEG(plane.ReduceRGB(nil, pic, w, h), 92, false); err != nil {
				t.Fatal(err)
			}
			f, sec, mm, iso := 8.0, 1.0/6, 100.0, 100
			data, err = exiftest.InsertJPEG(data, exiftest.Fields{
				Make: "Vellmar", Model: "TX-2", Taken: noon.Add(time.Duration(5*i) * time.Second), HasOffset: true,
				FNumber: &f, ShutterSeconds: &sec, FocalLengthMM: &mm, ISO: &iso, Width: &w, Height: &h,
			})
			if err != nil {
				t.Fatal(err)
			}
			files = append(files, data)
		}
		return files
	}
	t.Fatal("the demo has no stack")
	return nil
}

// proofing opens a desk that makes proofs and waits until it has made all.
func proofing(t testing.TB, dir string, log desk.Log) *desk.Desk {
	t.Helper()
	d, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: log, Workers: 2, Proof: true})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { d.Close() })
	settle(t, d)
	return d
}

// onlyProof is the proof of a session with one stack, and the stack.
func onlyProof(t testing.TB, d *desk.Desk) (session.Proof, session.Group) {
	t.Helper()
	s := d.Snapshot()
	i := slices.IndexFunc(s.Groups, func(g session.Group) bool { return g.Kind == session.KindStack })
	if i < 0 || len(s.Proofs) != 1 {
		t.Fatalf("groups %+v, %d proofs", s.Groups, len(s.Proofs))
	}
	return s.Proofs[s.Groups[i].ID], s.Groups[i]
}

func inProof(p session.Proof) (names []string) {
	for _, f := range p.Frames {
		names = append(names, f.Fingerprint)
	}
	return names
}

// sharpness is the mean energy of fine detail in a picture's luma.
func sharpness(t testing.TB, d *desk.Desk, key, frame string) float64 {
	t.Helper()
	img, err := d.Proof(t.Context(), key, 432, 432)
	if key == "" {
		img, err = d.Picture(t.Context(), frame, 432, 432)
	}
	if err != nil {
		t.Fatal(err)
	}
	luma := plane.FromImage(img).Luma()
	fine := plane.LaplacianPyramid(nil, luma, 2)[0]
	sum := 0.0
	for _, v := range fine.Pix {
		sum += float64(v * v)
	}
	return sum / float64(len(fine.Pix))
}

// TestProof: a stack's proof is made of its frames, follows it when one comes, is set aside or put
// back, is sharper all in all than any frame of it, and is there the next time without a
// frame being decoded, under the stack's frames in the log as well.
func TestProof(t *testing.T) {
	dir, path := t.TempDir(), filepath.Join(t.TempDir(), "setups.db")
	n := 6
	if testing.Short() {
		n = 4 // the race detector makes pixels slow
	}
	files := demoStack(t, n)
	name := func(i int) string { return fmt.Sprintf("VTX_%04d.JPG", i+1) }
	for i, data := range files[:n-1] {
		put(t, dir, name(i), data)
	}
	log := openStore(t, path)
	d := proofing(t, dir, log)
	first, g := onlyProof(t, d)
	if !slices.Equal(inProof(first), g.Frames) || len(g.Frames) != n-1 || len(first.LeftOut) != 0 || first.W != 432 || first.H != 288 {
		t.Fatalf("proof %+v of %v", first, g.Frames)
	}
	put(t, dir, name(n-1), files[n-1])
	deadline := time.Now().Add(time.Minute)
	for len(d.Snapshot().Frames) < n && time.Now().Before(deadline) {
		<-d.Changed()
	}
	settle(t, d)
	whole, g := onlyProof(t, d)
	if !slices.Equal(inProof(whole), g.Frames) || len(g.Frames) != n || whole.Key == first.Key {
		t.Fatalf("with another frame: %+v of %v", whole, g.Frames)
	}
	best := 0.0
	for _, fp := range g.Frames {
		best = max(best, sharpness(t, d, "", fp))
	}
	if got := sharpness(t, d, whole.Key, ""); got <= best {
		t.Errorf("detail %g, the best frame has %g", got, best)
	}
	aside := session.Edit{Kind: session.EditSetAside, Frame: g.Frames[1]}
	if err := d.Edit(t.Context(), aside); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	if p, _ := onlyProof(t, d); slices.Contains(inProof(p), aside.Frame) || len(p.Frames) != n-1 {
		t.Errorf("one set aside: %v", inProof(p))
	}
	if err := d.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	if p, _ := onlyProof(t, d); p.Key != whole.Key {
		t.Errorf("put back: %+v", p)
	}
	d.Close()

	spoil(t, dir)
	again := proofing(t, dir, log)
	if p, _ := onlyProof(t, again); p.Key != whole.Key {
		t.Errorf("the next time: %+v", p)
	}
	if img, err := again.Proof(t.Context(), whole.Key, 100, 100); err != nil || img.Rect.Dx() != 100 || img.Rect.Dy() != 67 {
		t.Errorf("its picture: %v, %v", img, err)
	}
	again.Close()
	for i := range n {
		if err := os.Remove(filepath.Join(dir, name(i))); err != nil {
			t.Fatal(err)
		}
	}
	p, err := log.ProofOf(t.Context(), dir, name(2))
	if err != nil || p == nil || p.Key != whole.Key {
		t.Fatalf("in the log: %+v, %v", p, err)
	}
	data, err := log.ProofPicture(t.Context(), p.Key)
	if err != nil {
		t.Fatal(err)
	}
	if img, err := desk.DecodeProof(data, 5000, 5000); err != nil || img.Rect.Dx() != 432 {
		t.Errorf("its picture from the log: %v", err)
	}
	if p, err := log.ProofOf(t.Context(), dir, "no such frame.JPG"); p != nil || err != nil {
		t.Errorf("of no frame: %+v, %v", p, err)
	}
}

// TestProofLeavesOut: a frame that cannot lie on the others is left out by name, and one that
// cannot be decoded keeps the proof out of the log, since it may come back.
func TestProofLeavesOut(t *testing.T) {
	dir := t.TempDir()
	files := demoStack(t, 4)
	for i, data := range files {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+1), data)
	}
	log := openStore(t, filepath.Join(t.TempDir(), "setups.db"))
	d := proofing(t, dir, log)
	_, g := onlyProof(t, d)
	d.Close()
	// The same frames in a new log, read in once and spoilt: none can be decoded any more.
	fresh := openStore(t, filepath.Join(t.TempDir(), "setups.db"))
	read, err := desk.Open(t.Context(), desk.Options{Dir: dir, Log: fresh, Workers: 2})
	if err != nil {
		t.Fatal(err)
	}
	settle(t, read)
	read.Close()
	spoil(t, dir)
	d = proofing(t, dir, fresh)
	p, _ := onlyProof(t, d)
	if len(p.Frames) != 0 || len(p.LeftOut) != len(g.Frames) || p.LeftOut[0].Fingerprint != g.Frames[0] || p.LeftOut[0].Why == "" {
		t.Errorf("proof %+v", p)
	}
	if kept, err := fresh.Proof(t.Context(), p.Key); kept != nil || err != nil {
		t.Errorf("kept %+v, %v", kept, err)
	}
}

// TestProofTouched: a touch-up takes its picture from the frame it names, at once and after a
// restart, and an undo takes it out again.
func TestProofTouched(t *testing.T) {
	dir, path := t.TempDir(), filepath.Join(t.TempDir(), "setups.db")
	for i, data := range demoStack(t, 4) {
		put(t, dir, fmt.Sprintf("VTX_%04d.JPG", i+1), data)
	}
	d := proofing(t, dir, openStore(t, path))
	plain, g := onlyProof(t, d)
	touch := session.Touch{Area: session.Area{{0.2, 0.2}, {0.8, 0.2}, {0.8, 0.8}, {0.2, 0.8}}, From: g.Frames[3], Soft: 0.01}
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditTouch, Frame: g.Frames[0], Touch: &touch}); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	touched, _ := onlyProof(t, d)
	if touched.Key == plain.Key || touched.Touches != 1 || len(d.Snapshot().Touches[g.ID]) != 1 {
		t.Fatalf("touched: %+v", touched)
	}
	// In the middle of the area lies the frame, beyond it the blend as it was.
	from := square(t, d, "", g.Frames[3], 0.5, 0.5)
	if got := square(t, d, touched.Key, "", 0.5, 0.5); apart(got, from) > 3 {
		t.Errorf("in the area %.1f levels from the frame", apart(got, from))
	}
	if a, b := square(t, d, touched.Key, "", 0.08, 0.08), square(t, d, plain.Key, "", 0.08, 0.08); apart(a, b) > 1 {
		t.Errorf("beyond it %.1f levels from the blend", apart(a, b))
	}
	if err := d.Undo(t.Context()); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	if p, _ := onlyProof(t, d); p.Key != plain.Key || p.Touches != 0 {
		t.Errorf("undone: %+v", p)
	}
	if err := d.Redo(t.Context()); err != nil {
		t.Fatal(err)
	}
	d.Close()
	d = proofing(t, dir, openStore(t, path))
	if p, _ := onlyProof(t, d); p.Key != touched.Key || p.Touches != 1 {
		t.Errorf("the next time: %+v", p)
	}
	// Set aside, the frame lends no picture any more.
	if err := d.Edit(t.Context(), session.Edit{Kind: session.EditSetAside, Frame: g.Frames[3]}); err != nil {
		t.Fatal(err)
	}
	settle(t, d)
	if p, _ := onlyProof(t, d); p.Touches != 0 {
		t.Errorf("its frame set aside: %+v", p)
	}
}

// square is the mean R, G and B round a place, over a twentieth of the width.
func square(t testing.TB, d *desk.Desk, key, frame string, x, y float64) (mean [3]float64) {
	t.Helper()
	img, err := d.Proof(t.Context(), key, 432, 432)
	if key == "" {
		img, err = d.Picture(t.Context(), frame, 432, 432)
	}
	if err != nil {
		t.Fatal(err)
	}
	n := 0.0
	for v := int(y*288) - 10; v < int(y*288)+10; v++ {
		for u := int(x*432) - 10; u < int(x*432)+10; u++ {
			i := img.PixOffset(u, v)
			for c := range mean {
				mean[c] += float64(img.Pix[i+c])
			}
			n++
		}
	}
	for c := range mean {
		mean[c] /= n
	}
	return mean
}

func apart(a, b [3]float64) (d float64) {
	for c := range a {
		d = max(d, max(a[c]-b[c], b[c]-a[c]))
	}
	return d
}
