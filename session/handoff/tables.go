package handoff

import (
	"bytes"
	"context"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"path"
	"strconv"
	"strings"
	"time"

	"stillbench/session"
)

// tablesFolder holds what Options.Tables asks for:
//
//	session.csv          a row a frame (RFC 4180, UTF-8, a row of names first)
//	session.json         the same rows, and the setups
//	FOLDER recipe.json   how a stack's frames lie on each other, to blend them again
//	FOLDER files.txt     its frames but for those set aside, one a line, absolute
const tablesFolder = "tables"

// SheetName is the contact sheet.
var SheetName = session.Say("contact sheet.pdf")

// papers makes sheet and tables.
func (d *doer) papers(ctx context.Context) error {
	p, m := d.plan, &d.plan.manifest
	if p.options.Tables {
		tables, err := d.tables()
		if err != nil {
			return err
		}
		m.Tables = nil
		for _, t := range tables {
			name, err := d.ownFile(path.Join(tablesFolder, t.name), t.data)
			if err != nil {
				return err
			}
			m.Tables = append(m.Tables, name)
		}
		d.r.Tables = m.Tables
	}
	if p.options.Sheet {
		var b bytes.Buffer
		stacks := p.source.Stacks(session.KindStack)
		of := digest(stacks, p.options.Paper)
		if m.Sheet != nil && of != "" && of == m.SheetOf {
			if st, err := os.Lstat(d.abs(*m.Sheet)); err == nil && st.Mode().IsRegular() {
				d.r.Sheet = *m.Sheet
				return nil
			}
		}
		s := Sheet{Stacks: stacks, Title: path.Base(p.source.Dir), Paper: p.options.Paper, Picture: p.options.Picture, Proof: p.options.Proof, Words: p.source.Words}
		if err := s.Write(ctx, &b, func(int, int) { d.step(1) }); err != nil {
			return stop(session.Fail("the contact sheet: %s", err))
		}
		name, err := d.ownFile(p.source.say(SheetName), b.Bytes())
		if err != nil {
			return err
		}
		m.Sheet, m.SheetOf, d.r.Sheet = &name, of, name
	}
	return nil
}

// digest is the SHA-256 of all that a sheet shows; "" when that cannot be written down.
func digest(stacks []Stack, paper string) string {
	data, err := json.Marshal(stacks)
	if err != nil {
		return ""
	}
	return hashText(append(data, paper...))
}

type table struct {
	name string
	data []byte
}

// tables are the files of tablesFolder, but for those of stacks that are not there.
func (d *doer) tables() ([]table, error) {
	rows := d.rows()
	all := struct {
		Dir    string      `json:"dir"`
		Frames []row       `json:"frames"`
		Setups []setupJSON `json:"setups"`
	}{d.plan.source.Dir, rows, []setupJSON{}}
	for _, s := range d.plan.source.Setups {
		all.Setups = append(all.Setups, setupOf(s))
	}
	j, err := indented(all)
	if err != nil {
		return nil, err
	}
	c, err := csvOf(rows)
	if err != nil {
		return nil, err
	}
	out := []table{{"session.csv", c}, {"session.json", j}}
	for _, k := range d.plan.Stacks {
		stack, ok := d.plan.stacks[k.ID]
		if k.State != Made || k.Kind != string(session.KindStack) || !ok {
			continue
		}
		r, err := indented(recipeOf(stack, k))
		if err != nil {
			return nil, err
		}
		name := strings.ReplaceAll(k.Folder, "/", " - ")
		out = append(out, table{ended(name, " recipe.json"), r}, table{ended(name, " files.txt"), d.list(k)})
	}
	return out, nil
}

// ended gives a name with an ending, shortened to what a file system holds.
func ended(name, ending string) string { return shorten(name, maxName-len(ending)) + ending }

func indented(v any) ([]byte, error) {
	var b bytes.Buffer
	enc := json.NewEncoder(&b)
	enc.SetEscapeHTML(false)
	enc.SetIndent("", " ")
	err := enc.Encode(v)
	return b.Bytes(), err
}

