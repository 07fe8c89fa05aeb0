package present

import (
	"fmt"
	"math"
	"strconv"

	"stillbench/assets/words"
	"stillbench/session/optics"
)

// Plan is what the place Plan shows.
type Plan struct {
	Sentence
	Inputs   [PlanFields]PlanInput
	Problems []PlanProblem
	// Ready: there is a plan, and what follows is filled in.
	Ready bool
	// Head are the heads of the table's columns.
	Head []string
	Rows []PlanRow
	// Recommended and Chosen are indices into Rows; the two are one unless the
	// photographer chose.
	Recommended, Chosen int
	Curve               PlanCurve
	// Frames and StepMM are those of the aperture chosen, FNumber it.
	Frames  int
	StepMM  float64
	FNumber float64
	Side    PlanSide
	// Cautions, people first; Deference belongs under them.
	Cautions []string
	// Note says what the arithmetic leaves out, or "".
	Note string
	// Convention is the name of the circle of confusion in use.
	Convention string
	// TooMany says what the hatching in the rows stands for; "" without any.
	TooMany string
}

// PlanInput is one line of what goes in.
type PlanInput struct {
	Name, Hint string
	// Computed is what was reckoned for a field that is not given; "" for one that is.
	Computed string
	// Reckoned: the field is not given.
	Reckoned bool
	// Wrong: what was typed cannot be understood, or cannot be.
	Wrong bool
}

// PlanRow is one aperture.
type PlanRow struct {
	FNumber float64
	// Cells stand in the columns of Plan.Head.
	Cells []string
	// TooMany: it takes more frames than the stack may have, or than are planned.
	TooMany bool
	// Focus, Diffraction and Both are the blur on the sensor in µm.
	Focus, Diffraction, Both float64
}

// PlanCurve is the scale of the drawing of blur.
type PlanCurve struct {
	Title string
	// MaxUM is the right end, StepUM from one line of the grid to the next.
	MaxUM, StepUM float64
	// Least stands beside the recommended row: "19 µm, the least".
	Least string
}

// PlanSlice is what one frame is there for: depths from 0 (nearest) to 1 (farthest).
type PlanSlice struct {
	// From and To are what it holds sharp; the slices overlap.
	From, To float64
	// Height is that of the subject there, as a share of its greatest.
	Height float64
}

// PlanSide is the subject from the side: a round one, since nothing is known of its
// shape, as high as the frame takes in.
type PlanSide struct {
	Slices []PlanSlice
	// DepthMM and HeightMM are the subject's true measures; the drawing stretches the
	// depth.
	DepthMM, HeightMM float64
	// Words stand beside it.
	Words []string
	Depth string // "12 mm"
}

// mostSlices is how many slices can still be told apart in a drawing.
const mostSlices = 400

// PlanOf makes the Plan of what was asked.
func PlanOf(a PlanAsked) Plan {
	r := a.read()
	out := Plan{Sentence: Sentence{Mark: MarkPlan}, Convention: conventionName(a)}
	for f := range out.Inputs {
		field := PlanField(f)
		out.Inputs[f] = PlanInput{Name: planFieldNames[f], Hint: planHint(field), Reckoned: field >= PlanFieldWidth && field <= PlanDistance && field != a.Size}
	}
	reckon(&out, a, r.in)
	p, errs := optics.MakePlan(r.in)
	for _, e := range errs {
		f, known := fieldOf[e.Field]
		if !known {
			f = PlanDepth
		}
		// What is missing is asked for, and is no mistake.
		size := f >= PlanFieldWidth && f <= PlanDistance && a.Text[a.Size] == ""
		if !size && (f != PlanDepth || a.Text[PlanDepth] != "") {
			r.complain(f, wrong(e))
		}
	}
	for _, p := range r.problems {
		out.Inputs[p.Field].Wrong = true
	}
	if out.Problems = r.problems; len(out.Problems) > 0 {
		out.Headline = words.PlanCannot
		out.WhatToDo = fmt.Sprintf(words.PlanProblemF, Capital(out.Problems[0].Name), out.Problems[0].Words)
		return out
	}
	if !asked(a, &out) {
		out.fill(a, r.in, p)
	}
	return out
}

// asked asks for what is missing before there can be a plan.
func asked(a PlanAsked, out *Plan) bool {
	size, depth := a.Text[a.Size] == "", a.Text[PlanDepth] == ""
	switch {
	case size && depth:
		out.Headline, out.WhatToDo = words.PlanAskBoth, words.PlanAskBothTodo
	case size:
		out.Headline, out.WhatToDo = words.PlanAskSize, words.PlanAskSizeTodo
	case depth:
		out.Headline, out.WhatToDo = words.PlanAskDepth, words.PlanAskDepthTodo
	default:
		return false
	}
	return true
}

