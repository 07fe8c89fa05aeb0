package optics

import (
	"encoding/json"
	"math"
	"regexp"
	"slices"
	"strings"
	"testing"
)

func ptr[T any](x T) *T { return &x }

// table is an invented subject: 5 mm deep at life size on a full-frame sensor, with a
// good exposure of 1/4 s at f/8.
func table() PlanInput {
	return PlanInput{
		SensorWidthMM: ptr(36.0), SensorHeightMM: ptr(24.0), FocalMM: ptr(100.0), Magnification: ptr(1.0), DepthMM: ptr(5.0),
		ShutterSeconds: ptr(0.25), ShutterFNumber: ptr(8.0),
	}
}

func planned(t *testing.T, in PlanInput) Plan {
	t.Helper()
	p, errs := MakePlan(in)
	for _, e := range errs {
		t.Error(e)
	}
	if t.Failed() {
		t.FailNow()
	}
	return p
}

func (p Plan) at(t *testing.T, n float64) PlanRow {
	t.Helper()
	i := slices.IndexFunc(p.Rows, func(r PlanRow) bool { return r.FNumber == n })
	if i < 0 {
		t.Fatalf("no row for f/%v", n)
	}
	return p.Rows[i]
}

// The figures of one row, by hand.
func TestARowByHand(t *testing.T) {
	p := planned(t, table())
	c := math.Hypot(36, 24) / 1500
	if p.Magnification != 1 || p.FieldWidthMM != 36 || p.FieldHeightMM != 24 || *p.DistanceMM != 400 || !near(p.CoCMM, c, 1e-12) {
		t.Errorf("plan: %+v", p)
	}
	if len(p.Rows) != 31 || p.Rows[0].FNumber != 1 || p.Rows[30].FNumber != 32 {
		t.Errorf("%d rows from f/%v", len(p.Rows), p.Rows[0].FNumber)
	}
	r := p.at(t, 16)
	q := 16 * c / 100
	dof := 2 * 16 * c * 2 / (1 - q*q)
	frames := math.Ceil((5-dof)/(0.8*dof)) + 1
	for name, pair := range map[string][2]float64{
		"effective":    {r.EffectiveFNumber, 32},
		"depth":        {r.DepthOfFieldMM, dof},
		"step":         {r.StepMM, 0.8 * dof},
		"frames":       {float64(r.Frames), frames},
		"airy":         {r.AiryDiskUM, 2 * 1.21967 * 0.55 * 32},
		"wave depth":   {r.WaveDepthMM, 4 * 0.00055 * 32 * 32},
		"shutter":      {*r.ShutterSeconds, 1},
		"total":        {*r.TotalSeconds, frames*(1+DefaultSettleSeconds) + (frames-1)*DefaultTurnSeconds},
		"blur":         {r.BlurUM, math.Hypot(r.DefocusUM, r.AiryDiskUM)},
		"defocus":      {r.DefocusUM, 1000 * SliceMM(5, p.PlannedFrames, 0.2) / 2 / 32},
		"planned step": {p.PlannedStepMM, 0.8 * SliceMM(5, p.PlannedFrames, 0.2)},
	} {
		if !near(pair[0], pair[1], 1e-5) {
			t.Errorf("%s: %v, by hand %v", name, pair[0], pair[1])
		}
	}
	if r.Shutter != "1 s" || p.at(t, 9).Shutter != "0.3 s" || p.at(t, 11).Shutter != "0.5 s" {
		t.Errorf("shutters in words: %q, %q, %q", r.Shutter, p.at(t, 9).Shutter, p.at(t, 11).Shutter)
	}
	// At life size the Airy disk outgrows 0.029 mm between f/10 and f/11.
	if p.at(t, 10).DiffractionLimited || !p.at(t, 11).DiffractionLimited {
		t.Error("the limit of diffraction is not between f/10 and f/11")
	}
}

