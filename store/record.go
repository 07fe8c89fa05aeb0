package store

import (
	"context"
	"database/sql"
	"encoding/json"

	"stillbench/session"
)

// The records are the log as JSON. Things name each other by uid, and frames by
// fingerprint, so that a record means the same in every log. Times are RFC 3339 with
// their offset; what is not known is null.

type sessionRecord struct {
	UID     string        `json:"uid"`
	Dir     string        `json:"dir"`
	Started string        `json:"started"`
	Frames  []frameRecord `json:"frames"`
	Groups  []groupRecord `json:"groups"` // in time order
	Setups  []setupRecord `json:"setups"` // oldest first
	Edits   []editRecord  `json:"edits"`  // oldest first
	Blends  []blendRecord `json:"blends,omitempty"`
}

type frameRecord struct {
	Fingerprint string          `json:"fingerprint"`
	Name        string          `json:"name"`
	Pairs       []string        `json:"pairs"`
	Size        int64           `json:"size"`
	Modified    string          `json:"modified"`
	SetAside    bool            `json:"setAside"`
	Gone        bool            `json:"gone"`
	MetaVersion int             `json:"metaVersion"`
	Meta        json.RawMessage `json:"meta"`
}

type groupRecord struct {
	ID         int64        `json:"id"`
	Kind       session.Kind `json:"kind"`
	Confidence float64      `json:"confidence"`
	Question   string       `json:"question"`
	Name       string       `json:"name"`
	Setup      string       `json:"setup"`  // uid, "" for none
	Frames     []string     `json:"frames"` // fingerprints, in time order
	Seam       *seamRecord  `json:"seam"`
}

type seamRecord struct {
	Confidence float64        `json:"confidence"`
	Reasons    []reasonRecord `json:"reasons"`
}

type reasonRecord struct {
	Rule   session.Rule `json:"rule"`
	Detail string       `json:"detail"`
}

// setupRecord is a setup. In the log, an edit keeps it under its number there; outside, it
// is known by uid.
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

type lightRecord struct {
	Kind         session.LightKind `json:"kind"`
	AzimuthDeg   float64           `json:"azimuthDeg"`
	ElevationDeg float64           `json:"elevationDeg"`
	DistanceCM   *float64          `json:"distanceCM"`
	Modifier     string            `json:"modifier"`
	Power        string            `json:"power"`
	ColourK      *int              `json:"colourK"`
}

type editRecord struct {
	UID    string           `json:"uid"`
	Kind   session.EditKind `json:"kind"`
	Frame  string           `json:"frame"` // fingerprint
	Group  session.Kind     `json:"group"`
	Text   string           `json:"text"`
	Setup  *setupRecord     `json:"setup"`
	Before *setupRecord     `json:"before"`
	Area   session.Area     `json:"area,omitempty"`
	Touch  *session.Touch   `json:"touch,omitempty"`
	Words  string           `json:"words"`
	Made   string           `json:"made"`
	Undone bool             `json:"undone"`
}

// blendRecord is a file that the stack beginning with a frame was blended into.
type blendRecord struct {
	Frame string `json:"frame"` // fingerprint
	File  string `json:"file"`
	Made  string `json:"made"`
}

// keptRecord is what the photographer kept by name.
type keptRecord struct {
	Templates []templateRecord `json:"templates"`
	Searches  []searchRecord   `json:"searches"`
}

type templateRecord struct {
	Name  string      `json:"name"`
	Setup setupRecord `json:"setup"`
	Saved string      `json:"saved"`
	Used  *string     `json:"used"`
}

