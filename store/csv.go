package store

import (
	"bufio"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"

	"stillbench/session"
)

// csvFiles are the tables of a CSV export with their columns. Columns named *_json hold
// lists or records as JSON. Those of frames.csv from taken to lens repeat what is in
// meta_json, for reading; they are not read back.
var csvFiles = []struct {
	name    string
	columns []string
	// later: exports of an older version have no such table.
	later bool
}{
	{name: "sessions.csv", columns: []string{"session", "dir", "started"}},
	{name: "frames.csv", columns: []string{"session", "fingerprint", "name", "pairs_json", "size", "modified", "set_aside", "gone",
		"taken", "f_number", "shutter_seconds", "iso", "focal_length_mm", "lens", "meta_version", "meta_json"}},
	{name: "groups.csv", columns: []string{"session", "group", "kind", "confidence", "question", "name", "setup", "frames_json", "seam_json"}},
	{name: "setups.csv", columns: []string{"session", "setup", "after_frame", "logged", "changed", "hidden",
		"subject", "background", "support", "lens", "notes", "magnification", "tags_json"}},
	{name: "lights.csv", columns: []string{"setup", "kind", "azimuth_deg", "elevation_deg", "distance_cm", "modifier", "power", "colour_k"}},
	{name: "edits.csv", columns: []string{"session", "edit", "kind", "frame", "group_kind", "text", "setup_json", "before_json", "area_json", "touch_json", "words", "made", "undone"}},
	{name: "cameras.csv", columns: []string{"make", "model", "sensor_width_mm", "sensor_height_mm", "changed"}, later: true},
	{name: "lenses.csv", columns: []string{"lens", "pupil_magnification", "changed"}, later: true},
	{name: "circle.csv", columns: []string{"convention", "mm", "changed"}, later: true},
	{name: "blends.csv", columns: []string{"session", "frame", "file", "made"}, later: true},
	{name: "templates.csv", columns: []string{"name", "setup_json", "saved", "used"}, later: true},
	{name: "searches.csv", columns: []string{"name", "query_json", "used"}, later: true},
}

// ExportCSV writes the whole log into a folder as tables (RFC 4180: a header, CRLF after
// each record, quotes where they are needed): sessions.csv, frames.csv, groups.csv,
// setups.csv, lights.csv, edits.csv, cameras.csv, lenses.csv, circle.csv, blends.csv,
// templates.csv, searches.csv. A number that is not known is empty. A text that a spreadsheet
// would run as a formula has an apostrophe before it, which ImportCSV takes away. Each file has its name
// only when it is complete; one that was there is replaced. What Export leaves out is left
// out here too.
func (s *Store) ExportCSV(ctx context.Context, dir string, p session.Progress) error {
	return s.view(ctx, session.Say("export to %s", dir), func(tx *sql.Tx) (err error) {
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return err
		}
		part, err := os.MkdirTemp(dir, partPrefix)
		if err != nil {
			return err
		}
		defer os.RemoveAll(part)
		out := map[string]*bufio.Writer{}
		var files []*os.File
		defer func() {
			for _, f := range files {
				f.Close() // a second time where all went well
			}
		}()
		for _, t := range csvFiles {
			f, err := os.Create(filepath.Join(part, t.name))
			if err != nil {
				return err
			}
			files = append(files, f)
			out[t.name] = bufio.NewWriter(f)
			writeCSV(out[t.name], t.columns)
		}
		err = takeOut(ctx, tx, p, parts{
			session: func(r sessionRecord) error { return csvSession(out, r) },
			gear:    func(r gearRecord) error { csvGear(out, r); return nil },
			kept:    func(r keptRecord) error { return csvKept(out, r) },
		})
		if err != nil {
			return err
		}
		for i, t := range csvFiles {
			if err := errors.Join(out[t.name].Flush(), files[i].Sync(), files[i].Close()); err != nil {
				return err
			}
		}
		for _, t := range csvFiles {
			if err := os.Rename(filepath.Join(part, t.name), filepath.Join(dir, t.name)); err != nil {
				return err
			}
		}
		return nil
	})
}

