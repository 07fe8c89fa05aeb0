package pictures

import (
	"context"
	"errors"
	"image"
	"sync"
	"testing"
)

// room runs deliveries one after the other when the test says so, as a window does.
type room struct{ queue chan func() }

func newRoom() room { return room{make(chan func(), 100)} }

func (r room) deliver(fn func()) { r.queue <- fn }

// turn runs n deliveries.
func (r room) turn(n int) {
	for range n {
		(<-r.queue)()
	}
}

func img(px int) *image.RGBA { return image.NewRGBA(image.Rect(0, 0, px, 1)) }

func TestPictureComesAndIsKept(t *testing.T) {
	reads := make(chan Want, 10)
	r := newRoom()
	l := New(func(_ context.Context, w Want) (*image.RGBA, error) { reads <- w; return img(4), nil }, r.deliver)
	defer l.Close()
	s := l.Scope()
	got := 0
	want := Want{Fingerprint: "a", W: 10, H: 10}
	s.Want(want, func(p *image.RGBA, err error) {
		if p == nil || err != nil {
			t.Errorf("got %v, %v", p, err)
		}
		got++
	})
	if got != 0 {
		t.Fatal("handed over before it was read")
	}
	r.turn(1)
	s.Want(want, func(*image.RGBA, error) { got++ })
	if got != 2 || len(reads) != 1 {
		t.Errorf("handed over %d times after %d reads, want 2 after 1", got, len(reads))
	}
}

func TestWhatIsNotWantedAnyMoreIsNotReadNorHandedOver(t *testing.T) {
	gate := make(chan struct{})
	reads := make(chan string, 10)
	r := newRoom()
	l := New(func(_ context.Context, w Want) (*image.RGBA, error) {
		reads <- w.Fingerprint
		<-gate
		return img(1), nil
	}, r.deliver)
	defer l.Close()
	s := l.Scope()
	stale := func(*image.RGBA, error) { t.Error("a stale picture was handed over") }
	for _, fp := range []string{"a", "b", "c", "d"} {
		s.Want(Want{Fingerprint: fp, W: 1, H: 1}, stale)
	}
	s.Begin() // a and b are being read, c and d wait
	came := ""
	for _, fp := range []string{"x", "y"} {
		s.Want(Want{Fingerprint: fp, W: 1, H: 1}, func(*image.RGBA, error) { came += fp })
	}
	close(gate)
	r.turn(4)
	if len(came) != 2 {
		t.Errorf("came %q, want x and y", came)
	}
	close(reads)
	for fp := range reads {
		if fp == "c" || fp == "d" {
			t.Errorf("%s was read though nobody wanted it", fp)
		}
	}
}

func TestLastWantedIsReadFirst(t *testing.T) {
	gate := make(chan struct{})
	var order []string
	r := newRoom()
	l := New(func(_ context.Context, w Want) (*image.RGBA, error) { <-gate; return img(1), nil }, r.deliver)
	defer l.Close()
	s := l.Scope()
	for _, fp := range []string{"a", "b", "c", "d"} {
		s.Want(Want{Fingerprint: fp, W: 1, H: 1}, func(*image.RGBA, error) { order = append(order, fp) })
	}
	// a and b are taken at once; of those that wait, d was wanted last.
	next := l.waiting[len(l.waiting)-1].want.Fingerprint
	if next != "d" {
		t.Errorf("next is %q, want d", next)
	}
	close(gate)
	r.turn(4)
	if len(order) != 4 {
		t.Errorf("came %v, want all four", order)
	}
}

func TestFailureIsHandedOverAndNotKept(t *testing.T) {
	broken := errors.New("broken")
	r := newRoom()
	l := New(func(context.Context, Want) (*image.RGBA, error) { return nil, broken }, r.deliver)
	defer l.Close()
	s := l.Scope()
	var got error
	s.Want(Want{Fingerprint: "a", W: 1, H: 1}, func(_ *image.RGBA, err error) { got = err })
	r.turn(1)
	if !errors.Is(got, broken) || l.kept.bytes != 0 {
		t.Errorf("error %v, kept %d bytes", got, l.kept.bytes)
	}
}

