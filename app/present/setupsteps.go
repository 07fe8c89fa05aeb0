package present

import (
	"fmt"
	"math"
	"strings"

	"stillbench/assets/words"
	"stillbench/session"
)

// Step is one thing to do when a setup is built again: what is read from two metres, and
// what to know while doing it.
type Step struct {
	Sentence
	Name  string // in the list of steps: "subject", "1  LED panel, diffuser"
	Light int    // index of the light that it is about, -1 for none
	Stood int    // how many lights stand once it is done
	Look  bool   // compare with the picture
}

// Steps say how to build a setup again, in the order in which it is done: the subject,
// the camera, the lights from the first logged on, then a look at the picture.
func Steps(s session.FoundSetup) []Step {
	out := []Step{subjectStep(s)}
	if step, ok := cameraStep(s); ok {
		out = append(out, step)
	}
	for i, l := range s.Lights {
		out = append(out, lightStep(i, l))
	}
	if len(s.Lights) == 0 {
		out = append(out, Step{
			Sentence: Sentence{Mark: MarkSetups, Headline: words.StepNoLight, WhatToDo: words.StepNoLightTodo},
			Name:     words.NoLights, Light: -1,
		})
	}
	return append(out, Step{
		Sentence: Sentence{Mark: MarkTrial, Headline: words.StepLook, WhatToDo: words.StepLookTodo},
		Name:     words.LookWord, Light: -1, Stood: len(s.Lights), Look: true,
	})
}

func subjectStep(s session.FoundSetup) Step {
	out := Step{Name: words.SubjectWord, Light: -1, Sentence: Sentence{Mark: MarkSetups, Headline: words.StepSubject}}
	if s.Subject != "" {
		out.Headline = fmt.Sprintf(words.StepSubjectF, s.Subject)
	}
	var more []string
	if s.Background != "" {
		more = append(more, fmt.Sprintf(words.StepBackgroundF, s.Background))
	}
	if s.Support != "" {
		more = append(more, fmt.Sprintf(words.StepSupportF, s.Support))
	}
	out.WhatToDo = words.StepNoMore
	if len(more) > 0 {
		out.WhatToDo = Capital(strings.Join(more, "; ")) + "."
	}
	return out
}

// cameraStep says what the camera was set to; ok is false when nothing is known.
func cameraStep(s session.FoundSetup) (step Step, ok bool) {
	set := known(apertures(s.FNumber), Magnification(s.Magnification))
	step = Step{Name: words.CameraWord, Light: -1, Sentence: Sentence{Mark: MarkSetups, Headline: words.StepCamera, WhatToDo: s.Lens}}
	if len(set) > 0 {
		step.Headline = fmt.Sprintf(words.StepCameraF, strings.Join(set, ", "))
	}
	return step, len(set) > 0 || s.Lens != ""
}

func lightStep(i int, l session.Light) Step {
	name := Lights([]session.Light{l})[0].Title
	out := Step{Name: fmt.Sprintf("%d  %s", i+1, name), Light: i, Stood: i + 1}
	out.Mark = MarkSetups
	out.Cells = []session.Cell{{Side: l.Side(), Height: l.Height()}}
	where := Side(l.Side())
	if l.ElevationDeg > 75 {
		where = Height(session.HeightOverhead)
	}
	out.Headline = fmt.Sprintf(words.StepLightF, i+1, name, where)
	out.WhatToDo = strings.Join(LightPlace(l), ", ") + "."
	out.WhatToDo = Capital(out.WhatToDo)
	return out
}

// LightPlace says where a light stands as one tells somebody who is placing it: which
// way round from the camera, how high, how far, how bright.
func LightPlace(l session.Light) []string {
	var out []string
	round, way := l.AzimuthDeg, words.RoundRight
	if round > 180 {
		round, way = 360-round, words.RoundLeft
	}
	switch round = math.Round(round); {
	case round == 0:
		out = append(out, words.StepAtCamera)
	case round == 180:
		out = append(out, words.StepBehind)
	default:
		out = append(out, fmt.Sprintf(words.StepRoundF, round, way))
	}
	switch up := math.Round(l.ElevationDeg); {
	case up > 0:
		out = append(out, fmt.Sprintf(words.StepUpF, up))
	case up == 0:
		out = append(out, words.StepLevel)
	default:
		out = append(out, fmt.Sprintf(words.StepDownF, -up))
	}
	if l.Side() == session.SideBack && l.Height() == session.HeightLow && l.Kind != session.LightCard && l.Kind != session.LightFlag {
		out = append(out, words.StepThrough)
	}
	if l.DistanceCM != nil {
		out = append(out, fmt.Sprintf(words.StepAwayF, Distance(*l.DistanceCM)))
	}
	out = append(out, known(l.Power)...)
	if l.ColourK != nil {
		out = append(out, fmt.Sprintf("%d K", *l.ColourK))
	}
	return out
}
