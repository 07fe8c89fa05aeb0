package main

import (
	"bytes"
	"fmt"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"sync"
	"syscall"
	"testing"
	"time"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// largeStack writes n frames of 8256 x 5504 pixels, the lens breathing and the table shaking:
// a made-up relief enlarged four times, with a sensor's noise at full size.
func largeStack(dir string, n int) (names []string, err error) {
	const w, h = 2064, 1376
	const depth = 30.0
	s := relief.New(relief.Fine, w, h, 7, func(x, y float64) float64 { return depth * (0.7*y + 0.15*math.Sin(7*x+3*y)) })
	for i := range n {
		f := float64(i) - float64(n-1)/2
		small := s.Shoot(relief.Shot{
			Place: depth * float64(i) / float64(n), Seed: uint64(i),
			Move: plane.Similarity{Scale: 1 + 0.001*f, Turn: 0.0001 * math.Sin(f), DX: 1.3 * math.Sin(2*f), DY: 0.9 * math.Sin(3*f)},
		})
		large := plane.NewRGB(4*w, 4*h)
		for c, p := range small.Channels() {
			p = plane.Up(nil, plane.Up(nil, p, 2*w, 2*h), 4*w, 4*h)
			plane.Share(p.H, func(y0, y1 int) {
				r := rand.New(rand.NewPCG(uint64(i), uint64(y0+c)))
				for k := y0 * p.W; k < y1*p.W; k++ {
					large.Pix[3*k+c] = uint8(min(max(255*float64(p.Pix[k])+2*r.NormFloat64()+0.5, 0), 255))
				}
			})
		}
		data, err := plane.EncodeJPEG(large, 97, true)
		if err != nil {
			return nil, err
		}
		name := filepath.Join(dir, fmt.Sprintf("VTX_%04d.JPG", i+1))
		if err := os.WriteFile(name, data, 0o666); err != nil {
			return nil, err
		}
		names = append(names, name)
	}
	return names, nil
}

// cost is what a process took.
type cost struct {
	elapsed time.Duration
	peakMB  float64 // resident, at its highest
}

// costOf runs a command to its end. Linux counts Maxrss in KiB (getrusage(2)).
func costOf(c *exec.Cmd) (cost, error) {
	var said bytes.Buffer
	c.Stdout, c.Stderr = &said, &said
	start := time.Now()
	if err := c.Run(); err != nil {
		return cost{}, fmt.Errorf("%w: %s", err, said.Bytes())
	}
	took := cost{elapsed: time.Since(start)}
	if u, ok := c.ProcessState.SysUsage().(*syscall.Rusage); ok {
		took.peakMB = float64(u.Maxrss) / 1024
	}
	return took, nil
}

// measured blends 20 and 5 frames of 45 megapixels once, however often a benchmark asks.
var measured = sync.OnceValues(func() (m struct{ ours, few, opencv cost }, err error) {
	dir, err := os.MkdirTemp("", "stillbench-blend")
	if err != nil {
		return m, err
	}
	defer os.RemoveAll(dir)
	names, err := largeStack(dir, 20)
	if err != nil {
		return m, err
	}
	ours := func(names []string) (cost, error) {
		c := exec.Command("stillbench", append([]string{"blend", "--replace", "--log", filepath.Join(dir, "log.db"), "--character", "surfaces", "-o", filepath.Join(dir, "ours.tif")}, names...)...)
		return costOf(c)
	}
	if m.ours, err = ours(names); err != nil {
		return m, err
	}
	if m.few, err = ours(names[:5]); err != nil {
		return m, err
	}
	if exec.Command("/usr/bin/python3", "-c", "import cv2").Run() == nil {
		script := filepath.Join("..", "..", "testdata", "reference", "blend_opencv.py")
		m.opencv, err = costOf(exec.Command("/usr/bin/python3", append([]string{script, "time", filepath.Join(dir, "opencv.tif")}, names...)...))
	}
	return m, err
})

// BenchmarkBlend blends 20 frames of 45 megapixels from JPEG to a TIFF of 16 bits, and says how
// long that takes against a plain blend by OpenCV's kernels (testdata/reference/blend_opencv.py,
// with Debian's python3-opencv), how much memory it takes at most, and how much five frames take.
func BenchmarkBlend(b *testing.B) {
	m, err := measured()
	if err != nil {
		b.Fatal(err)
	}
	b.ReportMetric(0, "ns/op")
	b.ReportMetric(m.ours.peakMB, "peak-MB")
	b.ReportMetric(m.few.peakMB, "peak-MB-of-5-frames")
	if m.opencv.elapsed == 0 {
		b.Skip("python3-opencv is not installed: no reference to set the time against")
	}
	b.ReportMetric(m.ours.elapsed.Seconds()/m.opencv.elapsed.Seconds(), "of-OpenCV's-time")
	b.ReportMetric(m.opencv.peakMB, "OpenCV-peak-MB")
	b.Logf("blend %.1f s, OpenCV %.1f s", m.ours.elapsed.Seconds(), m.opencv.elapsed.Seconds())
}
