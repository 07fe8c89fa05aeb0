package pictures

import (
	"context"
	"errors"
	"image"
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
	if !errors.Is(got, broken) || len(l.kept) != 0 {
		t.Errorf("error %v, kept %d", got, len(l.kept))
	}
}

func TestMemoryIsBounded(t *testing.T) {
	r := newRoom()
	l := New(nil, r.deliver)
	const side = 2048 // 16 MiB a picture
	for i := range 20 {
		l.keep(Want{Fingerprint: string(rune('a' + i))}, image.NewRGBA(image.Rect(0, 0, side, side)))
	}
	if l.bytes > keepBytes || l.recent.Len() != len(l.kept) || len(l.kept) != keepBytes/(side*side*4) {
		t.Errorf("keeps %d pictures in %d bytes", len(l.kept), l.bytes)
	}
	if l.kept[Want{Fingerprint: "t"}] == nil {
		t.Error("the newest is not kept")
	}
}
