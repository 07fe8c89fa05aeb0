package place

import (
	"stillbench/app/parts"
	"stillbench/app/present"
)

// Shape is the drawing that goes with a sentence.
func Shape(s present.Sentence) parts.Shape {
	switch s.Mark {
	case present.MarkVerdict:
		return parts.ShapeOf(s.Verdict)
	case present.MarkHold:
		return parts.ShapeHold
	case present.MarkTrial:
		return parts.ShapeTrial
	case present.MarkSetups:
		return parts.ShapeWheel
	case present.MarkPlan:
		return parts.ShapePlan
	case present.MarkDraw:
		return parts.ShapeArea
	case present.MarkKeys:
		return parts.ShapeKeys
	case present.MarkNotice:
		return parts.ShapeNotice
	case present.MarkNothing:
		return parts.ShapeNothing
	case present.MarkFrame:
		return parts.ShapeFrame
	}
	return parts.ShapeNone
}
