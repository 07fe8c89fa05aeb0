package present

import (
	"testing"

	"stillbench/app/place/placetest"
)

// A session of about 500 frames, as it is drawn anew with every snapshot.
func BenchmarkStacksOf500Frames(b *testing.B) {
	s := placetest.NewSession()
	for range 31 {
		s.Marker().Stack(15)
	}
	b.ReportAllocs()
	for b.Loop() {
		StacksOf(&s.S)
	}
}

func BenchmarkTableOf500Frames(b *testing.B) {
	s := placetest.NewSession()
	for range 31 {
		s.Marker().Stack(15)
	}
	b.ReportAllocs()
	for b.Loop() {
		TableOf(&s.S, placetest.Began)
	}
}