func csvSession(out map[string]*bufio.Writer, r sessionRecord) error {
	var failed error
	text := func(v any) string {
		b, err := json.Marshal(v)
		failed = errors.Join(failed, err)
		return string(b)
	}
	writeCSV(out["sessions.csv"], []string{r.UID, r.Dir, r.Started})
	for _, f := range r.Frames {
		var m session.Meta
		failed = errors.Join(failed, json.Unmarshal(f.Meta, &m))
		taken := ""
		if !m.Taken.IsZero() {
			taken = timeText(m.Taken)
		}
		writeCSV(out["frames.csv"], []string{r.UID, f.Fingerprint, f.Name, text(f.Pairs), strconv.FormatInt(f.Size, 10), f.Modified,
			strconv.FormatBool(f.SetAside), strconv.FormatBool(f.Gone), taken, floatText(m.FNumber), floatText(m.ShutterSeconds), intText(m.ISO),
			floatText(m.FocalLengthMM), m.Lens, strconv.Itoa(f.MetaVersion), string(f.Meta)})
	}
	for _, g := range r.Groups {
		writeCSV(out["groups.csv"], []string{r.UID, strconv.FormatInt(g.ID, 10), string(g.Kind), floatText(&g.Confidence), g.Question, g.Name,
			g.Setup, text(g.Frames), text(g.Seam)})
	}
	for _, v := range r.Setups {
		writeCSV(out["setups.csv"], []string{r.UID, v.UID, v.AfterFrame, v.Logged, v.Changed, strconv.FormatBool(v.Hidden),
			v.Subject, v.Background, v.Support, v.Lens, v.Notes, floatText(v.Magnification), text(v.Tags)})
		for _, l := range v.Lights {
			writeCSV(out["lights.csv"], []string{v.UID, string(l.Kind), floatText(&l.AzimuthDeg), floatText(&l.ElevationDeg),
				floatText(l.DistanceCM), l.Modifier, l.Power, intText(l.ColourK)})
		}
	}
	for _, e := range r.Edits {
		writeCSV(out["edits.csv"], []string{r.UID, e.UID, string(e.Kind), e.Frame, string(e.Group), e.Text, text(e.Setup), text(e.Before),
			text(e.Area), text(e.Touch), e.Words, e.Made, strconv.FormatBool(e.Undone)})
	}
	for _, b := range r.Blends {
		writeCSV(out["blends.csv"], []string{r.UID, b.Frame, b.File, b.Made})
	}
	return failed
}

func csvKept(out map[string]*bufio.Writer, r keptRecord) error {
	for _, t := range r.Templates {
		text, err := jsonText(t.Setup)
		if err != nil {
			return err
		}
		used := ""
		if t.Used != nil {
			used = *t.Used
		}
		writeCSV(out["templates.csv"], []string{t.Name, text, t.Saved, used})
	}
	for _, k := range r.Searches {
		text, err := jsonText(k.Query)
		if err != nil {
			return err
		}
		writeCSV(out["searches.csv"], []string{k.Name, text, k.Used})
	}
	return nil
}

func csvGear(out map[string]*bufio.Writer, r gearRecord) {
	for _, c := range r.Cameras {
		writeCSV(out["cameras.csv"], []string{c.Make, c.Model, floatText(c.SensorWidthMM), floatText(c.SensorHeightMM), c.Changed})
	}
	for _, l := range r.Lenses {
		writeCSV(out["lenses.csv"], []string{l.Name, floatText(l.PupilMagnification), l.Changed})
	}
	if c := r.Circle; c != nil {
		writeCSV(out["circle.csv"], []string{c.Convention, floatText(c.MM), c.Changed})
	}
}

// ImportCSV merges what ExportCSV wrote into a folder into the log, as Import does.
// Columns are found by their names, in any order; more may stand beside them.
func (s *Store) ImportCSV(ctx context.Context, dir string, p session.Progress) (session.Merged, error) {
	var m merger
	err := s.change(ctx, session.Say("import from %s", dir), func(tx *sql.Tx) error {
		sessions, gear, kept, err := csvRecords(dir)
		if err != nil {
			return err
		}
		for i, r := range sessions {
			if err := m.session(ctx, tx, *r); err != nil {
				return err
			}
			p.Tell(i+1, len(sessions))
		}
		if err := m.gear(ctx, tx, gear); err != nil {
			return err
		}
		return m.kept(ctx, tx, kept)
	})
	if err != nil {
		return session.Merged{}, err
	}
	return m.Merged, nil
}

