package store

import (
	"stillbench/session"
)

// setupRecord is a setup as JSON. ID is its number in this log, UID its name across logs;
// an edit keeps the first, an export the second.
type setupRecord struct {
	ID            int64         `json:"id,omitempty"`
	UID           string        `json:"uid,omitempty"`
	AfterFrame    string        `json:"afterFrame"`
	Logged        string        `json:"logged"`
	Changed       string        `json:"changed,omitempty"`
	Hidden        bool          `json:"hidden,omitempty"`
	Subject       string        `json:"subject"`
	Background    string        `json:"background"`
	Support       string        `json:"support"`
	Lens          string        `json:"lens"`
	Notes         string        `json:"notes"`
	Magnification *float64      `json:"magnification"`
	Tags          []string      `json:"tags"`
	Lights        []lightRecord `json:"lights"`
}

// lightRecord is a light as JSON.
type lightRecord struct {
	Kind         session.LightKind `json:"kind"`
	AzimuthDeg   float64           `json:"azimuthDeg"`
	ElevationDeg float64           `json:"elevationDeg"`
	DistanceCM   *float64          `json:"distanceCM"`
	Modifier     string            `json:"modifier"`
	Power        string            `json:"power"`
	ColourK      *int              `json:"colourK"`
}

func recordOf(s session.Setup) setupRecord {
	r := setupRecord{
		ID: s.ID, AfterFrame: s.AfterFrame, Logged: timeText(s.Logged),
		Subject: s.Subject, Background: s.Background, Support: s.Support, Lens: s.Lens, Notes: s.Notes,
		Magnification: s.Magnification, Tags: nonNil(s.Tags), Lights: make([]lightRecord, len(s.Lights)),
	}
	for i, l := range s.Lights {
		r.Lights[i] = lightRecord(l)
	}
	return r
}

// setup gives the setup back; the session it belongs to is not part of a record.
func (r setupRecord) setup() (session.Setup, error) {
	logged, err := parseTime(r.Logged)
	if err != nil {
		return session.Setup{}, err
	}
	s := session.Setup{
		ID: r.ID, AfterFrame: r.AfterFrame, Logged: logged,
		Subject: r.Subject, Background: r.Background, Support: r.Support, Lens: r.Lens, Notes: r.Notes,
		Magnification: r.Magnification,
	}
	s.Tags = append(s.Tags, r.Tags...)
	for _, l := range r.Lights {
		s.Lights = append(s.Lights, session.Light(l))
	}
	return s, nil
}