// The recommended aperture is the least of what its number of frames can do, it keeps
// the blur within the circle of confusion, and one frame fewer cannot, at any aperture.
func TestRecommendedByBruteForce(t *testing.T) {
	randomShots(300, func(s Shot, c float64) {
		if s.Magnification < 0.05 {
			return
		}
		in := table()
		in.Magnification, in.Pupil, in.FocalMM = &s.Magnification, &s.Pupil, nil
		in.CoCMM = &c
		depth := 20 / s.Magnification / 30
		in.DepthMM = &depth
		p, errs := MakePlan(in)
		if len(errs) > 0 {
			return // too many frames; TestWhatIsWrongIsSaid
		}
		best := p.at(t, p.Recommended)
		feasible := p.Rows[0].AiryDiskUM < c*1000
		if feasible && best.BlurUM > c*1000*(1+1e-9) {
			t.Fatalf("m %v c %v: f/%v blurs by %v µm", s.Magnification, c, p.Recommended, best.BlurUM)
		}
		for _, r := range p.Rows {
			if r.BlurUM < best.BlurUM {
				t.Fatalf("m %v c %v: f/%v blurs less than the recommended f/%v", s.Magnification, c, r.FNumber, p.Recommended)
			}
			// With one frame fewer, by the blur of a point at the edge of a slice.
			if feasible && p.PlannedFrames > 1 {
				slice := SliceMM(depth, p.PlannedFrames-1, DefaultOverlap)
				b := math.Hypot(1000*slice/2*s.Magnification*s.Magnification/r.EffectiveFNumber, r.AiryDiskUM)
				if b < c*1000*(1-1e-6) {
					t.Fatalf("m %v c %v: %d frames would do at f/%v", s.Magnification, c, p.PlannedFrames-1, r.FNumber)
				}
			}
		}
	})
}

// Between whole frames and whole third stops, the recommendation is the analytic one:
// the aperture whose Airy disk is c/√2, and with a limit the optimum for a slice.
func TestRecommendedByAnalysis(t *testing.T) {
	in := table()
	in.DepthMM = ptr(50.0) // many frames, so that rounding to whole ones is small
	p := planned(t, in)
	want := p.CoCMM * 1000 / math.Sqrt2 / AiryDiskUM(550, 1) / 2
	if d := math.Abs(2 * math.Log2(p.Recommended/want)); d > 1/3.0 {
		t.Errorf("recommended f/%v, by analysis f/%.2f", p.Recommended, want)
	}
	for _, limit := range []int{1, 5, 14, 40} {
		in.FramesAtMost = &limit
		p = planned(t, in)
		if p.PlannedFrames != limit || !p.Limited {
			t.Errorf("at most %d: %d frames, limited %v", limit, p.PlannedFrames, p.Limited)
		}
		want := OptimumFNumber(SliceMM(50, limit, 0.2), 1, 1, 550)
		if d := math.Abs(2 * math.Log2(p.Recommended/math.Min(want, 32))); d > 1/3.0 {
			t.Errorf("at most %d: recommended f/%v, by analysis f/%.2f", limit, p.Recommended, want)
		}
	}
	// A limit that does not bind changes nothing.
	in.FramesAtMost = nil
	free := planned(t, in)
	in.FramesAtMost = ptr(5000)
	if p := planned(t, in); p.PlannedFrames != free.PlannedFrames || p.Recommended != free.Recommended || p.Limited {
		t.Errorf("at most 5000: %d frames at f/%v, without a limit %d at f/%v", p.PlannedFrames, p.Recommended, free.PlannedFrames, free.Recommended)
	}
}

func TestWhy(t *testing.T) {
	in := table()
	check := func(name string, parts ...string) {
		t.Helper()
		p := planned(t, in)
		for _, part := range parts {
			if !strings.Contains(p.Why, part) {
				t.Errorf("%s: %q does not say %q", name, p.Why, part)
			}
		}
		if sentences := regexp.MustCompile(`\.(\D|$)`).FindAllString(p.Why, -1); len(sentences) != 1 {
			t.Errorf("%s: %q is not one sentence", name, p.Why)
		}
	}
	check("free", "frames hold the whole depth to 29 µm with diffraction counted, the fewest that can", "from f/11 on diffraction alone")
	in.FramesAtMost = ptr(4)
	check("limited", "the least blur that 4 frames can give", "diffraction blurs more than defocus")
	in.FramesAtMost = ptr(1)
	check("one at most", "the least blur that one frame can give")
	in.FramesAtMost = nil
	in.DepthMM = ptr(0.1)
	check("flat", "one frame holds the whole depth")
	in.FNumbers = []float64{16, 22}
	check("narrow only", "f/16: diffraction alone blurs beyond 29 µm at every aperture here")
	in.FNumbers = []float64{8}
	check("one aperture", "f/8: the only aperture asked for")
}

