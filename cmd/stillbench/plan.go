package main

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"unicode/utf8"

	"stillbench/session/optics"
)

// planFlags are the inputs of a plan as they stand on the command line.
type planFlags struct {
	in optics.PlanInput
	// errs are what could not be read as a number.
	errs []optics.FieldError
}

func runPlan(e env, args []string) int {
	var p planFlags
	f := newFlags("plan")
	p.declare(f)
	words, code := f.parse(e, args)
	if code >= 0 {
		return code
	}
	if len(words) > 0 {
		return wrong(e, "plan: everything is said by flags; what is %s?", strings.Join(words, " "))
	}
	if p.in.SensorWidthMM == nil {
		full := optics.FullFrame
		p.in.SensorWidthMM, p.in.SensorHeightMM = &full.WidthMM, &full.HeightMM
	}
	plan, errs := optics.MakePlan(p.in)
	if errs = p.join(errs); len(errs) > 0 {
		for _, err := range errs[:len(errs)-1] {
			fmt.Fprintf(e.stderr, "stillbench: plan: --%v\n", err)
		}
		return wrong(e, "plan: --%v", errs[len(errs)-1])
	}
	if f.json {
		if err := printJSON(e, plan); err != nil {
			return failed(e, err)
		}
		return exitDone
	}
	printPlan(e, plan)
	return exitDone
}

// declare makes a flag of every field. A value that is no number is kept as a complaint,
// so that all of them can be told at once.
func (p *planFlags) declare(f *flags) {
	read := func(field optics.Field, usage, example string, take func(s string) bool) {
		f.Func(string(field), usage, func(s string) error {
			if !take(strings.TrimSpace(s)) {
				p.errs = append(p.errs, optics.FieldError{Field: field, Problem: fmt.Sprintf("%q cannot be read; write it like %s.", s, example)})
			}
			return nil
		})
	}
	number := func(field optics.Field, usage, example string, to **float64) {
		read(field, usage, example, func(s string) bool {
			v, ok := fraction(s)
			*to = &v
			return ok
		})
	}
	in := &p.in
	read(optics.FieldSensor, "width x height of the sensor in mm", "36x24", func(s string) bool {
		w, h, ok := pair(s)
		in.SensorWidthMM, in.SensorHeightMM = &w, &h
		return ok
	})
	number(optics.FieldFocal, "focal length in mm", "100", &in.FocalMM)
	number(optics.FieldMagnification, "magnification, 1 is life size", "0.5", &in.Magnification)
	number(optics.FieldFieldWidth, "field width in mm", "33", &in.FieldWidthMM)
	number(optics.FieldDistance, "distance from sensor to subject in mm", "420", &in.DistanceMM)
	number(optics.FieldDepth, "depth of the subject in mm", "12", &in.DepthMM)
	number(optics.FieldPupil, "pupil magnification", "1", &in.Pupil)
	number(optics.FieldCoC, "circle of confusion in mm", "0.02", &in.CoCMM)
	number(optics.FieldWavelength, "wavelength in nm", "550", &in.WavelengthNM)
	number(optics.FieldOverlap, "overlap of neighbouring slices", "0.2", &in.Overlap)
	number(optics.FieldShutter, "time of a good exposure in s", "1/4", &in.ShutterSeconds)
	number(optics.FieldShutterAt, "f-number of the good exposure", "8", &in.ShutterFNumber)
	number(optics.FieldSettle, "s to wait before each frame", "2", &in.SettleSeconds)
	number(optics.FieldTurn, "s to turn to the next frame", "4", &in.TurnSeconds)
	read(optics.FieldFNumber, "f-number; may be given several times", "8", func(s string) bool {
		v, ok := fraction(s)
		in.FNumbers = append(in.FNumbers, v)
		return ok
	})
	read(optics.FieldPixels, "pixels, width x height", "8192x5464", func(s string) bool {
		w, h, ok := pair(s)
		// What is no whole number of pixels becomes 0, which no sensor has.
		wide, high := whole(w), whole(h)
		in.PixelsWide, in.PixelsHigh = &wide, &high
		return ok
	})
	read(optics.FieldFrames, "frames at most", "28", func(s string) bool {
		n, err := strconv.Atoi(s)
		in.FramesAtMost = &n
		return err == nil
	})
}

// join puts the complaints of what could not be read before those of the plan, which
// cannot know about these fields.
func (p *planFlags) join(errs []optics.FieldError) []optics.FieldError {
	out := p.errs
	for _, err := range errs {
		if !slices.ContainsFunc(p.errs, func(unread optics.FieldError) bool { return unread.Field == err.Field }) {
			out = append(out, err)
		}
	}
	return out
}