type searchRecord struct {
	Name  string             `json:"name"`
	Query session.SetupQuery `json:"query"`
	Used  string             `json:"used"`
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

// group gives the group back; ids are the setups of the log by uid.
func (r groupRecord) group(ids map[string]int64) session.Group {
	g := session.Group{
		ID: r.ID, Kind: r.Kind, Confidence: r.Confidence, Question: session.Text{Form: r.Question}, Name: r.Name,
		SetupID: ids[r.Setup], Frames: r.Frames,
	}
	if r.Seam != nil {
		g.Seam = &session.Seam{Confidence: r.Seam.Confidence}
		for _, why := range r.Seam.Reasons {
			g.Seam.Reasons = append(g.Seam.Reasons, session.Reason{Rule: why.Rule, Detail: session.Text{Form: why.Detail}})
		}
	}
	return g
}

// recordSession reads a whole session; of s only the number is known.
func recordSession(ctx context.Context, tx *sql.Tx, id int64) (r sessionRecord, err error) {
	if err := tx.QueryRowContext(ctx, `SELECT uid, dir, started FROM sessions WHERE id = ?`, id).Scan(&r.UID, &r.Dir, &r.Started); err != nil {
		return r, err
	}
	if r.Frames, err = recordFrames(ctx, tx, id); err != nil {
		return r, err
	}
	uids := map[int64]string{}
	if r.Setups, err = recordSetups(ctx, tx, id, uids); err != nil {
		return r, err
	}
	if r.Groups, err = recordGroups(ctx, tx, id, uids); err != nil {
		return r, err
	}
	if r.Edits, err = recordEdits(ctx, tx, id, uids); err != nil {
		return r, err
	}
	err = each(ctx, tx, `SELECT frame, file, made FROM blends WHERE session_id = ? ORDER BY file`, []any{id}, func(scan func(...any) error) error {
		var b blendRecord
		err := scan(&b.Frame, &b.File, &b.Made)
		r.Blends = append(r.Blends, b)
		return err
	})
	return r, err
}

// recordKept reads the templates and the searches that have a name, by name.
func recordKept(ctx context.Context, tx *sql.Tx) (keptRecord, error) {
	r := keptRecord{Templates: []templateRecord{}, Searches: []searchRecord{}}
	templates, err := templatesWhere(ctx, tx, `true ORDER BY name`)
	if err != nil {
		return r, err
	}
	for _, t := range templates {
		k := templateRecord{Name: t.Name, Setup: recordOf(t.Setup), Saved: timeText(t.Saved)}
		if !t.Used.IsZero() {
			used := timeText(t.Used)
			k.Used = &used
		}
		r.Templates = append(r.Templates, k)
	}
	searches, err := searchesWhere(ctx, tx, `name IS NOT NULL ORDER BY name`)
	for _, k := range searches {
		r.Searches = append(r.Searches, searchRecord{k.Name, k.Query, timeText(k.Used)})
	}
	return r, err
}

func recordFrames(ctx context.Context, tx *sql.Tx, id int64) ([]frameRecord, error) {
	out := []frameRecord{}
	err := each(ctx, tx, `SELECT fingerprint, name, pairs, size, modified, set_aside, gone, meta_version, meta
		FROM frames WHERE session_id = ? ORDER BY id`, []any{id}, func(scan func(...any) error) error {
		var f frameRecord
		var pairs, meta string
		if err := scan(&f.Fingerprint, &f.Name, &pairs, &f.Size, &f.Modified, &f.SetAside, &f.Gone, &f.MetaVersion, &meta); err != nil {
			return err
		}
		f.Meta = json.RawMessage(meta)
		out = append(out, f)
		return json.Unmarshal([]byte(pairs), &out[len(out)-1].Pairs)
	})
	return out, err
}

// recordSetups reads the setups of a session, hidden ones too, and fills in uids.
func recordSetups(ctx context.Context, tx *sql.Tx, id int64, uids map[int64]string) ([]setupRecord, error) {
	setups, err := setupsWhere(ctx, tx, `session_id = ? ORDER BY id`, id)
	if err != nil {
		return nil, err
	}
	out := make([]setupRecord, len(setups))
	at := map[int64]int{}
	for i, s := range setups {
		out[i] = recordOf(s)
		out[i].ID = 0
		at[s.ID] = i
	}
	err = each(ctx, tx, `SELECT id, uid, changed, hidden FROM setups WHERE session_id = ?`, []any{id}, func(scan func(...any) error) error {
		var id int64
		var uid, changed string
		var hidden bool
		if err := scan(&id, &uid, &changed, &hidden); err != nil {
			return err
		}
		uids[id] = uid
		r := &out[at[id]]
		r.UID, r.Changed, r.Hidden = uid, changed, hidden
		return nil
	})
	return out, err
}

func recordGroups(ctx context.Context, tx *sql.Tx, id int64, uids map[int64]string) ([]groupRecord, error) {
	groups, err := groupsOf(ctx, tx, id)
	if err != nil {
		return nil, err
	}
	out := make([]groupRecord, len(groups))
	for i, g := range groups {
		out[i] = groupRecord{
			ID: g.ID, Kind: g.Kind, Confidence: g.Confidence, Question: g.Question.String(), Name: g.Name,
			Setup: uids[g.SetupID], Frames: nonNil(g.Frames),
		}
		if g.Seam != nil {
			out[i].Seam = &seamRecord{Confidence: g.Seam.Confidence, Reasons: []reasonRecord{}}
			for _, why := range g.Seam.Reasons {
				out[i].Seam.Reasons = append(out[i].Seam.Reasons, reasonRecord{why.Rule, why.Detail.String()})
			}
		}
	}
	return out, nil
}

func recordEdits(ctx context.Context, tx *sql.Tx, id int64, uids map[int64]string) ([]editRecord, error) {
	edits, err := editsWhere(ctx, tx, `session_id = ? ORDER BY id`, id)
	if err != nil {
		return nil, err
	}
	record := func(s *session.Setup) *setupRecord {
		if s == nil {
			return nil
		}
		r := recordOf(*s)
		r.ID, r.UID = 0, uids[s.ID]
		return &r
	}
	out := make([]editRecord, len(edits))
	for i, e := range edits {
		out[i] = editRecord{
			Kind: e.Kind, Frame: e.Frame, Group: e.Group, Text: e.Text, Setup: record(e.Setup), Before: record(e.Before),
			Area: e.Area, Touch: e.Touch,
			Words: e.Words, Made: timeText(e.Made), Undone: e.Undone,
		}
	}
	i := 0
	err = each(ctx, tx, `SELECT uid FROM edits WHERE session_id = ? ORDER BY id`, []any{id}, func(scan func(...any) error) error {
		i++
		return scan(&out[i-1].UID)
	})
	return out, err
}
