package focus

import (
	"bytes"
	"fmt"
	"os"
	"runtime/debug"
	"strconv"
	"testing"
	"time"

	"stillbench/session/focus/relief"
	"stillbench/session/plane"
)

// The frames of the speed bench: a JPEG of 45 megapixels, decoded to a quarter of its length.
const (
	speedW, speedH = 2048, 1366
	speedFull      = 4
	speedSide      = 1500 // as the desk asks for
)

// enlarged is a picture as a JPEG of speedFull times its size.
func enlarged(b *testing.B, p *plane.RGB) []byte {
	big := plane.NewRGB(speedFull*p.W, speedFull*p.H)
	for y := range big.H {
		row, from := big.Pix[3*big.W*y:], p.Pix[3*p.W*(y/speedFull):]
		for x := range big.W {
			copy(row[3*x:3*x+3], from[3*(x/speedFull):])
		}
	}
	data, err := plane.EncodeJPEG(big, 90, true)
	if err != nil {
		b.Fatal(err)
	}
	return data
}

// BenchmarkJoin lets a frame of 45 megapixels join stacks of several lengths: decoded, taken in,
// verdict. It gives the ratio to what libjpeg-turbo alone takes to decode the same file as far, in
// the same run, and how much memory the process had at its most.
func BenchmarkJoin(b *testing.B) {
	lengths := []int{15, 30, 45}
	most := lengths[len(lengths)-1]
	s := relief.New(relief.Fine, speedW, speedH, 1, func(x, y float64) float64 { return 2 * float64(most-1) * (1 - y) })
	shot := func(i int) *plane.RGB {
		return s.Shoot(relief.Shot{Place: 2 * float64(i), Noise: relief.ISO(200), Seed: uint64(i), Move: plane.Similarity{Scale: 1 - 0.0005*float64(i)}})
	}
	var st Stack
	stacks := map[int]*Stack{}
	files := map[int][]byte{}
	for i := range most {
		p := shot(i)
		for _, n := range lengths {
			if i == n-1 {
				stacks[n], files[n] = copyOf(&st), enlarged(b, p)
			}
		}
		if err := st.Add(Frame{Fingerprint: fmt.Sprint(i), Picture: p}); err != nil {
			b.Fatal(err)
		}
	}
	s = nil
	for _, n := range lengths {
		b.Run(fmt.Sprintf("%d frames", n), func(b *testing.B) {
			debug.FreeOSMemory()
			forgetPeak()
			var alone, whole time.Duration
			times := 0
			for b.Loop() {
				b.StopTimer()
				grown := copyOf(stacks[n])
				start := time.Now()
				if _, err := plane.DecodeJPEG(files[n], speedSide); err != nil {
					b.Fatal(err)
				}
				alone += time.Since(start)
				b.StartTimer()
				start = time.Now()
				p, err := plane.DecodeJPEG(files[n], speedSide)
				if err != nil {
					b.Fatal(err)
				}
				if err := grown.Add(Frame{Fingerprint: "new", Picture: p}); err != nil {
					b.Fatal(err)
				}
				if c := grown.Check(Options{}); len(c.Frames) != n {
					b.Fatal(len(c.Frames))
				}
				whole += time.Since(start)
				times++
			}
			b.ReportMetric(whole.Seconds()/float64(times), "s/frame")
			b.ReportMetric(whole.Seconds()/alone.Seconds(), "x-turbo-alone")
			b.ReportMetric(peakMB(), "peak-MB")
		})
	}
}

// copyOf is a stack that can take in a frame without the other noticing.
func copyOf(s *Stack) *Stack {
	c := *s
	c.chain = s.chain.Clone()
	c.frames = nil
	for _, f := range s.frames {
		g := *f
		c.frames = append(c.frames, &g)
	}
	return &c
}

// forgetPeak and peakMB reset and read the most memory that the process had, as Linux counts it
// (proc(5): clear_refs, VmHWM); 0 where there is no such thing.
func forgetPeak() { os.WriteFile("/proc/self/clear_refs", []byte("5"), 0) }

func peakMB() float64 {
	status, _ := os.ReadFile("/proc/self/status")
	for _, line := range bytes.Split(status, []byte("\n")) {
		if kb, ok := bytes.CutPrefix(line, []byte("VmHWM:")); ok {
			n, _ := strconv.ParseFloat(string(bytes.Fields(kb)[0]), 64)
			return n / 1024
		}
	}
	return 0
}