func TestPlanJSONIsTheContract(t *testing.T) {
	in := table()
	in.FNumbers = []float64{9, 4, 9}
	in.PixelsWide, in.PixelsHigh = ptr(5464), ptr(8192) // a camera held upright
	text, err := json.Marshal(planned(t, in))
	if err != nil {
		t.Fatal(err)
	}
	var got struct {
		Magnification, Recommended float64
		Why                        string
		Note                       *string
		Rows                       []map[string]any
	}
	if err := json.Unmarshal(text, &got); err != nil {
		t.Fatal(err)
	}
	if got.Magnification != 1 || len(got.Rows) != 2 || got.Rows[0]["fNumber"] != 4.0 || got.Why == "" || got.Note != nil {
		t.Errorf("%s", text)
	}
	for _, name := range []string{"fNumber", "effectiveFNumber", "depthOfFieldMM", "frames", "stepMM", "airyDiskUM", "blurUM", "shutterSeconds", "totalSeconds"} {
		if _, ok := got.Rows[1][name].(float64); !ok {
			t.Errorf("%s is %v", name, got.Rows[1][name])
		}
	}
	if got.Rows[1]["diffractionLimited"] != false {
		t.Errorf("diffractionLimited is %v", got.Rows[1]["diffractionLimited"])
	}
	if px := got.Rows[1]["blurPixels"].(float64) * 36000 / 8192; !near(px, got.Rows[1]["blurUM"].(float64), 1e-9) {
		t.Errorf("blur in pixels makes %v µm, in µm %v", px, got.Rows[1]["blurUM"])
	}
	// What is not known is null: no exposure, and past the hyperfocal distance no depth.
	in = PlanInput{
		SensorWidthMM: ptr(36.0), SensorHeightMM: ptr(24.0), FocalMM: ptr(20.0), FieldWidthMM: ptr(10000.0), DepthMM: ptr(500.0), FNumbers: []float64{16},
	}
	text, err = json.Marshal(planned(t, in))
	if err != nil {
		t.Fatal(err)
	}
	for _, part := range []string{`"depthOfFieldMM":null`, `"stepMM":null`, `"shutterSeconds":null`, `"totalSeconds":null`, `"shutter":null`, `"blurPixels":null`, `"frames":1`} {
		if !strings.Contains(string(text), part) {
			t.Errorf("no %s in %s", part, text)
		}
	}
}

// Every way to say how large the subject appears gives the same plan, and the order in
// which a sensor's sides are given does not matter.
func TestWaysToGiveTheMagnification(t *testing.T) {
	in := table()
	in.Magnification = ptr(0.5)
	want := planned(t, in)
	for name, change := range map[string]func(*PlanInput){
		"field width": func(in *PlanInput) { in.Magnification, in.FieldWidthMM = nil, ptr(72.0) },
		"distance":    func(in *PlanInput) { in.Magnification, in.DistanceMM = nil, ptr(450.0) },
		"all of them": func(in *PlanInput) { in.FieldWidthMM, in.DistanceMM = ptr(71.0), ptr(451.0) },
		"upright":     func(in *PlanInput) { in.SensorWidthMM, in.SensorHeightMM = ptr(24.0), ptr(36.0) },
	} {
		other := in
		change(&other)
		if got := planned(t, other); !near(got.Magnification, 0.5, 1e-9) || got.Recommended != want.Recommended || got.PlannedFrames != want.PlannedFrames {
			t.Errorf("%s: m %v, %d frames at f/%v", name, got.Magnification, got.PlannedFrames, got.Recommended)
		}
	}
	// A hand-held meter knows nothing of the bellows: at life size two stops are added.
	in = table()
	measured := planned(t, in).at(t, 8)
	in.ShutterMagnification = ptr(0.0)
	if held := planned(t, in).at(t, 8); !near(*held.ShutterSeconds, 4**measured.ShutterSeconds, 1e-9) {
		t.Errorf("by a hand-held meter %v s, through the lens %v s", *held.ShutterSeconds, *measured.ShutterSeconds)
	}
	in = table()
	in.WidestFNumber, in.NarrowestFNumber = ptr(2.8), ptr(22.0)
	if p := planned(t, in); p.Rows[0].FNumber != 2.8 || p.Rows[len(p.Rows)-1].FNumber != 22 {
		t.Errorf("lens f/2.8 to f/22: f/%v to f/%v", p.Rows[0].FNumber, p.Rows[len(p.Rows)-1].FNumber)
	}
	in.DepthMM = ptr(100.0)
	if p := planned(t, in); p.Note == "" {
		t.Error("nothing is said of a subject that is deep for its distance")
	}
}