// list is a stack's frames, one a line.
func (d *doer) list(k Folder) []byte {
	var b bytes.Buffer
	for _, f := range k.Files {
		if f.Role == RoleFrame && !f.SetAside {
			b.WriteString(d.abs(f.To) + "\n")
		}
	}
	return b.Bytes()
}

// row is one frame in the tables; what is not known is null, and empty in CSV.
type row struct {
	File           string   `json:"file"`
	Pairs          []string `json:"pairs"`
	Kind           string   `json:"kind"`
	Number         int      `json:"number"`
	Name           *string  `json:"name"`
	Folder         *string  `json:"folder"`
	SetAside       bool     `json:"setAside"`
	Taken          *string  `json:"taken"`
	FNumber        *float64 `json:"fNumber"`
	ShutterSeconds *float64 `json:"shutterSeconds"`
	ISO            *int     `json:"iso"`
	FocalLengthMM  *float64 `json:"focalLengthMM"`
	Camera         *string  `json:"camera"`
	Lens           *string  `json:"lens"`
	Verdict        *string  `json:"verdict"` // on the frame's stack
	Place          *float64 `json:"place"`
	Sharp          *float64 `json:"sharp"`
	Blurred        *bool    `json:"blurred"`
	BlurPixels     *float64 `json:"blurPixels"`
	Setup          *int64   `json:"setup"`
	Subject        *string  `json:"subject"`
	Lights         []string `json:"lights"`
}

// rows are the session's frames in time order.
func (d *doer) rows() []row {
	folders := map[string]string{}
	for _, k := range d.plan.Stacks {
		for _, f := range k.Files {
			if f.Role == RoleFrame && k.State == Made {
				folders[f.Frame] = path.Dir(f.To)
			}
		}
	}
	var groups []Stack
	for _, kind := range []session.Kind{session.KindStack, session.KindMarker, session.KindSingle, session.KindTest} {
		groups = append(groups, d.plan.source.Stacks(kind)...)
	}
	by := map[string]row{}
	for _, k := range groups {
		for _, f := range k.Frames {
			by[f.Fingerprint] = rowOf(k, f, folders)
		}
	}
	out := []row{}
	for _, f := range d.plan.source.Frames {
		if r, ok := by[f.Fingerprint]; ok {
			out = append(out, r)
		}
	}
	return out
}

func rowOf(k Stack, f session.Frame, folders map[string]string) row {
	m := f.Meta
	r := row{
		File: strings.ToValidUTF8(f.Name, "\uFFFD"), Pairs: f.Pairs, Kind: string(k.Kind), Number: k.Number, Name: orNil(k.Name), SetAside: f.SetAside,
		FNumber: m.FNumber, ShutterSeconds: m.ShutterSeconds, ISO: m.ISO, FocalLengthMM: m.FocalLengthMM,
		Camera: orNil(strings.TrimSpace(m.Make + " " + m.Model)), Lens: orNil(m.Lens), Lights: []string{},
	}
	if r.Pairs == nil {
		r.Pairs = []string{}
	}
	if dir, ok := folders[r.File]; ok {
		r.Folder = &dir
	}
	if !m.Taken.IsZero() {
		at := m.Taken.Format("2006-01-02T15:04:05.999")
		if m.TakenHasOffset {
			at = m.Taken.Format("2006-01-02T15:04:05.999-07:00")
		}
		r.Taken = &at
	}
	if k.Check != nil {
		v := string(k.Check.Verdict)
		r.Verdict = &v
	}
	if c := k.FrameCheck(f.Fingerprint); c != nil {
		r.Place, r.Sharp, r.Blurred, r.BlurPixels = c.Place, &c.Sharp, &c.Blurred, &c.BlurPixels
	}
	if s := k.Setup; s != nil {
		r.Setup, r.Subject = &s.ID, orNil(s.Subject)
		for _, l := range s.Lights {
			r.Lights = append(r.Lights, l.Words())
		}
	}
	return r
}

func orNil(s string) *string {
	if s == "" {
		return nil
	}
	return &s
}