// reckon fills in the sizes that are not given, as far as they follow.
func reckon(out *Plan, a PlanAsked, in optics.PlanInput) {
	if in.SensorWidthMM == nil {
		return
	}
	long, m := max(*in.SensorWidthMM, *in.SensorHeightMM), magnification(in)
	show := func(f PlanField, v float64, text string) {
		if f != a.Size && v > 0 && !math.IsInf(v, 0) {
			out.Inputs[f].Computed = text
		}
	}
	field := optics.FieldMM(long, m)
	show(PlanFieldWidth, field, length(field))
	show(PlanMagnification, m, "×"+digits(m, 3))
	if in.FocalMM != nil {
		d := optics.SensorDistanceMM(*in.FocalMM, m)
		show(PlanDistance, d, length(d))
	}
	c := math.NaN()
	if got := a.coc(&planReader{in: in}); got != nil {
		c = *got
	} else if a.Text[PlanSharp] == "" {
		c = optics.Conventions[0].CoCMM(optics.Format{WidthMM: *in.SensorWidthMM, HeightMM: *in.SensorHeightMM}, 0)
	}
	if a.Convention != "" && c > 0 {
		out.Inputs[PlanSharp].Computed = fmt.Sprintf("%.3f mm", words.Decimal(c))
	}
}

func conventionName(a PlanAsked) string {
	for _, c := range optics.Conventions {
		if c.Key == a.Convention {
			return words.Of(c.Name)
		}
	}
	return words.PlanOwnSharp
}

// fill puts a plan into words and numbers to draw.
func (out *Plan) fill(a PlanAsked, in optics.PlanInput, p optics.Plan) {
	out.Ready, out.Note = true, words.Of(p.Note)
	n := strconv.Itoa(p.PlannedFrames)
	out.Head = []string{words.PlanAperture, words.PlanHeld, words.PlanAtLeast, words.PlanEffective, words.PlanShutter, fmt.Sprintf(words.PlanTakeF, n)}
	limit := p.PlannedFrames
	for i, r := range p.Rows {
		row := PlanRow{
			FNumber: r.FNumber, TooMany: p.Limited && r.Frames > limit,
			Focus: r.DefocusUM, Diffraction: r.AiryDiskUM, Both: r.BlurUM,
			Cells: []string{FNumber(&r.FNumber), held(r.DepthOfFieldMM), strconv.Itoa(r.Frames), "f/" + plainDigits(r.EffectiveFNumber, 2), words.Localised(r.Shutter), ""},
		}
		if r.PlannedSeconds != nil {
			row.Cells[5] = minutes(*r.PlannedSeconds)
		}
		if row.TooMany {
			out.TooMany = fmt.Sprintf(words.PlanMoreThanF, n)
		}
		if r.FNumber == p.Recommended {
			out.Recommended, out.Chosen = i, i
		}
		out.Rows = append(out.Rows, row)
	}
	least := p.Rows[out.Recommended]
	out.Curve = PlanCurve{Title: fmt.Sprintf(words.PlanBlurF, Frames(p.PlannedFrames)), Least: fmt.Sprintf(words.PlanLeastF, digits(least.BlurUM, 2))}
	chosen, row := p, least
	if a.FNumber != 0 && a.FNumber != p.Recommended {
		own := in
		own.FNumbers = []float64{a.FNumber}
		if alone, errs := optics.MakePlan(own); len(errs) == 0 {
			chosen, row = alone, alone.Rows[0]
			for i, r := range out.Rows {
				if r.FNumber == a.FNumber {
					out.Chosen = i
				}
			}
		}
	}
	out.Frames, out.StepMM, out.FNumber = chosen.PlannedFrames, chosen.PlannedStepMM, row.FNumber
	out.sentence(p, chosen, row)
	out.side(in, chosen)
	scene := optics.Scene{Lights: []string{kindsInEnglish(a.Text[PlanLight])}, Words: a.Words}
	if row.ShutterSeconds != nil {
		scene.ShutterSeconds = []float64{*row.ShutterSeconds}
	}
	for _, c := range optics.Cautions(scene) {
		out.Cautions = append(out.Cautions, words.Of(c.Sentence))
	}
}

// sentence says what to set and how often to turn, why, and how long it takes.
func (out *Plan) sentence(best, chosen optics.Plan, row optics.PlanRow) {
	f := FNumber(&row.FNumber)
	out.Headline = fmt.Sprintf(words.PlanOneF, f)
	if chosen.PlannedFrames > 1 {
		out.Headline = fmt.Sprintf(words.PlanAnswerF, f, chosen.PlannedFrames, step(chosen.PlannedStepMM))
	}
	blur := digits(row.BlurUM, 2)
	switch {
	case row.FNumber != best.Recommended:
		out.WhatToDo = fmt.Sprintf(words.PlanInsteadF, blur, digits(best.Rows[out.Recommended].BlurUM, 2), plainTenths(best.Recommended))
	case chosen.Limited:
		out.WhatToDo = fmt.Sprintf(words.PlanLeastBlurF, Frames(chosen.PlannedFrames))
	case row.DiffractionLimited:
		out.WhatToDo = fmt.Sprintf(words.PlanDiffractionF, blur)
	case chosen.PlannedFrames == 1:
		out.WhatToDo = words.PlanOneHolds
	default:
		out.WhatToDo = fmt.Sprintf(words.PlanFewestF, digits(chosen.CoCMM*1000, 2))
	}
	if row.PlannedSeconds != nil {
		out.WhatToDo += " " + fmt.Sprintf(words.PlanTimeF, about(*row.PlannedSeconds))
	}
}

