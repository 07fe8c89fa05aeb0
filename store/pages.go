package store

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/binary"
	"errors"
	"math"

	"stillbench/session"
)

// perPage is how many setups have their records in one page.
const perPage = 64

// errIndex is given for a page that cannot be read. Its cause is not the photographer's.
var errIndex = session.Fail("the search index is damaged; restore a dated copy of the log")

// pageKind is a table of pages and the column of search_state that counts its changes.
type pageKind struct{ table, rev string }

var (
	facetPages = pageKind{"facet_pages", "facets"}
	wordPages  = pageKind{"word_pages", "words"}
)

// put writes the record of a setup, in place of the one it had; nil takes it away.
func (k pageKind) put(ctx context.Context, tx *sql.Tx, id int64, record []byte) error {
	var was []byte
	err := tx.QueryRowContext(ctx, `SELECT records FROM `+k.table+` WHERE page = ?`, id/perPage).Scan(&was)
	if err != nil && !errors.Is(err, sql.ErrNoRows) {
		return err
	}
	now := make([]byte, 0, len(was)+len(record)+8)
	err = eachRecord(id/perPage, was, func(other int64, data []byte) error {
		if other == id {
			if bytes.Equal(data, record) {
				record = nil // it stands already, and is kept where it is
			} else {
				return nil
			}
		}
		now = appendRecord(now, other, data)
		return nil
	})
	if err != nil {
		return err
	}
	if record != nil {
		now = appendRecord(now, id, record)
	}
	if bytes.Equal(now, was) {
		return nil
	}
	if _, err := tx.ExecContext(ctx, `UPDATE search_state SET `+k.rev+` = `+k.rev+` + 1`); err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT OR REPLACE INTO `+k.table+` (page, rev, records) SELECT ?, `+k.rev+`, ? FROM search_state`, id/perPage, now)
	return err
}

// changed calls fn for every page with a higher rev than given.
func (k pageKind) changed(ctx context.Context, tx *sql.Tx, since int64, fn func(page int64, records []byte) error) error {
	return each(ctx, tx, `SELECT page, records FROM `+k.table+` WHERE rev > ?`, []any{since}, func(scan func(...any) error) error {
		var page int64
		var records []byte
		if err := scan(&page, &records); err != nil {
			return err
		}
		return fn(page, records)
	})
}

// appendRecord writes a record as pages hold it: its place in the page (one byte), its
// length (uvarint), itself.
func appendRecord(b []byte, id int64, data []byte) []byte {
	b = append(b, byte(id%perPage))
	b = binary.AppendUvarint(b, uint64(len(data)))
	return append(b, data...)
}

// eachRecord takes a page apart.
func eachRecord(page int64, b []byte, fn func(id int64, data []byte) error) error {
	for len(b) > 0 {
		id := page*perPage + int64(b[0])
		n, size := binary.Uvarint(b[1:])
		if b[0] >= perPage || size <= 0 || n > uint64(len(b)-1-size) {
			return session.Fail("%s (page %d)", errIndex, page)
		}
		data := b[1+size : 1+size+int(n)]
		b = b[1+size+int(n):]
		if err := fn(id, data); err != nil {
			return err
		}
	}
	return nil
}

// recordReader reads the numbers of a record one after the other. What is not there is 0,
// and noted.
type recordReader struct {
	b      []byte
	broken bool
}

func (r *recordReader) uvarint() uint64 {
	if len(r.b) > 0 && r.b[0] < 0x80 { // most are small
		v := r.b[0]
		r.b = r.b[1:]
		return uint64(v)
	}
	v, n := binary.Uvarint(r.b)
	if n <= 0 {
		r.broken, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return v
}

func (r *recordReader) varint() int64 {
	v, n := binary.Varint(r.b)
	if n <= 0 {
		r.broken, r.b = true, nil
		return 0
	}
	r.b = r.b[n:]
	return v
}

func (r *recordReader) float() float64 {
	if len(r.b) < 8 {
		r.broken, r.b = true, nil
		return 0
	}
	v := math.Float64frombits(binary.LittleEndian.Uint64(r.b))
	r.b = r.b[8:]
	return v
}

// floats reads a number of floats behind those given.
func (r *recordReader) floats(list []float64) []float64 {
	for range r.count() {
		list = append(list, r.float())
	}
	return list
}

// count reads how many things follow, each at least a byte long.
func (r *recordReader) count() int {
	n := r.uvarint()
	if n > uint64(len(r.b)) {
		r.broken, r.b = true, nil
		return 0
	}
	return int(n)
}

func appendFloat(b []byte, v float64) []byte {
	return binary.LittleEndian.AppendUint64(b, math.Float64bits(v))
}