// csvRecords reads a folder of tables.
func csvRecords(dir string) (sessions []*sessionRecord, gear gearRecord, kept keptRecord, err error) {
	byUID := map[string]*sessionRecord{}
	setupAt := map[string]struct {
		session *sessionRecord
		i       int
	}{}
	// owner finds the session of a row.
	owner := func(r csvRow) *sessionRecord {
		s := byUID[r.text("session")]
		if s == nil {
			r.fail("session", session.Fail("no such session in sessions.csv"))
			return &sessionRecord{}
		}
		return s
	}
	for _, t := range csvFiles {
		err := readCSVFile(filepath.Join(dir, t.name), t.columns, func(r csvRow) {
			switch t.name {
			case "sessions.csv":
				s := &sessionRecord{UID: r.text("session"), Dir: r.text("dir"), Started: r.text("started")}
				sessions = append(sessions, s)
				byUID[s.UID] = s
			case "frames.csv":
				s := owner(r)
				f := frameRecord{Fingerprint: r.text("fingerprint"), Name: r.text("name"), Size: r.integer("size"), Modified: r.text("modified"),
					SetAside: r.truth("set_aside"), Gone: r.truth("gone"), MetaVersion: int(r.integer("meta_version")), Meta: json.RawMessage(r.text("meta_json"))}
				r.decode("pairs_json", &f.Pairs)
				s.Frames = append(s.Frames, f)
			case "groups.csv":
				s := owner(r)
				g := groupRecord{ID: r.integer("group"), Kind: session.Kind(r.text("kind")), Question: r.text("question"), Name: r.text("name"), Setup: r.text("setup")}
				if c := r.number("confidence"); c != nil {
					g.Confidence = *c
				}
				r.decode("frames_json", &g.Frames)
				r.decode("seam_json", &g.Seam)
				s.Groups = append(s.Groups, g)
			case "setups.csv":
				s := owner(r)
				v := setupRecord{UID: r.text("setup"), AfterFrame: r.text("after_frame"), Logged: r.text("logged"), Changed: r.text("changed"), Hidden: r.truth("hidden"),
					Subject: r.text("subject"), Background: r.text("background"), Support: r.text("support"), Lens: r.text("lens"), Notes: r.text("notes"),
					Magnification: r.number("magnification")}
				r.decode("tags_json", &v.Tags)
				s.Setups = append(s.Setups, v)
				at := setupAt[v.UID]
				at.session, at.i = s, len(s.Setups)-1
				setupAt[v.UID] = at
			case "lights.csv":
				at, ok := setupAt[r.text("setup")]
				if !ok {
					r.fail("setup", session.Fail("no such setup in setups.csv"))
					return
				}
				l := lightRecord{Kind: session.LightKind(r.text("kind")), DistanceCM: r.number("distance_cm"), Modifier: r.text("modifier"), Power: r.text("power")}
				for column, to := range map[string]*float64{"azimuth_deg": &l.AzimuthDeg, "elevation_deg": &l.ElevationDeg} {
					v := r.number(column)
					if v == nil {
						r.fail(column, session.Fail("a number is missing"))
						return
					}
					*to = *v
				}
				if r.text("colour_k") != "" {
					k := int(r.integer("colour_k"))
					l.ColourK = &k
				}
				v := &at.session.Setups[at.i]
				v.Lights = append(v.Lights, l)
			case "edits.csv":
				s := owner(r)
				e := editRecord{UID: r.text("edit"), Kind: session.EditKind(r.text("kind")), Frame: r.text("frame"), Group: session.Kind(r.text("group_kind")),
					Text: r.text("text"), Words: r.text("words"), Made: r.text("made"), Undone: r.truth("undone")}
				r.decode("setup_json", &e.Setup)
				r.decode("before_json", &e.Before)
				r.decode("area_json", &e.Area)
				r.decode("touch_json", &e.Touch)
				s.Edits = append(s.Edits, e)
			case "cameras.csv":
				gear.Cameras = append(gear.Cameras, cameraRecord{r.text("make"), r.text("model"), r.number("sensor_width_mm"), r.number("sensor_height_mm"), r.text("changed")})
			case "lenses.csv":
				gear.Lenses = append(gear.Lenses, lensRecord{r.text("lens"), r.number("pupil_magnification"), r.text("changed")})
			case "circle.csv":
				gear.Circle = &circleRecord{r.text("convention"), r.number("mm"), r.text("changed")}
			case "blends.csv":
				s := owner(r)
				s.Blends = append(s.Blends, blendRecord{r.text("frame"), r.text("file"), r.text("made")})
			case "templates.csv":
				t := templateRecord{Name: r.text("name"), Saved: r.text("saved")}
				r.decode("setup_json", &t.Setup)
				if used := r.text("used"); used != "" {
					t.Used = &used
				}
				kept.Templates = append(kept.Templates, t)
			case "searches.csv":
				k := searchRecord{Name: r.text("name"), Used: r.text("used")}
				r.decode("query_json", &k.Query)
				kept.Searches = append(kept.Searches, k)
			}
		})
		if t.later && errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, gear, kept, session.Fail("%s: %s", filepath.Join(dir, t.name), err)
		}
	}
	return sessions, gear, kept, nil
}