// side lays the slices out in a round subject.
func (out *Plan) side(in optics.PlanInput, p optics.Plan) {
	depth := *in.DepthMM
	overlap := optics.DefaultOverlap
	if in.Overlap != nil {
		overlap = *in.Overlap
	}
	out.Side = PlanSide{DepthMM: depth, HeightMM: p.FieldHeightMM, Depth: length(depth)}
	slices := words.PlanSliceOne
	if p.PlannedFrames != 1 {
		slices = fmt.Sprintf(words.PlanSlicesF, p.PlannedFrames)
	}
	out.Side.Words = []string{words.PlanFromSide, slices, words.PlanRound}
	if p.PlannedFrames > mostSlices {
		out.Side.Words[2] = words.PlanTooFine
		return
	}
	for _, s := range optics.Slices(depth, p.PlannedFrames, overlap) {
		z := s.FocusMM / depth
		out.Side.Slices = append(out.Side.Slices, PlanSlice{From: s.NearMM / depth, To: s.FarMM / depth, Height: math.Sqrt(1 - (1-z)*(1-z))})
	}
}

// Window gives the rows to show when there is room for so many: those round the
// recommended one and the chosen one, as indices from (included) to (excluded), and
// sets the scale of the curve by them.
func (out *Plan) Window(room int) (from, to int) {
	n := len(out.Rows)
	room = min(max(room, 1), n)
	from = min(max(out.Recommended-(room-1)/2, 0), n-room)
	if out.Chosen < from {
		from = out.Chosen
	}
	if out.Chosen >= from+room {
		from = out.Chosen - room + 1
	}
	to = from + room
	// The scale shows the least blur well and lets the wide ends run out of it.
	least, most := math.Inf(1), 0.0
	for _, r := range out.Rows[from:to] {
		least, most = min(least, r.Both), max(most, r.Both)
	}
	most = min(most*1.15, 4*least)
	step := math.Pow(10, math.Floor(math.Log10(most)))
	switch {
	case most/step < 2:
		step /= 2
	case most/step > 5:
		step *= 2
	}
	out.Curve.StepUM, out.Curve.MaxUM = step, math.Ceil(most/step)*step
	return from, to
}

// digits writes a number in so many digits, without an exponent.
func digits(v float64, n int) string { return words.Localised(plainDigits(v, n)) }

func plainDigits(v float64, n int) string {
	if v <= 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	after := max(0, n-1-int(math.Floor(math.Log10(v))))
	return strconv.FormatFloat(v, 'f', after, 64)
}

// length writes a length in the unit that suits it.
func length(mm float64) string {
	switch {
	case mm < 0.1:
		return digits(mm*1000, 2) + " µm"
	case mm < 100:
		return trimmed(mm) + " mm"
	case mm < 2000:
		return trimmed(mm/10) + " cm"
	}
	return trimmed(mm/1000) + " m"
}

// trimmed is three digits at most, without noughts at the end.
func trimmed(v float64) string {
	return words.Localised(strconv.FormatFloat(must(plainDigits(v, 3)), 'f', -1, 64))
}

func must(s string) float64 {
	v, _ := strconv.ParseFloat(s, 64)
	return v
}

// step writes the distance from frame to frame: a millimetre and its hundredths, or
// micrometres where it is less than a tenth.
func step(mm float64) string {
	if mm < 0.1 {
		return digits(mm*1000, 2) + " µm"
	}
	return digits(mm, 2) + " mm"
}

// held writes a depth of field.
func held(mm float64) string {
	switch {
	case math.IsInf(mm, 1):
		return words.PlanEndless
	case mm < 0.1:
		return digits(mm*1000, 2) + " µm"
	}
	return words.Localised(strconv.FormatFloat(mm, 'f', 2, 64)) + " mm"
}

// minutes is a time as 2:56, or 1:02:56.
func minutes(seconds float64) string {
	s := int(math.Round(seconds))
	if s >= 3600 {
		return fmt.Sprintf("%d:%02d:%02d", s/3600, s/60%60, s%60)
	}
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// about is a time in whole minutes, or seconds below one and a half.
func about(seconds float64) string {
	if seconds < 90 {
		return Count(max(1, int(math.Round(seconds))), words.SecondOne, words.SecondMany)
	}
	if seconds < 5400 {
		return Count(int(math.Round(seconds/60)), words.MinuteOne, words.MinuteMany)
	}
	return fmt.Sprintf(words.HoursF, tenths(seconds/3600))
}