func TestWhatIsWrongIsSaid(t *testing.T) {
	for name, c := range map[string]struct {
		change func(*PlanInput)
		field  Field
		says   string
	}{
		"no sensor":           {func(in *PlanInput) { in.SensorHeightMM = nil }, FieldSensor, "How large is the sensor"},
		"zero sensor":         {func(in *PlanInput) { in.SensorWidthMM = ptr(0.0) }, FieldSensor, "cannot be 0"},
		"strip":               {func(in *PlanInput) { in.SensorHeightMM = ptr(2.4) }, FieldSensor, "strip"},
		"focal NaN":           {func(in *PlanInput) { in.FocalMM = ptr(math.NaN()) }, FieldFocal, "must be a number"},
		"focal negative":      {func(in *PlanInput) { in.FocalMM = ptr(-50.0) }, FieldFocal, "cannot be negative"},
		"focal absurd":        {func(in *PlanInput) { in.FocalMM = ptr(1e9) }, FieldFocal, "makes no sense"},
		"no magnification":    {func(in *PlanInput) { in.Magnification = nil }, FieldFieldWidth, "How large does the subject appear"},
		"zero magnification":  {func(in *PlanInput) { in.Magnification = ptr(0.0) }, FieldMagnification, "cannot be 0"},
		"tiny magnification":  {func(in *PlanInput) { in.Magnification, in.FieldWidthMM = nil, ptr(90000.0) }, FieldFieldWidth, "far too small"},
		"huge magnification":  {func(in *PlanInput) { in.Magnification, in.FieldWidthMM = nil, ptr(0.02) }, FieldFieldWidth, "no lens"},
		"contradicting field": {func(in *PlanInput) { in.FieldWidthMM = ptr(50.0) }, FieldFieldWidth, "contradicts magnification"},
		"contradicting far":   {func(in *PlanInput) { in.DistanceMM = ptr(500.0) }, FieldDistance, "contradicts magnification"},
		"distance alone":      {func(in *PlanInput) { in.Magnification, in.FocalMM, in.DistanceMM = nil, nil, ptr(500.0) }, FieldFocal, "focal length"},
		"too near":            {func(in *PlanInput) { in.Magnification, in.DistanceMM = nil, ptr(310.0) }, FieldDistance, "4 focal lengths"},
		"no depth":            {func(in *PlanInput) { in.DepthMM = nil }, FieldDepth, "How deep"},
		"zero depth":          {func(in *PlanInput) { in.DepthMM = ptr(0.0) }, FieldDepth, "cannot be 0"},
		"infinite depth":      {func(in *PlanInput) { in.DepthMM = ptr(math.Inf(1)) }, FieldDepth, "must be a number"},
		"deeper than far":     {func(in *PlanInput) { in.DepthMM = ptr(900.0) }, FieldDepth, "only 400 mm away"},
		"too many frames":     {func(in *PlanInput) { in.Magnification, in.FocalMM, in.DepthMM = ptr(5.0), nil, ptr(500.0) }, FieldDepth, "frames"},
		"zero pupil":          {func(in *PlanInput) { in.Pupil = ptr(0.0) }, FieldPupil, "cannot be 0"},
		"zero circle":         {func(in *PlanInput) { in.CoCMM = ptr(0.0) }, FieldCoC, "cannot be 0"},
		"huge circle":         {func(in *PlanInput) { in.CoCMM = ptr(0.9) }, FieldCoC, "nothing would be blurred"},
		"wavelength in µm":    {func(in *PlanInput) { in.WavelengthNM = ptr(0.55) }, FieldWavelength, "below 100"},
		"overlap in percent":  {func(in *PlanInput) { in.Overlap = ptr(20.0) }, FieldOverlap, "above 0.9"},
		"negative overlap":    {func(in *PlanInput) { in.Overlap = ptr(-0.1) }, FieldOverlap, "negative"},
		"shutter alone":       {func(in *PlanInput) { in.ShutterFNumber = nil }, FieldShutterAt, "but not its f-number"},
		"aperture alone":      {func(in *PlanInput) { in.ShutterSeconds = nil }, FieldShutter, "but not its time"},
		"zero shutter":        {func(in *PlanInput) { in.ShutterSeconds = ptr(0.0) }, FieldShutter, "cannot be 0"},
		"zero f-number":       {func(in *PlanInput) { in.FNumbers = []float64{8, 0} }, FieldFNumber, "cannot be 0"},
		"no aperture":         {func(in *PlanInput) { in.WidestFNumber, in.NarrowestFNumber = ptr(22.0), ptr(2.8) }, FieldFNumber, "No aperture lies between"},
		"half the pixels":     {func(in *PlanInput) { in.PixelsWide = ptr(6000) }, FieldPixels, "width x height"},
		"other shape":         {func(in *PlanInput) { in.PixelsWide, in.PixelsHigh = ptr(4000), ptr(4000) }, FieldPixels, "another shape"},
		"no frames":           {func(in *PlanInput) { in.FramesAtMost = ptr(0) }, FieldFrames, "1 to 9999"},
		"negative settling":   {func(in *PlanInput) { in.SettleSeconds = ptr(-1.0) }, FieldSettle, "negative"},
		"turning for a day":   {func(in *PlanInput) { in.TurnSeconds = ptr(86400.0) }, FieldTurn, "above 3600"},
	} {
		in := table()
		c.change(&in)
		p, errs := MakePlan(in)
		if len(errs) != 1 || errs[0].Field != c.field || !strings.Contains(errs[0].Problem, c.says) || !strings.HasPrefix(errs[0].Error(), string(c.field)) {
			t.Errorf("%s: %v", name, errs)
		}
		if len(p.Rows) != 0 {
			t.Errorf("%s: a plan all the same", name)
		}
	}
	// Everything at once: each field is named, once.
	_, errs := MakePlan(PlanInput{Overlap: ptr(2.0), FNumbers: []float64{-1}})
	var fields []string
	for _, e := range errs {
		fields = append(fields, string(e.Field))
	}
	slices.Sort(fields)
	if got := strings.Join(fields, " "); got != "depth f field-width overlap sensor" {
		t.Errorf("fields with a complaint: %s", got)
	}
}