// csvRow is one record of a table. What cannot be read is noted, and ends the reading.
type csvRow struct {
	at     map[string]int
	fields []string
	line   int
	failed *error
}

func (r csvRow) text(column string) string { return r.fields[r.at[column]] }

func (r csvRow) fail(column string, err error) {
	if err != nil && *r.failed == nil {
		*r.failed = session.Refuse("record %d, %s: %s", r.line, column, err)
	}
}

func (r csvRow) integer(column string) int64 {
	v, err := strconv.ParseInt(r.text(column), 10, 64)
	r.fail(column, err)
	return v
}

func (r csvRow) truth(column string) bool {
	v, err := strconv.ParseBool(r.text(column))
	r.fail(column, err)
	return v
}

// number is nil where nothing stands.
func (r csvRow) number(column string) *float64 {
	if r.text(column) == "" {
		return nil
	}
	v, err := strconv.ParseFloat(r.text(column), 64)
	r.fail(column, err)
	return &v
}

func (r csvRow) decode(column string, to any) {
	r.fail(column, json.Unmarshal([]byte(r.text(column)), to))
}

// readCSVFile calls fn for each record of a table that has all the columns.
func readCSVFile(path string, columns []string, fn func(csvRow)) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	b := bufio.NewReader(f)
	head, err := readCSV(b)
	if err != nil {
		return err
	}
	at := map[string]int{}
	for i, name := range head {
		at[strings.TrimPrefix(name, "\uFEFF")] = i // a byte order mark, from a spreadsheet
	}
	for _, name := range columns {
		if _, ok := at[name]; !ok {
			return session.Refuse("the column %s is missing", name)
		}
	}
	for line := 1; ; line++ {
		fields, err := readCSV(b)
		if err == io.EOF {
			return nil
		}
		if err == nil && len(fields) != len(head) {
			err = session.Refuse("%d fields where the header has %d", len(fields), len(head))
		}
		if err != nil {
			return session.Fail("record %d: %s", line, err)
		}
		for i, f := range fields {
			fields[i] = unguarded(f)
		}
		var failed error
		fn(csvRow{at, fields, line, &failed})
		if failed != nil {
			return failed
		}
	}
}

// unguarded takes away what session.Guarded has put before a field, and nothing else: the tables of older
// versions have no such apostrophes, and an apostrophe before a letter is the photographer's.
func unguarded(f string) string {
	if rest, ok := strings.CutPrefix(f, "'"); ok && session.Guarded(rest) != rest {
		return rest
	}
	return f
}

// writeCSV writes one record (RFC 4180, 2) in which no field is run. encoding/csv changes the line ends within
// fields, which would not come back as they were.
func writeCSV(w *bufio.Writer, fields []string) {
	for i, f := range fields {
		if i > 0 {
			w.WriteByte(',')
		}
		f = session.Guarded(f)
		if strings.ContainsAny(f, "\",\r\n") {
			f = `"` + strings.ReplaceAll(f, `"`, `""`) + `"`
		}
		w.WriteString(f)
	}
	w.WriteString("\r\n")
}

// readCSV reads one record (RFC 4180, 2), which may also end in a bare line feed; io.EOF
// when there is none.
func readCSV(r *bufio.Reader) ([]string, error) {
	broken := session.Refuse("a quote stands where none may")
	var fields []string
	var field []byte
	if _, err := r.Peek(1); err != nil {
		return nil, err
	}
	for quoted, closed := false, false; ; {
		c, err := r.ReadByte()
		if err == io.EOF {
			if quoted && !closed {
				return nil, session.Refuse("a quote is not closed")
			}
			return append(fields, string(field)), nil
		}
		if err != nil {
			return nil, err
		}
		switch {
		case quoted && !closed && c != '"':
			field = append(field, c)
		case quoted && !closed:
			if next, _ := r.Peek(1); len(next) == 1 && next[0] == '"' {
				r.ReadByte()
				field = append(field, '"')
				continue
			}
			closed = true
		case c == '"' && len(field) == 0 && !quoted:
			quoted = true
		case c == '"':
			return nil, broken
		case c == ',':
			fields, field = append(fields, string(field)), field[:0]
			quoted, closed = false, false
		case c == '\n':
			return append(fields, string(field)), nil
		case c == '\r':
			if next, _ := r.Peek(1); len(next) == 1 && next[0] != '\n' {
				return nil, session.Refuse("a carriage return stands where none may")
			}
		case closed:
			return nil, broken
		default:
			field = append(field, c)
		}
	}
}

func floatText(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'g', -1, 64)
}

func intText(v *int) string {
	if v == nil {
		return ""
	}
	return strconv.Itoa(*v)
}
