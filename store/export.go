package store

import (
	"bufio"
	"context"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"io"

	"stillbench/session"
)

// The first members of an export say what it is.
const (
	exportFormat  = "stillbench setup log"
	exportVersion = 1
)

// Export writes the whole log as JSON:
//
//	{"format": "stillbench setup log", "version": 1, "sessions": [ ... ], "gear": { ... }}
//
// Sessions hold their frames, groups, setups and edits (the records in record.go), gear
// what was told of cameras and lenses (gear.go).
// Figures are left out: they can be computed again from the photographs. What Import
// makes of it in an empty log is exported to the same bytes.
func (s *Store) Export(ctx context.Context, w io.Writer) error {
	return s.view(ctx, "export", func(tx *sql.Tx) error {
		b := bufio.NewWriter(w)
		fmt.Fprintf(b, "{\"format\": %q, \"version\": %d, \"sessions\": [", exportFormat, exportVersion)
		between := "\n"
		err := eachSession(ctx, tx, func(r sessionRecord) error {
			text, err := json.Marshal(r)
			if err != nil {
				return err
			}
			b.WriteString(between)
			between = ",\n"
			_, err = b.Write(text)
			return err
		})
		if err != nil {
			return err
		}
		gear, err := recordGear(ctx, tx)
		if err != nil {
			return err
		}
		text, err := json.Marshal(gear)
		if err != nil {
			return err
		}
		fmt.Fprintf(b, "\n], \"gear\": %s}\n", text)
		return b.Flush()
	})
}

// eachSession reads every session whole, one at a time, oldest first.
func eachSession(ctx context.Context, tx *sql.Tx, fn func(sessionRecord) error) error {
	var ids []int64
	err := each(ctx, tx, `SELECT id FROM sessions ORDER BY id`, nil, func(scan func(...any) error) error {
		ids = append(ids, 0)
		return scan(&ids[len(ids)-1])
	})
	if err != nil {
		return err
	}
	for _, id := range ids {
		r, err := recordSession(ctx, tx, id)
		if err != nil {
			return err
		}
		if err := fn(r); err != nil {
			return err
		}
	}
	return nil
}

// Import merges what Export wrote into the log, in one transaction; see Merge for what
// that means. A file that is none, is of a newer version (session.ErrNewerLog) or holds
// what cannot be (session.ErrInvalid) changes nothing.
func (s *Store) Import(ctx context.Context, r io.Reader) (Merged, error) {
	var m Merged
	err := s.change(ctx, "import", func(tx *sql.Tx) error {
		return decodeExport(bufio.NewReader(r),
			func(r sessionRecord) error { return m.session(ctx, tx, r) },
			func(r gearRecord) error { return m.gear(ctx, tx, r) })
	})
	if err != nil {
		return Merged{}, err
	}
	return m, nil
}

// decodeExport reads an export session by session, and what was told of gear.
func decodeExport(r io.Reader, fn func(sessionRecord) error, gear func(gearRecord) error) error {
	d := json.NewDecoder(r)
	broken := func(err error) error {
		if err == io.EOF {
			err = io.ErrUnexpectedEOF
		}
		return fmt.Errorf("%w: this is no whole export of a setup log (%w)", session.ErrInvalid, err)
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
		switch name {
		case "format":
			err = d.Decode(&format)
		case "version":
			err = d.Decode(&version)
		case "sessions":
			if format != exportFormat || version < 1 {
				return broken(errors.New("its format is not named"))
			}
			if version > exportVersion {
				return fmt.Errorf("%w: the export has version %d, this program knows up to %d", session.ErrNewerLog, version, exportVersion)
			}
			if err = expect('['); err != nil {
				return broken(err)
			}
			for d.More() {
				var r sessionRecord
				if err := d.Decode(&r); err != nil {
					return broken(err)
				}
				if err := fn(r); err != nil {
					return err
				}
			}
			err = expect(']')
		case "gear":
			if format != exportFormat {
				return broken(errors.New("its format is not named"))
			}
			var r gearRecord
			if err := d.Decode(&r); err != nil {
				return broken(err)
			}
			if err := gear(r); err != nil {
				return err
			}
		default:
			var skipped json.RawMessage // said by a later writer of this version
			err = d.Decode(&skipped)
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