func FuzzMakePlan(f *testing.F) {
	f.Add(36.0, 24.0, 100.0, 1.0, 5.0, 0.03, 0.2, 8.0)
	f.Add(36.0, 24.0, 5000.0, 0.001, 10000.0, 1e-4, 0.9, 0.5)
	f.Add(1.0, 1.0, 1.0, 100.0, 1e-4, 0.01, 0.0, 512.0)
	f.Fuzz(func(t *testing.T, w, h, focal, m, depth, c, overlap, n float64) {
		p, errs := MakePlan(PlanInput{
			SensorWidthMM: &w, SensorHeightMM: &h, FocalMM: &focal, Magnification: &m, DepthMM: &depth, CoCMM: &c, Overlap: &overlap,
			ShutterSeconds: ptr(1.0), ShutterFNumber: &n,
		})
		if len(errs) > 0 {
			return
		}
		// A plan holds numbers: JSON refuses all others.
		if _, err := json.Marshal(p); err != nil {
			t.Fatal(err)
		}
		for _, r := range p.Rows {
			if r.Frames < 1 || !(r.BlurUM > 0) || !(r.DepthOfFieldMM > 0) {
				t.Fatalf("%+v", r)
			}
		}
		if p.PlannedFrames < 1 || p.PlannedFrames > maxFrames || !(p.PlannedStepMM > 0) {
			t.Fatalf("%+v", p)
		}
	})
}
