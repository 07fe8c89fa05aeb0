package sound

import (
	"math"
	"testing"
)

// pitch counts the periods of a note.
func pitch(s []float32) float64 {
	up, first, last := 0, 0, 0
	for i := 1; i < len(s); i++ {
		if s[i-1] < 0 && s[i] > 0 {
			if up == 0 {
				first = i
			}
			up, last = up+1, i
		}
	}
	return float64(up-1) / float64(last-first) * rate
}

// TestTones: one falls and one rises by a fifth from A4 (ISO 16: 440 Hz; E5 is 7 semitones of
// 2^(1/12) higher), neither clicks at its ends nor is loud.
func TestTones(t *testing.T) {
	a, e := 440.0, 440*math.Pow(2, 7.0/12)
	for tone, want := range map[Tone][2]float64{ShootAgain: {e, a}, FreeToMove: {a, e}} {
		s := samples(tone)
		half := len(s) / 2
		for i, part := range [][]float32{s[:half], s[half:]} {
			if got := pitch(part); math.Abs(got-want[i]) > 3 {
				t.Errorf("tone %d, note %d: %.1f Hz, want %.1f", tone, i, got, want[i])
			}
			if part[0] != 0 || math.Abs(float64(part[len(part)-1])) > 1e-6 {
				t.Errorf("tone %d, note %d begins or ends in a click: %g, %g", tone, i, part[0], part[len(part)-1])
			}
		}
		for i, v := range s {
			if v < -peak || v > peak {
				t.Fatalf("tone %d: %g at %d", tone, v, i)
			}
			if i > 0 && math.Abs(float64(v-s[i-1])) > peak*2*math.Pi*e/rate*1.05 {
				t.Fatalf("tone %d jumps at %d", tone, i)
			}
		}
	}
}

// TestSilent: without a device, as where tests run, nothing sounds and nothing hangs.
func TestSilent(t *testing.T) {
	var p Player
	p.Play(FreeToMove)
	p.Play(ShootAgain)
}