// csvOf writes rows as RFC 4180 has it: lines end with CR LF. Lists are joined by "; ". Names and
// subjects that a spreadsheet would run are guarded (session.Guarded); session.json has them as they are.
func csvOf(rows []row) ([]byte, error) {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	w.UseCRLF = true
	if err := w.Write([]string{
		"file", "pairs", "kind", "number", "name", "folder", "set_aside", "taken", "f_number", "shutter_s", "iso", "focal_length_mm",
		"camera", "lens", "verdict", "place", "sharp", "blurred", "blur_px", "setup", "subject", "lights",
	}); err != nil {
		return nil, err
	}
	for _, r := range rows {
		record := []string{
			r.File, strings.Join(r.Pairs, "; "), r.Kind, strconv.Itoa(r.Number), cell(r.Name), cell(r.Folder), strconv.FormatBool(r.SetAside),
			cell(r.Taken), cell(r.FNumber), cell(r.ShutterSeconds), cell(r.ISO), cell(r.FocalLengthMM), cell(r.Camera), cell(r.Lens),
			cell(r.Verdict), cell(r.Place), cell(r.Sharp), cell(r.Blurred), cell(r.BlurPixels), cell(r.Setup), cell(r.Subject), strings.Join(r.Lights, "; "),
		}
		for i, f := range record {
			record[i] = session.Guarded(f)
		}
		if err := w.Write(record); err != nil {
			return nil, err
		}
	}
	w.Flush()
	return b.Bytes(), w.Error()
}

func cell[T any](v *T) string {
	if v == nil {
		return ""
	}
	if f, ok := any(*v).(float64); ok {
		return strconv.FormatFloat(f, 'g', -1, 64)
	}
	return fmt.Sprint(*v)
}

type setupJSON struct {
	ID            int64       `json:"id"`
	Logged        string      `json:"logged"`
	Subject       *string     `json:"subject"`
	Background    *string     `json:"background"`
	Support       *string     `json:"support"`
	Lens          *string     `json:"lens"`
	Notes         *string     `json:"notes"`
	Tags          []string    `json:"tags"`
	Magnification *float64    `json:"magnification"`
	Lights        []lightJSON `json:"lights"`
}

type lightJSON struct {
	Kind         string   `json:"kind"`
	AzimuthDeg   float64  `json:"azimuthDeg"`
	ElevationDeg float64  `json:"elevationDeg"`
	DistanceCM   *float64 `json:"distanceCM"`
	Modifier     *string  `json:"modifier"`
	Power        *string  `json:"power"`
	ColourK      *int     `json:"colourK"`
	Side         string   `json:"side"`
	Height       string   `json:"height"`
}

func setupOf(s session.Setup) setupJSON {
	out := setupJSON{
		ID: s.ID, Logged: s.Logged.Format(time.RFC3339), Subject: orNil(s.Subject), Background: orNil(s.Background), Support: orNil(s.Support),
		Lens: orNil(s.Lens), Notes: orNil(s.Notes), Tags: s.Tags, Magnification: s.Magnification, Lights: []lightJSON{},
	}
	if out.Tags == nil {
		out.Tags = []string{}
	}
	for _, l := range s.Lights {
		out.Lights = append(out.Lights, lightJSON{
			string(l.Kind), l.AzimuthDeg, l.ElevationDeg, l.DistanceCM, orNil(l.Modifier), orNil(l.Power), l.ColourK, string(l.Side()), string(l.Height()),
		})
	}
	return out
}

// recipe says how a stack's frames lie on each other and how to blend them again.
type recipe struct {
	Format string `json:"format"` // "stillbench recipe 1"
	Stack  int    `json:"stack"`
	Title  string `json:"title"`
	Folder string `json:"folder"`
	// Reference is the frame that the others lie on, null where that is not known.
	Reference *string       `json:"reference"`
	Method    string        `json:"method"`
	Command   []string      `json:"command"`
	Wanted    session.Area  `json:"wanted"`
	Frames    []recipeFrame `json:"frames"`
	// Character is the one that suits the frames, null while no proof was made.
	Character *string `json:"character"`
	// TouchUps are the photographer's changes, in the order in which they lie on each other.
	TouchUps []touchUp `json:"touchUps"`
}

