package look

import (
	"image/color"
	"math"
	"testing"
)

// deficient are the matrices of Machado, Oliveira and Fernandes, "A physiologically-based model for
// simulation of color vision deficiency", IEEE TVCG 15(6), 2009, table 1, severity 1, on linear
// RGB (from memory; that their rows add up to 1 is checked below).
var deficient = map[string][3][3]float64{
	"protanopia":   {{0.152286, 1.052583, -0.204868}, {0.114503, 0.786281, 0.099216}, {-0.003882, -0.048116, 1.051998}},
	"deuteranopia": {{0.367322, 0.860646, -0.227968}, {0.280085, 0.672501, 0.047413}, {-0.011820, 0.042940, 0.968881}},
	"tritanopia":   {{1.255528, -0.076749, -0.178779}, {-0.078411, 0.930809, 0.147602}, {0.004733, 0.691367, 0.303900}},
}

// seenBy gives a colour as it is seen, by IEC 61966-2-1.
func seenBy(m [3][3]float64, c color.NRGBA) color.NRGBA {
	var linear [3]float64
	for i, v := range []uint8{c.R, c.G, c.B} {
		s := float64(v) / 255
		if s <= 0.04045 {
			linear[i] = s / 12.92
		} else {
			linear[i] = math.Pow((s+0.055)/1.055, 2.4)
		}
	}
	var out [3]uint8
	for i, row := range m {
		v := min(max(row[0]*linear[0]+row[1]*linear[1]+row[2]*linear[2], 0), 1)
		if v <= 0.0031308 {
			v *= 12.92
		} else {
			v = 1.055*math.Pow(v, 1/2.4) - 0.055
		}
		out[i] = uint8(255*v + 0.5)
	}
	return color.NRGBA{R: out[0], G: out[1], B: out[2], A: 255}
}

// TestAccentReadsForEveryEye: however colours are seen, the accent is read on the ground as text
// must be (W3C, WCAG 2.2, 1.4.3: 4.5 to 1), in a lit and in a dark room, and greys stay grey.
func TestAccentReadsForEveryEye(t *testing.T) {
	for name, m := range deficient {
		for i, row := range m {
			if sum := row[0] + row[1] + row[2]; math.Abs(sum-1) > 2e-5 {
				t.Errorf("%s: row %d adds up to %g", name, i, sum)
			}
		}
		for _, dim := range []bool{false, true} {
			if got := contrast(seenBy(m, Accent.In(dim)), seenBy(m, Ground.In(dim))); got < 4.5 {
				t.Errorf("%s, dim %v: the accent reads at %.1f to 1", name, dim, got)
			}
			g := seenBy(m, Ink2.In(dim))
			if d := max(g.R, g.G, g.B) - min(g.R, g.G, g.B); d > 1 {
				t.Errorf("%s: a grey is tinted by %d", name, d)
			}
		}
	}
}
