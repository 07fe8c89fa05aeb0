package main

import (
	"bytes"
	"encoding/json"
	"math"
	"testing"
)

// planned runs the verb plan and reads its JSON.
func planned(t *testing.T, args ...string) (p struct {
	Magnification float64
	Rows          []struct {
		FNumber, EffectiveFNumber, DepthOfFieldMM, StepMM, AiryDiskUM, BlurUM, ShutterSeconds, TotalSeconds float64
		Frames                                                                                              int
	}
}) {
	t.Helper()
	var out, errs bytes.Buffer
	if code := run(env{t.Context(), &out, &errs}, append([]string{"plan", "--json"}, args...)); code != exitDone {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	if err := json.Unmarshal(out.Bytes(), &p); err != nil {
		t.Fatal(err)
	}
	return p
}

// TestPlanPublished holds the verb, from the command line to the JSON, against printed
// tables.
func TestPlanPublished(t *testing.T) {
	near := func(what string, got, want, within float64) {
		t.Helper()
		if !(math.Abs(got-want) <= within) {
			t.Errorf("%s is %g, want %g within %g", what, got, want, within)
		}
	}
	// Canon, MP-E 65mm f/2.8 1-5x Macro Photo, instructions, p. ENG-7: f/2.8 at 1x to 5x.
	for m, want := range map[string]float64{"1": 5.6, "2": 8.4, "3": 11.2, "4": 14.0, "5": 16.8} {
		p := planned(t, "--magnification", m, "--depth", "1", "--f", "2.8")
		near("effective f-number at "+m+"x", p.Rows[0].EffectiveFNumber, want, 0.05)
	}
	// The depth of field of the same lens at f/16, 1x 2.24 mm, 5x 0.269 mm
	// (the-digital-picture.com), with the c of 0.035 mm that those figures follow.
	near("depth of field at 1x", planned(t, "--magnification", "1", "--depth", "9", "--coc", "0.035", "--f", "16").Rows[0].DepthOfFieldMM, 2.24, 0.005)
	near("depth of field at 5x", planned(t, "--magnification", "5", "--depth", "9", "--coc", "0.035", "--f", "16").Rows[0].DepthOfFieldMM, 0.269, 0.0005)
	// D. Jacobson, rec.photo lenses FAQ (1995), Q5, M = f/(u-f) with the sensor at u + v: f 100 at 1:2 is u 300, v 150.
	near("magnification from a distance", planned(t, "--focal", "100", "--distance", "450", "--depth", "1", "--f", "8").Magnification, 0.5, 1e-9)
	// Edmund Optics, Imaging Resource Guide 2.4, equation 1: 2.44 λN, here with N 16 at
	// 550 nm; 2.44 stands for 2.4393, 3 in 10000.
	p := planned(t, "--magnification", "1", "--depth", "10", "--coc", "0.03", "--f", "8", "--shutter", "0.25", "--at", "8")
	r := p.Rows[0]
	near("Airy disk", r.AiryDiskUM, 2.44*0.55*16, 0.007)
	// By hand: 2·8·0.03·2 = 0.96 mm, four fifths of it a step, and 0.96 + 12·0.768 is the
	// first sum past 10 mm. 13 exposures of 1/4 s after 2 s, 12 turns of 4 s.
	near("depth of field", r.DepthOfFieldMM, 0.96, 1e-9)
	near("step", r.StepMM, 0.768, 1e-9)
	if r.Frames != 13 {
		t.Errorf("%d frames, want 13", r.Frames)
	}
	near("time", r.TotalSeconds, 13*2.25+12*4, 1e-9)
}