// touchUp is a part of the blend that is taken from one frame.
type touchUp struct {
	// File is null where that frame is not handed on.
	File *string `json:"file"`
	// Area is a polygon in 0..1 of the reference's width and height as stored, Soft how far
	// it fades into the blend around it, as a part of the diagonal.
	Area session.Area `json:"area"`
	Soft float64      `json:"soft"`
}

// recipeFrame is one frame of a recipe; its move is null where it could not be laid on the
// others.
type recipeFrame struct {
	File        string      `json:"file"`
	SHA256      *string     `json:"sha256"`
	Width       *int        `json:"width"`
	Height      *int        `json:"height"`
	ShiftPixels *[2]float64 `json:"shiftPixels"`
	Scale       *float64    `json:"scale"`
	TurnDegrees *float64    `json:"turnDegrees"`
	// BrightnessEV and ChannelEV (R, G, B) are against the reference.
	BrightnessEV *float64    `json:"brightnessEV"`
	ChannelEV    *[3]float64 `json:"channelEV"`
	Place        *float64    `json:"place"`
	Blurred      bool        `json:"blurred"`
}

const method = "A similarity a frame: a detail at p in the reference, measured from the picture's centre in full-size pixels as stored in the file " +
	"(x right, y down, before the orientation is applied), is at scale * R(turn) * p + shift in the frame, turn in degrees clockwise. " +
	"The command lays the frames on each other anew and takes each part from where it is sharpest; touch-ups are put over that."

func recipeOf(s Stack, k Folder) recipe {
	r := recipe{
		Format: "stillbench recipe 1", Stack: s.Number, Title: s.Title(), Folder: k.Folder, Method: method, Wanted: s.Wanted,
		Command: []string{"stillbench", "blend", "-o", path.Base(k.Folder) + ".tif", "--"}, Frames: []recipeFrame{}, TouchUps: []touchUp{},
	}
	files := map[string]File{}
	for _, f := range k.Files {
		if f.Role == RoleFrame {
			files[f.Frame] = f
		}
	}
	if s.Wanted == nil {
		r.Wanted = session.Area{}
	}
	if s.Proof != nil && s.Proof.Suits != "" {
		r.Character = &s.Proof.Suits
		r.Command = []string{"stillbench", "blend", "--character", s.Proof.Suits, "-o", path.Base(k.Folder) + ".tif", "--"}
	}
	middle := ""
	if s.Check != nil && len(s.Check.Frames) > 0 {
		middle = s.Check.Frames[len(s.Check.Frames)/2].Fingerprint
	}
	for _, f := range s.Kept() {
		file, ok := files[strings.ToValidUTF8(f.Name, "\uFFFD")]
		if !ok {
			continue
		}
		if f.Fingerprint == middle {
			r.Reference = &file.To
		}
		r.Command = append(r.Command, file.To)
		e := recipeFrame{File: file.To, SHA256: file.SHA256, Width: f.Meta.Width, Height: f.Meta.Height}
		if c := s.FrameCheck(f.Fingerprint); c != nil {
			e.Place, e.Blurred = c.Place, c.Blurred
			if c.Aligned {
				e.ShiftPixels, e.Scale, e.TurnDegrees = &c.Shift, &c.Scale, &c.TurnDegrees
				e.BrightnessEV, e.ChannelEV = &c.BrightnessEV, &c.ChannelEV
			}
		}
		r.Frames = append(r.Frames, e)
	}
	names := map[string]string{} // of frames, by fingerprint
	for _, f := range s.Frames {
		names[f.Fingerprint] = strings.ToValidUTF8(f.Name, "\uFFFD")
	}
	for _, t := range s.Touches {
		u := touchUp{Area: t.Area, Soft: t.Soft}
		if file, ok := files[names[t.From]]; ok {
			u.File = &file.To
		}
		r.TouchUps = append(r.TouchUps, u)
	}
	return r
}
