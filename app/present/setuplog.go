package present

import (
	"fmt"
	"strings"
	"time"

	"stillbench/assets/words"
	"stillbench/session"
)

// CopyLine is a copy of the setup log in words.
type CopyLine struct {
	When string // "2 May, 14:05"
	Why  string // "daily copy"
	Size string // "120 kB"
}

// CopyOf puts a copy of the log into words.
func CopyOf(c session.LogCopy, now time.Time) CopyLine {
	made := c.Made.In(now.Location())
	out := CopyLine{When: fmt.Sprintf(words.LogCopyOfF, Date(made, now), ClockShort(made)), Why: words.CopyDaily}
	switch {
	case strings.HasPrefix(c.Why, "before-restore"):
		out.Why = words.CopyBeforeF
	case strings.HasPrefix(c.Why, "version-"):
		out.Why = words.CopyMigration
	case c.Why != "":
		out.Why = fmt.Sprintf(words.CopyUnknownWhyF, c.Why)
	}
	out.Size = fmt.Sprintf(words.KilobytesF, max(1, c.Size>>10))
	if c.Size >= 10<<20 {
		out.Size = fmt.Sprintf(words.MegabytesF, words.Decimal(float64(c.Size)/(1<<20)))
	}
	return out
}

// MergedWords says what a merge brought.
func MergedWords(m session.Merged) string {
	var out []string
	for _, c := range []struct {
		n         int
		one, many string
	}{
		{m.Sessions, words.SessionOne, words.SessionMany}, {m.Setups, words.SetupOne, words.SetupMany},
		{m.Updated, words.UpdatedOne, words.UpdatedMany}, {m.Frames, words.FrameOne, words.FrameMany},
		{m.Edits, words.EditOne, words.EditMany}, {m.Templates, words.TemplateOne, words.TemplateMany},
	} {
		if c.n > 0 {
			out = append(out, Count(c.n, c.one, c.many))
		}
	}
	if len(out) == 0 {
		return words.LogMergedNone
	}
	return fmt.Sprintf(words.LogMergedF, List(out))
}
