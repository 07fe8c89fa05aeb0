package scene

import "testing"

func BenchmarkShoot(b *testing.B) {
	v := New(Pebbles, 1).View(ViewOptions{})
	for b.Loop() {
		v.Shoot(Shot{FNumber: 8, FocusMM: 255, ISO: 400, ShiftX: 0.3})
	}
}
