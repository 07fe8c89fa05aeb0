package store

import (
	"crypto/rand"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"fmt"
	"time"
)

// newUID names a thing across logs: 128 random bits in hexadecimal.
func newUID() string {
	var b [16]byte
	rand.Read(b[:]) // never fails (crypto/rand)
	return hex.EncodeToString(b[:])
}

// timeText writes a time with its offset, to the nanosecond.
func timeText(t time.Time) string { return t.Format(time.RFC3339Nano) }

// parseTime reads what timeText wrote.
func parseTime(s string) (time.Time, error) {
	t, err := time.Parse(time.RFC3339Nano, s)
	if err != nil {
		return time.Time{}, fmt.Errorf("the log holds %q where a time should stand", s)
	}
	// A time of this place comes back as one, so that it shows its zone's name.
	if local := t.Local(); local.Format(time.RFC3339Nano) == s {
		return local, nil
	}
	return t, nil
}

// reading is a time as its own clock showed it, in microseconds since 1970. Setups are
// searched by it: "on the 2nd of May" means the day at the table, wherever that stood
// and whether or not the camera wrote its zone down.
func reading(t time.Time) int64 {
	return time.Date(t.Year(), t.Month(), t.Day(), t.Hour(), t.Minute(), t.Second(), t.Nanosecond(), time.UTC).UnixMicro()
}

func nullFloat(v *float64) sql.NullFloat64 {
	if v == nil {
		return sql.NullFloat64{}
	}
	return sql.NullFloat64{Float64: *v, Valid: true}
}

func floatOrNil(v sql.NullFloat64) *float64 {
	if !v.Valid {
		return nil
	}
	return &v.Float64
}

func nullInt(v *int) sql.NullInt64 {
	if v == nil {
		return sql.NullInt64{}
	}
	return sql.NullInt64{Int64: int64(*v), Valid: true}
}

func intOrNil(v sql.NullInt64) *int {
	if !v.Valid {
		return nil
	}
	i := int(v.Int64)
	return &i
}

// nullID makes 0, which stands for none, a NULL.
func nullID(id int64) sql.NullInt64 { return sql.NullInt64{Int64: id, Valid: id != 0} }

// jsonText writes a list or a record; the types that come here always can be written.
func jsonText(v any) (string, error) {
	b, err := json.Marshal(v)
	return string(b), err
}
