package desk

import (
	"context"
	"image"

	"stillbench/session"
	"stillbench/session/handoff"
)

// Handoff is the state of the session as it is handed on.
func (s *Snapshot) Handoff() handoff.Session {
	return handoff.Session{
		Dir: s.Session.Dir, Frames: s.Frames, Groups: s.Groups, Setups: s.Setups, Checks: s.Checks, Wanted: s.Wanted,
		Proofs: s.Proofs, Touches: s.Touches,
	}
}

// PlanHandoff works out what handing the stacks on into out would make; handoff.Do makes it.
// Pictures of frames for the contact sheet come from the session's own; o.Proof may be
// Desk.Proof.
func (s *Snapshot) PlanHandoff(ctx context.Context, out string, o handoff.Options) (*handoff.Plan, error) {
	o.Picture = s.picture
	return handoff.NewPlan(ctx, s.Handoff(), out, o)
}

// picture decodes a frame of the snapshot; a RAW without a picture is shown by its pair.
func (s *Snapshot) picture(ctx context.Context, fingerprint string, maxW, maxH int) (*image.RGBA, error) {
	f, ok := s.Frame(fingerprint)
	if !ok {
		return nil, session.Missing("that frame is not in this session any more")
	}
	pic, err := PictureIn(ctx, s.Session.Dir, f.Name, maxW, maxH)
	for _, pair := range f.Pairs {
		if err == nil {
			break
		}
		pic, err = PictureIn(ctx, s.Session.Dir, pair, maxW, maxH)
	}
	return pic, err
}
