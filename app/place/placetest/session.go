package placetest

import (
	"fmt"
	"time"

	"stillbench/session"
	"stillbench/session/desk"
)

// Builder makes up a session group by group.
type Builder struct {
	S  desk.Snapshot
	at time.Time
	n  int
}

// NewSession begins an empty session.
func NewSession() *Builder {
	return &Builder{S: desk.Snapshot{Version: 1, Session: session.Session{ID: 1, Dir: "/pictures/bench"}}, at: Began}
}

func ptr[T any](v T) *T { return &v }

// Group adds n frames of a kind after a pause, with the reasons of its seam.
func (b *Builder) Group(kind session.Kind, n int, reasons ...session.Reason) *Builder {
	b.at = b.at.Add(4 * time.Minute)
	g := session.Group{ID: int64(len(b.S.Groups) + 1), Kind: kind, Confidence: 0.9}
	if len(b.S.Groups) > 0 {
		g.Seam = &session.Seam{Reasons: reasons, Confidence: 0.9}
	}
	if k := len(b.S.Setups); k > 0 {
		g.SetupID = b.S.Setups[k-1].ID
	}
	for range n {
		b.n++
		b.at = b.at.Add(7 * time.Second)
		f := session.Frame{
			Name: fmt.Sprintf("A%04d.JPG", b.n), Fingerprint: fmt.Sprintf("fp%d", b.n), Modified: b.at,
			Figures: &session.Figures{Version: session.FiguresVersion},
			Meta: session.Meta{
				Container: "jpeg", Taken: b.at, FNumber: ptr(10.0), ShutterSeconds: ptr(1.0 / 6), ISO: ptr(100),
				FocalLengthMM: ptr(105.0), Width: ptr(6000), Height: ptr(4000), Orientation: ptr(1),
			},
		}
		b.S.Frames = append(b.S.Frames, f)
		g.Frames = append(g.Frames, f.Fingerprint)
		b.S.Newest = f.Fingerprint
	}
	b.S.Groups = append(b.S.Groups, g)
	b.S.Found, b.S.Read = b.n, b.n
	b.S.LastArrival = b.at
	return b
}

// Marker adds a marker frame.
func (b *Builder) Marker() *Builder {
	return b.Group(session.KindMarker, 1, session.Reason{Rule: session.RuleMarker, Detail: session.Say("a hand covers the lens")})
}

// Stack adds a stack that follows a marker.
func (b *Builder) Stack(n int, reasons ...session.Reason) *Builder {
	return b.Group(session.KindStack, n, append([]session.Reason{{Rule: session.RuleAfterMarker}}, reasons...)...)
}

// Setup logs a setup.
func (b *Builder) Setup(subject string, lights ...session.Light) *Builder {
	b.S.Setups = append(b.S.Setups, session.Setup{
		ID: int64(len(b.S.Setups) + 1), Subject: subject, Notes: "on a slate, window shut", Lights: lights,
	})
	return b
}

// Check gives the last group a verdict: every frame holds a bit more than its share of
// the depth.
func (b *Builder) Check(v session.Verdict, headline, advice string) *Builder {
	g := b.S.Groups[len(b.S.Groups)-1]
	c := &session.Check{Verdict: v, Headline: session.Say(headline), Advice: session.Say(advice), Sure: true, NearEnd: session.EndClosed, FarEnd: session.EndClosed}
	n := float64(len(g.Frames))
	for i, fp := range g.Frames {
		at := float64(i) / max(n-1, 1)
		near, far := at-0.6/n, at+0.6/n
		c.Frames = append(c.Frames, session.FrameCheck{Fingerprint: fp, Place: &at, Near: &near, Far: &far, Aligned: true})
	}
	if b.S.Checks == nil {
		b.S.Checks = map[int64]*session.Check{}
	}
	b.S.Checks[g.ID] = c
	return b
}

// Proof gives the last group a proof of all its frames, 960 x 640 pixels as stored, that
// lie exactly on it.
func (b *Builder) Proof() *Builder {
	g := b.S.Groups[len(b.S.Groups)-1]
	p := session.Proof{Key: fmt.Sprintf("proof of %d", g.ID), W: 960, H: 640, Turn: 1, Middle: len(g.Frames) / 2}
	for _, fp := range g.Frames {
		p.Frames = append(p.Frames, session.ProofFrame{Fingerprint: fp, Scale: 1, Gain: [3]float32{1, 1, 1}})
	}
	if b.S.Proofs == nil {
		b.S.Proofs = map[int64]session.Proof{}
	}
	b.S.Proofs[g.ID] = p
	return b
}

// LED is a panel with a diffuser from the back left, high; Card a white card from the
// front right.
func LED() session.Light {
	return session.Light{Kind: session.LightLED, AzimuthDeg: 225, ElevationDeg: 55, DistanceCM: ptr(40.0), Modifier: "diffuser"}
}

// Card is a white card from the front right, low.
func Card() session.Light {
	return session.Light{Kind: session.LightCard, AzimuthDeg: 70, ElevationDeg: 12, DistanceCM: ptr(25.0), Modifier: "white"}
}

// Lamp is a lamp from the right.
func Lamp() session.Light {
	return session.Light{Kind: session.LightLamp, AzimuthDeg: 95, ElevationDeg: 30, DistanceCM: ptr(35.0)}
}

// Afternoon is a session with something of everything.
func Afternoon() *Builder {
	turned := session.Reason{Rule: session.RuleTurned, Detail: session.Say("turned upright")}
	return NewSession().Setup("shell on sand", LED(), Card()).
		Group(session.KindTest, 2).Marker().Stack(13).
		Marker().Stack(21, session.Reason{Rule: session.RuleGap, Detail: session.Say("4 min pause")}).
		Group(session.KindSingle, 1, session.Reason{Rule: session.RuleSettings, Detail: session.Say("f/10 → f/3.5")}).
		Marker().Stack(12, turned).
		Marker().Stack(7)
}
