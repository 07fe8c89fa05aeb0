package plane

import (
	"bytes"
	"image/jpeg"
	"sync"
	"testing"
)

// large is a 24-megapixel JPEG.
var large = sync.OnceValue(func() []byte {
	p := NewRGB(6000, 4000)
	img := picture(1500, 1000)
	for y := range p.H {
		for x := range p.W {
			copy(p.Pix[3*(y*p.W+x):], img.Pix[img.PixOffset(x%1500, y%1000):][:3])
		}
	}
	data, err := EncodeJPEG(p, 92, true)
	if err != nil {
		panic(err)
	}
	return data
})

func BenchmarkDecodeJPEG(b *testing.B) {
	for name, side := range map[string]int{"full": 0, "quarter": 1500, "eighth": 750} {
		b.Run(name, func(b *testing.B) {
			data := large()
			b.ReportAllocs()
			b.ResetTimer()
			for b.Loop() {
				if _, err := DecodeJPEG(data, side); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
	b.Run("standard library full", func(b *testing.B) {
		data := large()
		for b.Loop() {
			if _, err := jpeg.Decode(bytes.NewReader(data)); err != nil {
				b.Fatal(err)
			}
		}
	})
}

func BenchmarkKernels(b *testing.B) {
	src := noise(1536, 1024, 1)
	dst := New(1536, 1024)
	rgb := NewRGB(1536, 1024)
	small := &RGB{}
	var lap Pyramid
	for _, c := range []struct {
		name string
		do   func()
	}{
		{"reduce to 512", func() { Reduce(dst, src, 512, 341) }},
		{"reduce RGB to 512", func() { ReduceRGB(small, rgb, 512, 341) }},
		{"blur 1", func() { Blur(dst, src, 1) }},
		{"blur 10", func() { Blur(dst, src, 10) }},
		{"laplacian 6", func() { lap = LaplacianPyramid(lap, src, 6) }},
		{"warp", func() { Warp(dst, src, Similarity{Scale: 1.01, Turn: 0.003, DX: 1.5, DY: -2.2}) }},
	} {
		b.Run(c.name, func(b *testing.B) {
			b.ReportAllocs()
			b.SetBytes(4 * 1536 * 1024)
			for b.Loop() {
				c.do()
			}
		})
	}
}
