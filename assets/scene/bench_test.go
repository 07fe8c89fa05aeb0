package scene

import "testing"

func BenchmarkView(b *testing.B) {
	for b.Loop() {
		New(Pebbles, 1).View(ViewOptions{})
	}
}

func BenchmarkShoot(b *testing.B) {
	v := New(Pebbles, 1).View(ViewOptions{})
	b.ReportAllocs()
	for b.Loop() {
		v.Shoot(Shot{FNumber: 8, FocusMM: 255, ISO: 400, ShiftX: 0.3})
	}
}
