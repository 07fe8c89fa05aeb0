package store

import (
	"bufio"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"

	"stillbench/session"
)

// The first members of an export say what it is.
const (
	exportFormat  = "stillbench setup log"
	exportVersion = 1
)

// Export writes the whole log as JSON:
//
//	{"format": "stillbench setup log", "version": 1, "sessions": [ ... ], "gear": { ... }, "kept": { ... }}
//
// Sessions hold their frames, groups, setups, edits and blends (the records in record.go),
// gear what was told of cameras and lenses (gear.go), kept the templates and the searches
// that have a name. Figures are left out: they can be computed again from the photographs;
// so are recent searches. What Import makes of it in an empty log is exported to the same
// bytes.
func (s *Store) Export(ctx context.Context, w io.Writer, p session.Progress) error {
	return s.view(ctx, session.Say("export"), func(tx *sql.Tx) error {
		b := bufio.NewWriter(w)
		fmt.Fprintf(b, "{\"format\": %q, \"version\": %d, \"sessions\": [", exportFormat, exportVersion)
		write := func(before string, record any) error {
			text, err := json.Marshal(record)
			if err != nil {
				return err
			}
			b.WriteString(before)
			_, err = b.Write(text)
			return err
		}
		between := "\n"
		err := takeOut(ctx, tx, p, parts{
			session: func(r sessionRecord) error {
				defer func() { between = ",\n" }()
				return write(between, r)
			},
			gear: func(r gearRecord) error { return write("\n], \"gear\": ", r) },
			kept: func(r keptRecord) error { return write(", \"kept\": ", r) },
		})
		if err != nil {
			return err
		}
		b.WriteString("}\n")
		return b.Flush()
	})
}

// parts are what a log is made of, one function for each.
type parts struct {
	session func(sessionRecord) error // called for every session, oldest first
	gear    func(gearRecord) error    // called once, after them
	kept    func(keptRecord) error    // called once, last
}

// takeOut reads a whole log, one session at a time.
func takeOut(ctx context.Context, tx *sql.Tx, p session.Progress, to parts) error {
	var ids []int64
	err := each(ctx, tx, `SELECT id FROM sessions ORDER BY id`, nil, func(scan func(...any) error) error {
		ids = append(ids, 0)
		return scan(&ids[len(ids)-1])
	})
	if err != nil {
		return err
	}
	for i, id := range ids {
		r, err := recordSession(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := to.session(r); err != nil {
			return err
		}
		p.Tell(i+1, len(ids))
	}
	gear, err := recordGear(ctx, tx)
	if err != nil {
		return err
	}
	if err := to.gear(gear); err != nil {
		return err
	}
	kept, err := recordKept(ctx, tx)
	if err != nil {
		return err
	}
	return to.kept(kept)
}

// Import merges what Export wrote into the log, in one transaction; see Merge for what
// that means. A file that is none, is of a newer version (session.ErrNewerLog) or holds
// what cannot be (session.ErrInvalid) changes nothing.
func (s *Store) Import(ctx context.Context, r io.Reader) (session.Merged, error) {
	var m merger
	err := s.change(ctx, session.Say("import"), func(tx *sql.Tx) error {
		return decodeExport(bufio.NewReader(r), m.into(ctx, tx))
	})
	if err != nil {
		return session.Merged{}, err
	}
	return m.Merged, nil
}

// ExportTo writes the whole log to a file, as Export does, where the name ends in .json, and
// else to a folder of tables, as ExportCSV does. A file has its name only when it is
// complete; one that was there is replaced. Progress counts sessions.
func (s *Store) ExportTo(ctx context.Context, path string, p session.Progress) error {
	if !isJSON(path) {
		return s.ExportCSV(ctx, path, p)
	}
	fail := func(err error) error { return session.Fail("export to %s: %s", path, err) }
	part, err := os.MkdirTemp(filepath.Dir(path), partPrefix)
	if err != nil {
		return fail(err)
	}
	defer os.RemoveAll(part)
	f, err := os.Create(filepath.Join(part, filepath.Base(path))) // as the user's umask has it
	if err != nil {
		return fail(err)
	}
	if err = s.Export(ctx, f, p); err == nil {
		err = f.Sync()
	}
	if err = errors.Join(err, f.Close()); err != nil {
		return fail(err)
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return fail(err)
	}
	return nil
}

// ImportFrom merges what ExportTo wrote into the log, in one transaction. Progress counts
// kilobytes of a file, or sessions of a folder.
func (s *Store) ImportFrom(ctx context.Context, path string, p session.Progress) (session.Merged, error) {
	info, err := os.Stat(path)
	if err == nil && info.IsDir() {
		return s.ImportCSV(ctx, path, p)
	}
	var f *os.File
	if err == nil {
		f, err = os.Open(path)
	}
	if err != nil {
		return session.Merged{}, session.Fail("import: %s", err)
	}
	defer f.Close()
	m, err := s.Import(ctx, &told{r: f, p: p, total: int(info.Size() >> 10)})
	if err != nil {
		err = session.Fail("%s: %s", path, err)
	}
	return m, err
}

func isJSON(path string) bool { return strings.EqualFold(filepath.Ext(path), ".json") }

// told tells how much of a file was read.
type told struct {
	r     io.Reader
	p     session.Progress
	read  int64
	total int // kilobytes
}

func (t *told) Read(b []byte) (int, error) {
	n, err := t.r.Read(b)
	t.read += int64(n)
	t.p.Tell(int(t.read>>10), t.total)
	return n, err
}

// decodeExport reads an export part by part.
func decodeExport(r io.Reader, to parts) error {
	d := json.NewDecoder(r)
	broken := func(err error) error {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return session.Refuse("this is no whole export of a setup log (%s)", err)
	}
	expect := func(want json.Delim) error {
		t, err := d.Token()
		if err == nil && t != want {
			err = fmt.Errorf("%v where %v should stand", t, want)
		}
		return err
	}
	if err := expect('{'); err != nil {
		return broken(err)
	}
	format, version := "", 0
	for d.More() {
		name, err := d.Token()
		if err != nil {
			return broken(err)
		}
		if name != "format" && name != "version" && (format != exportFormat || version < 1) {
			return broken(errors.New("its format is not named"))
		}
		if version > exportVersion {
			return session.Fail("%s: the export has version %d, this program knows up to %d", session.ErrNewerLog, version, exportVersion)
		}
		var failed error // by the log, not by the file
		switch name {
		case "format":
			err = d.Decode(&format)
		case "version":
			err = d.Decode(&version)
		case "sessions":
			err = expect('[')
			for err == nil && failed == nil && d.More() {
				err, failed = decodePart(d, to.session)
			}
			if err == nil && failed == nil {
				err = expect(']')
			}
		case "gear":
			err, failed = decodePart(d, to.gear)
		case "kept":
			err, failed = decodePart(d, to.kept)
		default:
			var skipped json.RawMessage // said by a later writer of this version
			err = d.Decode(&skipped)
		}
		if failed != nil {
			return failed
		}
		if err != nil {
			return broken(err)
		}
	}
	if err := expect('}'); err != nil {
		return broken(err)
	}
	return nil
}

// decodePart reads one record and hands it on; failed is what became of that.
func decodePart[T any](d *json.Decoder, to func(T) error) (err, failed error) {
	var r T
	if err := d.Decode(&r); err != nil {
		return err, nil
	}
	return nil, to(r)
}