func TestMemoryIsBounded(t *testing.T) {
	r := newRoom()
	l := New(nil, r.deliver)
	const side = 2048 // 16 MiB a picture
	for i := range 20 {
		l.kept.keep(Want{Fingerprint: string(rune('a' + i))}, image.NewRGBA(image.Rect(0, 0, side, side)))
	}
	if k := l.kept; k.bytes > keepBytes || k.recent.Len() != len(k.byWant) || len(k.byWant) != keepBytes/(side*side*4) {
		t.Errorf("keeps %d pictures in %d bytes", len(k.byWant), k.bytes)
	}
	if !l.kept.has(Want{Fingerprint: "t"}) {
		t.Error("the newest is not kept")
	}
}

// What is read ahead waits for what is wanted now, comes in the order asked for, leaves a reader
// free, and is not read when the set is begun anew.
func TestAhead(t *testing.T) {
	old := readers
	readers = 2
	defer func() { readers = old }()
	gate, began := make(chan struct{}), make(chan string, 10)
	r := newRoom()
	l := New(func(_ context.Context, w Want) (*image.RGBA, error) {
		began <- w.Fingerprint
		<-gate
		return img(1), nil
	}, r.deliver)
	defer l.Close()
	s := l.Scope()
	for _, fp := range []string{"a", "b", "c"} {
		s.Ahead(Want{Fingerprint: fp, W: 1, H: 1})
	}
	if fp := <-began; fp != "a" {
		t.Errorf("%s is read first", fp)
	}
	s.Want(Want{Fingerprint: "eye", W: 1, H: 1}, func(*image.RGBA, error) {})
	if fp := <-began; fp != "eye" {
		t.Errorf("%s is read before what is looked at", fp)
	}
	gate <- struct{}{}
	gate <- struct{}{}
	r.turn(2)
	if fp := <-began; fp != "b" {
		t.Errorf("%s comes after a", fp)
	}
	s.Begin()
	gate <- struct{}{}
	r.turn(1)
	if len(began) > 0 {
		t.Errorf("%s is read though the set was begun anew", <-began)
	}
	came := false
	s.Want(Want{Fingerprint: "b", W: 1, H: 1}, func(img *image.RGBA, err error) { came = img != nil && err == nil })
	if !came {
		t.Error("what was read ahead is not at hand")
	}
}

// Of whole frames that are read ahead, as many are kept as there is room for beside what was looked
// at; the others are read all the same, so that they are at hand where they come from, and once only.
func TestAheadOfMoreThanIsKept(t *testing.T) {
	const side, frames = 2048, 10 // 16 MiB a picture
	var mu sync.Mutex
	reads := map[string]int{}
	r := newRoom()
	l := New(func(_ context.Context, w Want) (*image.RGBA, error) {
		mu.Lock()
		defer mu.Unlock()
		reads[w.Fingerprint]++
		return image.NewRGBA(image.Rect(0, 0, side, side)), nil
	}, r.deliver)
	defer l.Close()
	s := l.Scope()
	eye := Want{Fingerprint: "eye", W: side, H: side}
	s.Want(eye, func(*image.RGBA, error) {})
	r.turn(1)
	for round := range 2 {
		for i := range frames {
			s.Ahead(Want{Fingerprint: string(rune('a' + i)), W: side, H: side})
		}
		if round == 0 {
			r.turn(frames)
		}
	}
	if len(l.reading) > 0 || len(reads) != 1+frames {
		t.Fatalf("%d frames were read, %d are being read", len(reads), len(l.reading))
	}
	for fp, n := range reads {
		if n != 1 {
			t.Errorf("%s was read %d times", fp, n)
		}
	}
	if !l.kept.has(eye) || l.kept.bytes > keepBytes {
		t.Errorf("%d bytes are kept; what was looked at: %v", l.kept.bytes, l.kept.has(eye))
	}
}