// fraction reads "0.25", "1/4" and, for an aperture, "f/8".
func fraction(s string) (float64, bool) {
	s = strings.TrimPrefix(s, "f/")
	top, bottom, divided := strings.Cut(s, "/")
	v, err := strconv.ParseFloat(top, 64)
	if err != nil {
		return 0, false
	}
	if !divided {
		return v, true
	}
	d, err := strconv.ParseFloat(bottom, 64)
	if err != nil || d == 0 {
		return 0, false
	}
	return v / d, true
}

// pair reads "36x24".
func pair(s string) (w, h float64, ok bool) {
	a, b, cut := strings.Cut(strings.NewReplacer("×", "x", "X", "x").Replace(s), "x")
	if !cut {
		return 0, 0, false
	}
	w, err1 := strconv.ParseFloat(strings.TrimSpace(a), 64)
	h, err2 := strconv.ParseFloat(strings.TrimSpace(b), 64)
	return w, h, err1 == nil && err2 == nil
}

func whole(x float64) int {
	if x != math.Trunc(x) || math.Abs(x) > 1e9 {
		return 0
	}
	return int(x)
}

// printPlan prints a plan for people, the recommended row marked.
func printPlan(e env, p optics.Plan) {
	fmt.Fprintln(e.stdout, p.Why)
	if p.PlannedFrames > 1 {
		fmt.Fprintf(e.stdout, "%d frames, %s mm apart.\n", p.PlannedFrames, short(p.PlannedStepMM))
	}
	if p.Note != "" {
		fmt.Fprintln(e.stdout, p.Note)
	}
	fmt.Fprintf(e.stdout, "\nmagnification %s, field %s x %s mm", short(p.Magnification), short(p.FieldWidthMM), short(p.FieldHeightMM))
	if p.DistanceMM != nil {
		fmt.Fprintf(e.stdout, ", %.0f mm from the sensor through a thin lens", *p.DistanceMM)
	}
	fmt.Fprintf(e.stdout, "\nsharp to %s mm on the sensor\n\n", short(p.CoCMM))
	table := [][]string{{"", "aperture", "effective", "depth held", "at least", "Airy disk", fmt.Sprintf("blur, %d frames", p.PlannedFrames), "shutter", fmt.Sprintf("%d take", p.PlannedFrames)}}
	limited := false
	for _, r := range p.Rows {
		mark := ""
		if r.FNumber == p.Recommended {
			mark = "→"
		}
		held, time := short(r.DepthOfFieldMM)+" mm", ""
		if math.IsInf(r.DepthOfFieldMM, 1) {
			held = "endless"
		}
		if r.PlannedSeconds != nil {
			time = minutes(*r.PlannedSeconds)
		}
		airy := fmt.Sprintf("%.0f µm", r.AiryDiskUM)
		if r.DiffractionLimited {
			airy, limited = "* "+airy, true
		}
		table = append(table, []string{mark, "f/" + short(r.FNumber), "f/" + short(r.EffectiveFNumber), held,
			strconv.Itoa(r.Frames), airy, fmt.Sprintf("%.0f µm", r.BlurUM), r.Shutter, time})
	}
	for _, line := range columns(table) {
		fmt.Fprintln(e.stdout, line)
	}
	if limited {
		fmt.Fprintln(e.stdout, "* diffraction alone blurs more than that: nothing is wholly sharp")
	}
	for _, r := range p.Rows {
		if r.FNumber == p.Recommended && r.ShutterSeconds != nil {
			for _, c := range optics.Cautions(optics.Scene{ShutterSeconds: []float64{*r.ShutterSeconds}}) {
				fmt.Fprintf(e.stdout, "\n%s\n", c.Sentence)
			}
		}
	}
}

// columns sets a table flush right, and leaves out the columns that nothing stands in.
func columns(table [][]string) []string {
	lines := make([]string, len(table))
	for c := range table[0] {
		width := 0
		empty := true
		for i, row := range table {
			width = max(width, utf8.RuneCountInString(row[c]))
			empty = empty && (i == 0 || row[c] == "")
		}
		if empty {
			continue
		}
		for i, row := range table {
			if c > 0 {
				lines[i] += "  "
			}
			lines[i] += strings.Repeat(" ", width-utf8.RuneCountInString(row[c])) + row[c]
		}
	}
	return lines
}

// short writes a number in three digits.
func short(x float64) string {
	if x >= 100 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 3, 64)
}

// minutes is a time as minutes and seconds, or hours, minutes and seconds.
func minutes(seconds float64) string {
	s := int(math.Round(seconds))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}
